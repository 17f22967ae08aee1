package book

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Backup writes a copy of the book to a new file that only its owner can read.
// The copy is whole or is not there at all; a file of that name is never
// written over.
func (b *Book) Backup(path string) error {
	if b.db == nil {
		return missing(b.path)
	}
	const op = "back up the book to"
	full, err := filepath.Abs(path)
	if err != nil {
		return fault(path, op, err)
	}
	switch _, err := os.Lstat(full); {
	case err == nil:
		return &Error{path, op, "there is a file of that name already", "name a new file",
			fs.ErrExist}
	case !errors.Is(err, fs.ErrNotExist):
		return fault(path, op, err)
	}
	return fault(path, op, b.copyTo(full))
}

// copyTo copies the book to a name of its own in the same folder, and gives it
// the right one when it is safe on the disk.
func (b *Book) copyTo(full string) error {
	folder := filepath.Dir(full)
	temp, err := os.CreateTemp(folder, ".putlog-backup-*") // 0600
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name()) // gone already once it has the right name
	if err := temp.Close(); err != nil {
		return err
	}
	if _, err := b.db.Exec(`VACUUM INTO ?`, temp.Name()); isFull(err) {
		return err // the copy's disk, which is not the book's
	} else if err != nil {
		return b.fault("back up the book", err)
	}
	if err := syncFile(temp.Name()); err != nil {
		return err
	}
	if err := os.Rename(temp.Name(), full); err != nil {
		return err
	}
	syncFolder(folder)
	return nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncFolder sees a new name to the disk. Not every system can do that for a
// folder; where it can't, the name follows in its own time.
func syncFolder(path string) {
	if f, err := os.Open(path); err == nil {
		_ = f.Sync()
		_ = f.Close()
	}
}
