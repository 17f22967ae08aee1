package book

import (
	"cmp"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	sqlite3 "modernc.org/sqlite/lib"
)

// Restored is what Restore did.
type Restored struct {
	Kept    string // the file that the old book is kept in; "" where there was none
	Damaged bool   // the old book could not be read
	Ahead   []Lost // what the old book has that the copy has not, a job each
}

// Lost are rows of one job that a copy has not.
type Lost struct {
	Job  string
	Rows int64
}

// Restore puts a copy of a book in the place of the book at path and keeps the
// old one beside it under a name of its own, which ends in suffix. The copy is
// copied in its turn, and prove is called with that: what it refuses replaces
// nothing, and its error comes back as it is. No one writes meanwhile; a program
// that was waiting to is told that the book was replaced.
func Restore(path, from, suffix string, prove func(*Book) error) (Restored, error) {
	const op = "restore the book"
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real // the book, not the link to it, is what is replaced
	}
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return Restored{}, fault(path, op, err)
	}
	if sameFile(path, from) {
		return Restored{}, &Error{from, op + " from", "it is the book itself", "name a backup", fs.ErrInvalid}
	}
	fresh, err := freshCopy(from, folder)
	if err != nil {
		return Restored{}, err
	}
	defer removeBook(fresh) // gone already once it has the right name
	r := replacement{path, from, suffix, fresh}
	if err := r.proved(prove); err != nil {
		return Restored{}, err
	}
	done, err := r.swap()
	return done, fault(path, op, err)
}

func sameFile(a, b string) bool {
	inA, err := os.Stat(a)
	if err != nil {
		return false
	}
	inB, err := os.Stat(b)
	return err == nil && os.SameFile(inA, inB)
}

// freshCopy copies a book's file to one of its own in a folder, with the journal
// of a writer that was cut short, if there is one. What it copies it only reads:
// a backup may lie where nothing can be written.
func freshCopy(from, folder string) (string, error) {
	const op = "copy the backup"
	info, err := os.Stat(from)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", &Error{from, op, "there is no such file", "check the path", fs.ErrNotExist}
	case err != nil:
		return "", fault(from, op, err)
	case !info.Mode().IsRegular():
		return "", &Error{from, op, "it is not a file", "name the copy's file", fs.ErrInvalid}
	}
	temp, err := os.CreateTemp(folder, ".putlog-restore-*") // 0600
	if err != nil {
		return "", fault(folder, "restore the book in", err)
	}
	fresh := temp.Name()
	err = cmp.Or(copyInto(temp, from), temp.Close(), copyJournal(from, fresh))
	if err != nil {
		removeBook(fresh)
		return "", fault(from, op, err)
	}
	return fresh, nil
}

func copyInto(to io.Writer, from string) error {
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(to, f)
	return err
}

const journal = "-journal" // what SQLite puts to a file's name

func copyJournal(from, to string) error {
	f, err := os.OpenFile(to+journal, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	err = errors.Join(copyInto(f, from+journal), f.Close())
	if errors.Is(err, fs.ErrNotExist) {
		return os.Remove(to + journal)
	}
	return err
}

// removeBook removes a file that was made on the way.
func removeBook(path string) {
	_ = os.Remove(path)
	_ = os.Remove(path + journal)
}

// replacement is a book that is to take the place of another.
type replacement struct {
	path, from string // the book, and the backup
	suffix     string // for the name of the old book
	fresh      string // the copy of the backup
}

// proved opens the copy, which brings it to this version, and has it proved. What
// is wrong with it is wrong with the backup.
func (r *replacement) proved(prove func(*Book) error) error {
	b, err := OpenExisting(r.fresh)
	if err == nil {
		err = cmp.Or(prove(b), b.Close(), syncFile(r.fresh))
	}
	var broken *Error
	var altered *Altered
	switch {
	case errors.As(err, &broken) && broken.Path == r.fresh:
		broken.Path, broken.Try = r.from, "restore another backup; nothing was replaced"
	case errors.As(err, &altered) && altered.Path == r.fresh:
		altered.Path = r.from
	}
	return fault(r.path, "restore the book", err)
}

// swap keeps the old book and puts the new one in its place. The old one is held
// from beginning to end, so that nothing is written to it that the new one would
// not have.
func (r *replacement) swap() (done Restored, err error) {
	old, err := OpenExisting(r.path)
	if errors.Is(err, fs.ErrNotExist) {
		return done, r.intoPlace()
	}
	if err == nil {
		defer old.Close()
		tx, end, held := old.begin()
		if held != nil {
			return done, held
		}
		defer end() // nothing was written
		done.Ahead, err = r.ahead(tx)
		if runtime.GOOS == "windows" { // an open file can't be renamed, by no one
			end()
			_ = old.Close()
		}
	}
	if done.Damaged = isDamaged(err); err != nil && !done.Damaged {
		return done, err
	}
	if done.Kept, err = r.keepOld(); err != nil {
		return done, err
	}
	return done, r.intoPlace()
}

// isDamaged tells a book that can't be read any more from one that is held, is
// another program's or is not there.
func isDamaged(err error) bool {
	return isKind(err, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) ||
		errors.Is(err, errDamaged) || errors.Is(err, errEmpty)
}

// keepOld gives the old book a second name, which is not yet taken. A journal
// that is still beside it belongs to it, and must never be found beside another.
func (r *replacement) keepOld() (kept string, err error) {
	for i := 1; ; i++ {
		kept = r.path + r.suffix
		if i > 1 {
			kept += fmt.Sprintf("-%d", i)
		}
		err = os.Link(r.path, kept)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil { // a disk without second names: for a moment there is no book
			if _, taken := os.Lstat(kept); taken == nil {
				continue
			}
			err = os.Rename(r.path, kept)
		}
		break
	}
	if err != nil {
		return "", err
	}
	err = os.Rename(r.path+journal, kept+journal)
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	return kept, err
}

func (r *replacement) intoPlace() error {
	if err := os.Rename(r.fresh, r.path); err != nil {
		return err
	}
	syncFolder(filepath.Dir(r.path))
	return nil
}

// ahead lists what the old book has beyond the rows that the two share. Equal
// hashes mean equal rows up to there, and so the last shared one is found by
// halving.
func (r *replacement) ahead(old *sql.Tx) ([]Lost, error) {
	fresh, err := OpenExisting(r.fresh)
	if err != nil {
		return nil, err
	}
	defer fresh.Close()
	low, high := int64(0), int64(0) // shared, and perhaps shared
	if err := fresh.db.QueryRow(`SELECT count FROM head`).Scan(&high); err != nil {
		return nil, err
	}
	for low < high {
		middle := (low + high + 1) / 2
		same, err := sameRow(old, fresh.db, middle)
		switch {
		case err != nil:
			return nil, err
		case same:
			low = middle
		default:
			high = middle - 1
		}
	}
	return rowsAfter(old, low)
}

func sameRow(a *sql.Tx, b *sql.DB, seq int64) (same bool, err error) {
	const hash = `SELECT coalesce((SELECT hash FROM daybook WHERE seq = ?), '')`
	var inA, inB string
	err = cmp.Or(a.QueryRow(hash, seq).Scan(&inA), b.QueryRow(hash, seq).Scan(&inB))
	return inA == inB, err
}

func rowsAfter(tx *sql.Tx, seq int64) ([]Lost, error) {
	rows, err := tx.Query(`SELECT job, count(*) FROM daybook WHERE seq > ?
		GROUP BY job ORDER BY min(seq)`, seq)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []Lost
	for rows.Next() {
		var l Lost
		if err := rows.Scan(&l.Job, &l.Rows); err != nil {
			return nil, err
		}
		list = append(list, l)
	}
	return list, rows.Err()
}
