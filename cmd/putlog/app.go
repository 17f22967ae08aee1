package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"golang.org/x/term"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
)

// version is what putlog --version prints.
const version = "0.1.0"

// Exit codes, as the contract has them.
const (
	exitDone    = 0
	exitRefused = 1 // bad input, unknown job, a rule broken: nothing written
	exitUsage   = 2 // the command was typed wrong
	exitBook    = 3 // the book can't be read or written
)

// app is one run of the program: where it reads and prints, what time it is,
// and the flags that every command shares.
type app struct {
	in          io.Reader
	out, errOut io.Writer
	now         time.Time
	bookPath    string // --book
	asAtText    string // --as-at
	json        bool   // --json
	screen      int    // --screen; 0 is what the terminal has, or a pipe
}

// run is the whole program. It never reads the clock: now is the time.
func run(args []string, in io.Reader, out, errOut io.Writer, now time.Time) int {
	p := &printer{to: out}
	a := &app{in: in, out: p, errOut: errOut, now: now}
	root := a.root()
	root.SetArgs(belowNought(args, valued(root, args)))
	root.SetIn(in)
	root.SetOut(p)
	root.SetErr(errOut)
	err := root.ExecuteContext(context.Background())
	if p.err != nil && (err == nil || errors.Is(err, p.err)) {
		err = notPrinted(p.err)
	}
	return a.report(err)
}

// report prints an error, what is wrong and then what to do, and picks the exit
// code. It is the only place that does either.
func (a *app) report(err error) int {
	if err == nil {
		return exitDone
	}
	code, try := exitRefused, words.Advice(err)
	var use usageError
	var problems *form.Problems
	var broken *book.Error
	var altered *book.Altered
	var missing *book.NotFound
	switch {
	case errors.As(err, &problems):
		a.printProblems(problems)
		return exitRefused
	case errors.As(err, &use):
		code = exitUsage
	case errors.As(err, &altered), errors.As(err, &broken):
		code = exitBook
	case errors.As(err, &missing):
		try = nearJobs(missing.Near)
	case strings.HasPrefix(err.Error(), "unknown command"),
		strings.HasPrefix(err.Error(), "unknown flag"), strings.HasPrefix(err.Error(), "unknown shorthand"):
		code = exitUsage
	}
	fmt.Fprintf(a.errOut, "putlog: %s\n", oneLine(err.Error()))
	if try != "" {
		fmt.Fprintf(a.errOut, "try: %s\n", oneLine(try))
	}
	return code
}

// oneLine keeps a message from passing for two: it may quote what was typed.
func oneLine(text string) string {
	return clean(strings.NewReplacer("\n", " ", "\r", " ").Replace(text))
}

func (a *app) printProblems(p *form.Problems) {
	for _, line := range strings.Split(p.Error(), "\n") {
		fmt.Fprintf(a.errOut, "putlog: %s\n", clean(line))
	}
	fmt.Fprintln(a.errOut, "nothing was written")
}

func nearJobs(near []string) string {
	if len(near) == 0 {
		return "putlog job list"
	}
	return words.DidYouMean(near)
}

// today is the day of now, in the place where the program runs.
func (a *app) today() schedule.Day {
	y, m, d := a.now.Date()
	day, err := schedule.NewDay(y, int(m), d)
	if err != nil {
		return schedule.LastDay // a clock past the horizon
	}
	return day
}

// asAt is the day the answer is for.
func (a *app) asAt() (schedule.Day, error) {
	if a.asAtText == "" {
		return a.today(), nil
	}
	d, err := schedule.ParseDay(a.asAtText)
	if err != nil {
		return 0, usageError{fmt.Errorf("--as-at: %w", err)}
	}
	return d, nil
}

// written is the time of writing, as the book keeps it.
func (a *app) written() string { return a.now.UTC().Format(book.Stamp) }

// path is the book's file, and whether it was named rather than the usual one.
func (a *app) path() (path string, named bool, err error) {
	if a.bookPath != "" {
		return a.bookPath, true, nil
	}
	if path = os.Getenv("PUTLOG_BOOK"); path != "" {
		return path, true, nil
	}
	dir := os.Getenv("XDG_DATA_HOME")
	if dir == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", false, &book.Error{Op: "find", Path: "the book", What: err.Error(),
				Try: "name it: --book FILE, or set PUTLOG_BOOK", Err: err}
		}
		dir = dataFolder(home)
	}
	return filepath.Join(dir, "putlog", "putlog.db"), false, nil
}

// toRead opens the book for reading. None at the usual place means no jobs yet;
// none where one was named is an error.
func (a *app) toRead() (*book.Book, error) {
	path, named, err := a.path()
	if err != nil {
		return nil, err
	}
	if named {
		return book.OpenExisting(path)
	}
	return book.OpenOrEmpty(path)
}

// toWrite opens the book for writing, and makes it where there is none.
func (a *app) toWrite() (*book.Book, error) {
	path, _, err := a.path()
	if err != nil {
		return nil, err
	}
	return book.Open(path)
}

// withJob reads a job from the book and hands it over with the as-at date.
func (a *app) withJob(ref string, use func(*jobs.Job, schedule.Day) error) error {
	return a.withBook(ref, func(_ *book.Book, j *jobs.Job, asAt schedule.Day) error { return use(j, asAt) })
}

// withBook is withJob for what needs the open book besides.
func (a *app) withBook(ref string, use func(*book.Book, *jobs.Job, schedule.Day) error) error {
	asAt, err := a.asAt()
	if err != nil {
		return err
	}
	b, err := a.toRead()
	if err != nil {
		return err
	}
	defer b.Close()
	j, err := jobs.Open(b, ref)
	if err != nil {
		return err
	}
	told := a.progress("Working out the movement: %d of %d entries")
	defer told.end()
	j.Watch(told.at)
	return use(b, j, asAt)
}

// withProgramme reads a job and computes its programme.
func (a *app) withProgramme(ref string, use func(*jobs.Programme) error) error {
	return a.withJob(ref, func(j *jobs.Job, asAt schedule.Day) error {
		p, err := j.Programme(asAt)
		if err != nil {
			return err
		}
		return use(p)
	})
}

// readFile reads a file that was named, or standard input for "-".
func (a *app) readFile(name string) ([]byte, error) {
	const most = 8<<20 + 1 // a byte more than a form may have
	if name == "-" {
		return io.ReadAll(io.LimitReader(a.in, most))
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError("read", name, err)
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, most))
	if err != nil {
		return nil, fileError("read", name, err)
	}
	return src, nil
}

func fileError(op, name string, err error) error {
	try := "check the name and the folder"
	if errors.Is(err, syscall.ENOSPC) {
		try = "make room and try again; nothing was written"
	}
	return words.Refuse(try, "can't %s %s: %v", op, name, cause(err))
}

// cause is what went wrong with a file, without its name: that may be one that
// only the program knows.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// The narrowest and the widest screen that is laid out for: a phone's terminal,
// and more than any that is.
const narrowest, widest = 30, 500

// width is the number of columns of the screen printed to, 0 for a pipe.
func (a *app) width() int {
	if a.screen != 0 {
		return min(max(a.screen, narrowest), widest)
	}
	f, ok := a.file()
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return 0
	}
	w, _, err := term.GetSize(int(f.Fd()))
	if err != nil || w < 1 {
		return 80
	}
	return min(max(w, narrowest), widest)
}
