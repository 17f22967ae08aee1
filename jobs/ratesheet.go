package jobs

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/variations"
)

// The rates as a table for a spreadsheet: comma-separated values as RFC 4180
// has them, a heading first, one rate a line.

// rateHeading names the columns as they are written; a file may have them in
// any order, and leave unit and percent out.
var rateHeading = [...]string{"name", "kind", "what", "unit", "rate", "percent"}

// The columns by their place in rateHeading.
const (
	rateName = iota
	rateKind
	rateWhat
	rateUnit
	rateRate
	ratePercent
)

const maxRates = 5_000 // far above any real list

// A spreadsheet takes a cell that begins so for a formula.
const formulaSigns = "=+-@"

// harmless puts an apostrophe before a text that a spreadsheet would take for a
// formula, or that looks as if this had been done; asWritten takes it off.
func harmless(text string) string {
	if isGuarded(text) {
		return "'" + text
	}
	return text
}

func asWritten(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && isGuarded(rest) {
		return rest
	}
	return cell
}

// isGuarded says whether a text, any apostrophes before it apart, begins as a
// formula does.
func isGuarded(text string) bool {
	bare := strings.TrimLeft(text, "'")
	return bare != "" && strings.IndexByte(formulaSigns, bare[0]) >= 0
}

// CSV gives the list as a table that ReadRates reads back to the same list. The
// byte order mark is for spreadsheets, which otherwise misread "m²"; a table
// without such letters has none.
func (list Rates) CSV() []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	_ = w.Write(rateHeading[:]) // a buffer takes everything
	for _, r := range list {
		percent := ""
		if r.Percent != 0 {
			percent = r.Percent.String()
		}
		_ = w.Write([]string{harmless(r.Name), r.Kind.String(), harmless(r.What),
			harmless(r.Unit), r.Rate.String(), percent})
	}
	w.Flush()
	if table := out.Bytes(); !isASCII(table) {
		return slices.Concat([]byte("\ufeff"), table)
	}
	return out.Bytes()
}

func isASCII(text []byte) bool {
	return bytes.IndexFunc(text, func(r rune) bool { return r >= utf8.RuneSelf }) < 0
}

// ReadRates reads a list of rates from a table. The error is *form.Problems and
// holds every fault of the table at once, each with its line, its column and
// what to do. White space in a cell counts as one blank, at its ends as none.
func ReadRates(file string, src []byte) (Rates, error) {
	s := &rateSheet{problems: &form.Problems{File: file}, lineOf: map[string]int{}}
	text, ok := form.Text(src, s.problems)
	if !ok {
		return nil, s.problems.Err()
	}
	s.lines = strings.Split(text, "\n")
	s.table = csv.NewReader(strings.NewReader(text))
	s.table.FieldsPerRecord = -1 // counted here
	if s.narrow() && s.heading() {
		s.rows()
	}
	if err := s.problems.Err(); err != nil {
		return nil, err
	}
	return s.list, nil
}

// narrow refuses a line of so many cells that reading it alone would cost more
// than the rest.
func (s *rateSheet) narrow() bool {
	const most = 10_000 // commas, those in texts too
	for i, line := range s.lines {
		if n := strings.Count(line, ","); n > most {
			s.problems.Add(form.Pos{Line: i + 1, Column: 1}, "", fmt.Sprintf("the line has %d commas", n),
				"save the table with its six columns and no more")
			return false
		}
	}
	return true
}

// rateSheet is a table as it is read.
type rateSheet struct {
	table    *csv.Reader
	lines    []string       // of the text, for places
	cells    []string       // of the line last read
	wide     int            // cells in the heading
	columns  []int          // the column under each of rateHeading; -1 for none
	lineOf   map[string]int // where each name stands
	list     Rates
	problems *form.Problems
}

// next reads on to a line that holds something; it notes and passes over lines
// that can't be read.
func (s *rateSheet) next() bool {
	for {
		cells, err := s.table.Read()
		var fault *csv.ParseError
		switch {
		case errors.As(err, &fault):
			s.badQuotes(fault)
		case err != nil:
			if err != io.EOF {
				s.problems.Add(form.Pos{}, "", err.Error(), "")
			}
			return false
		default:
			for i := range cells {
				cells[i] = strings.Join(strings.Fields(cells[i]), " ")
			}
			if s.cells = cells; strings.Join(cells, "") != "" {
				return true
			}
		}
	}
}

// badQuotes notes a line whose quotes make no sense.
func (s *rateSheet) badQuotes(fault *csv.ParseError) {
	at, what := s.place(fault.StartLine, 1), "the quotes of this line do not match"
	if errors.Is(fault, csv.ErrBareQuote) {
		at, what = s.place(fault.Line, fault.Column), "a quote stands inside a text"
	}
	s.problems.Add(at, "", what,
		`put quotes round the whole text and write each one inside it twice: "4"" x 2"" studs"`)
}

// place counts in characters what the table's reader counts in bytes.
func (s *rateSheet) place(line, column int) form.Pos {
	at := s.lines[line-1]
	return form.Pos{Line: line, Column: utf8.RuneCountInString(at[:min(column-1, len(at))]) + 1}
}

// heading reads the first line and says whether the rest makes sense under it.
func (s *rateSheet) heading() bool {
	const do = "begin with the line: name,kind,what,unit,rate,percent"
	there := s.next()
	if len(s.problems.List) > 0 {
		return false
	}
	if !there {
		s.problems.Add(form.Pos{Line: 1, Column: 1}, "", "the table is empty", do)
		return false
	}
	s.wide = len(s.cells)
	s.columns = []int{-1, -1, -1, -1, -1, -1}
	for i, cell := range s.cells {
		at, word := s.cellPlace(i), strings.ToLower(cell)
		k := slices.Index(rateHeading[:], word)
		switch {
		case s.wide == 1 && strings.ContainsAny(cell, "; "): // a tab has become a blank
			s.problems.Add(at, "", "the columns are not parted by commas",
				"save the table as CSV with commas")
			return false
		case k < 0:
			s.problems.Add(at, "", fmt.Sprintf("there is no column %q", word),
				words.Meant(word, rateHeading[:], "columns"))
		case s.columns[k] >= 0:
			s.problems.Add(at, "", fmt.Sprintf("there are two columns %q", word), "take one of them out")
		default:
			s.columns[k] = i
		}
	}
	return s.hasNeeded(do)
}

// hasNeeded notes the columns that are missing and can't be.
func (s *rateSheet) hasNeeded(do string) bool {
	line, _ := s.table.FieldPos(0)
	all := true
	for k, i := range s.columns {
		if i < 0 && k != rateUnit && k != ratePercent {
			s.problems.Add(s.place(line, 1), "", fmt.Sprintf("there is no column %q", rateHeading[k]), do)
			all = false
		}
	}
	return all
}

func (s *rateSheet) cellPlace(i int) form.Pos {
	line, column := s.table.FieldPos(i)
	return s.place(line, column)
}

// cell gives the text under a heading; "" where that is left out.
func (s *rateSheet) cell(heading int) string {
	if i := s.columns[heading]; i >= 0 {
		return asWritten(s.cells[i])
	}
	return ""
}

// note notes a fault of the cell under a heading.
func (s *rateSheet) note(heading int, what, do string) {
	s.problems.Add(s.cellPlace(s.columns[heading]), "", what, do)
}

// rows reads what stands under the heading.
func (s *rateSheet) rows() {
	for s.next() {
		if len(s.list) == maxRates {
			s.problems.Add(s.cellPlace(0), "", fmt.Sprintf("a list has %d rates at the most", maxRates),
				"leave out what is never used")
			return
		}
		s.row()
	}
	if len(s.list) == 0 && len(s.problems.List) == 0 {
		s.problems.Add(form.Pos{}, "", "the table holds no rates", "write one a line under the heading")
	}
}

// row reads a line of the table and notes all that is wrong with it.
func (s *rateSheet) row() {
	if len(s.cells) != s.wide {
		s.problems.Add(s.cellPlace(0), "",
			fmt.Sprintf("the line has %d cells and the heading %d", len(s.cells), s.wide),
			"put quotes round a text with commas; write two commas where a cell is left empty")
		return
	}
	r := Rate{Name: s.cell(rateName), What: s.cell(rateWhat), Unit: s.cell(rateUnit)}
	s.named(r.Name)
	for _, k := range []int{rateKind, rateRate, ratePercent} {
		if err := s.read(k, &r); err != nil {
			s.note(k, err.Error(), "")
		}
	}
	switch {
	case r.What == "":
		s.note(rateWhat, "the line does not say what it is for", "write it as a variation's line should")
	case utf8.RuneCountInString(r.What) > MaxText:
		s.note(rateWhat, "the text is too long", fmt.Sprintf("keep it under %d characters", MaxText))
	}
	if utf8.RuneCountInString(r.Unit) > MaxText {
		s.note(rateUnit, "the text is too long", fmt.Sprintf("keep it under %d characters", MaxText))
	}
	if r.Rate < 0 {
		s.note(rateRate, "the rate is below nothing",
			"write work taken off with kind omit and a plain rate")
	}
	if r.Percent != 0 && r.Kind != 0 && r.Kind != variations.Daywork {
		s.note(ratePercent, "a percentage addition is for daywork", "leave the cell empty")
	}
	s.list = append(s.list, r)
}

// named notes a name that can't be one, or is there already.
func (s *rateSheet) named(name string) {
	at := s.cellPlace(s.columns[rateName])
	switch before := s.lineOf[name]; {
	case !ValidRef(name):
		s.note(rateName, fmt.Sprintf("%q is not a name for a rate", name), RefRemedy)
	case before != 0:
		s.note(rateName, fmt.Sprintf("there already is a rate %q, on line %d", name, before),
			"give one of the two another name")
	default:
		s.lineOf[name] = at.Line
	}
}

// read reads the cell under a heading into the rate.
func (s *rateSheet) read(heading int, r *Rate) error {
	text := s.cell(heading)
	switch heading {
	case rateKind:
		return r.Kind.UnmarshalText([]byte(strings.ToLower(text)))
	case rateRate:
		return r.Rate.UnmarshalText([]byte(plainPounds(text)))
	}
	if text == "" {
		return nil
	}
	return r.Percent.UnmarshalText([]byte(text))
}

var withCommas = regexp.MustCompile(`^\d{1,3}(,\d{3})+(\.\d+)?$`)

// plainPounds takes off what a spreadsheet puts to an amount of money:
// "£1,250.00" is "1250.00".
func plainPounds(text string) string {
	text = strings.TrimPrefix(text, "£")
	if withCommas.MatchString(text) {
		return strings.ReplaceAll(text, ",", "")
	}
	return text
}
