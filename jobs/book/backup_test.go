package book

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
)

// copyAndOriginal makes a book and a backup of it.
func copyAndOriginal(t *testing.T) (b, copied *Book) {
	t.Helper()
	b = openNew(t)
	addJob(t, b, "orchard-row", history(30)...)
	addJob(t, b, "mill-lane", history(3)...)
	path := filepath.Join(t.TempDir(), "backup.db")
	if err := b.Backup(path); err != nil {
		t.Fatal(err)
	}
	copied, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { copied.Close() })
	return b, copied
}

func TestBackup(t *testing.T) {
	b, copied := copyAndOriginal(t)
	if got, want := mustCheck(t, copied), mustCheck(t, b); got != want {
		t.Errorf("the copy holds %+v, the book %+v", got, want)
	}
	for _, job := range []string{"orchard-row", "mill-lane"} {
		want, err := b.Rows(job)
		if err != nil {
			t.Fatal(err)
		}
		got, err := copied.Rows(job)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: the copy's rows differ, %v", job, err)
		}
	}
	list, err := os.ReadDir(filepath.Dir(copied.path))
	if err != nil || len(list) != 1 {
		t.Errorf("the folder holds %v, %v; want the copy alone", list, err)
	}
	info, err := os.Stat(copied.path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" && info.Mode() != 0o600 {
		t.Errorf("mode %v, want 0600", info.Mode())
	}
}

// A copy is a book: it goes on where the first one was.
func TestBackupGoesOn(t *testing.T) {
	b, copied := copyAndOriginal(t)
	for _, b := range []*Book{b, copied} {
		if err := b.Append("mill-lane", stamp, give(history(2)...)); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := mustCheck(t, copied), mustCheck(t, b); got != want {
		t.Errorf("the copy holds %+v, the book %+v", got, want)
	}
}

// While others write, a backup is the book as it stood at one moment: whole, and
// sealed alike by the book for ever after. No writer fails for it.
func TestBackupWhileWriting(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "shared")
	const writers, backups = 3, 4
	begun, enough := make(chan bool, writers), make(chan bool)
	var appends atomic.Int64
	var all sync.WaitGroup
	for range writers {
		all.Go(func() {
			for last := false; !last; {
				select {
				case <-enough:
					last = true
				default:
				}
				if err := b.Append("shared", stamp, give(history(2)...)); err != nil {
					t.Error(err)
				}
				if appends.Add(1) == 1 {
					begun <- true
				}
			}
		})
	}
	<-begun
	var copied [backups]int64
	for i := range copied {
		path := filepath.Join(t.TempDir(), "backup.db")
		if err := b.Backup(path); err != nil {
			t.Fatal(err)
		}
		c, err := OpenExisting(path)
		if err != nil {
			t.Fatal(err)
		}
		report := mustCheck(t, c)
		c.Close()
		if copied[i] = report.Rows; report.Rows%2 != 1 {
			t.Errorf("%d rows: half of what was appended at once", report.Rows)
		}
		if _, err := b.Against(report.Seal); err != nil {
			t.Error(err)
		}
	}
	close(enough)
	all.Wait()
	r := mustCheck(t, b)
	if r.Rows != 1+2*appends.Load() {
		t.Errorf("%d rows, want %d", r.Rows, 1+2*appends.Load())
	}
	for _, rows := range copied { // each made while others wrote
		if rows <= 1 || rows >= r.Rows {
			t.Errorf("a backup of %d rows of %d", rows, r.Rows)
		}
	}
}

func TestBackupRefuses(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	folder := t.TempDir()
	there := filepath.Join(folder, "there")
	writeFile(t, there, []byte("something of value"))
	dangling := filepath.Join(folder, "dangling")
	if err := os.Symlink("nowhere", dangling); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{there, dangling, folder, b.path} {
		err := b.Backup(path)
		wantFault(t, err, path, "there is a file of that name already")
		if !errors.Is(err, fs.ErrExist) {
			t.Errorf("%v is not fs.ErrExist", err)
		}
	}
	if !bytes.Equal(readFile(t, there), []byte("something of value")) {
		t.Error("the file was written over")
	}
	absent := filepath.Join(folder, "none", "backup.db")
	wantFault(t, b.Backup(absent), absent, "no such file or directory")
	list, err := os.ReadDir(folder)
	if err != nil || len(list) != 2 {
		t.Errorf("the folder holds %v, %v; want what was there", list, err)
	}
	mustCheck(t, b)
}

// A book that can't be copied leaves nothing behind.
func TestBackupOfDamaged(t *testing.T) {
	path, data := sound(t)
	copy(data[len(data)/2:], bytes.Repeat([]byte{0xff}, 8192))
	writeFile(t, path, data)
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	folder := t.TempDir()
	wantFault(t, b.Backup(filepath.Join(folder, "backup.db")), path, "it is damaged")
	if list, err := os.ReadDir(folder); err != nil || len(list) != 0 {
		t.Errorf("the folder holds %v, %v; want nothing", list, err)
	}
}
