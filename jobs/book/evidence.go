package book

import (
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
)

// evidenceOfEntries: the files that entries name, each once, by the SHA-256 of
// its content. The entry holds that sum in its text, and so the chain covers the
// content as well. The files have a table of their own, so that no day book is
// read through them.
const evidenceOfEntries = `
CREATE TABLE evidence (
	id     INTEGER PRIMARY KEY,
	sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
	size   INTEGER NOT NULL CHECK (size > 0 AND size = length(bytes)),
	bytes  BLOB NOT NULL
) STRICT;

CREATE TRIGGER evidence_in_order BEFORE INSERT ON evidence
WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM evidence)
	OR EXISTS (SELECT 1 FROM evidence WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'a file is only ever added after the last, and once'); END;
CREATE TRIGGER evidence_unchanged BEFORE UPDATE ON evidence
BEGIN SELECT RAISE(ABORT, 'a file is never changed'); END;
CREATE TRIGGER evidence_kept BEFORE DELETE ON evidence
BEGIN SELECT RAISE(ABORT, 'a file is never removed'); END;
`

// File is what a file kept as evidence is known by.
type File struct {
	SHA256 string // of its content: 64 hexadecimal digits, small letters
	Size   int64  // of its content, in bytes
}

// SumOf gives the SHA-256 of a file's content as File has it.
func SumOf(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}

// Evidence comes with rows that are to be written: the files that they name, and
// a way to read those that the book does not have yet. Read is called for one
// file after another; an error of its own comes back as it is, and then nothing
// has been written. Where Read is nil the book must have every file.
type Evidence struct {
	Files []File
	Read  func(File) ([]byte, error)
}

// NotKept says that the book does not have a file.
type NotKept struct{ File }

func (e *NotKept) Error() string {
	return fmt.Sprintf("there is no file with the SHA-256 %s in the book", e.SHA256)
}

// keep stores what the book does not have yet.
func (e Evidence) keep(tx *sql.Tx) error {
	for _, f := range e.Files {
		size, known, err := sizeOf(tx, f.SHA256)
		switch {
		case err != nil:
			return err
		case known && size != f.Size:
			return callers{fmt.Errorf("the file with the SHA-256 %s has %d bytes, not %d",
				f.SHA256, size, f.Size)}
		case known:
			continue
		case e.Read == nil:
			return callers{&NotKept{f}}
		}
		content, err := e.Read(f)
		if err != nil {
			return callers{err}
		}
		if len(content) == 0 || int64(len(content)) != f.Size || SumOf(content) != f.SHA256 {
			return callers{fmt.Errorf("what was read is not the file with the SHA-256 %s", f.SHA256)}
		}
		if err := store(tx, f, content); err != nil {
			return err
		}
	}
	return nil
}

func store(tx *sql.Tx, f File, content []byte) error {
	var last int64
	err := tx.QueryRow(`SELECT coalesce(max(id), 0) FROM evidence`).Scan(&last)
	if err != nil {
		return err
	}
	_, err = tx.Exec(`INSERT INTO evidence VALUES (?, ?, ?, ?)`, last+1, f.SHA256, f.Size, content)
	return err
}

// sizeOf gives the size of a file, and whether the book has it.
func sizeOf(from reader, sum string) (size int64, known bool, err error) {
	rows, err := from.Query(`SELECT size FROM evidence WHERE sha256 = ?`, sum)
	if err != nil {
		return 0, false, err
	}
	defer rows.Close()
	for rows.Next() {
		known = true
		if err := rows.Scan(&size); err != nil {
			return 0, false, err
		}
	}
	return size, known, rows.Err()
}

// Size gives the size in bytes of a file kept as evidence, and whether the book
// has it. The content is not read.
func (b *Book) Size(sum string) (size int64, known bool, err error) {
	if b.db == nil {
		return 0, false, nil
	}
	size, known, err = sizeOf(b.db, sum)
	return size, known, b.fault("read the book", err)
}

// Evidence gives the content of a file. Where the book does not have it the
// error is a *NotKept, where its content is another than was stored an *Altered.
func (b *Book) Evidence(sum string) ([]byte, error) {
	if b.db == nil {
		return nil, &NotKept{File{SHA256: sum}}
	}
	var content []byte
	err := b.db.QueryRow(`SELECT bytes FROM evidence WHERE sha256 = ?`, sum).Scan(&content)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, &NotKept{File{SHA256: sum}}
	case err != nil:
		return nil, b.fault("read the book", err)
	case SumOf(content) != sum:
		return nil, b.fileAltered(sum, "is not as it was stored")
	}
	return content, nil
}

// Files lists the files kept as evidence in the order in which they came. No
// content is read.
func (b *Book) Files() ([]File, error) {
	if b.db == nil {
		return nil, nil
	}
	list, err := readFiles(b.db)
	return list, b.fault("read the book", err)
}

func readFiles(from reader) ([]File, error) {
	rows, err := from.Query(`SELECT sha256, size FROM evidence ORDER BY id`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []File
	for rows.Next() {
		var f File
		if err := rows.Scan(&f.SHA256, &f.Size); err != nil {
			return nil, err
		}
		list = append(list, f)
	}
	return list, rows.Err()
}

// walkEvidence reads every file and holds it against its sum. That each one is
// named by an entry, and each named one there, is for those who can read entries.
func (b *Book) walkEvidence(tx *sql.Tx, report *Report) error {
	rows, err := tx.Query(`SELECT id, sha256, size, bytes FROM evidence ORDER BY id`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id, size int64
		var sum string
		var content sql.RawBytes // read before the next row
		if err := rows.Scan(&id, &sum, &size, &content); err != nil {
			return err
		}
		report.Files++
		report.Bytes += int64(len(content))
		switch {
		case id > report.Files:
			return b.placeAltered(report.Files, "is missing")
		case id < report.Files:
			return b.placeAltered(id, "does not belong")
		case int64(len(content)) != size || SumOf(content) != sum:
			return b.fileAltered(sum, "is not as it was stored")
		}
	}
	return rows.Err()
}

func (b *Book) placeAltered(id int64, what string) *Altered {
	return &Altered{Path: b.path, What: fmt.Sprintf("file %d of its evidence %s", id, what)}
}

func (b *Book) fileAltered(sum, what string) *Altered {
	return &Altered{Path: b.path, What: fmt.Sprintf("the file with the SHA-256 %s %s", sum, what)}
}
