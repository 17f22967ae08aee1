package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"putlog/jobs/documents"
)

// twoTables are tables whose second can be made not to fit.
func twoTables() []documents.Table {
	return []documents.Table{{File: "one.csv", Head: []string{"a"}, Rows: [][]string{{"1"}}},
		{File: "two.csv", Head: []string{"b"}, Rows: [][]string{{"2"}}}}
}

func TestWriteTables(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "tables")
	a := &app{bookPath: "book.db"}
	if err := a.writeTables(folder, false, twoTables()); err != nil {
		t.Fatal(err)
	}
	want := map[string]string{"one.csv": "a\r\n1\r\n", "two.csv": "b\r\n2\r\n"}
	folderHolds(t, folder, want)
	if err := a.writeTables(folder, false, twoTables()); err == nil ||
		!strings.Contains(err.Error(), "it is there already") {
		t.Errorf("written over without force: %v", err)
	}
	folderHolds(t, folder, want)
	if err := os.WriteFile(filepath.Join(folder, "two.csv"), []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := a.writeTables(folder, true, twoTables()); err != nil {
		t.Fatal(err)
	}
	folderHolds(t, folder, want)
}

// A folder that was made for tables that can't be written goes again.
func TestWriteTablesLeavesNoFolder(t *testing.T) {
	above := t.TempDir()
	tables := twoTables()
	tables[1].File = filepath.Join("none", "two.csv")
	if err := (&app{bookPath: "book.db"}).writeTables(filepath.Join(above, "new"), false,
		tables); err == nil {
		t.Error("no error")
	}
	folderHolds(t, above, map[string]string{})
}

// TestFileSetAllOrNone breaks the last step at the second file.
func TestFileSetAllOrNone(t *testing.T) {
	for _, force := range []bool{false, true} {
		folder := t.TempDir()
		old := map[string]string{}
		if force {
			old = map[string]string{"one": "old one", "two": "old two"}
		}
		for name, text := range old {
			if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		set := &fileSet{}
		for _, name := range []string{"one", "two"} {
			if err := set.write(filepath.Join(folder, name), says("new")); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Remove(set.files[1].temp); err != nil {
			t.Fatal(err)
		}
		if name, err := set.place(force); err == nil || filepath.Base(name) != "two" {
			t.Errorf("force %v: %s, %v", force, name, err)
		}
		set.undo()
		folderHolds(t, folder, old)
	}
}

// What breaks off while it is written leaves nothing behind.
func TestFileSetBreaksOff(t *testing.T) {
	folder := t.TempDir()
	set := &fileSet{}
	broken := errors.New("it broke off")
	if err := set.write(filepath.Join(folder, "one"), says("new")); err != nil {
		t.Fatal(err)
	}
	err := set.write(filepath.Join(folder, "two"), func(io.Writer) error { return broken })
	if !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
	set.undo()
	folderHolds(t, folder, map[string]string{})
}
