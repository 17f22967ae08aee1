// Measure times putlog as a whole: processes, not functions, in books as large as
// one will ever be. It builds the program, makes its books in a temporary folder
// and prints a table:
//
//	go run ./testdata/measure
//	go run ./testdata/measure -jobs 5000 -runs 40 -dir /dev/shm
//
// Everything in the books is invented.
package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

func main() {
	jobs := flag.Int("jobs", 5000, "`jobs` in the large book, of 40 stages and 40 entries each")
	live := flag.Int("live", 500, "live `jobs` for putlog today, of 40 stages and 20 entries each")
	stages := flag.Int("stages", 2000, "`stages` of the large job")
	entries := flag.Int("entries", 5000, "`entries` of the large job")
	runs := flag.Int("runs", 40, "`runs` of each short command; the middle one counts")
	dir := flag.String("dir", "", "`folder` for the books (else a temporary one)")
	flag.Parse()
	err := measure(*dir, []func(*machine) error{
		func(m *machine) error { return m.shortCommands(*jobs, *runs) },
		func(m *machine) error { return m.todayOf(*live) },
		func(m *machine) error { return m.largeJob(*stages, *entries) },
		(*machine).largeBook,
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

func measure(dir string, steps []func(*machine) error) error {
	folder, err := os.MkdirTemp(dir, "putlog-measure-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	bin := filepath.Join(folder, "putlog")
	if out, err := exec.Command("go", "build", "-o", bin, "putlog/cmd/putlog").CombinedOutput(); err != nil {
		return fmt.Errorf("build: %w\n%s", err, out)
	}
	m := &machine{folder: folder, bin: bin}
	for _, step := range steps {
		if err := step(m); err != nil {
			return err
		}
	}
	return nil
}
