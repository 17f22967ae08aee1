package main

import (
	"database/sql"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"putlog/jobs"
	"putlog/jobs/book"
)

// notesOf proves a book whole and gives what the notes of its job say.
func notesOf(t *testing.T, path string) (says []string) {
	t.Helper()
	b, err := book.OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if _, err := jobs.Prove(b, nil); err != nil {
		t.Fatal(err)
	}
	j, err := jobs.Open(b, "shed")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range j.Entries {
		if note, ok := e.Event.(*jobs.Note); ok {
			says = append(says, note.Says)
		}
	}
	return says
}

// Several programs record at once, each its entries one after another, while
// others read: nobody fails, and every entry is there once, each writer's in its
// order.
func TestManyHands(t *testing.T) {
	writers, entries := 8, 5
	if *kills >= 1000 {
		entries = 20
	}
	path := newBook(t)
	var mu sync.Mutex
	var longest time.Duration
	var all sync.WaitGroup
	written := make(chan struct{})
	for w := range writers {
		all.Go(func() {
			for n := range entries {
				start := time.Now()
				done := call(t, child(path, "note", "shed", fmt.Sprintf("writer %d entry %d", w, n)), "")
				if done.code != exitDone {
					t.Errorf("writer %d, entry %d: %+v", w, n, done)
				}
				mu.Lock()
				longest = max(longest, time.Since(start))
				mu.Unlock()
			}
		})
	}
	var reader sync.WaitGroup
	read := 0
	reader.Go(func() {
		for ; ; read++ {
			select {
			case <-written:
				return
			default:
			}
			if done := call(t, child(path, "plan", "shed"), ""); done.code != exitDone || done.out == "" {
				t.Errorf("reading meanwhile: %+v", done)
			}
		}
	})
	all.Wait()
	close(written)
	reader.Wait()
	says := notesOf(t, path)
	for w := range writers {
		var got, want []string
		for _, s := range says {
			if strings.HasPrefix(s, fmt.Sprintf("writer %d ", w)) {
				got = append(got, s)
			}
		}
		for n := range entries {
			want = append(want, fmt.Sprintf("writer %d entry %d", w, n))
		}
		if !slices.Equal(got, want) {
			t.Errorf("writer %d: %q", w, got)
		}
	}
	if len(says) != writers*entries || read == 0 {
		t.Errorf("%d entries, want %d; read %d times", len(says), writers*entries, read)
	}
	t.Logf("%d writers, %d entries each; the longest took %v from start to end; read %d times meanwhile",
		writers, entries, longest.Round(time.Millisecond), read)
}

// holdBook holds a book as a program that writes to it does, until let go.
func holdBook(t *testing.T, path string) (letGo func()) {
	t.Helper()
	holder := exec.Command(os.Args[0], "-test.run", "^TestHolder$")
	holder.Env = append(os.Environ(), "PUTLOG_TEST_HOLD="+path, "GORACE=atexit_sleep_ms=0")
	in, err := holder.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := holder.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := holder.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := out.Read(make([]byte, 1)); err != nil {
		t.Fatal("the book is not held: ", err)
	}
	return sync.OnceFunc(func() { _ = in.Close(); _ = holder.Wait() })
}

// A writer waits its turn while another holds the book.
func TestWaitsItsTurn(t *testing.T) {
	t.Parallel()
	path := newBook(t)
	letGo := holdBook(t, path)
	defer letGo()
	start := time.Now()
	time.AfterFunc(2*time.Second, letGo)
	for range 2 { // the second finds the book free
		if done := call(t, child(path, "note", "shed", "waited"), ""); done.code != exitDone {
			t.Errorf("%+v", done)
		}
	}
	if took := time.Since(start); took < 2*time.Second {
		t.Errorf("it took %v: the book was not held", took)
	}
	if says := notesOf(t, path); len(says) != 2 {
		t.Errorf("%q", says)
	}
}

// Of those who would start the same stage one does, and the others are told
// that it has been started.
func TestOneStarts(t *testing.T) {
	path := newBook(t)
	var all sync.WaitGroup
	ends := make([]called, 8)
	for i := range ends {
		all.Go(func() { ends[i] = call(t, child(path, "start", "shed", "dig"), "") })
	}
	all.Wait()
	won := 0
	for _, end := range ends {
		switch {
		case end.code == exitDone && end.out != "" && end.errOut == "":
			won++
		case end.code != exitRefused || end.out != "" || !strings.Contains(end.errOut, "dig was already started"):
			t.Errorf("%+v", end)
		}
	}
	if won != 1 {
		t.Errorf("%d started it", won)
	}
	notesOf(t, path) // proves it
}

// Several begin the same book at once, each with a job of its own or with the
// same one.
func TestBeginTogether(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "book.db")
	const hands = 6
	var all sync.WaitGroup
	ends := make([]called, 2*hands)
	for i := range ends {
		job := crashJob
		if i < hands {
			job = strings.Replace(job, "shed", fmt.Sprintf("shed-%d", i), 1)
		}
		all.Go(func() { ends[i] = call(t, child(path, "job", "load", "-"), job) })
	}
	all.Wait()
	same := 0
	for i, end := range ends {
		switch {
		case end.code == exitDone && end.errOut == "":
			if i >= hands {
				same++
			}
		case i < hands || end.code != exitRefused || !strings.Contains(end.errOut, "in the book already"):
			t.Errorf("%d: %+v", i, end)
		}
	}
	if same != 1 {
		t.Errorf("the same job was loaded %d times", same)
	}
	notesOf(t, path)
	if code, out, _ := putlog(t, "", "job", "list", "--book", path); code != exitDone || strings.Count(out, "\n") != hands+1 {
		t.Errorf("job list: %d, %s", code, out)
	}
}

// TestHolder is no test but the child of holdBook: it holds the book that the
// environment names until its standard input ends.
func TestHolder(t *testing.T) {
	path := os.Getenv("PUTLOG_TEST_HOLD")
	if path == "" {
		t.Skip("a child of other tests")
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`BEGIN EXCLUSIVE`); err != nil {
		t.Fatal(err)
	}
	fmt.Println("held")
	_, _ = io.Copy(io.Discard, os.Stdin)
}
