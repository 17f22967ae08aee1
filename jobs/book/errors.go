package book

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Error says that the book can't be read or written: it is missing, locked,
// damaged, not a book, or the disk won't have it. A missing book is also an
// fs.ErrNotExist.
type Error struct {
	Path string // the file
	Op   string // what was attempted: "open the book"
	What string // what is wrong
	Try  string // what to do
	Err  error  // the cause, where there is one
}

func (e *Error) Error() string { return fmt.Sprintf("can't %s %s: %s", e.Op, e.Path, e.What) }

// Do says what to do.
func (e *Error) Do() string { return e.Try }

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Altered says that the book is not as it was written.
type Altered struct {
	Path string // the file
	Seq  int64  // the first row that does not fit; 0 where it is not a row
	Job  string // that row's job, date and kind, where they are known
	On   string
	Kind string
	What string // what is wrong with it
}

func (e *Altered) Error() string {
	switch {
	case e.Seq == 0:
		return fmt.Sprintf("the book %s was altered: %s", e.Path, e.What)
	case e.Job == "":
		return fmt.Sprintf("the book %s was altered: row %d %s", e.Path, e.Seq, e.What)
	}
	entry := strings.TrimSpace(e.Kind + " " + e.On)
	return fmt.Sprintf("the book %s was altered: row %d (job %s, %s) %s",
		e.Path, e.Seq, e.Job, entry, e.What)
}

// Do says what to do.
func (e *Altered) Do() string { return keepAndRestore }

// NotFound says that the book has no such job.
type NotFound struct {
	Job  string
	Near []string // references that are written much like it, the nearest first
}

func (e *NotFound) Error() string { return fmt.Sprintf("there is no job %q in the book", e.Job) }

// Exists says that the book has a job of that reference already.
type Exists struct {
	Job string
}

func (e *Exists) Error() string { return fmt.Sprintf("job %q is in the book already", e.Job) }

// errDamaged marks damage that SQLite reports in words.
var errDamaged = errors.New("it is damaged")

// errEmpty marks a file with nothing in it, which may once have been a book.
var errEmpty = errors.New("it is empty")

const keepAndRestore = "put back your latest backup, which keeps this file too: putlog restore FILE"

func missing(path string) *Error {
	return &Error{path, "open the book", "there is no such file",
		"check the path, or load a job to begin a new book there", fs.ErrNotExist}
}

// fault is fault for this book.
func (b *Book) fault(op string, err error) error { return fault(b.path, op, err) }

// fault puts the file's name and what to do to an error that arose in it. Nil
// and the errors of this package pass unchanged.
func fault(path, op string, err error) error {
	switch err.(type) {
	case nil:
		return nil
	case *Error, *Altered, *NotFound, *Exists, *NotKept:
		return err
	}
	what, try := diagnose(err)
	return &Error{path, op, what, try, err}
}

// diagnose says in plain words what is wrong and what to do about it.
func diagnose(err error) (what, try string) {
	var coded *sqlite.Error
	switch {
	case errors.As(err, &coded):
		return diagnoseCode(coded.Code(), err)
	case errors.Is(err, errDamaged):
		return strings.ReplaceAll(err.Error(), "\n", ": "), keepAndRestore
	case errors.Is(err, fs.ErrPermission):
		return "there is no permission", "check who owns the file and its folder"
	}
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err.Error(), "check the path and the disk"
	}
	return err.Error(), "run putlog check"
}

// isBusy says whether another program holds the book.
func isBusy(err error) bool { return isKind(err, sqlite3.SQLITE_BUSY) }

// isFull says whether a disk is full.
func isFull(err error) bool { return isKind(err, sqlite3.SQLITE_FULL) }

// isKind says whether SQLite gave one of these results.
func isKind(err error, kinds ...int) bool {
	var coded *sqlite.Error
	return errors.As(err, &coded) && slices.Contains(kinds, coded.Code()&0xff)
}

// diagnoseCode reads SQLite's result code; the low byte is the kind.
func diagnoseCode(code int, err error) (what, try string) {
	if code == sqlite3.SQLITE_READONLY_DBMOVED {
		return "another file was put in its place meanwhile", "run it again; nothing was written"
	}
	if code == sqlite3.SQLITE_IOERR_DIR_FSYNC { // the journal is gone, and so the change stands
		return "its folder can't be seen to the disk", "check the disk; what was to be written is there to be read"
	}
	switch code & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return "another program is writing to it", "wait for it to finish and try again"
	case sqlite3.SQLITE_FULL:
		return "the disk is full", "make room and try again; nothing was written"
	case sqlite3.SQLITE_READONLY:
		return "it is read-only", "make the file and its folder writable"
	case sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH, sqlite3.SQLITE_CANTOPEN:
		return "there is no permission or no way to it",
			"check the path, and who owns the file and its folder"
	case sqlite3.SQLITE_NOTADB:
		return "it is not a book", "check the path"
	case sqlite3.SQLITE_CORRUPT:
		return "it is damaged", keepAndRestore
	case sqlite3.SQLITE_IOERR:
		return "the disk can't be read or written", "check the disk; nothing was written"
	case sqlite3.SQLITE_CONSTRAINT:
		return "its last rows are not as they were written", "run putlog check"
	}
	return err.Error(), "run putlog check"
}
