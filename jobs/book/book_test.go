package book

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/schedule"
)

const stamp = "2027-03-01T08:30:00Z"

func day(t testing.TB, text string) schedule.Day {
	t.Helper()
	d, err := schedule.ParseDay(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// openNew opens a new book that is closed with the test.
func openNew(t testing.TB) *Book {
	t.Helper()
	b, err := Open(filepath.Join(t.TempDir(), "putlog.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func addJob(t testing.TB, b *Book, job string, rows ...Row) {
	t.Helper()
	if err := b.AddJob(job, "job: "+job, rows, stamp); err != nil {
		t.Fatal(err)
	}
}

func give(rows ...Row) func([]Row) ([]Row, error) {
	return func([]Row) ([]Row, error) { return rows, nil }
}

func mustCheck(t testing.TB, b *Book) Report {
	t.Helper()
	r, err := b.Check()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func readFile(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestBookKeepsRows(t *testing.T) {
	b := openNew(t)
	started := Row{On: day(t, "2027-03-01"), Kind: "started", Body: "{stage: probe}"}
	finished := Row{On: day(t, "2027-03-01"), Kind: "finished", Body: "{stage: probe}"}
	addJob(t, b, "orchard-row", started)
	addJob(t, b, "mill-lane")
	later := "2027-03-02T16:00:00Z"
	var seen []Row
	err := b.Append("orchard-row", later, func(existing []Row) ([]Row, error) {
		seen = slices.Clone(existing)
		return []Row{finished}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	want := []Row{
		{Seq: 1, Job: "orchard-row", Kind: "job", Body: "job: orchard-row", Written: stamp},
		{2, "orchard-row", started.On, "started", "{stage: probe}", stamp},
		{4, "orchard-row", finished.On, "finished", "{stage: probe}", later},
	}
	got, err := b.Rows("orchard-row")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("rows (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(want[:2], seen); diff != "" {
		t.Errorf("rows handed to Append (-want +got):\n%s", diff)
	}
	jobs, err := b.Jobs()
	if err != nil || !slices.Equal(jobs, []string{"orchard-row", "mill-lane"}) {
		t.Errorf("jobs %q, %v", jobs, err)
	}
	if r := mustCheck(t, b); r.Rows != 4 || r.Jobs != 2 {
		t.Errorf("report %+v, want 4 rows of 2 jobs", r)
	}
}

// A new book and its folder are for their owner alone.
func TestOpenMakesBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a", "b", "putlog.db")
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	empty := filepath.Join(t.TempDir(), "empty.db") // made beforehand, readable by all
	if err := os.WriteFile(empty, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	was, err := Open(empty)
	if err != nil {
		t.Fatal(err)
	}
	defer was.Close()
	if runtime.GOOS == "windows" {
		t.Skip("no file modes")
	}
	for name, want := range map[string]fs.FileMode{
		path: 0o600, filepath.Dir(path): fs.ModeDir | 0o700, empty: 0o600,
	} {
		if info, err := os.Stat(name); err != nil || info.Mode() != want {
			t.Errorf("%s: mode %v (%v), want %v", name, info.Mode(), err, want)
		}
	}
}

// Opening for reading changes no byte, and a book may be opened any number of
// times.
func TestOpenAgain(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row", history(5)...)
	before := readFile(t, b.path)
	for _, open := range []func(string) (*Book, error){Open, OpenExisting, OpenOrEmpty} {
		again, err := open(b.path)
		if err != nil {
			t.Fatal(err)
		}
		if rows, err := again.Rows("orchard-row"); err != nil || len(rows) != 6 {
			t.Errorf("%d rows, %v; want 6", len(rows), err)
		}
		if err := again.Close(); err != nil {
			t.Error(err)
		}
	}
	if !bytes.Equal(before, readFile(t, b.path)) {
		t.Error("opening and reading changed the file")
	}
}

// SQLite reads '#', '?' and '%' in a name as its own unless they are escaped;
// the file must lie exactly where it was asked for.
func TestAwkwardPaths(t *testing.T) {
	for _, name := range []string{"a b.db", "50%.db", "%41.db", "why?.db", "no #1.db",
		"a&b=c;d+e@f:g.db", "file:x", "mode=ro", "½ m².db", "'quoted\".db", "-x.db",
		"?mode=memory", "a\nb.db"} {
		folder := filepath.Join(t.TempDir(), name)
		path := filepath.Join(folder, name)
		b, err := Open(path)
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		addJob(t, b, "orchard-row")
		if err := b.Backup(path + ".copy"); err != nil {
			t.Errorf("%q: %v", name, err)
		}
		if err := b.Close(); err != nil {
			t.Error(err)
		}
		for _, path := range []string{path, path + ".copy"} {
			again, err := OpenExisting(path)
			if err != nil {
				t.Errorf("%q: %v", path, err)
				continue
			}
			if jobs, err := again.Jobs(); err != nil || len(jobs) != 1 {
				t.Errorf("%q: jobs %q, %v", path, jobs, err)
			}
			again.Close()
		}
		list, err := os.ReadDir(folder)
		if err != nil || len(list) != 2 {
			t.Errorf("%q: the folder holds %v, %v; want the book and its copy", name, list, err)
		}
	}
}

func TestRelativePath(t *testing.T) {
	t.Chdir(t.TempDir())
	b, err := Open("putlog.db")
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	addJob(t, b, "orchard-row")
	if _, err := os.Stat("putlog.db"); err != nil {
		t.Error(err)
	}
}

// Any text comes back as it went in.
func TestAwkwardText(t *testing.T) {
	b := openNew(t)
	for i, body := range []string{"", "£ ½ m²", "a\x00b", "\xff\xfe", "'; DROP TABLE daybook; --",
		strings.Repeat("long ", 1<<18), "2027-03-01", "12", "\r\n\t"} {
		job := fmt.Sprintf("job-%d", i)
		note := Row{On: 1, Kind: "note", Body: body}
		if err := b.AddJob(job, body, []Row{note}, stamp); err != nil {
			t.Fatal(err)
		}
		rows, err := b.Rows(job)
		if err != nil || rows[0].Body != body || rows[1].Body != body {
			t.Errorf("%.20q did not come back: %.60v, %v", body, rows, err)
		}
	}
	mustCheck(t, b)
}

func TestAddJobTwice(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	before := readFile(t, b.path)
	var exists *Exists
	if err := b.AddJob("orchard-row", "x", history(3), stamp); !errors.As(err, &exists) {
		t.Errorf("%v, want *Exists", err)
	} else if exists.Job != "orchard-row" {
		t.Errorf("exists: %q", exists.Job)
	}
	if !bytes.Equal(before, readFile(t, b.path)) {
		t.Error("the file changed")
	}
}

func TestNotFound(t *testing.T) {
	b := openNew(t)
	for _, job := range []string{"mill-lane", "orchard-row", "orchard-end"} {
		addJob(t, b, job)
	}
	unused := func([]Row) ([]Row, error) {
		t.Error("called for a job that is not there")
		return nil, nil
	}
	_, err := b.Rows("orchid-row")
	for _, err := range []error{err, b.Append("orchid-row", stamp, unused)} {
		var notFound *NotFound
		if !errors.As(err, &notFound) {
			t.Errorf("%v, want *NotFound", err)
			continue
		}
		if !slices.Equal(notFound.Near, []string{"orchard-row"}) {
			t.Errorf("near matches %q", notFound.Near)
		}
	}
}

// What the caller's function refuses comes back as it is; nothing is written.
func TestAppendRefused(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	before := readFile(t, b.path)
	refused := errors.New("the stage is finished already")
	err := b.Append("orchard-row", stamp, func([]Row) ([]Row, error) {
		return history(3), refused
	})
	if err != refused {
		t.Errorf("%v, want the function's own error", err)
	}
	on := day(t, "2027-03-01")
	for _, bad := range []Row{
		{},
		{On: on},
		{Kind: "started"},
		{On: on, Kind: JobKind},
		{On: on, Kind: "started", Job: "mill-lane"},
		{On: schedule.LastDay + 1, Kind: "started"},
	} {
		rows := append(history(2), bad)
		if err := b.Append("orchard-row", stamp, give(rows...)); err == nil {
			t.Errorf("%+v was written", bad)
		}
		if err := b.AddJob("station-road", "", rows, stamp); err == nil {
			t.Errorf("%+v was written with a new job", bad)
		}
	}
	for _, written := range []string{"", "2027-03-01", "2027-03-01T08:30:00+01:00"} {
		if err := b.Append("orchard-row", written, give(history(1)...)); err == nil {
			t.Errorf("written %q was taken", written)
		}
	}
	if err := b.AddJob("", "", nil, stamp); err == nil {
		t.Error("a job without a reference was taken")
	}
	if !bytes.Equal(before, readFile(t, b.path)) {
		t.Error("the file changed")
	}
	if err := b.Append("orchard-row", stamp, give()); err != nil {
		t.Errorf("no rows at all: %v", err)
	}
	if r := mustCheck(t, b); r.Rows != 1 {
		t.Errorf("%d rows, want 1", r.Rows)
	}
}

// A function that panics leaves the book unlocked and as it was.
func TestAppendPanics(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	func() {
		defer func() { _ = recover() }()
		_ = b.Append("orchard-row", stamp, func([]Row) ([]Row, error) { panic("a bug") })
	}()
	if err := b.Append("orchard-row", stamp, give(history(1)...)); err != nil {
		t.Error(err)
	}
	if r := mustCheck(t, b); r.Rows != 2 {
		t.Errorf("%d rows, want 2", r.Rows)
	}
}

// While Append's function runs it may read, the same book and others.
func TestAppendMayRead(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	addJob(t, b, "mill-lane")
	err := b.Append("orchard-row", stamp, func([]Row) ([]Row, error) {
		if _, err := b.Rows("mill-lane"); err != nil {
			return nil, err
		}
		return history(1), nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestOpenOrEmpty(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none", "putlog.db")
	b, err := OpenOrEmpty(path)
	if err != nil {
		t.Fatal(err)
	}
	if jobs, err := b.Jobs(); err != nil || len(jobs) != 0 {
		t.Errorf("jobs %q, %v", jobs, err)
	}
	var notFound *NotFound
	if _, err := b.Rows("orchard-row"); !errors.As(err, &notFound) {
		t.Errorf("rows: %v, want *NotFound", err)
	}
	if err := b.Append("orchard-row", stamp, give(history(1)...)); !errors.As(err, &notFound) {
		t.Errorf("append: %v, want *NotFound", err)
	}
	if r, err := b.Check(); err != nil || r != mustCheck(t, openNew(t)) {
		t.Errorf("check: %+v, %v; want what a new book says", r, err)
	}
	for _, err := range []error{
		b.AddJob("orchard-row", "", nil, stamp), b.Backup(path + ".copy"),
	} {
		if !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%v, want a missing book", err)
		}
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(filepath.Dir(path)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("something was made: %v", err)
	}
}

func ExampleBook() {
	folder, err := os.MkdirTemp("", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	b, err := Open(filepath.Join(folder, "putlog.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer b.Close()
	if err := b.AddJob("orchard-row", "job: orchard-row", nil, "2027-03-01T08:30:00Z"); err != nil {
		fmt.Println(err)
		return
	}
	err = b.Append("orchard-row", "2027-03-09T17:05:00Z", func(existing []Row) ([]Row, error) {
		on, err := schedule.NewDay(2027, 3, 9)
		return []Row{{On: on, Kind: "started", Body: "{stage: probe}"}}, err
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	rows, err := b.Rows("orchard-row")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range rows {
		fmt.Println(r.Seq, r.Kind, r.On, r.Body)
	}
	report, err := b.Check()
	fmt.Println(report.Rows, "rows", err)
	// Output:
	// 1 job  job: orchard-row
	// 2 started 2027-03-09 {stage: probe}
	// 2 rows <nil>
}
