package book

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"putlog/testdata/race"
)

// In the environment of a test's own child program: the book to append to and
// the name to append under.
const (
	childBook = "PUTLOG_TEST_BOOK"
	childName = "PUTLOG_TEST_NAME"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childBook); path != "" {
		if err := appendNumbered(path, os.Getenv(childName), 25); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	if race.Slows > 1 { // SQLite is thirty times as slow there
		_ = flag.Set("rapid.checks", "20") // the command line has the last word
	}
	os.Exit(m.Run())
}

// appendNumbered opens a book, makes the job if it is the first to come, and
// appends n rows one at a time; each says how many rows it has seen.
func appendNumbered(path, name string, n int) error {
	b, err := Open(path)
	if err != nil {
		return err
	}
	defer b.Close()
	var exists *Exists
	if err := b.AddJob("shared", "", nil, stamp); err != nil && !errors.As(err, &exists) {
		return err
	}
	for i := range n {
		err := b.Append("shared", stamp, func(existing []Row) ([]Row, error) {
			body := fmt.Sprintf("%s %d after %d", name, i, len(existing))
			return []Row{{On: 1, Kind: "note", Body: body}}, nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// checkNumbered: every writer's rows are there once and in its order, and what
// each had read before it wrote was still so when it wrote.
func checkNumbered(t *testing.T, path string, writers, n int) {
	t.Helper()
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	rows, err := b.Rows("shared")
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1+writers*n {
		t.Errorf("%d rows, want %d", len(rows), 1+writers*n)
	}
	next := make([]int, writers)
	for i, r := range rows[1:] {
		var writer, number, seen int
		if _, err := fmt.Sscanf(r.Body, "w%d %d after %d", &writer, &number, &seen); err != nil {
			t.Fatal(err)
		}
		if seen != i+1 || number != next[writer] {
			t.Errorf("row %d: %q; want number %d after %d", i+1, r.Body, next[writer], i+1)
		}
		next[writer]++
	}
	if slices.ContainsFunc(next, func(got int) bool { return got != n }) {
		t.Errorf("rows of each writer: %v, want %d", next, n)
	}
	mustCheck(t, b)
}

func TestManyGoroutinesOneBook(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "shared")
	const writers, n = 4, 10
	var wait sync.WaitGroup
	for w := range writers {
		wait.Go(func() {
			for i := range n {
				err := b.Append("shared", stamp, func(existing []Row) ([]Row, error) {
					body := fmt.Sprintf("w%d %d after %d", w, i, len(existing))
					return []Row{{On: 1, Kind: "note", Body: body}}, nil
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
	checkNumbered(t, b.path, writers, n)
}

// Several goroutines each open the book for themselves, before there is one.
func TestManyOpenAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "putlog.db")
	const writers, n = 4, 10
	var wait sync.WaitGroup
	for w := range writers {
		wait.Go(func() {
			if err := appendNumbered(path, fmt.Sprintf("w%d", w), n); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	checkNumbered(t, path, writers, n)
}

// Several programs, too.
func TestManyPrograms(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "new", "putlog.db")
	const writers, n = 4, 25
	var wait sync.WaitGroup
	for w := range writers {
		wait.Go(func() {
			child := exec.Command(self)
			child.Env = append(os.Environ(),
				childBook+"="+path, fmt.Sprintf("%s=w%d", childName, w))
			if out, err := child.CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	wait.Wait()
	checkNumbered(t, path, writers, n)
}
