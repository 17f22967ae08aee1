package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// layers are the packages of the project from the facts up. A package may
// import only those before it in the list; jobs' own subpackages stand before
// it, as it is built on them.
var layers = []string{"schedule", "variations", "jobs/words", "jobs/media", "jobs/form", "jobs/book", "jobs", "jobs/templates", "jobs/documents", "cmd/putlog"}

// TestImportDirection holds the arrow: cmd/putlog → jobs → variations → schedule.
func TestImportDirection(t *testing.T) {
	rank := map[string]int{}
	for i, l := range layers {
		rank[l] = i
	}
	files := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && (d.Name() == "testdata" || d.Name() == ".git") {
			if err == nil {
				err = filepath.SkipDir
			}
			return err
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") {
			return nil
		}
		files++
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		own, known := rank[filepath.ToSlash(filepath.Dir(path))[len("../../"):]]
		if !known {
			t.Errorf("%s lies in a package that is not among the layers", path)
		}
		for _, i := range f.Imports {
			name, ours := strings.CutPrefix(strings.Trim(i.Path.Value, `"`), "putlog/")
			if !ours || (name == "testdata/made" || name == "testdata/race") && strings.HasSuffix(path, "_test.go") {
				continue
			}
			if r, ok := rank[name]; !ok || r > own {
				t.Errorf("%s imports putlog/%s against the arrow", path, name)
			}
		}
		return nil
	})
	if err != nil || files < 20 {
		t.Fatalf("%d files read: %v", files, err)
	}
}

// TestScheduleAndVariationsStayPure: no files, SQL, clocks or printing there.
func TestScheduleAndVariationsStayPure(t *testing.T) {
	for _, pattern := range []string{"../../schedule/*.go", "../../variations/*.go"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %v", pattern, err)
		}
		for _, path := range files {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			if err != nil {
				t.Fatal(err)
			}
			for _, i := range f.Imports {
				switch name := strings.Trim(i.Path.Value, `"`); name {
				case "os", "time", "database/sql", "io", "io/fs", "bufio", "log", "net/http", "math/rand":
					t.Errorf("%s imports %s", path, name)
				}
			}
		}
	}
}

// TestEveryDependencyIsExplained: DEVELOPERS.md names every module that go.mod
// requires, its own and those that come along, with its licence and what would
// replace it.
func TestEveryDependencyIsExplained(t *testing.T) {
	mod, err := os.ReadFile("../../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(text), "\n## Dependencies\n")
	section, _, _ = strings.Cut(section, "\n## ")
	count := 0
	for line := range strings.Lines(string(mod)) {
		fields := strings.Fields(line)
		if len(fields) < 2 || !strings.HasPrefix(fields[1], "v") {
			continue
		}
		count++
		row := regexp.MustCompile(`(?m)^\|(.*, )? ?` + regexp.QuoteMeta(fields[0]) + `(,.*)? \|( [^|]+ \|){3}$`)
		if !row.MatchString(section) {
			t.Errorf("%s has no row of its own", fields[0])
		}
	}
	if count < 10 {
		t.Errorf("only %d modules read from go.mod", count)
	}
}
