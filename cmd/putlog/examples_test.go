package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"putlog/testdata/race"
)

// exampleFiles are what the examples name. Everything in them is invented.
var exampleFiles = map[string]string{
	"orchard-row.yaml": `job: orchard-row
title: Single garage to ground-floor bedroom (invented)
region: england-and-wales
start: 2027-03-01
contract: {sum: 18450.00, vat: 20, retention: 2.5, promised: 2027-06-25}
basis:
  - {item: slab-thickness, says: the slab is 150 mm thick, question: "How thick must it be?", if-not: {
      title: Underpin the front strip, asked-by: found-on-site, cost: client, time: client,
      lines: [{kind: labour, what: digging, quantity: 3, unit: day, rate: 320.00}]}}
  - {item: drains, says: no drain runs under the floor, question: "Is there one on your map?"}
stages:
  - {stage: probe, takes: 0.5d}
  - {stage: pour, takes: 1d, after: [probe]}
  - {stage: cure, kind: wait, takes: 72h, after: [pour]}
  - {stage: membrane, takes: 1d, after: [cure]}
  - {stage: see-membrane, kind: inspection, notice: 1, after: [membrane]}
  - {stage: dry, kind: wait, screed: {type: sand-cement, thickness: 50mm}, limit: 75%, after: [see-membrane]}
  - {stage: boards, takes: 3d, after: [see-membrane]}
`,
	"so-far.yaml": `- {on: 2027-03-01, note: {says: began}}
- {on: 2027-03-01, note: {says: rain}}
- {on: 2027-03-01, note: {says: more rain}}
- {on: 2027-03-01, payment: {amount: 1000}}
- {on: 2027-03-01, payment: {amount: 1000}}
- {on: 2027-03-01, finished: {stage: probe}}
- {on: 2027-03-02, started: {stage: boards}}
- {on: 2027-03-02, variation: {title: A wider door, asked-by: client, cost: client, time: client}}
`,
	"friday.yaml": "- {on: 2027-03-05, note: {says: friday}}\n",
	"v1.yaml":     "{title: A lintel, asked-by: inspector, cost: client, time: client}\n",
	"rates.csv":   "name,kind,what,unit,rate,percent\ndig,labour,Two men digging,day,320.00,\n",
}

// exampleBook makes the book and the files in the working folder.
func exampleBook(t *testing.T) {
	t.Helper()
	for name, text := range exampleFiles {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	trench, err := os.ReadFile(filepath.Join(photosFolder, "trench.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{"core.jpg", "drain.jpg"} {
		content := append(trench[:len(trench):len(trench)], bytes.Repeat([]byte{0}, i)...)
		if err := os.WriteFile(name, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{
		{"job", "load", "orchard-row.yaml"}, {"accept", "orchard-row", "--on", "2027-02-26"},
		{"record", "orchard-row", "so-far.yaml"},
		{"note", "orchard-row", "two photos", "--photo", "core.jpg", "--photo", "drain.jpg"},
		{"backup", "copy-of-friday.db"}, {"job", "export", "orchard-row", "--with-evidence", "photos"},
	} {
		if code, _, errOut := putlog(t, "", args...); code != exitDone {
			t.Fatalf("%q: %s", args, errOut)
		}
	}
	_, source, _ := putlog(t, "", "job", "templates", "--show", "attached-garage")
	if err := os.WriteFile("my-garage.yaml", []byte(source), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"core.jpg", "drain.jpg"} { // they are in the book
		if err := os.Rename(name, filepath.Join("photos", name)); err != nil {
			t.Fatal(err)
		}
	}
}

var photosFolder, _ = filepath.Abs(filepath.Join("..", "..", "testdata", "photos"))

// examplesOf gives the command lines of a command's examples.
func examplesOf(cmd *cobra.Command) (lines []string) {
	remark := regexp.MustCompile(`  +\(.*\)$`)
	for _, line := range strings.Split(strings.ReplaceAll(cmd.Example, "\\\n", ""), "\n") {
		line = strings.TrimSpace(remark.ReplaceAllString(line, ""))
		if line != "" && line[0] != '(' {
			lines = append(lines, line)
		}
	}
	for _, inside := range cmd.Commands() {
		lines = append(lines, examplesOf(inside)...)
	}
	return lines
}

// TestExamples runs every example of every command, each in a book of its own.
func TestExamples(t *testing.T) {
	race.Skip(t)
	before := map[string]string{ // what must have happened
		"putlog accept orchard-row --on 2027-02-26":              "strike orchard-row 1 --on 2027-02-26",
		"putlog variation carried-out orchard-row V1":            "variation instruct orchard-row V1",
		"putlog dates orchard-row --ics orchard-row.ics --force": "dates orchard-row --ics orchard-row.ics",
	}
	lines := examplesOf((&app{}).root())
	if len(lines) < 70 {
		t.Fatalf("only %d examples", len(lines))
	}
	for _, line := range lines {
		if strings.HasPrefix(line, "putlog demo") {
			continue // its own test runs it
		}
		t.Run(line, func(t *testing.T) {
			t.Chdir(t.TempDir())
			t.Setenv("PUTLOG_BOOK", "putlog.db")
			exampleBook(t)
			if first := before[line]; first != "" {
				putlog(t, "", parted(first)...)
			}
			command, stdin := line, ""
			if text, rest, piped := strings.Cut(line, "' | "); piped {
				stdin, command = strings.TrimPrefix(text, "echo '"), rest
			}
			if rest, file, from := strings.Cut(command, " < "); from {
				stdin, command = exampleFiles[file], strings.ReplaceAll(rest, "orchard-row", "other")
				stdin = strings.Replace(stdin, "orchard-row", "other", 1)
			}
			command, _, _ = strings.Cut(command, " > ")
			_, seal, _ := putlog(t, "", "check", "--seal")
			args := parted(strings.NewReplacer("/media/stick/putlog-2027-03-05.db", "copy-of-friday.db",
				"412-7QK2M-XH4PD-0ZB6T-R9WCE-51KAF", strings.TrimSpace(seal),
				"--photo ", "--photo photos/").Replace(command))[1:]
			switch {
			case strings.HasPrefix(command, "putlog job load orchard-row.yaml"):
				t.Setenv("PUTLOG_BOOK", "another.db")
			case args[0] == "backup":
				args[1] = "new.db"
			}
			if code, _, errOut := putlog(t, stdin, args...); code != exitDone {
				t.Errorf("ends with %d: %s", code, errOut)
			}
		})
	}
}
