package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// faultBook is a book with a batch in it; what a fault does to it must leave
// that to be read.
func faultBook(t *testing.T, path string) {
	t.Helper()
	loadJob(t, path)
	if err := canRecord(t, path, 1); err != nil {
		t.Fatal(err)
	}
}

// smallDisk mounts a disk of so many kilobytes on a new folder.
func smallDisk(t *testing.T, kilobytes int) (folder string) {
	t.Helper()
	folder = filepath.Join(t.TempDir(), "disk")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, fmt.Sprintf("size=%dk", kilobytes)); err != nil {
		t.Skipf("no disk can be mounted here: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(folder, 0); err != nil {
			t.Error(err)
		}
	})
	return folder
}

// fillDisk leaves no more than so many bytes of a disk.
func fillDisk(t *testing.T, folder string, leave int) (filling string) {
	t.Helper()
	filling = filepath.Join(folder, "filling")
	f, err := os.OpenFile(filling, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	size := int64(0)
	for err == nil {
		var n int
		n, err = f.Write(make([]byte, 4096))
		size += int64(n)
	}
	if err := f.Truncate(max(0, size-int64(leave))); err != nil {
		t.Fatal(err)
	}
	return filling
}

// wantRefusal holds how a command ended against what every one promises where
// the book can't be used: the exit code, nothing on standard output, and one
// line each of what is wrong and what to do.
func wantRefusal(t *testing.T, name string, done called, code int, what string) {
	t.Helper()
	lines := strings.Split(done.errOut, "\n")
	if done.code != code || done.out != "" || len(lines) != 3 || !strings.HasPrefix(lines[0], "putlog: ") ||
		!strings.HasPrefix(lines[1], "try: ") || lines[2] != "" || !strings.Contains(lines[0], what) {
		t.Errorf("%s: %+v, want exit code %d and %q", name, done, code, what)
	}
}

// within runs the program in this process.
func within(t *testing.T, path, in string, args ...string) called {
	t.Helper()
	code, out, errOut := putlog(t, in, append(args, "--book", path)...)
	return called{code, out, errOut}
}

var (
	readers = [][]string{{"plan", "shed"}, {"today"}, {"check"}, {"job", "export", "shed"}}
	writers = [][]string{{"note", "shed", "seen"}, {"job", "load", "-"}}
)

// otherJob is loaded where the book has the usual one.
var otherJob = strings.Replace(crashJob, "shed", "barn", 1)

// A full disk: reading goes on, writing is refused and does no harm; with room
// again it works.
func TestFullDisk(t *testing.T) {
	folder := smallDisk(t, 512)
	path := filepath.Join(folder, "book.db")
	faultBook(t, path)
	before := readBytes(t, path)
	for leave := 0; leave <= 40_960; leave += 4096 {
		filling := fillDisk(t, folder, leave)
		refused := 0
		for _, args := range writers {
			done := within(t, path, otherJob, args...)
			if done.code == exitDone {
				continue
			}
			refused++
			wantRefusal(t, strings.Join(args, " "), done, exitBook, "the disk is full")
		}
		if leave == 0 && refused != len(writers) {
			t.Errorf("on a full disk %d were refused", refused)
		}
		for _, args := range readers {
			if done := within(t, path, "", args...); done.code != exitDone {
				t.Errorf("%d left: %v: %+v", leave, args, done)
			}
		}
		if refused == len(writers) && !bytes.Equal(readBytes(t, path), before) {
			t.Errorf("%d left: the book changed", leave)
		}
		if err := os.Remove(filling); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, before, 0o600); err != nil { // as it was
			t.Fatal(err)
		}
	}
	if err := canRecord(t, path, 2); err != nil {
		t.Error(err)
	}
}

func readBytes(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// A new book on a full disk: refused, and begun when there is room.
func TestBeginOnFullDisk(t *testing.T) {
	folder := smallDisk(t, 256)
	path := filepath.Join(folder, "new", "book.db")
	filling := fillDisk(t, folder, 0)
	wantRefusal(t, "job load", within(t, path, crashJob, "job", "load", "-"), exitBook, "the disk is full")
	if err := os.Remove(filling); err != nil {
		t.Fatal(err)
	}
	loadJob(t, path)
	if err := canRecord(t, path, 1); err != nil {
		t.Error(err)
	}
}

// Every call that writes to the disk fails in turn: the command says so and has
// written nothing, and the next one works.
func TestFailingDisk(t *testing.T) {
	needStrace(t)
	first := filepath.Join(t.TempDir(), "first.db")
	faultBook(t, first)
	folder := t.TempDir()
	second := writeBatch(t, folder, 2, 9_000)
	path := filepath.Join(t.TempDir(), "book.db")
	record := []string{"record", "shed", "-", "--with-evidence", folder}
	copyBook(t, first, path)
	log := callLog(t, path, second, callKinds, record...)
	stride := 9
	if *kills >= 1000 {
		stride = 1
	}
	for _, c := range []struct{ call, fails, what string }{
		{"pwrite64", "ENOSPC", "the disk is full"}, {"pwrite64", "EIO", "the disk can't be read or written"},
		{"fsync", "EIO", "can't be"}, {"unlink", "EIO", "the disk can't be read or written"},
	} {
		calls := countCalls(log, c.call)
		if calls == 0 {
			t.Errorf("no call of %s", c.call)
		}
		for n := 1; n <= calls; n = max(n+1, min(n+stride, calls)) {
			name := fmt.Sprintf("%s of %s %d of %d", c.fails, c.call, n, calls)
			copyBook(t, first, path)
			done := call(t, straced(os.DevNull, path, []string{"-e", "trace=" + c.call,
				"-e", fmt.Sprintf("inject=%s:error=%s:when=%d", c.call, c.fails, n)}, record...), second)
			batches, err := batchesOf(path)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if done.code != exitDone {
				wantRefusal(t, name, done, exitBook, c.what)
			}
			// The last fsync is the folder's, when the change stands already.
			stands := done.code == exitDone || strings.Contains(done.errOut, "is there to be read")
			if want := []int{1, 2}[:1+btoi(stands)]; !slices.Equal(batches, want) {
				t.Errorf("%s: %+v, and then the batches are %v", name, done, batches)
			}
			if err := canRecord(t, path, 3); err != nil {
				t.Errorf("%s: afterwards: %v", name, err)
			}
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// A disk that can't be read at some place: the commands that read say so.
func TestUnreadableDisk(t *testing.T) {
	needStrace(t)
	path := filepath.Join(t.TempDir(), "book.db")
	faultBook(t, path)
	for _, args := range [][]string{{"plan", "shed"}, {"check"}} {
		calls := 0
		for _, line := range callLog(t, path, "", []string{"pread64"}, args...) {
			if strings.Contains(line, "<"+path+">") {
				calls++
			}
		}
		for _, n := range []int{1, calls / 2, calls} {
			done := call(t, straced(os.DevNull, path, []string{"-P", path, "-e", "trace=pread64",
				"-e", fmt.Sprintf("inject=pread64:error=EIO:when=%d", n)}, args...), "")
			wantRefusal(t, fmt.Sprintf("%v, read %d of %d", args, n, calls), done, exitBook, "")
		}
	}
}

// What is no sound book is refused by every command, and not a byte of it is
// changed.
func TestNoSoundBook(t *testing.T) {
	first := filepath.Join(t.TempDir(), "first.db")
	faultBook(t, first)
	data := readBytes(t, first)
	path := filepath.Join(t.TempDir(), "book.db")
	refused := func(name string, broken []byte, what string, commands [][]string) {
		t.Helper()
		if err := os.WriteFile(path, broken, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, args := range commands {
			wantRefusal(t, name+": "+strings.Join(args, " "), within(t, path, otherJob, args...), exitBook, what)
		}
		if !bytes.Equal(readBytes(t, path), broken) {
			t.Errorf("%s: the file changed", name)
		}
	}
	all := slices.Concat(readers, writers)
	refused("text", []byte("job: shed\ntitle: not a book at all\n"), "it is not a book", all)
	refused("empty", nil, "it is empty", slices.Concat(readers, writers[:1]))
	newer := slices.Clone(data)
	newer[63] = 99 // user_version
	refused("newer", newer, "newer book (version 99)", all)
	other := slices.Clone(data)
	other[68]++ // application_id
	refused("another program's", other, "another program's database", all)
	for n := 1; n < len(data); n += 1500 {
		refused(fmt.Sprintf("cut to %d of %d bytes", n, len(data)), data[:n], "", all)
	}
	for at := 0; at < len(data); at += 4096 {
		garbage := slices.Clone(data)
		copy(garbage[at:at+4096], bytes.Repeat([]byte{0xa5, 0x17, 0xff, 0x00}, 1024))
		refused(fmt.Sprintf("page %d of garbage", at/4096+1), garbage, "", [][]string{{"check"}})
		for _, args := range slices.Concat(readers, writers[:1]) { // done or refused, as they read the page or not
			done := within(t, path, otherJob, args...)
			if done.code != exitDone {
				wantRefusal(t, fmt.Sprintf("page %d of garbage: %v", at/4096+1, args), done, exitBook, "")
			}
		}
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	for _, args := range slices.Concat(readers, writers[:1]) {
		wantRefusal(t, "missing", within(t, path, "", args...), exitBook, "there is no such file")
		if _, err := os.Lstat(path); err == nil {
			t.Fatalf("%v made a book", args)
		}
	}
	for _, args := range all {
		wantRefusal(t, "a folder", within(t, filepath.Dir(path), otherJob, args...), exitBook, "it is a folder")
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := canRecord(t, path, 2); err != nil {
		t.Error(err)
	}
}

// A book on a disk that can only be read, or among files that this user may not
// write: reading works, writing is refused.
func TestReadOnlyBook(t *testing.T) {
	folder := smallDisk(t, 512)
	path := filepath.Join(folder, "book.db")
	faultBook(t, path)
	holds := func(name string) {
		t.Helper()
		for _, args := range readers {
			if done := within(t, path, "", args...); done.code != exitDone {
				t.Errorf("%s: %v: %+v", name, args, done)
			}
		}
		for _, args := range writers {
			wantRefusal(t, fmt.Sprint(name, ": ", args), within(t, path, otherJob, args...), exitBook, "it is read-only")
		}
		done := within(t, path, "", "backup", filepath.Join(folder, "copy.db"))
		wantRefusal(t, name+": backup beside it", done, done.code, "")
	}
	remount := func(flags uintptr) {
		t.Helper()
		if err := syscall.Mount("", folder, "", syscall.MS_REMOUNT|flags, "size=512k"); err != nil {
			t.Fatal(err)
		}
	}
	remount(syscall.MS_RDONLY)
	holds("read-only disk")
	remount(0)
	asNobody(t, func() { holds("another's file") }, path, folder)
	if err := canRecord(t, path, 2); err != nil {
		t.Error(err)
	}
}

// asNobody runs a check without the rights of root, which no file mode holds
// back, on a file and its folder that can only be read.
func asNobody(t *testing.T, check func(), path, folder string) {
	t.Helper()
	for name, mode := range map[string]os.FileMode{path: 0o444, folder: 0o555, filepath.Dir(folder): 0o755,
		filepath.Dir(filepath.Dir(folder)): 0o755} {
		if err := os.Chmod(name, mode); err != nil {
			t.Fatal(err)
		}
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if err := syscall.Setfsuid(65534); err != nil {
		t.Fatal(err)
	}
	check()
	if err := errors.Join(syscall.Setfsuid(0), os.Chmod(path, 0o600), os.Chmod(folder, 0o700)); err != nil {
		t.Fatal(err)
	}
}

// A hot journal beside a book that can't be written: what is in the book can't
// be known, and every command says so.
func TestHotJournalReadOnly(t *testing.T) {
	needStrace(t)
	folder := smallDisk(t, 512)
	path := filepath.Join(folder, "book.db")
	faultBook(t, path)
	done := call(t, straced(os.DevNull, path, []string{"-e", "inject=unlink:signal=KILL:when=1"}, "note", "shed", "x"), "")
	if done.code != -1 || journalOf(path) != hotJournal {
		t.Fatalf("no hot journal: %+v", done)
	}
	if err := syscall.Mount("", folder, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, "size=512k"); err != nil {
		t.Fatal(err)
	}
	for _, args := range slices.Concat(readers, writers) {
		wantRefusal(t, strings.Join(args, " "), within(t, path, otherJob, args...), exitBook, "")
	}
	if err := syscall.Mount("", folder, "", syscall.MS_REMOUNT, "size=512k"); err != nil {
		t.Fatal(err)
	}
	if err := canRecord(t, path, 2); err != nil {
		t.Error(err)
	}
}

// A book that another program holds for longer than anybody waits: seven seconds.
func TestHeldBook(t *testing.T) {
	t.Parallel()
	path := newBook(t)
	letGo := holdBook(t, path)
	defer letGo()
	var all sync.WaitGroup
	for _, args := range slices.Concat(readers, writers) {
		all.Go(func() {
			done := call(t, child(path, args...), otherJob)
			wantRefusal(t, strings.Join(args, " "), done, exitBook, "another program is writing to it")
		})
	}
	all.Wait()
	letGo()
	if err := canRecord(t, path, 1); err != nil {
		t.Error(err)
	}
}

// Documents and copies that are to go to a full disk: refused, and nothing of
// them is there afterwards.
func TestOutputToFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	faultBook(t, path)
	if done := within(t, path, "", "accept", "shed"); done.code != exitDone {
		t.Fatal(done)
	}
	folder := smallDisk(t, 128)
	to := func(name string) string { return filepath.Join(folder, name) }
	filling := fillDisk(t, folder, 0)
	commands := [][]string{
		{"statement", "shed", "--html", to("a.html"), "--pdf", to("a.pdf")}, {"statement", "shed", "--pdf", to("b.pdf")},
		{"dates", "shed", "--ics", to("c.ics")}, {"export", "shed", "--csv", to("tables")}, {"backup", to("d.db")},
		{"evidence", "get", "shed", "1", "--to", to("e.txt")}, {"job", "export", "shed", "--with-evidence", to("f")},
	}
	for _, leave := range []int{0, 4096, 8192} {
		if err := os.Truncate(filling, int64(128<<10-leave)); err != nil && leave > 0 {
			t.Fatal(err)
		}
		for _, args := range commands {
			done := within(t, path, "", args...)
			if done.code == exitDone && leave > 0 {
				for _, a := range args { // there was room
					if strings.HasPrefix(a, folder) {
						_ = os.RemoveAll(a)
					}
				}
				continue
			}
			wantRefusal(t, fmt.Sprintf("%d left: %v", leave, args), done, max(exitRefused, done.code), "")
			list, err := os.ReadDir(folder)
			if err != nil || len(list) > 2 || len(list) == 2 && !list[0].IsDir() && !list[1].IsDir() {
				t.Errorf("%v: the disk holds %v, %v", args, list, err)
			}
			if half, _ := filepath.Glob(filepath.Join(folder, "*", "*")); len(half) > 0 {
				t.Errorf("%v left %v", args, half)
			}
			_ = os.RemoveAll(to("f")) // a folder may stay
		}
	}
}

// An answer that can't be printed is said on standard error, whatever the
// command; what was to be recorded is recorded.
func TestFullStandardOutput(t *testing.T) {
	path := newBook(t)
	if err := canRecord(t, path, 1); err != nil {
		t.Fatal(err)
	}
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip(err)
	}
	defer full.Close()
	for _, line := range []string{"plan shed", "plan shed --json", "plan shed --screen 80", "today", "check",
		"job export shed", "job list", "daybook shed", "schema plan", "--help", "--version", "note shed seen",
		"moved shed --screen 80", "demo", "rates export", "wait adhesive"} {
		var errOut bytes.Buffer
		code := run(append(strings.Fields(line), "--book", path), strings.NewReader(""), full, &errOut, exitClock)
		if strings.HasPrefix(line, "moved") { // refused before it prints: nothing was accepted
			continue
		}
		wantRefusal(t, line, called{code: code, errOut: errOut.String()}, exitRefused, "can't print the answer: no space left")
	}
	if says := notesOf(t, path); says[len(says)-1] != "seen" {
		t.Errorf("the note is not in the book: %q", says)
	}
}
