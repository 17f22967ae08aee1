package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"putlog/jobs/book"
)

const tamperedJob = `
job: shed
region: england-and-wales
start: 2027-03-01
stages: [{stage: dig, takes: 2d}]
`

// ran runs a command on a book and gives the exit code and what was printed.
func ran(path string, args ...string) (code int, out, errOut string) {
	var o, e bytes.Buffer
	now := time.Date(2027, 3, 8, 17, 0, 0, 0, time.UTC)
	code = run(append(args, "--book", path), strings.NewReader(tamperedJob), &o, &e, now)
	return code, o.String(), e.String()
}

// bookWithNote is a book with a job whose start carries a paper.
func bookWithNote(t *testing.T, note string) (path string) {
	t.Helper()
	folder := t.TempDir()
	path = filepath.Join(folder, "book.db")
	file := filepath.Join(folder, "note.txt")
	if err := os.WriteFile(file, []byte(note), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"job", "load", "-"}, {"start", "shed", "dig", "--paper", file}, {"check"}} {
		if code, _, errOut := ran(path, args...); code != 0 {
			t.Fatalf("%v: %d: %s", args, code, errOut)
		}
	}
	return path
}

// A paper changed on the disk, behind the program's back, is found by every
// command that reads it; none of them hands it on.
func TestTamperedEvidence(t *testing.T) {
	const note = "ten bags of cement and no more"
	path := bookWithNote(t, note)
	data, err := os.ReadFile(path)
	if err != nil || bytes.Count(data, []byte(note)) != 1 {
		t.Fatalf("the note stands in the book %d times, %v", bytes.Count(data, []byte(note)), err)
	}
	data = bytes.Replace(data, []byte("ten bags"), []byte("two bags"), 1)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "out")
	for _, args := range [][]string{
		{"check"}, {"check", "--json"}, {"backup", out}, {"evidence", "get", "shed", "1", "--to", out},
		{"job", "export", "shed", "--with-evidence", out + "s"},
	} {
		code, printed, errOut := ran(path, args...)
		want := "putlog: the book " + path + " was altered: the file with the SHA-256 " + book.SumOf([]byte(note)) +
			" is not as it was stored\ntry: "
		if code != exitBook || printed != "" || !strings.HasPrefix(errOut, want) {
			t.Errorf("%v: exit code %d, %q, %s", args, code, printed, errOut)
		}
		if _, err := os.Lstat(out); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%v: something was written: %v", args, err)
		}
	}
	if left, err := os.ReadDir(out + "s"); err != nil || len(left) != 0 {
		t.Errorf("%d files written, %v", len(left), err)
	}
	if code, _, errOut := ran(path, "plan", "shed"); code != 0 {
		t.Errorf("the programme needs no paper, but: %s", errOut)
	}
}

// A book whose chain is whole, but in which an entry can't be so.
func TestCheckImpossibleHistory(t *testing.T) {
	path := bookWithNote(t, "a note")
	b, err := book.OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	on, err := (&app{now: time.Date(2027, 3, 8, 0, 0, 0, 0, time.UTC)}).asAt()
	if err != nil {
		t.Fatal(err)
	}
	err = b.Append("shed", "2027-03-08T17:00:00Z", func([]book.Row) ([]book.Row, error) {
		return []book.Row{{On: on, Kind: "started", Body: `{"on":"2027-03-08","started":{"stage":"pour"}}`}}, nil
	})
	if err := errors.Join(err, b.Close()); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	for _, args := range [][]string{{"check"}, {"backup", copied}} {
		code, printed, errOut := ran(path, args...)
		want := "putlog: can't vouch for " + path + `: job shed, entry 2: there is no stage "pour"` + "\ntry: "
		if code != exitBook || printed != "" || !strings.HasPrefix(errOut, want) {
			t.Errorf("%v: exit code %d, %q, %s", args, code, printed, errOut)
		}
	}
	if _, err := os.Lstat(copied); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a copy of it was left: %v", err)
	}
}

// Where a backup can't be written the exit code tells why.
func TestBackupExitCodes(t *testing.T) {
	path := bookWithNote(t, "a note")
	folder := t.TempDir()
	there := filepath.Join(folder, "there.db")
	if err := os.WriteFile(there, []byte("of value"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		book, file string
		code       int
	}{
		{path, there, exitRefused},
		{path, folder, exitRefused},
		{path, filepath.Join(folder, "none", "copy.db"), exitRefused},
		{path, filepath.Join(there, "copy.db"), exitBook},
		{filepath.Join(folder, "none.db"), filepath.Join(folder, "copy.db"), exitBook},
	} {
		if code, printed, errOut := ran(c.book, "backup", c.file); code != c.code || printed != "" {
			t.Errorf("%s to %s: exit code %d, %q, %s", c.book, c.file, code, printed, errOut)
		}
	}
	if list, err := os.ReadDir(folder); err != nil || len(list) != 1 {
		t.Errorf("the folder holds %v, %v", list, err)
	}
}
