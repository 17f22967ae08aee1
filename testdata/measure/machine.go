package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/testdata/made"
)

const written = "2027-03-01T08:00:00Z"

// machine runs the program that was built.
type machine struct {
	folder, bin string
	large       string // the book of many jobs
}

// run runs putlog once and gives how long it took from start to end, and the
// most memory that it had.
func (m *machine) run(args ...string) (time.Duration, int64, error) {
	cmd := exec.Command(m.bin, args...)
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	start := time.Now()
	err := cmd.Run()
	took := time.Since(start)
	if err != nil {
		return 0, 0, fmt.Errorf("putlog %s: %w: %s", strings.Join(args, " "), err, errOut.String())
	}
	return took, peak(cmd.ProcessState), nil
}

// inTurn runs commands in turn, so often, and gives the middle time of each.
func (m *machine) inTurn(runs int, commands ...[]string) ([]time.Duration, error) {
	took := make([][]time.Duration, len(commands))
	for range runs {
		for i, args := range commands {
			d, _, err := m.run(args...)
			if err != nil {
				return nil, err
			}
			took[i] = append(took[i], d)
		}
	}
	middle := make([]time.Duration, len(commands))
	for i, all := range took {
		slices.Sort(all)
		middle[i] = all[len(all)/2]
	}
	return middle, nil
}

// makeBook makes a book of jobs.
func (m *machine) makeBook(name string, count, stages, entries int) (string, error) {
	path := filepath.Join(m.folder, name)
	b, err := book.Open(path)
	if err != nil {
		return "", err
	}
	defer b.Close()
	for i := range count {
		j, err := made.Job(fmt.Sprintf("job-%d", i), stages, entries)
		if err != nil {
			return "", err
		}
		if err := jobs.Add(b, j, written); err != nil {
			return "", err
		}
	}
	return path, nil
}

func report(what string, took time.Duration, more string, args ...any) {
	fmt.Printf("%-58s %10s  %s\n", what, took.Round(100*time.Microsecond), fmt.Sprintf(more, args...))
}

// shortCommands: what a builder waits for most often, in a book of one job and in
// a large one.
func (m *machine) shortCommands(count, runs int) error {
	one, err := m.makeBook("one.db", 1, 40, 40)
	if err != nil {
		return err
	}
	start := time.Now()
	if m.large, err = m.makeBook("large.db", count, 40, 40); err != nil {
		return err
	}
	info, err := os.Stat(m.large)
	if err != nil {
		return err
	}
	report(fmt.Sprintf("make the book of %d jobs of 40 stages, 40 entries", count), time.Since(start),
		"%d MB", info.Size()>>20)
	ref := fmt.Sprintf("job-%d", count/2)
	took, err := m.inTurn(runs, []string{"--version"},
		[]string{"plan", "job-0", "--as-at", "2027-03-11", "--book", one},
		[]string{"plan", ref, "--as-at", "2027-03-11", "--book", m.large})
	if err != nil {
		return err
	}
	report("putlog --version", took[0], "")
	report("putlog plan, 40 stages", took[1], "%.2f × --version", float64(took[1])/float64(took[0]))
	report(fmt.Sprintf("putlog plan, the same in the book of %d jobs", count), took[2],
		"%.2f × in a book of one", float64(took[2])/float64(took[1]))
	return nil
}

func (m *machine) todayOf(live int) error {
	path, err := m.makeBook("live.db", live, 40, 20)
	if err != nil {
		return err
	}
	took, err := m.inTurn(5, []string{"today", "--as-at", "2027-03-08", "--book", path})
	if err != nil {
		return err
	}
	report(fmt.Sprintf("putlog today, %d live jobs of 40 stages, 20 entries", live), took[0], "")
	return nil
}

// each runs commands once and reports the time and the memory of each.
func (m *machine) each(commands ...[]string) error {
	for _, args := range commands {
		took, memory, err := m.run(args...)
		if err != nil {
			return err
		}
		shown := strings.Join(args[:len(args)-2], " ") // without the book
		report("putlog "+strings.ReplaceAll(shown, m.folder+"/", ""), took, "%d MB", memory>>20)
	}
	return nil
}

// largeJob: the largest job that was tried.
func (m *machine) largeJob(stages, entries int) error {
	j, err := made.Job("giant", stages, entries)
	if err != nil {
		return err
	}
	file := filepath.Join(m.folder, "giant.yaml")
	if err := os.WriteFile(file, j.File(), 0o600); err != nil {
		return err
	}
	path := filepath.Join(m.folder, "giant.db")
	in := func(args ...string) []string { return append(args, "--book", path) }
	at := j.Entries[len(j.Entries)-1].On.String()
	fmt.Printf("one job of %d stages and %d entries (%d kB of YAML):\n", stages, entries, len(j.File())>>10)
	return m.each(in("job", "load", file), in("plan", "giant", "--as-at", at), in("moved", "giant", "--as-at", at),
		in("account", "giant", "--as-at", at), in("today", "--as-at", at), in("job", "export", "giant"),
		in("statement", "giant", "--as-at", at, "--html", filepath.Join(m.folder, "giant.html")),
		in("statement", "giant", "--as-at", at, "--pdf", filepath.Join(m.folder, "giant.pdf")),
		in("dates", "giant", "--as-at", at, "--ics", filepath.Join(m.folder, "giant.ics")), in("check"))
}

// largeBook: what reads all of the book of many jobs.
func (m *machine) largeBook() error {
	copied := filepath.Join(m.folder, "copy.db")
	in := func(args ...string) []string { return append(args, "--book", m.large) }
	fmt.Println("the large book:")
	return m.each(in("job", "list"), in("today", "--as-at", "2027-03-11"), in("check"), in("backup", copied),
		in("restore", copied))
}
