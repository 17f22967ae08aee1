package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"putlog/jobs/words"
)

// Files that a command writes appear whole or not at all: they are written
// under a name of their own beside the one asked for, seen to the disk, and
// then given that name.

// writeFile writes a file. One that is there already is left alone unless
// force is set; the book is never written over.
func (a *app) writeFile(name string, force bool, write func(io.Writer) error) error {
	if err := a.mayWrite(name, force); err != nil {
		return err
	}
	temp, err := newFile(filepath.Dir(name))
	if err != nil {
		return fileError("write", name, err)
	}
	defer os.Remove(temp.Name()) // gone already once it has the right name
	if err := fill(temp, write); err != nil {
		return fileError("write", name, err)
	}
	if err := place(temp.Name(), name, force); err != nil {
		return fileError("write", name, err)
	}
	syncFolder(filepath.Dir(name))
	return nil
}

// mayWrite says why a file of that name may not be written; nil when it may. A
// command that writes several asks for all of them before it writes the first.
func (a *app) mayWrite(name string, force bool) error {
	there, err := os.Lstat(name)
	switch {
	case name == "":
		return usage("the name of the file to write is empty")
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fileError("write", name, err)
	case !there.Mode().IsRegular():
		return words.Refuse("name a file in a folder", "can't write %s: it is no ordinary file", name)
	case a.isBook(there):
		return words.Refuse("name another file", "can't write %s: it is the book", name)
	case !force:
		return words.Refuse("name a new file, or add --force", "can't write %s: it is there already", name)
	}
	return nil
}

// isBook says whether a file is the book in use.
func (a *app) isBook(f fs.FileInfo) bool {
	path, _, err := a.path()
	if err != nil {
		return false
	}
	book, err := os.Stat(path)
	return err == nil && os.SameFile(f, book)
}

// newFile makes a file in a folder under a name that nothing has yet, with the
// rights that new files get there.
func newFile(folder string) (*os.File, error) {
	const tries = 1000
	for i := 0; ; i++ {
		name := filepath.Join(folder, fmt.Sprintf(".putlog-%d-%d", os.Getpid(), i))
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if err == nil || !errors.Is(err, fs.ErrExist) || i == tries {
			return f, err
		}
	}
}

// fill writes a file, sees it to the disk and closes it.
func fill(f *os.File, write func(io.Writer) error) error {
	w := bufio.NewWriter(f)
	err := write(w)
	if err == nil {
		err = w.Flush()
	}
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// place gives a file its name. Without force a file that came there meanwhile
// stays, where the disk knows links.
func place(temp, name string, force bool) error {
	if !force {
		if err := os.Link(temp, name); err == nil || errors.Is(err, fs.ErrExist) {
			return err
		}
	}
	return os.Rename(temp, name)
}

// syncFolder sees a new name to the disk. Not every system can do that for a
// folder; where it can't, the name follows in its own time.
func syncFolder(path string) {
	if f, err := os.Open(path); err == nil {
		_ = f.Sync()
		_ = f.Close()
	}
}
