package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"putlog/jobs/words"
	"strings"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
)

// What is printed: the answer goes to standard output, all else to standard
// error. A terminal gets sentences and tables that fit it; a pipe gets plain
// fields with tabs between, dates as 2027-03-01 and no heading; --json gets one
// object.

// printer is standard output. It keeps the first error and prints nothing after
// it, so that those who print need not look: run does.
type printer struct {
	to  io.Writer
	err error
}

func (p *printer) Write(text []byte) (n int, err error) {
	if p.err == nil {
		n, p.err = p.to.Write(text)
	}
	return n, p.err
}

// notPrinted says that the answer could not be printed, or only in part.
// Whatever a command writes it writes before it answers.
func notPrinted(err error) error {
	return words.Refuse("print it elsewhere; if the command was to write something, that is written",
		"can't print the answer: %v", cause(err))
}

// file is standard output where it is a file, as a terminal is.
func (a *app) file() (f *os.File, ok bool) {
	if p, prints := a.out.(*printer); prints {
		f, ok = p.to.(*os.File)
	}
	return f, ok
}

// oneField keeps a text from passing for two fields or rows.
var oneField = strings.NewReplacer("\t", " ", "\n", " ")

// oneLined cleans the fields of a row.
func oneLined(row []string) []string {
	fields := make([]string, len(row))
	for i, text := range row {
		fields[i] = oneField.Replace(clean(text))
	}
	return fields
}

// plain prints rows for a pipe.
func (a *app) plain(rows [][]string) {
	for _, row := range rows {
		fmt.Fprintln(a.out, strings.Join(oneLined(row), "\t"))
	}
}

// say prints lines, each wrapped to the screen; further lines of one are set in.
func (a *app) say(lines ...string) {
	for _, line := range lines {
		for i, part := range wrap(clean(line), a.width()) {
			if i > 0 {
				part = "  " + part
			}
			fmt.Fprintln(a.out, part)
		}
	}
}

// wrap cuts a line at blanks, and a word too long for one, so that it fits
// width, less the setting in; 0 leaves it whole.
func wrap(line string, width int) []string {
	if width == 0 || twwidth.Width(line) <= width {
		return []string{line}
	}
	return wrapWords(line, width-2)
}

// answer prints one JSON object.
func (a *app) answer(v any) error {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(a.out, string(text))
	return err
}

// clean takes out of a text what could drive the terminal or turn its
// direction: control characters other than tab and line end, and the marks
// that bidirectional text uses.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n':
			return r
		case r < ' ', r >= 0x7f && r <= 0x9f, r == 0x61c, r == 0x200e, r == 0x200f,
			r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
			return -1
		}
		return r
	}, text)
}

// object is a JSON object with its keys in the order given.
type object []field

// MarshalJSON prints the keys in order.
func (o object) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, f := range o {
		if i > 0 {
			out = append(out, ',')
		}
		key, err := json.Marshal(f.name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(f.value)
		if err != nil {
			return nil, err
		}
		out = append(append(append(out, key...), ':'), value...)
	}
	return append(out, '}'), nil
}
