package form

import "strings"

// literal reads a block scalar after | (line ends stay) or > (they are joined),
// inside something at the indent above.
func (r *reader) literal(above int) *Node {
	n := r.node(Scalar, r.pos())
	block := literalBlock{folded: r.ch() == '>', above: max(above, 0), indent: -1}
	r.skip(1)
	for range 2 { // one digit for the indent and one sign, in any order
		switch c := r.ch(); {
		case (c == '+' || c == '-') && block.chomp == 0:
			block.chomp = c
			r.skip(1)
		case c >= '1' && c <= '9' && block.indent < 0:
			block.indent = block.above + int(c-'0')
			r.skip(1)
		}
	}
	r.lineEnd()
	if r.toLineEnd(); r.ch() == '\n' {
		r.lineBreak()
	}
	for r.ch() != 0 && !r.marker() && block.take(r) {
		if r.toLineEnd(); r.ch() == '\n' {
			r.lineBreak()
		}
	}
	n.Text = block.end()
	return n
}

// literalBlock gathers the lines of a block scalar.
type literalBlock struct {
	folded        bool
	above, indent int  // the indent of its lines; -1 until the first is seen
	chomp         byte // of the last line end: 0 keep one, '-' none, '+' all
	text          []byte
	breaks        int  // blank lines since the last line
	widest        int  // the longest blank line before the first
	some, deeper  bool // a line was taken; it stood deeper than the block
	ended         bool // it had a line end
}

// take adds the line that begins here; false if it is not of the block.
func (b *literalBlock) take(r *reader) bool {
	rest := r.src[r.at:]
	width := 0
	for width < len(rest) && rest[width] == ' ' {
		width++
	}
	blank := width == len(rest) || rest[width] == '\n'
	if blank && (b.indent < 0 || width <= b.indent) {
		if width < len(rest) {
			b.breaks++
		}
		b.widest = max(b.widest, width)
		return true
	}
	if b.indent < 0 && width > b.above {
		if b.indent = width; b.widest > width {
			r.fail(r.pos(), "a blank line above is longer than the indent of this text",
				"take the spaces out of the blank line")
		}
	}
	if b.indent < 0 || width < b.indent {
		return false
	}
	line, _, ended := strings.Cut(rest[b.indent:], "\n")
	b.add(line)
	b.ended = ended
	return true
}

// add joins a line to those before: folded lines by a space, or by the blank
// lines between, unless one of the two stands deeper.
func (b *literalBlock) add(line string) {
	deeper := line[0] == ' ' || line[0] == '\t'
	switch {
	case b.some && b.folded && !b.deeper && !deeper:
		b.text = join(b.text, b.breaks+1)
	case b.some:
		b.text = newlines(b.text, b.breaks+1)
	default:
		b.text = newlines(b.text, b.breaks)
	}
	b.text = append(b.text, line...)
	b.breaks, b.some, b.deeper = 0, true, deeper
}

// end closes the text as the mark after | or > says.
func (b *literalBlock) end() string {
	if b.chomp != '-' && b.some && b.ended {
		b.text = append(b.text, '\n')
	}
	if b.chomp == '+' {
		b.text = newlines(b.text, b.breaks)
	}
	return string(b.text)
}
