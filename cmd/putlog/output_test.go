package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func says(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// folderHolds fails when a folder holds anything but the files named, with
// what they hold.
func folderHolds(t *testing.T, folder string, want map[string]string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		text, wanted := want[e.Name()]
		got, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if !wanted || err != nil || string(got) != text {
			t.Errorf("%s holds %q (%v), want %q", e.Name(), got, err, text)
		}
	}
	if len(entries) != len(want) {
		t.Errorf("%d files, want %d", len(entries), len(want))
	}
}

func TestWriteFile(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "page.html")
	a := &app{bookPath: filepath.Join(folder, "book.db")}
	if err := a.writeFile(name, false, says("one")); err != nil {
		t.Fatal(err)
	}
	err := a.writeFile(name, false, says("two"))
	if err == nil || !strings.Contains(err.Error(), "it is there already") {
		t.Errorf("written over without force: %v", err)
	}
	folderHolds(t, folder, map[string]string{"page.html": "one"})
	if err := a.writeFile(name, true, says("three")); err != nil {
		t.Fatal(err)
	}
	folderHolds(t, folder, map[string]string{"page.html": "three"})
}

func TestWriteFileLeavesNothingBehind(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "page.html")
	a := &app{bookPath: filepath.Join(folder, "book.db")}
	broken := errors.New("the page broke off")
	half := func(w io.Writer) error {
		_, _ = io.WriteString(w, strings.Repeat("half a page ", 1000))
		return broken
	}
	err := a.writeFile(name, false, half)
	if err == nil || !strings.Contains(err.Error(), broken.Error()) {
		t.Errorf("got %v", err)
	}
	folderHolds(t, folder, map[string]string{})
	if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := a.writeFile(name, true, half); err == nil {
		t.Error("half a page was written")
	}
	folderHolds(t, folder, map[string]string{"page.html": "old"})
}

// A file that appears between the look and the writing stays too.
func TestWriteFileLateComer(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "page.html")
	a := &app{bookPath: filepath.Join(folder, "book.db")}
	err := a.writeFile(name, false, func(w io.Writer) error {
		return os.WriteFile(name, []byte("other"), 0o600)
	})
	if err == nil {
		t.Error("written over without force")
	}
	folderHolds(t, folder, map[string]string{"page.html": "other"})
}

func TestWriteFileRefuses(t *testing.T) {
	folder := t.TempDir()
	book := filepath.Join(folder, "book.db")
	link := filepath.Join(folder, "link")
	if err := os.WriteFile(book, []byte("all jobs"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(book, link); err != nil {
		t.Fatal(err)
	}
	a := &app{bookPath: book}
	for _, test := range []struct{ name, want string }{
		{book, "it is the book"},
		{link, "no ordinary file"},
		{folder, "no ordinary file"},
		{"", "empty"},
		{filepath.Join(folder, "none", "page.html"), "no such file or directory"},
	} {
		err := a.writeFile(test.name, true, says("x"))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q: got %v, want %q", test.name, err, test.want)
		}
	}
	if got, err := os.ReadFile(book); err != nil || string(got) != "all jobs" {
		t.Errorf("the book now holds %q, %v", got, err)
	}
}
