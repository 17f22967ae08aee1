package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
	"github.com/spf13/cobra"
	"pgregory.net/rapid"

	"putlog/jobs"
)

// sortedRunes are the characters of a text but blanks, in order: a cell may be
// wrapped beside another, so that their lines stand in turn.
func sortedRunes(text string) string {
	runes := slices.DeleteFunc([]rune(text), func(r rune) bool { return unicode.IsSpace(r) })
	slices.Sort(runes)
	return string(runes)
}

// tooWide is the first line of an output that is wider than the screen.
func tooWide(out string, width int) string {
	for line := range strings.Lines(out) {
		if line = strings.TrimSuffix(line, "\n"); twwidth.Width(line) > width {
			return fmt.Sprintf("%d columns: %q", twwidth.Width(line), line)
		}
	}
	return ""
}

// drawColumns draws columns with the heads that the commands use, some empty.
func drawColumns(t *rapid.T) []column {
	head := rapid.SampledFrom([]string{"", "No", "Date", "Variation", "Builder's share",
		"Would move, working days"})
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) column {
		return column{head.Draw(t, "head"), rapid.Bool().Draw(t, "right"),
			rapid.Bool().Draw(t, "wide"), rapid.Bool().Draw(t, "name")}
	}), 1, 8).Draw(t, "columns")
}

// drawCell draws a number, a date, words, or one very long word.
func drawCell(t *rapid.T) string {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "-", "7", "£1,234,567.89", "Mon 15 Feb 2027 am",
			strikeThrough("snow"), "two\nlines\tand a tab"}),
		rapid.StringMatching(`([a-z]{1,12}[ ,:]){0,20}`),
		rapid.StringOfN(rapid.SampledFrom([]rune("ab £é床漢🧱")), 0, 60, -1),
		rapid.StringMatching(`https://[a-z0-9/]{60,300}`),
	).Draw(t, "cell")
}

// Whatever stands in a table and however narrow the screen: each line fits, and
// each cell is there from its first character to its last.
func TestTableFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := drawColumns(t)
		rows := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) []string {
			row := make([]string, len(columns))
			for i := range row {
				row[i] = drawCell(t)
			}
			return row
		}), 1, 6).Draw(t, "rows")
		width := rapid.IntRange(30, 160).Draw(t, "width")
		var out bytes.Buffer
		a := &app{out: &out, screen: width}
		a.table(columns, rows)
		if wide := tooWide(out.String(), width); wide != "" {
			t.Fatalf("on %d columns a line of %s\n%s", width, wide, out.String())
		}
		got, want := sortedRunes(out.String()), wantRunes(columns, rows, out.String())
		if got != want {
			t.Fatalf("got %q\nwant %q\n%s", got, want, out.String())
		}
	})
}

// wantRunes are the characters of all cells and of what an output puts to them:
// the heads and the line under them, or in blocks each head with a colon.
func wantRunes(columns []column, rows [][]string, out string) string {
	var all strings.Builder
	if rule := strings.Count(out, "─"); rule > 0 {
		all.WriteString(strings.Repeat("─", rule))
		for _, c := range columns {
			all.WriteString(c.head)
		}
		all.WriteString(strings.Join(slices.Concat(rows...), ""))
		return sortedRunes(all.String())
	}
	for _, row := range rows {
		for i, c := range columns {
			if text := strings.TrimSpace(row[i]); text == "" || text == "-" {
				continue
			}
			if all.WriteString(row[i]); i > 0 && !c.name && c.head != "" {
				all.WriteString(c.head + ":")
			}
		}
	}
	return sortedRunes(all.String())
}

// Money, dates and numbers are whole on every screen that has room for one.
func TestTableBreaksNoNumber(t *testing.T) {
	columns := []column{{head: "No"}, {head: "Variation", wide: true, name: true},
		{head: "Finish then"}, {head: "Would move, working days", right: true},
		{head: "Client, no VAT", right: true}}
	row := []string{"V1", strings.Repeat("Pin the strip ", 9), "Mon 15 Feb 2027 am", "1,012.5",
		"-£1,234,567.89"}
	for width := 30; width <= 160; width++ {
		var out bytes.Buffer
		a := &app{out: &out, screen: width}
		a.table(columns, [][]string{row})
		for _, cell := range row[2:] {
			if !strings.Contains(out.String(), cell) {
				t.Errorf("on %d columns %q is broken:\n%s", width, cell, out.String())
			}
		}
	}
}

// wideJob is a job with large sums and names; a long word stands for WORD.
const wideJob = `job: a-reference-of-forty-characters-no-more
title: WORD
region: england-and-wales
start: 2027-03-01
contract: {sum: 99999999.99, vat: 20, retention: 2.5, promised: 2027-07-02}
notes: [WORD]
basis:
  - item: slab-of-the-old-garage-and-of-the-shed
    says: WORD
    question: WORD
    if-not: {title: WORD, asked-by: client, cost: client, time: client,
      lines: [{kind: labour, what: men, quantity: 1, unit: day, rate: 98765432.10}]}
stages:
  - {stage: dig, title: WORD, takes: 3d}
  - {stage: screed, title: Pour the screed, takes: 1d, after: [dig]}
  - {stage: dries, title: WORD, kind: wait, after: [screed],
     screed: {type: calcium-sulfate, thickness: 45mm, bed: floating}}
  - {stage: see, title: WORD, kind: inspection, notice: 2, after: [dries]}
entries:
  - {on: 2027-03-01, accepted: {}}
  - {on: 2027-03-01, started: {stage: dig, at: 2027-03-01 am}}
  - {on: 2027-03-03, finished: {stage: dig, at: 2027-03-03 pm}}
  - {on: 2027-03-04, started: {stage: screed, at: 2027-03-04 am}}
  - {on: 2027-03-04, finished: {stage: screed, at: 2027-03-04 pm}}
  - {on: 2027-03-08, reading: {stage: dries, humidity: 92}}
  - {on: 2027-03-10, reading: {stage: dries, humidity: 88.5}}
`

// tableJobs puts the demonstration's job and the wide one into the book, with
// variations, evidence and rates, and gives their names.
func tableJobs(t *testing.T) []string {
	t.Helper()
	word := "https://example.org/" + strings.Repeat("0123456789", 12)
	demo, err := jobs.Demo()
	if err != nil {
		t.Fatal(err)
	}
	photo, err := filepath.Abs("../../testdata/photos/trench.jpg")
	if err != nil {
		t.Fatal(err)
	}
	inFolder(t)
	rates := "name,kind,what,unit,rate,percent\n" +
		"men-with-a-very-long-name-indeed,labour," + word + ",day,98765432.10,\n"
	if err := os.WriteFile("rates.csv", []byte(rates), 0o600); err != nil {
		t.Fatal(err)
	}
	refs := []string{demo.Ref, "a-reference-of-forty-characters-no-more"}
	must := func(in string, args ...string) {
		t.Helper()
		if code, _, errOut := putlog(t, in, args...); code != exitDone {
			t.Fatalf("%q: %s", args, errOut)
		}
	}
	must("", "rates", "load", "rates.csv")
	must(string(demo.File()), "job", "load", "-")
	must(strings.ReplaceAll(wideJob, "WORD", word), "job", "load", "-")
	must("", "accept", demo.Ref, "--on", "2027-02-03")
	for _, ref := range refs {
		raise := strings.Fields("variation raise " + ref + " --asked-by found-on-site " +
			"--cost client=60 --time client --labour men,1,day,87654321 --add pin,9d")
		must("", append(raise, "--title", word)...)
		must("", append(raise, "--title", "Pin the corner pier before the front wall goes up")...)
		must("", "variation", "instruct", ref, "V1")
		must("", "variation", "agree", ref, "V1")
		must("", "note", ref, word+" and "+word, "--photo", photo, "--for-client")
		must("", "paid", ref, "12345678.90")
	}
	return refs
}

// Every command that prints a table fits the screen.
func TestEveryTableFits(t *testing.T) {
	refs := tableJobs(t)
	lines := []string{"job list", "job templates", "today", "notices", "rates list", "schema",
		"calendar --region scotland --year 2027"}
	for _, ref := range refs {
		for _, line := range []string{"plan", "moved", "account", "account --for-client", "daybook",
			"exposure", "variation list", "evidence list", "basis", "ask", "drying", "dates", "why"} {
			verb, flags, _ := strings.Cut(line, " --")
			line = verb + " " + ref
			if flags != "" {
				line += " --" + flags
			}
			lines = append(lines, line)
		}
	}
	for _, width := range []int{30, 40, 80, 120} {
		for _, line := range lines {
			args := append(strings.Fields(line), "--screen", fmt.Sprint(width))
			code, out, errOut := putlog(t, "", args...)
			if wide := tooWide(out, width); code != exitDone || wide != "" || out == "" {
				t.Errorf("%s --screen %d: exit %d, %s, %s", line, width, code, errOut, wide)
			}
		}
	}
}

// allCommands lists a command and all under it.
func allCommands(cmd *cobra.Command) []*cobra.Command {
	all := []*cobra.Command{cmd}
	for _, sub := range cmd.Commands() {
		all = append(all, allCommands(sub)...)
	}
	return all
}

// The help of every command fits, but for the lines that are there to be pasted.
func TestHelpFits(t *testing.T) {
	for _, width := range []int{40, 80, 120} {
		for _, cmd := range allCommands((&app{}).root()) {
			path := strings.Fields(cmd.CommandPath())[1:]
			args := append(path, "--help", "--screen", fmt.Sprint(width))
			_, out, _ := putlog(t, "", args...)
			pasted := false
			for line := range strings.Lines(out) {
				if !strings.HasPrefix(line, " ") {
					pasted = line == "Usage:\n" || line == "Examples:\n"
				}
				if wide := tooWide(line, width); !pasted && wide != "" {
					t.Errorf("%q: a line of %s", args, wide)
				}
			}
			if !strings.Contains(out, cmd.Example) {
				t.Errorf("%q: the examples are not as they were written", args)
			}
		}
	}
}
