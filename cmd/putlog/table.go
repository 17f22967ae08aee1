package main

import (
	"fmt"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/pkg/twwidth"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
)

// Every table fits its screen. Text wraps in its cell; money, dates and numbers
// never do. Where that is not enough the heads wrap too, and on a screen too
// narrow for columns each row is a block: its name, and its fields under it.

// column is one column of a table.
type column struct {
	head  string
	right bool // numbers stand to the right
	wide  bool // text: takes the room that is left, and wraps
	name  bool // names the row in a block, as the first column always does
}

// gap stands behind each column; text gets leastText columns, or what it needs.
const gap, leastText = 2, 15

// table prints rows on the screen.
func (a *app) table(columns []column, rows [][]string) {
	cells := make([][]string, len(rows))
	for i, row := range rows {
		cells[i] = oneLined(row)
		for k, text := range cells[i] {
			cells[i][k] = strings.TrimSpace(text)
		}
	}
	for _, head := range []func(string) int{twwidth.Width, longestWord} {
		if widths, ok := layOut(columns, cells, a.width(), head); ok {
			a.grid(columns, cells, widths)
			return
		}
	}
	for _, row := range cells {
		a.block(columns, row)
	}
}

// layOut gives each column its width, its head as wide as head says; ok is false
// where the room is not enough.
func layOut(
	columns []column, rows [][]string, room int, head func(string) int,
) (widths []int, ok bool) {
	texts := 0
	for i, c := range columns {
		most := head(c.head)
		for _, row := range rows {
			most = max(most, twwidth.Width(row[i]))
		}
		widths, room = append(widths, most), room-gap
		if c.wide {
			texts++
		} else {
			room -= most
		}
	}
	ok = room >= 0
	for i, c := range columns {
		if c.wide {
			needs := widths[i]
			widths[i] = min(needs, room/texts)
			room, texts = room-widths[i], texts-1
			ok = ok && widths[i] >= min(needs, leastText)
		}
	}
	return widths, ok
}

// grid prints rows in columns so wide.
func (a *app) grid(columns []column, rows [][]string, widths []int) {
	align := make([]tw.Align, len(columns))
	heads := make([]string, len(columns))
	for i, c := range columns {
		heads[i], align[i] = c.head, tw.AlignLeft
		if c.right {
			align[i] = tw.AlignRight
		}
	}
	cell := tw.CellConfig{
		Formatting: tw.CellFormatting{AutoWrap: tw.WrapNone, AutoFormat: tw.Off},
		Alignment:  tw.CellAlignment{PerColumn: align},
		Padding:    tw.CellPadding{Global: tw.Padding{Left: "", Right: strings.Repeat(" ", gap)}},
	}
	t := tablewriter.NewTable(a.out,
		tablewriter.WithConfig(tablewriter.Config{Header: cell, Row: cell}),
		tablewriter.WithTrimSpace(tw.Off),
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders: tw.BorderNone,
			Symbols: tw.NewSymbols(tw.StyleLight),
			Settings: tw.Settings{
				Separators: tw.Separators{BetweenColumns: tw.Off, BetweenRows: tw.Off},
				Lines:      tw.Lines{ShowHeaderLine: tw.On},
			},
		})))
	t.Header(wrapCells(heads, widths))
	for _, row := range rows {
		_ = t.Append(wrapCells(row, widths))
	}
	_ = t.Render()
}

func wrapCells(row []string, widths []int) []string {
	cells := make([]string, len(row))
	for i, text := range row {
		if cells[i] = text; twwidth.Width(text) > widths[i] {
			cells[i] = strings.Join(wrapWords(text, widths[i]), "\n")
		}
	}
	return cells
}

// block prints a row for a narrow screen: its name, and under it "head: value"
// of each other column that has one (a dash is none), as many on a line as fit.
func (a *app) block(columns []column, row []string) {
	const setIn = "    "
	var name, fields []string
	for i, c := range columns {
		switch {
		case row[i] == "", row[i] == "-":
		case i == 0 || c.name:
			name = append(name, row[i])
		case c.head == "":
			fields = append(fields, row[i])
		default:
			fields = append(fields, c.head+": "+row[i])
		}
	}
	a.say(strings.Join(name, " "))
	for _, line := range pack(fields, "  ", a.width()-len(setIn), wrapField) {
		fmt.Fprintln(a.out, setIn+line)
	}
}

// pack puts items side by side, sep between, on lines of at most width columns;
// part parts an item that is wider than a line.
func pack(items []string, sep string, width int, part func(string, int) []string) []string {
	var lines []string
	at := ""
	for i, item := range items {
		if i > 0 && twwidth.Width(at)+twwidth.Width(sep)+twwidth.Width(item) <= width {
			at += sep + item
			continue
		}
		if i > 0 {
			lines = append(lines, at)
		}
		at = item
		if twwidth.Width(item) > width {
			parts := part(item, width)
			last := len(parts) - 1
			lines, at = append(lines, parts[:last]...), parts[last]
		}
	}
	if len(items) > 0 {
		lines = append(lines, at)
	}
	return lines
}

// wrapWords parts a text at blanks, and within a word that has no line's room.
func wrapWords(text string, width int) []string {
	if lines := pack(strings.Fields(text), " ", width, cutWord); len(lines) > 0 {
		return lines
	}
	return []string{""} // nothing but blanks
}

// wrapField parts "head: value" behind the head where that keeps the value whole.
func wrapField(field string, width int) []string {
	head, value, headed := strings.Cut(field, ": ")
	if !headed || twwidth.Width(value) > width {
		return wrapWords(field, width)
	}
	return pack([]string{head + ":", value}, " ", width, wrapWords)
}

// cutWord cuts a word into pieces of at most width columns.
func cutWord(word string, width int) (pieces []string) {
	from, wide := 0, 0
	for i, r := range word {
		w := twwidth.Width(string(r))
		if wide+w > width && i > from {
			pieces = append(pieces, word[from:i])
			from, wide = i, 0
		}
		wide += w
	}
	return append(pieces, word[from:])
}

func longestWord(text string) (most int) {
	for word := range strings.FieldsSeq(text) {
		most = max(most, twwidth.Width(word))
	}
	return most
}
