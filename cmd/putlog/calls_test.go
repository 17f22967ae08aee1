package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"putlog/testdata/race"
)

// callKinds are the system calls that change what is on the disk, and the one
// that prints.
var callKinds = []string{"pwrite64", "write", "fsync", "fdatasync", "ftruncate", "unlink", "unlinkat",
	"link", "linkat", "rename", "renameat", "renameat2"}

// needStrace skips a test where calls can't be traced.
func needStrace(t *testing.T) {
	t.Helper()
	if out, err := exec.Command("strace", "-f", "-qq", "-o", os.DevNull, "-e", "trace=write", "-e",
		"inject=write:error=EIO:when=99", "true").CombinedOutput(); err != nil {
		t.Skipf("no strace here: %v %s", err, out)
	}
}

// straced is a child that strace follows, as its options say, into a log.
func straced(log, path string, options []string, args ...string) *exec.Cmd {
	cmd := child(path)
	cmd.Path, cmd.Args = "", []string{"strace", "-f", "-qq", "-o", log}
	cmd.Path, cmd.Err = exec.LookPath("strace")
	cmd.Args = slices.Concat(cmd.Args, options, []string{"putlog"}, args)
	return cmd
}

// called is what a child did.
type called struct {
	code        int // -1 where it was killed
	out, errOut string
}

// call runs a child to its end.
func call(t *testing.T, cmd *exec.Cmd, in string) called {
	t.Helper()
	var out, errOut bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = strings.NewReader(in), &out, &errOut
	var exit *exec.ExitError
	if err := cmd.Run(); err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return called{cmd.ProcessState.ExitCode(), out.String(), errOut.String()}
}

// callLog lists the calls of the thread that works on the book, one a line.
func callLog(t *testing.T, path, in string, kinds []string, args ...string) []string {
	t.Helper()
	log := filepath.Join(t.TempDir(), "calls")
	done := call(t, straced(log, path, []string{"-y", "-e", "trace=" + strings.Join(kinds, ",")}, args...), in)
	if done.code != exitDone {
		t.Fatalf("%q: %+v", args, done)
	}
	text, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	byThread := map[string][]string{} // for lookup only
	var most string
	for line := range strings.Lines(string(text)) {
		thread, does, _ := strings.Cut(line, " ")
		if name, _, isCall := strings.Cut(does, "("); !isCall || !slices.Contains(kinds, strings.TrimSpace(name)) {
			continue
		}
		byThread[thread] = append(byThread[thread], strings.TrimSpace(does))
		if len(byThread[thread]) > len(byThread[most]) {
			most = thread
		}
	}
	return byThread[most]
}

// countCalls counts the calls of each kind.
func countCalls(log []string, kind string) (n int) {
	for _, line := range log {
		if strings.HasPrefix(line, kind+"(") {
			n++
		}
	}
	return n
}

// scene is a command that is killed at one call after another, each time on the
// same files, and what must hold then.
type scene struct {
	name   string
	path   string // the book, as it is before
	in     string
	args   []string
	stride int // of the calls, one in so many, unless all are asked for
	check  func(t *testing.T, path string, done called) error
}

// scenes are set in a folder.
func scenes(t *testing.T, folder string) []scene {
	t.Helper()
	first := newBook(t)
	second := writeBatch(t, folder, 2, 9_000)
	record := []string{"record", "shed", "-", "--with-evidence", folder}
	code, _, errOut := putlog(t, writeBatch(t, folder, 1, 9_000), append(record, "--book", first)...)
	if code != exitDone {
		t.Fatal(errOut)
	}
	cut := filepath.Join(folder, "cut.db")
	copyBook(t, first, cut)
	done := call(t, straced(os.DevNull, cut, []string{"-e", "inject=unlink:signal=KILL:when=1"}, record...), second)
	if done.code != -1 || journalOf(cut) != hotJournal {
		t.Fatalf("no hot journal: %+v", done)
	}
	copied, dates := filepath.Join(folder, "copy.db"), filepath.Join(folder, "shed.ics")
	return []scene{
		{"record", first, second, record, 6, checkRecorded},
		{"begin a book", filepath.Join(folder, "none.db"), crashJob, []string{"job", "load", "-"}, 12, checkBegun},
		{"roll back", cut, "", []string{"plan", "shed"}, 3, checkRolledBack},
		{"backup", first, "", []string{"backup", copied}, 8, wholeOrNot(copied, func() error {
			_, err := batchesOf(copied)
			return err
		})},
		{"dates", first, "", []string{"dates", "shed", "--ics", dates}, 3, wholeOrNot(dates, func() error {
			text, err := os.ReadFile(dates)
			if err == nil && !strings.HasSuffix(string(text), "END:VCALENDAR\r\n") {
				err = fmt.Errorf("half a calendar: %q", text)
			}
			return err
		})},
	}
}

// checkRecorded: batch 1 is there, batch 2 too if it was answered, and batch 3
// can be recorded.
func checkRecorded(t *testing.T, path string, done called) error {
	batches, err := batchesOf(path)
	if err != nil {
		return err
	}
	answered := []int{1}
	if done.out != "" {
		answered = append(answered, 2)
	}
	if err := checkKept(batches, answered, 2); err != nil {
		return err
	}
	return canRecord(t, path, 3)
}

// canRecord says whether another batch can be recorded.
func canRecord(t *testing.T, path string, batch int) error {
	t.Helper()
	folder := t.TempDir()
	code, _, errOut := putlog(t, writeBatch(t, folder, batch, 9_000), "record", "shed", "-", "--book", path,
		"--with-evidence", folder)
	if code != exitDone {
		return errors.New(errOut)
	}
	batches, err := batchesOf(path)
	if err == nil && (len(batches) == 0 || batches[len(batches)-1] != batch) {
		err = fmt.Errorf("batch %d is not among %v", batch, batches)
	}
	return err
}

// checkBegun: the job is in the book or can be loaded again.
func checkBegun(t *testing.T, path string, done called) error {
	again, _, errOut := putlog(t, crashJob, "job", "load", "-", "--book", path)
	switch {
	case done.out != "" && again != exitRefused:
		return fmt.Errorf("it was answered and is not there: %d", again)
	case again == exitRefused && strings.Contains(errOut, "in the book already"), again == exitDone:
		return canRecord(t, path, 1)
	}
	return fmt.Errorf("loaded again: %d: %s", again, errOut)
}

// checkRolledBack: batch 2, half written, is gone whoever finishes the work.
func checkRolledBack(t *testing.T, path string, _ called) error {
	batches, err := batchesOf(path)
	if err != nil || !slices.Equal(batches, []int{1}) {
		return fmt.Errorf("batches %v, %v", batches, err)
	}
	return canRecord(t, path, 3)
}

// wholeOrNot: the file that was to be written is whole, or not there and not
// promised.
func wholeOrNot(file string, whole func() error) func(*testing.T, string, called) error {
	return func(t *testing.T, path string, done called) error {
		_, err := os.Lstat(file)
		switch {
		case err == nil:
			err = whole()
		case errors.Is(err, fs.ErrNotExist) && done.out == "":
			err = nil
		}
		batches, lost := batchesOf(path)
		if lost == nil && !slices.Equal(batches, []int{1}) {
			lost = fmt.Errorf("batches %v", batches)
		}
		return errors.Join(err, lost, os.RemoveAll(file))
	}
}

// The program is killed just before every system call in turn that changes what
// is on the disk, or prints.
func TestCrashAtEveryCall(t *testing.T) {
	race.Skip(t)
	needStrace(t)
	folder := t.TempDir()
	for _, s := range scenes(t, folder) {
		t.Run(s.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "book.db")
			copyBook(t, s.path, path)
			log := callLog(t, path, s.in, callKinds, s.args...)
			if err := s.check(t, path, called{out: "answered"}); err != nil {
				t.Fatal(err)
			}
			if *kills >= 1000 {
				s.stride = 1
			}
			var said []string
			for _, kind := range callKinds {
				calls, killed := countCalls(log, kind), 0
				for n := 1; n <= calls; n = max(n+1, min(n+s.stride, calls)) {
					copyBook(t, s.path, path)
					done := call(t, straced(os.DevNull, path, []string{"-e", "trace=" + kind,
						"-e", fmt.Sprintf("inject=%s:signal=KILL:when=%d", kind, n)}, s.args...), s.in)
					if done.code == -1 {
						killed++
					}
					if err := s.check(t, path, done); err != nil {
						t.Errorf("killed (%d) at %s %d of %d: %v", done.code, kind, n, calls, err)
					}
				}
				if calls > 0 {
					said = append(said, fmt.Sprintf("%s %d", kind, killed))
				}
				if calls > 0 && killed == 0 {
					t.Errorf("never killed at any of %d calls of %s", calls, kind)
				}
			}
			t.Logf("killed before: %s", strings.Join(said, ", "))
		})
	}
}

// What the answer promises is on the disk before it is printed: the journal
// before the book is touched, the book before the journal goes, and its going
// before the answer; else a power cut could bring back the journal, and with it
// the book as it was before.
func TestAnswerAfterDisk(t *testing.T) {
	needStrace(t)
	path, folder := newBook(t), t.TempDir()
	log := callLog(t, path, writeBatch(t, folder, 1, 9_000), callKinds, "record", "shed", "-",
		"--with-evidence", folder)
	order := ""
	for _, line := range log {
		call, on, _ := strings.Cut(line, "(")
		_, on, _ = strings.Cut(on, "<")
		on, _, _ = strings.Cut(on, ">")
		switch {
		case call == "pwrite64" && on == path+"-journal":
			order += "J"
		case call == "pwrite64" && on == path:
			order += "B"
		case call == "unlink" && strings.Contains(line, path+"-journal"):
			order += "U"
		case call == "write" && strings.HasPrefix(line, "write(1<"):
			order += "A"
		case on == path+"-journal":
			order += "j" // seen to the disk
		case on == path:
			order += "b"
		case on == filepath.Dir(path):
			order += "f"
		default:
			order += "?"
		}
	}
	if want := regexp.MustCompile(`^J+jfJ+jB+bUfA+$`); !want.MatchString(order) {
		t.Errorf("the calls come in the order %s, want %s:\n%s", order, want, strings.Join(log, "\n"))
	}
}
