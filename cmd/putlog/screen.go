package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"putlog/jobs/words"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
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

// column is one column of a table.
type column struct {
	head  string
	right bool // numbers stand to the right
	wide  bool // takes the room that is left, and wraps
}

// table prints rows as a table that fits the screen.
func (a *app) table(columns []column, rows [][]string) {
	cut := tw.NewMapper[int, int]()
	align := make([]tw.Align, len(columns))
	heads := make([]string, len(columns))
	for i, c := range columns {
		heads[i], align[i] = c.head, tw.AlignLeft
		if c.right {
			align[i] = tw.AlignRight
		}
		if c.wide {
			cut.Set(i, a.room(columns, rows))
		}
	}
	wraps := tw.CellConfig{
		Formatting:   tw.CellFormatting{AutoWrap: tw.WrapNormal, AutoFormat: tw.Off},
		Alignment:    tw.CellAlignment{PerColumn: align},
		ColMaxWidths: tw.CellWidth{PerColumn: cut},
		Padding:      tw.CellPadding{Global: tw.Padding{Left: "", Right: "  "}},
	}
	t := tablewriter.NewTable(a.out,
		tablewriter.WithConfig(tablewriter.Config{Header: wraps, Row: wraps}),
		tablewriter.WithTrimSpace(tw.Off),
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders: tw.BorderNone,
			Symbols: tw.NewSymbols(tw.StyleLight),
			Settings: tw.Settings{
				Separators: tw.Separators{BetweenColumns: tw.Off, BetweenRows: tw.Off},
				Lines:      tw.Lines{ShowHeaderLine: tw.On},
			},
		})))
	t.Header(heads)
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, text := range row {
			cells[i] = clean(text)
		}
		_ = t.Append(cells)
	}
	_ = t.Render()
}

// room is what the other columns leave for each wide one.
func (a *app) room(columns []column, rows [][]string) int {
	left, wide := a.width(), 0
	for i, c := range columns {
		if c.wide {
			wide++
			continue
		}
		most := len([]rune(c.head))
		for _, row := range rows {
			most = max(most, len([]rune(row[i])))
		}
		left -= most + 2
	}
	return max(left/max(1, wide), 14)
}

// oneField keeps a text from passing for two fields or rows.
var oneField = strings.NewReplacer("\t", " ", "\n", " ")

// plain prints rows for a pipe.
func (a *app) plain(rows [][]string) {
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, text := range row {
			cells[i] = oneField.Replace(clean(text))
		}
		fmt.Fprintln(a.out, strings.Join(cells, "\t"))
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

// wrap cuts a line at spaces so that it fits width, less the setting in; 0
// leaves it whole.
func wrap(line string, width int) []string {
	if width == 0 || len([]rune(line)) <= width {
		return []string{line}
	}
	var lines []string
	at := ""
	for _, word := range strings.Fields(line) {
		switch {
		case at == "":
			at = word
		case len([]rune(at))+1+len([]rune(word)) > width-2:
			lines, at = append(lines, at), word
		default:
			at += " " + word
		}
	}
	return append(lines, at)
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
