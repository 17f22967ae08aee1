package main

import (
	"fmt"
	"strings"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
	"github.com/spf13/cobra"
)

// help prints what a command is for and how it is typed, wrapped to the screen,
// or to 80 columns. Usage and examples stay whole: they are there to be pasted.
func (a *app) help(cmd *cobra.Command, _ []string) {
	width := max(a.width(), 40)
	if a.width() == 0 {
		width = 80
	}
	about := cmd.Long
	if about == "" {
		about = cmd.Short
	}
	for paragraph := range strings.SplitSeq(strings.TrimSpace(about), "\n\n") {
		lines := []string{paragraph}
		if strings.TrimLeft(paragraph, " \t") == paragraph { // a command line is set in
			lines = wrapWords(paragraph, width)
		}
		fmt.Fprintf(a.out, "%s\n\n", strings.Join(lines, "\n"))
	}
	pasted := false
	for line := range strings.Lines(cmd.UsageString()) {
		line = strings.TrimRight(line, " \n")
		if !strings.HasPrefix(line, " ") {
			pasted = line == "Usage:" || line == "Examples:"
		}
		if !pasted {
			line = strings.Join(wrapHelp(line, width), "\n")
		}
		fmt.Fprintln(a.out, line)
	}
}

// wrapHelp wraps a line of a list of flags or commands beside what it tells of,
// or under it where the screen is narrow.
func wrapHelp(line string, width int) []string {
	const least, setIn = 24, 8
	if twwidth.Width(line) <= width {
		return []string{line}
	}
	name := strings.TrimLeft(line, " ")
	if name == line {
		return wrapWords(line, width)
	}
	between := " "
	if strings.HasPrefix(name, "-") {
		between = "   " // a flag may be of two words: --as-at date
	}
	_, says, _ := strings.Cut(name, between)
	says = strings.TrimLeft(says, " ")
	var lines []string
	before := line[:len(line)-len(says)]
	if width-len(before) < least {
		lines = []string{strings.TrimRight(before, " ")}
		before = strings.Repeat(" ", setIn)
	}
	for _, part := range wrapWords(says, width-len(before)) {
		lines = append(lines, before+part)
		before = strings.Repeat(" ", len(before))
	}
	return lines
}
