package book

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const suffix = ".before-20270308"

func whole(b *Book) error {
	_, err := b.Check()
	return err
}

// backedUp makes a book and a backup of it as it is.
func backedUp(t *testing.T) (b *Book, backup string) {
	t.Helper()
	b = openNew(t)
	addJob(t, b, "orchard-row", history(3)...)
	addJob(t, b, "mill-lane")
	backup = filepath.Join(t.TempDir(), "backup.db")
	if err := b.Backup(backup); err != nil {
		t.Fatal(err)
	}
	return b, backup
}

func appendTo(t *testing.T, b *Book, job string, n int) {
	t.Helper()
	if err := b.Append(job, stamp, give(history(n)...)); err != nil {
		t.Fatal(err)
	}
}

// inFolder names the files beside a book, the book's own name cut off.
func inFolder(t *testing.T, path string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		names = append(names, strings.TrimPrefix(f.Name(), filepath.Base(path)))
	}
	return names
}

func contents(t *testing.T, path string) (all []Row) {
	t.Helper()
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	mustCheck(t, b)
	jobs, err := b.Jobs()
	if err != nil {
		t.Fatal(err)
	}
	for _, job := range jobs {
		rows, err := b.Rows(job)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, rows...)
	}
	return all
}

func TestRestore(t *testing.T) {
	b, backup := backedUp(t)
	want := contents(t, backup)
	appendTo(t, b, "mill-lane", 2)
	addJob(t, b, "station-road")
	appendTo(t, b, "mill-lane", 1)
	old := contents(t, b.path)
	before := readFile(t, backup)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{suffix, suffix + "-2", suffix + "-3"} {
		done, err := Restore(b.path, backup, suffix, whole)
		if err != nil {
			t.Fatal(err)
		}
		ahead := []Lost{{"mill-lane", 3}, {"station-road", 1}}
		if i > 0 {
			ahead = nil
		}
		if diff := cmp.Diff(Restored{b.path + name, false, ahead}, done); diff != "" {
			t.Errorf("-want +got\n%s", diff)
		}
		if !slices.Equal(contents(t, b.path), want) {
			t.Error("the book is not the backup")
		}
	}
	if !slices.Equal(contents(t, b.path+suffix), old) {
		t.Error("the old book is not kept")
	}
	if !bytes.Equal(before, readFile(t, backup)) {
		t.Error("the backup changed")
	}
	if got := inFolder(t, b.path); !slices.Equal(got, []string{"", suffix, suffix + "-2", suffix + "-3"}) {
		t.Errorf("the folder holds %q", got)
	}
	if info, err := os.Stat(b.path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}

// A backup of another book, or of this one that went on by itself: what only the
// old one has is told, whoever is the longer.
func TestRestoreParted(t *testing.T) {
	b, backup := backedUp(t)
	appendTo(t, b, "orchard-row", 2)
	c, err := OpenExisting(backup)
	if err != nil {
		t.Fatal(err)
	}
	appendTo(t, c, "mill-lane", 20)
	c.Close()
	done, err := Restore(b.path, backup, suffix, whole)
	if err != nil || !slices.Equal(done.Ahead, []Lost{{"orchard-row", 2}}) {
		t.Errorf("%+v, %v", done, err)
	}
	if n := len(contents(t, b.path)); n != 25 {
		t.Errorf("%d rows, want 25", n)
	}
}

func TestRestoreWhereThereIsNone(t *testing.T) {
	_, backup := backedUp(t)
	path := filepath.Join(t.TempDir(), "new", "putlog.db")
	done, err := Restore(path, backup, suffix, whole)
	if err != nil || done.Kept != "" || !slices.Equal(contents(t, path), contents(t, backup)) {
		t.Errorf("%+v, %v", done, err)
	}
	if got := inFolder(t, path); len(got) != 1 {
		t.Errorf("the folder holds %q", got)
	}
}

// What was damaged is kept as it was, byte for byte, its journal too.
func TestRestoreOverDamaged(t *testing.T) {
	for name, spoil := range map[string]func(sound []byte) []byte{
		"cut short":      func(b []byte) []byte { return b[:len(b)/3] },
		"empty":          func([]byte) []byte { return nil },
		"first page":     func(b []byte) []byte { return append(make([]byte, 4096), b[4096:]...) },
		"other pages":    func(b []byte) []byte { return append(b[:4096:4096], make([]byte, len(b)-4096)...) },
		"another's text": func([]byte) []byte { return []byte(strings.Repeat("a text ", 1000)) },
	} {
		t.Run(name, func(t *testing.T) {
			_, backup := backedUp(t)
			path, data := sound(t)
			data = spoil(data)
			writeFile(t, path, data)
			writeFile(t, path+journal, []byte("a journal that fits nothing"))
			done, err := Restore(path, backup, suffix, whole)
			if err != nil || !done.Damaged && name != "other pages" {
				t.Fatalf("%+v, %v", done, err)
			}
			if !bytes.Equal(readFile(t, done.Kept), data) {
				t.Error("the old file is not as it was")
			}
			if !slices.Equal(contents(t, path), contents(t, backup)) {
				t.Error("the book is not the backup")
			}
		})
	}
}

// What is refused replaces nothing and leaves nothing behind.
func TestRestoreRefuses(t *testing.T) {
	b, backup := backedUp(t)
	appendTo(t, b, "orchard-row", 2)
	before := readFile(t, b.path)
	folder := t.TempDir()
	file := func(name string, data []byte) string {
		path := filepath.Join(folder, name)
		writeFile(t, path, data)
		return path
	}
	good := readFile(t, backup)
	tampered := file("tampered", good)
	unguarded(t, tampered, `UPDATE daybook SET body = 'x' WHERE seq = 3`)
	other := file("other", nil)
	if _, err := raw(t, other).Exec(`CREATE TABLE orders (id INTEGER)`); err != nil {
		t.Fatal(err)
	}
	newer := file("newer", good)
	if _, err := raw(t, newer).Exec(`PRAGMA user_version = 99`); err != nil {
		t.Fatal(err)
	}
	refused := errors.New("its entries can't be so")
	for path, want := range map[string]string{
		filepath.Join(folder, "none"): "there is no such file",
		folder:                        "it is not a file",
		file("empty", nil):            "it is empty",
		file("cut", good[:8192]):      "it is damaged",
		file("text", bytes.Repeat([]byte("text"), 999)): "it is not a book",
		other:    "another program's database",
		newer:    "newer book",
		tampered: "row 3 (job orchard-row, progress 2000-01-02) is not as it was written",
		backup:   refused.Error(),
		b.path:   "it is the book itself",
	} {
		_, err := Restore(b.path, path, suffix, func(b *Book) error {
			if err := whole(b); err != nil {
				return err
			}
			return refused
		})
		if err == nil || !strings.Contains(err.Error(), want) ||
			!errors.Is(err, refused) && !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v, want %q", path, err, want)
		}
		if got := inFolder(t, b.path); !slices.Equal(got, []string{""}) {
			t.Errorf("%s: the folder holds %q", path, got)
		}
	}
	if !bytes.Equal(before, readFile(t, b.path)) {
		t.Error("the book changed")
	}
	another := file("another", nil) // in the book's place
	if _, err := raw(t, another).Exec(`CREATE TABLE orders (id INTEGER)`); err != nil {
		t.Fatal(err)
	}
	_, err := Restore(another, backup, suffix, whole)
	wantFault(t, err, another, "another program's database")
}

// Whoever is writing is waited for; whoever waits to write is told that the book
// was replaced, and nothing of his is lost unseen.
func TestRestoreWhileWriting(t *testing.T) {
	b, backup := backedUp(t)
	inside := make(chan bool)
	written := make(chan error, 1)
	go func() {
		written <- b.Append("orchard-row", stamp, func([]Row) ([]Row, error) {
			inside <- true
			time.Sleep(50 * time.Millisecond)
			return history(1), nil
		})
	}()
	<-inside
	done, err := Restore(b.path, backup, suffix, whole)
	if err != nil || !slices.Equal(done.Ahead, []Lost{{"orchard-row", 1}}) {
		t.Errorf("%+v, %v", done, err)
	}
	if err := <-written; err != nil {
		t.Error(err)
	}
	err = b.Append("orchard-row", stamp, give(history(1)...)) // b is open on the old one
	wantFault(t, err, b.path, "another file was put in its place")
	if !slices.Equal(contents(t, b.path), contents(t, backup)) {
		t.Error("the book is not the backup")
	}
}

// A copy with the journal of a writer that was cut short is brought in order.
func TestRestoreHotCopy(t *testing.T) {
	b, _ := backedUp(t)
	rows := contents(t, b.path)
	hot := hotCopy(t, b.path)
	path := filepath.Join(t.TempDir(), "putlog.db")
	if _, err := Restore(path, hot, suffix, whole); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(contents(t, path), rows) {
		t.Error("half an entry was restored")
	}
	if _, err := os.Lstat(path + journal); !errors.Is(err, fs.ErrNotExist) {
		t.Error("the journal was left")
	}
}

// A backup that an older program made is brought to this version on the way, and
// stays as it was itself.
func TestRestoreOlder(t *testing.T) {
	for version := 1; version < len(migrations()); version++ {
		old := filepath.Join(t.TempDir(), "old.db")
		db := raw(t, old)
		tx, err := db.Begin()
		if err != nil {
			t.Fatal(err)
		}
		if err := migrate(tx, migrations()[:version]); err != nil {
			t.Fatal(err)
		}
		if err := appendRows(tx, "orchard-row", append([]Row{{Kind: JobKind}}, history(2)...), stamp); err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(tx.Commit(), db.Close()); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(old, 0o400); err != nil {
			t.Fatal(err)
		}
		before := readFile(t, old)
		path := filepath.Join(t.TempDir(), "putlog.db")
		if _, err := Restore(path, old, suffix, whole); err != nil {
			t.Fatal(err)
		}
		if rows := contents(t, path); len(rows) != 3 {
			t.Errorf("version %d: %d rows, want 3", version, len(rows))
		}
		if !bytes.Equal(before, readFile(t, old)) {
			t.Errorf("version %d: the backup changed", version)
		}
	}
}
