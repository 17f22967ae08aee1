package form

import (
	"putlog/jobs/words"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// plain reads a scalar without quotes, inside something at the indent above.
// Its further lines stand deeper than that and are joined by spaces.
func (r *reader) plain(above int, flow bool) *Node {
	n := r.node(Scalar, r.pos())
	if what, do := r.startFault(flow); what != "" {
		r.fail(n.Pos, what, do)
		return n
	}
	n.Text = r.plainLine(flow)
	if r.ch() == '\n' {
		text := []byte(n.Text)
		for r.ch() == '\n' {
			breaks := r.continues(above, flow)
			if breaks == 0 {
				break
			}
			text = append(join(text, breaks), r.plainLine(flow)...)
		}
		n.Text = string(text)
	}
	if isNull(n.Text) {
		n.Kind = Null
	} else if r.json {
		r.fail(n.Pos, "a bare "+shorten(n.Text, 40)+" stands where a text in quotes is expected",
			"restore the text as it was written")
	}
	return n
}

func isNull(plain string) bool {
	return plain == "null" || plain == "~" || plain == "Null" || plain == "NULL"
}

// startFault says why a plain scalar can't begin here.
func (r *reader) startFault(flow bool) (what, do string) {
	const quote = "put the text in double quotes"
	c := r.ch()
	switch {
	case c == '&' || c == '*':
		return "anchors (&) and aliases (*) are not used here", "write the value out, or " + quote
	case c == '!':
		return "tags (!) are not used here", "take the tag out, or " + quote
	case r.mark('?'):
		return "long keys (?) are not used here", "write the key and a colon"
	case c == ':' && (isEnd(r.peek(1)) || flow && endsFlow(r.peek(1))):
		return "a colon stands without a key", "write the key before it, or " + quote
	case c == '-' && (isEnd(r.peek(1)) || flow && endsFlow(r.peek(1))):
		return "a dash stands where a value is expected", quote
	case strings.IndexByte(",]}", c) >= 0:
		return show(string(c)) + " stands where a value is expected", "take it out, or " + quote
	case strings.IndexByte("#|>%@`", c) >= 0:
		return "a text can't begin with " + show(string(c)), quote
	}
	return "", ""
}

// plainLine reads a plain scalar to its end or that of the line. A colon or a #
// ends it only as a mark by itself.
func (r *reader) plainLine(flow bool) string {
	from := r.at
scan:
	for ; r.at < len(r.src); r.at++ {
		switch r.src[r.at] {
		case '\n':
			break scan
		case '#':
			if r.at > from && r.spaced() {
				break scan
			}
		case ':':
			if next := r.peek(1); isEnd(next) || flow && endsFlow(next) {
				break scan
			}
		case ',', '[', ']', '{', '}':
			if flow {
				break scan
			}
		}
	}
	return strings.TrimRight(r.src[from:r.at], " \t")
}

// continues steps from the end of a line of a plain scalar to its next line and
// counts the line ends between; 0, and no step, if the scalar is at its end.
func (r *reader) continues(above int, flow bool) int {
	at, line, lineStart := r.at, r.line, r.lineStart
	breaks := 0
	for r.ch() == '\n' {
		r.lineBreak()
		breaks++
		if r.marker() {
			break
		}
		r.spaces()
	}
	ends := r.ch() == 0 || r.ch() == '#' || r.marker()
	if flow {
		ends = ends || endsFlow(r.ch()) || r.ch() == ':' && endsFlow(r.peek(1))
	} else {
		ends = ends || r.at-r.lineStart <= above || r.mark('-')
	}
	if ends {
		r.at, r.line, r.lineStart = at, line, lineStart
		return 0
	}
	return breaks
}

// join ends a line of a scalar: one line end is a space, more are one fewer.
func join(text []byte, breaks int) []byte {
	if breaks == 1 {
		return append(text, ' ')
	}
	return newlines(text, breaks-1)
}

func newlines(text []byte, count int) []byte {
	for range count {
		text = append(text, '\n')
	}
	return text
}

// quoted reads a scalar in single or double quotes.
func (r *reader) quoted() *Node {
	n, quote := r.node(Scalar, r.pos()), r.ch()
	r.skip(1)
	var text []byte
	solid := 0 // how much of the text came from escapes, the blanks of which stay
	for {
		from := r.at
		r.toSpecial(quote)
		chunk := r.src[from:r.at]
		switch c := r.ch(); {
		case c == 0:
			r.fail(n.Pos, "the quote opened here is never closed", "close it with "+string(quote))
			return n
		case c == '\n':
			text = r.fold(trimBlanks(append(text, chunk...), solid))
		case c == '\\':
			text = r.escape(append(text, chunk...))
			solid = len(text)
		case quote == '\'' && r.peek(1) == '\'':
			text = append(append(text, chunk...), '\'')
			r.skip(2)
		default:
			r.skip(1)
			if n.Text = chunk; len(text) > 0 {
				n.Text = string(append(text, chunk...))
			}
			return n
		}
	}
}

// toSpecial steps to the next byte that is more than itself inside quotes.
func (r *reader) toSpecial(quote byte) {
	for r.at < len(r.src) {
		c := r.src[r.at]
		if c == quote || c == '\n' || c == '\\' && quote == '"' {
			return
		}
		r.at++
	}
}

func trimBlanks(text []byte, solid int) []byte {
	for len(text) > solid && (text[len(text)-1] == ' ' || text[len(text)-1] == '\t') {
		text = text[:len(text)-1]
	}
	return text
}

// fold joins the next line of a quoted scalar to the text.
func (r *reader) fold(text []byte) []byte {
	return join(text, r.quotedBreaks())
}

// quotedBreaks steps over line ends, and the blanks around, inside quotes.
func (r *reader) quotedBreaks() (breaks int) {
	for r.ch() == '\n' {
		r.lineBreak()
		breaks++
		if r.marker() {
			r.fail(r.pos(), "a document ends inside quotes", "close the quotes, or indent the line")
		}
		r.spaces()
	}
	return breaks
}

// escapes are the letters after a backslash, each with what it stands for (YAML
// 1.2.2, section 5.7).
const escapes = "0\x00a\ab\bt\t\t\tn\nv\vf\fr\re\x1b  \"\"//\\\\"

// escaped gives what a letter after a backslash stands for, or how many digits
// of a character's number follow it; -1 and 0 if it has no meaning.
func escaped(letter byte) (c rune, digits int) {
	for i := 0; i < len(escapes); i += 2 {
		if escapes[i] == letter {
			return rune(escapes[i+1]), 0
		}
	}
	switch letter {
	case 'N':
		return 0x85, 0
	case '_':
		return 0xa0, 0
	case 'L':
		return 0x2028, 0
	case 'P':
		return 0x2029, 0
	case 'x':
		return -1, 2
	case 'u':
		return -1, 4
	case 'U':
		return -1, 8
	}
	return -1, 0
}

// escape reads an escape in double quotes.
func (r *reader) escape(text []byte) []byte {
	at, letter := r.pos(), r.peek(1)
	written, _ := utf8.DecodeRuneInString(r.src[r.at+1:])
	r.skip(1)
	if letter == '\n' { // the line end does not count, blank lines after it do
		return newlines(text, r.quotedBreaks()-1)
	}
	c, digits := escaped(letter)
	r.skip(1)
	if digits > 0 {
		c = r.hex(digits)
	}
	if c < 0 || !utf8.ValidRune(c) {
		r.fail(at, `the escape \`+string(written)+" has no meaning",
			`write \\ for a backslash, or use single quotes`)
		return text
	}
	if err := faultOf(c, utf8.RuneLen(c)); err != nil {
		r.refuse(at, err.Error()+" written as an escape", words.Advice(err))
	}
	return utf8.AppendRune(text, c)
}

// hex reads the digits of an escape after its letter; -1 if they are no
// character. A character may be written as two escapes of UTF-16, as in JSON.
func (r *reader) hex(digits int) rune {
	if r.at+digits > len(r.src) {
		return -1
	}
	code, err := strconv.ParseUint(r.src[r.at:r.at+digits], 16, 32)
	if err != nil || code > utf8.MaxRune {
		return -1
	}
	r.skip(digits)
	if c := rune(code); !utf16.IsSurrogate(c) {
		return c
	}
	if digits != 4 || r.ch() != '\\' || r.peek(1) != 'u' {
		return -1
	}
	r.skip(1)
	if low := r.hexLow(); low >= 0 {
		if c := utf16.DecodeRune(rune(code), low); c != utf8.RuneError {
			return c
		}
	}
	return -1
}

// hexLow reads the second half of a UTF-16 pair, at its u.
func (r *reader) hexLow() rune {
	if r.at+5 > len(r.src) {
		return -1
	}
	code, err := strconv.ParseUint(r.src[r.at+1:r.at+5], 16, 32)
	if err != nil {
		return -1
	}
	r.skip(5)
	return rune(code)
}
