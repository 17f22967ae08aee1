package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/schedule"
)

// demoStep is one command of the demonstration and the words before it.
type demoStep struct {
	says string
	args []string
}

func demoSteps(asAt schedule.Day) []demoStep {
	day := asAt.String()
	return []demoStep{
		{"The jobs in this book:", []string{"job", "list", "--as-at", day}},
		{"The programme a week before the start:", []string{"plan", "cart-shed", "--as-at", day}},
		{"Why does it finish then?", []string{"why", "cart-shed", "--as-at", day}},
		{"And why is the screed poured when it is?", []string{"why", "cart-shed", "screed", "--as-at", day}},
		{"The sum behind a wait, by itself:", []string{"wait", "concrete", "--class", "S",
			"--temperature", "8", "--fraction", "0.6"}},
		{"Ten working days on, over Easter:", []string{"calendar", "--region",
			"england-and-wales", "--from", "2027-03-25", "--days", "10"}},
	}
}

func (a *app) demoCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "demo",
		Short:   "A worked job, invented, in a fresh temporary book: plan it and ask why",
		Example: "  putlog demo",
		Args:    exactArgs(),
		RunE:    func(*cobra.Command, []string) error { return a.demo() },
	}
}

// demo makes a book with the invented job, runs the steps on it and takes the
// book away again.
func (a *app) demo() error {
	dir, err := os.MkdirTemp("", "putlog-demo-")
	if err != nil {
		return &book.Error{Op: "make", Path: "a temporary book", What: err.Error(),
			Try: "free some room in the folder for temporary files", Err: err}
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "demo.db")
	j, asAt, err := jobs.Demo()
	if err != nil {
		return err
	}
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	err = jobs.Add(b, j, a.written())
	if closing := b.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return err
	}
	if a.json {
		return a.demoRun(path, []string{"plan", j.Ref, "--as-at", asAt.String(), "--json"})
	}
	screen := a.width()
	if screen == 0 {
		screen = 100
	}
	fmt.Fprintln(a.out, "An invented job in a book of its own; nothing of yours is touched.")
	for _, s := range demoSteps(asAt) {
		fmt.Fprintf(a.out, "\n%s\n\n$ putlog %s\n\n", s.says, strings.Join(s.args, " "))
		if err := a.demoRun(path, append(s.args, "--screen", fmt.Sprint(screen))); err != nil {
			return err
		}
	}
	return nil
}

// demoRun runs one command on the demonstration's book.
func (a *app) demoRun(path string, args []string) error {
	step := &app{in: a.in, out: a.out, errOut: a.errOut, now: a.now}
	root := step.root()
	root.SetArgs(append(args, "--book", path))
	return root.Execute()
}
