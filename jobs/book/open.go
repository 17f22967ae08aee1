package book

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// wait is how long a program waits for another that holds the book.
const wait = 7 * time.Second

// Open opens the book at path to read and write. Where there is none, it makes
// one that only its owner can read, and its folder. What is not a book, or was
// made by a newer program, is refused with an *Error and left as it was.
func Open(path string) (*Book, error) { return open(path, true, wait) }

// OpenExisting opens a book as Open does, but makes none: a missing one is an
// *Error that is also an fs.ErrNotExist.
func OpenExisting(path string) (*Book, error) { return open(path, false, wait) }

// OpenOrEmpty opens a book as OpenExisting does; where there is none, it gives a
// book without jobs, to which none can be added. It is for reading at the usual
// place, where no book yet means no jobs yet.
func OpenOrEmpty(path string) (*Book, error) {
	b, err := OpenExisting(path)
	if errors.Is(err, fs.ErrNotExist) {
		return &Book{path: path}, nil
	}
	return b, err
}

func open(path string, create bool, wait time.Duration) (*Book, error) {
	const op = "open the book"
	b := &Book{path: path, wait: wait}
	full, err := filepath.Abs(path)
	if err != nil {
		return nil, b.fault(op, err)
	}
	if err := b.place(full, create); err != nil {
		return nil, b.fault(op, err)
	}
	connector, err := sqlite.NewConnector(dsn(full, wait))
	if err != nil {
		return nil, b.fault(op, err)
	}
	b.db = sql.OpenDB(connector)
	if err := b.settle(create); err != nil {
		b.db.Close()
		return nil, b.fault(op, err)
	}
	return b, nil
}

// place sees that a book can lie at path, and makes an empty file where there
// is to be a new one. It does not open a file that is there: closing it again
// would drop the locks that this program holds on it.
func (b *Book) place(full string, create bool) error {
	info, err := os.Stat(full)
	switch {
	case b.path == "":
		return b.refuse("no file is named", "name the book's file")
	case errors.Is(err, fs.ErrNotExist) && create:
		return makeFile(full)
	case errors.Is(err, fs.ErrNotExist):
		return missing(b.path)
	case err != nil:
		return err
	case info.IsDir():
		return b.refuse("it is a folder", "name a file in it")
	case !info.Mode().IsRegular():
		return b.refuse("it is not a file", "name the book's file")
	case info.Size() == 0 && create: // it becomes a book, for its owner alone
		_ = os.Chmod(full, 0o600) // where it is somebody else's, that is their choice
	case info.Size() == 1: // SQLite takes it for an empty file and would write over it
		return b.refuse("it is not a book", "check the path")
	}
	return nil
}

func (b *Book) refuse(what, try string) *Error {
	return &Error{Path: b.path, Op: "open the book", What: what, Try: try}
}

func makeFile(full string) error {
	if err := os.MkdirAll(filepath.Dir(full), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(full, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil // another program was first, and that will do
	}
	if err != nil {
		return err
	}
	return f.Close()
}

// dsn names the file and holds every setting of a connection. The rollback
// journal is not asked for here, though a book has one (see settle): asking
// would convert another program's file before it is known whose it is.
func dsn(full string, wait time.Duration) string {
	path := filepath.ToSlash(full)
	if path[0] != '/' {
		path = "/" + path // C:/… on Windows
	}
	settings := url.Values{
		"mode":       {"rw"},        // makes no file: place does
		"_txlock":    {"immediate"}, // a writer never starts as a reader
		"_dqs":       {"0"},         // a mistyped column is no string
		"_defensive": {"1"},         // no writing to the schema as to a table
		"_error_rc":  {"1"},         // no stale text in messages
		"_pragma": {
			"busy_timeout(" + strconv.FormatInt(wait.Milliseconds(), 10) + ")",
			"foreign_keys(1)",
			"synchronous(EXTRA)", // the journal's going too is on the disk before a commit returns
		},
	}
	escaped := (&url.URL{Path: path}).EscapedPath() // '#', '?' and '%' cut a name short
	uri := url.URL{Scheme: "file", Opaque: escaped, RawQuery: settings.Encode()}
	return uri.String()
}

// state is what a file says of itself, and the settings read back: SQLite and
// its driver pass over a setting that they do not know without a word.
type state struct {
	application, version     int
	pages, pageSize          int64
	foreignKeys, synchronous int
	journal                  string
}

func readState(db *sql.DB) (s state, err error) {
	err = db.QueryRow(`SELECT application_id, user_version, page_count, page_size,
			foreign_keys, synchronous, journal_mode
		FROM pragma_application_id, pragma_user_version, pragma_page_count, pragma_page_size,
			pragma_foreign_keys, pragma_synchronous, pragma_journal_mode`).
		Scan(&s.application, &s.version, &s.pages, &s.pageSize,
			&s.foreignKeys, &s.synchronous, &s.journal)
	return s, err
}

// settle makes sure that the open file is a book of this version.
func (b *Book) settle(create bool) error {
	s, err := readState(b.db)
	switch {
	case err != nil:
		return err
	case s.pages == 0 && !create:
		return &Error{b.path, "open the book", "it is empty and holds no book",
			"put back your latest backup (putlog restore FILE), or load a job to begin a new book there", errEmpty}
	case s.pages > 0 && s.application != applicationID:
		return b.refuse("it is another program's database, not a book", "check the path")
	case b.cutShort(s.pageSize):
		return errDamaged
	case s.version > len(migrations()):
		return b.refuse(fmt.Sprintf("it is a newer book (version %d) than this putlog knows (%d)",
			s.version, len(migrations())), "use the newer putlog")
	case s.foreignKeys != 1 || s.synchronous != 3: // 3 is EXTRA
		return fmt.Errorf("its settings did not take: %+v", s)
	}
	if s.version < len(migrations()) {
		err := b.write(func(tx *sql.Tx) error { return migrate(tx, migrations()) })
		if isKind(err, sqlite3.SQLITE_ERROR) { // what it would add is there
			return &Altered{Path: b.path, What: fmt.Sprintf("it says it is of version %d and is not", s.version)}
		}
		if err != nil {
			return err
		}
	}
	if s.journal == "delete" {
		return nil
	}
	return b.rollBack()
}

// cutShort says whether the file ends within a page, of which SQLite would take
// the rest for zeros. It is for an open file whose journal has been rolled back.
func (b *Book) cutShort(pageSize int64) bool {
	info, err := os.Stat(b.path)
	return err == nil && info.Size()%pageSize != 0
}

// rollBack gives a book that someone has put on write-ahead logging its
// rollback journal again: one file to copy, readable on a full disk.
func (b *Book) rollBack() error {
	var mode string
	if err := b.db.QueryRow(`PRAGMA journal_mode = DELETE`).Scan(&mode); err != nil {
		return err
	}
	if mode != "delete" {
		return b.refuse("its journal is "+mode, "close every program that uses it and try again")
	}
	return nil
}

// newSchema gives the schema of a new book of this version.
func newSchema() ([]string, error) {
	connector, err := sqlite.NewConnector("file::memory:")
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(connector)
	defer db.Close()
	db.SetMaxOpenConns(1) // each connection would have a memory of its own
	tx, err := db.Begin()
	if err != nil {
		return nil, err
	}
	defer tx.Rollback() // nothing to keep
	if err := migrate(tx, migrations()); err != nil {
		return nil, err
	}
	return schemaOf(tx)
}
