package form

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Pos is a place in a text: line and column count from 1, columns in
// characters. The zero Pos means that the place is not known.
type Pos struct{ Line, Column int }

// Problem is one fault of a form.
type Problem struct {
	Pos
	Path string // where in the form: "stages[3].after[0].stage"; empty for the text itself
	What string // what is wrong
	Do   string // what to do about it; may be empty
}

// Problems are all the faults found in one form. It is an error when it holds
// any; Err gives it as one.
type Problems struct {
	File string // the name to print before each place; may be empty
	List []Problem
	more int // faults found after the list was full
}

// The longest list that is of use to a reader, and the longest text of one
// fault, in characters: a hostile file must not make an endless answer.
const (
	maxProblems = 100
	maxWhat     = 400
)

// Add notes a fault.
func (p *Problems) Add(at Pos, path, what, do string) {
	if p.overflows() {
		return
	}
	p.List = append(p.List, Problem{at, path, line(what), line(do)})
}

func (p *Problems) full() bool { return len(p.List) >= maxProblems }

// overflows counts a fault for which there is no room, before any words are made
// for it.
func (p *Problems) overflows() bool {
	if p.full() {
		p.more++
	}
	return p.full()
}

// Err gives the problems, sorted by place, as an error; nil when there are
// none.
func (p *Problems) Err() error {
	if len(p.List) == 0 {
		return nil
	}
	p.sort()
	return p
}

func (p *Problems) sort() {
	slices.SortStableFunc(p.List, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// Error gives the problems one a line, sorted by place:
// "garage.yaml:12:5: what is wrong; try: what to do".
func (p *Problems) Error() string {
	p.sort()
	lines := make([]string, 0, len(p.List)+1)
	for _, problem := range p.List {
		lines = append(lines, p.line(problem))
	}
	if p.more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more; try: put these right first", p.more))
	}
	return strings.Join(lines, "\n")
}

func (p *Problems) line(one Problem) string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File + ":")
	}
	if one.Line > 0 {
		fmt.Fprintf(&b, "%d:%d:", one.Line, one.Column)
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	if one.Line == 0 && one.Path != "" {
		b.WriteString(one.Path + ": ")
	}
	b.WriteString(one.What)
	if one.Do != "" {
		b.WriteString("; try: " + one.Do)
	}
	return b.String()
}

// line gives words for a problem: on one line, and not too long.
func line(words string) string {
	return shorten(strings.NewReplacer("\n", " ", "\r", " ").Replace(words), maxWhat)
}

// shorten cuts a text after that many characters and marks the cut.
func shorten(text string, most int) string {
	if len(text) <= most {
		return text
	}
	count := 0
	for i := range text {
		if count == most {
			return text[:i] + "…"
		}
		count++
	}
	return text
}

// show quotes what a user wrote, short enough for a message.
func show(text string) string { return fmt.Sprintf("%q", shorten(text, 40)) }
