package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/testdata/race"
)

var (
	kills = flag.Int("kills", 25, "how often TestCrash kills the program while it records; "+
		"from 1000 on, TestCrashAtEveryCall leaves out no call")
	seed = flag.Uint64("seed", 1, "the seed of what the tests of the book draw")
)

// child is the program as a process of its own, on a book, at the time that
// exitClock shows.
func child(book string, args ...string) *exec.Cmd {
	cmd := exec.Command("putlog", args...) // TestMain put it on the path
	cmd.Env = append(os.Environ(), "NOW="+exitClock.Format(time.RFC3339), "PUTLOG_BOOK="+book,
		"GORACE=atexit_sleep_ms=0")
	return cmd
}

// crashJob is a job that entries are recorded in.
const crashJob = "job: shed\nregion: england-and-wales\nstart: 2027-03-01\nstages: [{stage: dig, takes: 2d}]\n"

// newBook is a book with the job, in a folder of its own.
func newBook(t *testing.T) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "book.db")
	loadJob(t, path)
	return path
}

func loadJob(t *testing.T, path string) {
	t.Helper()
	if code, _, errOut := putlog(t, crashJob, "job", "load", "-", "--book", path); code != exitDone {
		t.Fatal(errOut)
	}
}

// A batch is entries that go into the book whole or not at all: so many notes,
// the last of which carries a paper.
const batchParts = 3

func noteOf(batch, part int) string {
	return fmt.Sprintf("batch %d part %d of %d", batch, part, batchParts)
}

// writeBatch gives a batch's entries; its paper of so many bytes lies in the folder.
func writeBatch(t *testing.T, folder string, batch, paperBytes int) (entries string) {
	t.Helper()
	mark := fmt.Sprintf("paper of batch %d\n", batch)
	paper := []byte(strings.Repeat(mark, paperBytes/len(mark)))
	sum, name := book.SumOf(paper), fmt.Sprintf("batch-%d.txt", batch)
	if err := os.WriteFile(filepath.Join(folder, sum[:16]+"-"+name), paper, 0o600); err != nil {
		t.Fatal(err)
	}
	for part := range batchParts {
		entries += fmt.Sprintf("- {on: 2027-03-10, note: {says: %s}", noteOf(batch, part+1))
		if part == batchParts-1 {
			entries += fmt.Sprintf(", evidence: [{sha256: %s, name: %s, type: text/plain, size: %d, what: paper}]",
				sum, name, len(paper))
		}
		entries += "}\n"
	}
	return entries
}

// batchesOf proves a book whole and gives the batches in it, each of which must
// be there whole.
func batchesOf(path string) (batches []int, err error) {
	b, err := book.OpenExisting(path)
	if err != nil {
		return nil, err
	}
	defer b.Close()
	report, err := jobs.Prove(b, nil)
	if err != nil {
		return nil, err
	}
	j, err := jobs.Open(b, "shed")
	if err != nil {
		return nil, err
	}
	for i, e := range j.Entries {
		note, isNote := e.Event.(*jobs.Note)
		if i%batchParts == 0 && isNote {
			var batch int
			_, _ = fmt.Sscanf(note.Says, "batch %d", &batch)
			batches = append(batches, batch)
		}
		if !isNote || note.Says != noteOf(batches[len(batches)-1], i%batchParts+1) {
			return nil, fmt.Errorf("entry %d is %+v, after the batches %v", i+1, e.Event, batches)
		}
	}
	if len(j.Entries)%batchParts != 0 || report.Files != int64(len(batches)) {
		return nil, fmt.Errorf("%d entries, %d papers", len(j.Entries), report.Files)
	}
	return batches, nil
}

// checkKept holds what a book has against what it was promised to have: every
// batch that was answered, none that was not sent, in order, each once.
func checkKept(batches, answered []int, sent int) error {
	if !slices.IsSorted(batches) || len(slices.Compact(slices.Clone(batches))) != len(batches) {
		return fmt.Errorf("the batches %v are not in order, or not once", batches)
	}
	for _, n := range answered {
		if !slices.Contains(batches, n) {
			return fmt.Errorf("batch %d was answered and is lost; there are %v", n, batches)
		}
	}
	if n := len(batches); n > 0 && (batches[0] < 1 || batches[n-1] > sent) {
		return fmt.Errorf("%d batches were sent, but there are %v", sent, batches)
	}
	return nil
}

// copyBook copies a book and its journal as they lie, to another name.
func copyBook(t *testing.T, from, to string) {
	t.Helper()
	for _, end := range [...]string{"", "-journal"} {
		data, err := os.ReadFile(from + end)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			if err := os.Remove(to + end); err != nil && !errors.Is(err, fs.ErrNotExist) {
				t.Fatal(err)
			}
			continue
		case err == nil:
			err = os.WriteFile(to+end, data, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// journal is what lies beside a book.
type journal int

const (
	noJournal  journal = iota
	begun              // the book itself is still as it was
	hotJournal         // with SQLite's mark: the book itself may be half written
)

func journalOf(path string) journal {
	f, err := os.Open(path + "-journal")
	if err != nil {
		return noJournal
	}
	defer f.Close()
	mark := make([]byte, 8)
	if _, err := f.Read(mark); err == nil && string(mark) == "\xd9\xd5\x05\xf9\x20\xa1\x63\xd7" {
		return hotJournal
	}
	return begun
}

// crash is a series of children on one book, each killed as it records a batch.
type crash struct {
	folder, path string
	draw         *rand.Rand
	sent         int           // batches sent, numbered from 1
	answered     []int         // those that an answer was seen for
	whole        time.Duration // a run that nobody kills
	writing      time.Duration // from the journal's coming to its going in such a run
	before       int           // killed before the batch was in the book
	during, hot  int           // killed with a journal there; and a hot one
	after        int           // killed with the batch in the book
	silent       int           // of these, before the answer was printed
}

// send has a child record the next batch. moment is called once it runs, and
// gives the time to kill it; it is not killed when it ends before.
func (c *crash) send(t *testing.T, moment func(ended <-chan error) bool) (killed bool) {
	t.Helper()
	c.sent++
	cmd := child(c.path, "record", "shed", "-", "--with-evidence", c.folder)
	cmd.Stdin = strings.NewReader(writeBatch(t, c.folder, c.sent, 240_000)) // 60 pages
	var out, errOut bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errOut
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	if moment(ended) {
		_ = cmd.Process.Kill() // it may have ended this moment
	}
	<-ended
	killed = cmd.ProcessState.ExitCode() != exitDone
	if killed && cmd.ProcessState.Exited() {
		t.Fatalf("batch %d: not killed, but exit code %d: %s", c.sent, cmd.ProcessState.ExitCode(), errOut.String())
	}
	if out.Len() > 0 { // a letter of the answer is a promise
		c.answered = append(c.answered, c.sent)
	}
	return killed
}

// unhurt has batches recorded without a kill, and measures how long that takes.
func (c *crash) unhurt(t *testing.T) {
	t.Helper()
	for range 3 {
		start := time.Now()
		c.send(t, func(ended <-chan error) bool {
			if c.until(ended, func(j journal) bool { return j != noJournal }) {
				came := time.Now()
				c.until(ended, func(j journal) bool { return j == noJournal })
				c.writing = max(c.writing, time.Since(came))
			}
			return false
		})
		c.whole = max(c.whole, time.Since(start))
	}
}

// until waits until the child's journal is as wanted; false if it ends before.
func (c *crash) until(ended <-chan error, wanted func(journal) bool) bool {
	for !wanted(journalOf(c.path)) {
		if len(ended) > 0 {
			return false
		}
		time.Sleep(20 * time.Microsecond) // the child may need the core
	}
	return true
}

// moment draws when to kill: one time in three anywhere in the run, else from
// the journal's coming on, or from when it is hot.
func (c *crash) moment(ended <-chan error) bool {
	within, wait := c.whole+c.whole/10, noJournal
	switch c.draw.IntN(3) {
	case 1:
		within, wait = 2*c.writing, begun
	case 2:
		within, wait = 200*time.Microsecond, hotJournal
	}
	if wait != noJournal {
		left := func(j journal) bool { return j == noJournal } // by the one killed before
		if !c.until(ended, left) || !c.until(ended, func(j journal) bool { return j >= wait }) {
			return false
		}
	}
	time.Sleep(time.Duration(c.draw.Int64N(int64(within))))
	return true
}

// look proves a copy of the book as the kill left it, so that the next child
// finds the book itself untouched, and counts where the kill fell.
func (c *crash) look(t *testing.T) {
	t.Helper()
	left := journalOf(c.path)
	seen := filepath.Join(c.folder, "seen.db")
	copyBook(t, c.path, seen)
	batches, err := batchesOf(seen)
	if err == nil {
		err = checkKept(batches, c.answered, c.sent)
	}
	if err != nil {
		t.Fatalf("after batch %d, killed with journal %d: %v", c.sent, left, err)
	}
	written := len(batches) > 0 && batches[len(batches)-1] == c.sent
	switch {
	case written:
		c.after++
		if !slices.Contains(c.answered, c.sent) {
			c.silent++
		}
	case left != noJournal:
		c.during++
		if left == hotJournal {
			c.hot++
		}
	default:
		c.before++
	}
}

// A program that is killed while it records leaves a book that is whole: what
// was answered is there, what was not is there whole or not at all. Each child
// finds the book as the one before left it.
func TestCrash(t *testing.T) {
	race.Skip(t)
	const perBook = 20
	draw := rand.New(rand.NewPCG(*seed, 0))
	var all crash
	answered := 0
	for killed := 0; killed < *kills; {
		path := newBook(t)
		c := &crash{folder: filepath.Dir(path), path: path, draw: draw}
		c.unhurt(t)
		for n := 0; n < perBook && killed < *kills; {
			if c.send(t, c.moment) {
				c.look(t)
				n, killed = n+1, killed+1
			}
		}
		if code, _, errOut := putlog(t, "", "check", "--book", path); code != exitDone {
			t.Fatal(errOut)
		}
		all.before, all.during, all.hot = all.before+c.before, all.during+c.during, all.hot+c.hot
		all.after, all.silent, answered = all.after+c.after, all.silent+c.silent, answered+len(c.answered)
		if err := os.RemoveAll(c.folder); err != nil { // a book is some MB
			t.Fatal(err)
		}
	}
	t.Logf("%d kills (seed %d): %d before the writing, %d in the middle of it (a journal left behind, %d hot), "+
		"%d after it (%d before the answer); %d batches answered, all there, none in half",
		*kills, *seed, all.before, all.during, all.hot, all.after, all.silent, answered)
	if *kills >= 20 && all.during == 0 || *kills >= 200 && all.hot == 0 {
		t.Error("none was killed in the middle of the writing")
	}
}
