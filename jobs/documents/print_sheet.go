package documents

import (
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// The paper, in millimetres: A4 (ISO 216), its margins, and what lies between.
const (
	paperWidth  = 210.0
	paperHeight = 297.0
	sideMargin  = 16.0
	topMargin   = 15.0
	bottomEdge  = paperHeight - 19 // nothing but the page's foot stands below
	measure     = paperWidth - 2*sideMargin
)

// Sizes of type, in points.
const (
	titleSize  = 17.0
	headSize   = 12.5
	textSize   = 10.0
	tableSize  = 8.5
	smallSize  = 7.5
	pointMM    = 25.4 / 72 // millimetres in a point
	lineFactor = 1.28      // from one line to the next, in sizes
)

// Shades of ink, 0 black to 255 white.
const (
	black = 0
	grey  = 90  // text of second rank
	rule  = 160 // lines between rows
	faint = 215 // lines between weeks
	paper = 255
)

// sheet is the paper being written on, from the top of each page down.
type sheet struct {
	pdf  *fpdf.Fpdf
	y    float64 // where the next thing begins, in mm from the top
	size float64 // of the type set
}

// newSheet begins a print. Its dates are the statement's, so that the same
// statement gives the same bytes.
func newSheet(s *Statement) *sheet {
	pdf := fpdf.New("P", "mm", "A4", "")
	y, m, d := s.AsAt.Date()
	dated := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	pdf.SetCreationDate(dated)
	pdf.SetModificationDate(dated)
	pdf.SetCatalogSort(true)
	pdf.SetProducer("putlog", false)
	pdf.SetCreator("putlog", false)
	pdf.SetTitle(printable(s.Title), true)
	pdf.SetSubject(printable("Client's copy as at "+s.AsAt.Long()), true)
	pdf.SetLang("en-GB")
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes("go", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p := &sheet{pdf: pdf}
	p.newPage()
	return p
}

func (p *sheet) newPage() {
	p.pdf.AddPage()
	p.y = topMargin
}

// left is the room left on the page.
func (p *sheet) left() float64 { return bottomEdge - p.y }

// need turns the page where less room than this is left on it.
func (p *sheet) need(room float64) {
	if p.left() < room {
		p.newPage()
	}
}

// set chooses the type.
func (p *sheet) set(style string, size float64) {
	p.pdf.SetFont("go", style, size)
	p.size = size
}

// ink chooses the shade of text.
func (p *sheet) ink(shade int) { p.pdf.SetTextColor(shade, shade, shade) }

// leading is the height of a line of the type set.
func (p *sheet) leading() float64 { return p.size * pointMM * lineFactor }

// baseline is how far below the top of its line the type set stands.
func (p *sheet) baseline() float64 { return p.size * pointMM }

// at writes one line whose top is at y. Its text must be printable.
func (p *sheet) at(x, y float64, line string) {
	p.pdf.Text(x, y+p.baseline(), line)
}

// atRight writes one line that ends at x.
func (p *sheet) atRight(x, y float64, line string) {
	p.at(x-p.pdf.GetStringWidth(line), y, line)
}

// line draws a line of a given thickness.
func (p *sheet) line(x1, y1, x2, y2, thick float64, shade int) {
	p.pdf.SetDrawColor(shade, shade, shade)
	p.pdf.SetLineWidth(thick)
	p.pdf.Line(x1, y1, x2, y2)
}

// wrap breaks a text into lines no wider than width in the type set. A word
// wider than a line is broken where the line ends.
func (p *sheet) wrap(text string, width float64) []string {
	var lines []string
	line, used, space := "", 0.0, p.pdf.GetStringWidth(" ")
	for word := range strings.FieldsSeq(printable(text)) {
		wide := p.pdf.GetStringWidth(word)
		if line != "" && used+space+wide <= width {
			line, used = line+" "+word, used+space+wide
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		if wide > width {
			for head := p.fitting(word, width); head != word; head = p.fitting(word, width) {
				lines, word = append(lines, head), word[len(head):]
			}
			wide = p.pdf.GetStringWidth(word)
		}
		line, used = word, wide
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// fitting is as much of a text's beginning as fits into width, one character at
// the least.
func (p *sheet) fitting(text string, width float64) string {
	used := 0.0
	for i, r := range text {
		used += p.pdf.GetStringWidth(string(r))
		if used > width && i > 0 {
			return text[:i]
		}
	}
	return text
}

// short is a printable text on one line, cut with "…" where it is too wide.
func (p *sheet) short(text string, width float64) string {
	text = printable(text)
	if p.pdf.GetStringWidth(text) <= width {
		return text
	}
	return strings.TrimRight(p.fitting(text, width-p.pdf.GetStringWidth("…")), " ") + "…"
}

// paragraph writes a text across the measure, from page to page if it must.
func (p *sheet) paragraph(text string) { p.indented(text, 0) }

// indented is paragraph with its lines set in from the left.
func (p *sheet) indented(text string, in float64) {
	for _, line := range p.wrap(text, measure-in) {
		p.need(p.leading())
		p.at(sideMargin+in, p.y, line)
		p.y += p.leading()
	}
}

// heading begins a section that wants so much room at the least under its head.
func (p *sheet) heading(text string, room float64) {
	const above, below = 5.0, 1.5
	p.set("B", headSize)
	p.need(above + p.leading() + below + room)
	if p.y > topMargin {
		p.y += above
	}
	p.at(sideMargin, p.y, text)
	p.y += p.leading() + below
	p.set("", textSize)
}

// feet writes the foot of every page, now that their number is known.
func (p *sheet) feet(s *Statement) {
	pages := p.pdf.PageCount()
	for n := 1; n <= pages; n++ {
		p.pdf.SetPage(n) // the last page stays the one set: the writer counts up to it
		const y = bottomEdge + 6
		p.line(sideMargin, y-1.5, paperWidth-sideMargin, y-1.5, 0.15, rule)
		p.set("", smallSize)
		p.ink(grey)
		says := p.short("("+s.Ref+"), as at "+s.AsAt.Long(), measure/2)
		room := measure - 30 - p.pdf.GetStringWidth(says)
		p.at(sideMargin, y, p.short(s.Title, room)+" "+says)
		p.atRight(paperWidth-sideMargin, y, fmt.Sprintf("page %d of %d", n, pages))
	}
}

// writeTo ends the print.
func (p *sheet) writeTo(w io.Writer) error {
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("write the print: %w", err)
	}
	return nil
}
