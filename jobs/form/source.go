package form

import (
	"fmt"
	"putlog/jobs/words"
	"strings"
	"unicode/utf8"
)

// The limits of a form. A job of a hundred stages and five hundred entries
// takes some 100 KB, 6,000 nodes and a depth of 8.
const (
	maxSource = 8 << 20 // bytes
	maxNodes  = 200_000 // scalars, keys, maps and lists
	maxDepth  = 32      // maps and lists inside each other
	maxKey    = 200     // characters of a key
	maxBad    = 3       // characters refused before giving up: it is no text
)

// CheckText refuses a text that no form may hold: invalid UTF-8, control
// characters other than tab and line ends, and the marks that turn the
// direction of writing. Text that comes from elsewhere than a form (a flag of a
// command) is to be put to it before it is encoded. The error says what is
// wrong and, to words.Advice, what to do.
func CheckText(text string) error {
	for i, c := range text {
		if c == utf8.RuneError {
			_, size := utf8.DecodeRuneInString(text[i:])
			if err := faultOf(c, size); err != nil {
				return err
			}
		} else if err := faultOf(c, utf8.RuneLen(c)); err != nil {
			return err
		}
	}
	return nil
}

// faultOf judges a character as utf8.DecodeRune gave it. Control characters
// could drive the terminal that prints them; direction marks could show a text
// that is not the text stored.
func faultOf(c rune, size int) error {
	switch {
	case c == utf8.RuneError && size <= 1:
		return words.Refuse("save the file as UTF-8", "this is not UTF-8 text")
	case c < ' ' && c != '\t' && c != '\n' && c != '\r', c >= 0x7f && c <= 0x9f:
		return words.Refuse("take it out", "control character U+%04X", c)
	case c == 0x61c, c == 0x200e, c == 0x200f, c >= 0x202a && c <= 0x202e,
		c >= 0x2066 && c <= 0x2069: // Bidi_Control, Unicode Standard Annex 9
		return words.Refuse("take it out", "hidden text-direction mark U+%04X", c)
	}
	return nil
}

// checkSource notes what keeps a text from being read at all.
func checkSource(src string, p *Problems) {
	if len(src) > maxSource {
		p.Add(Pos{}, "", fmt.Sprintf("the text is larger than %d MiB", maxSource>>20),
			"split the form; entries can be recorded in several files")
		return
	}
	line, column, bad := 1, 0, 0
	for at := 0; at < len(src) && bad < maxBad; {
		column++
		if c := src[at]; c >= ' ' && c < 0x7f {
			at++
			continue
		}
		c, size := utf8.DecodeRuneInString(src[at:])
		at += size
		if err := faultOf(c, size); err != nil {
			p.Add(Pos{line, column}, "", err.Error(), words.Advice(err))
			bad++
		}
		if c == '\n' || c == '\r' && !strings.HasPrefix(src[at:], "\n") {
			line, column = line+1, 0
		}
	}
}

// reader reads a text, already checked, from front to back. The first fault of
// syntax ends the reading: fail sets the reader to the end of the text, and
// every loop stops there.
type reader struct {
	src             string // line ends are \n; it holds no NUL
	at              int    // the next byte to read
	line, lineStart int    // the line it is in, and where that begins
	counted, column int    // the column of the byte counted last
	depth, nodes    int
	spare           []Node // made ahead, many at a time
	json            bool   // only what is JSON is read, and no bare scalars
	failed          bool
	problems        *Problems
}

// newReader checks the text; it gives nil if that must not be read.
func newReader(src []byte, p *Problems) *reader {
	text, ok := Text(src, p)
	if !ok {
		return nil
	}
	return &reader{src: text, line: 1, problems: p}
}

// Text gives the text of a file, its line ends all \n and no byte order mark
// before it, or notes what keeps it from being read as text: it is not UTF-8, it
// holds control characters, it is far too large. It serves tables as well.
func Text(src []byte, p *Problems) (text string, ok bool) {
	text = strings.TrimPrefix(string(src), "\ufeff")
	before := len(p.List)
	if checkSource(text, p); len(p.List) > before {
		return "", false
	}
	if strings.Contains(text, "\r") {
		text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	}
	return text, true
}

// ch is the next byte, 0 at the end.
func (r *reader) ch() byte { return r.peek(0) }

func (r *reader) peek(n int) byte {
	if r.at+n < len(r.src) {
		return r.src[r.at+n]
	}
	return 0
}

// pos is the place of the next byte. It counts on from the last place asked
// for, so that a long line costs no more than a short one.
func (r *reader) pos() Pos {
	if r.counted < r.lineStart || r.column == 0 {
		r.counted, r.column = r.lineStart, 1
	}
	r.column += utf8.RuneCountInString(r.src[r.counted:r.at])
	r.counted = r.at
	return Pos{r.line, r.column}
}

// refuse notes a fault that does not keep the rest from being read.
func (r *reader) refuse(at Pos, what, do string) {
	if !r.failed {
		r.problems.Add(at, "", what, do)
	}
	if r.problems.full() {
		r.stop()
	}
}

// fail notes a fault and ends the reading.
func (r *reader) fail(at Pos, what, do string) {
	r.refuse(at, what, do)
	r.stop()
}

func (r *reader) stop() { r.failed, r.at = true, len(r.src) }

// node gives a new node, as long as there may be more.
func (r *reader) node(kind Kind, at Pos) *Node {
	if r.nodes++; r.nodes > maxNodes {
		r.fail(at, fmt.Sprintf("the form holds more than %d keys and values", maxNodes),
			"split the form; entries can be recorded in several files")
	}
	if len(r.spare) == 0 {
		r.spare = make([]Node, 32)
	}
	n := &r.spare[0]
	r.spare = r.spare[1:]
	n.Kind, n.Pos = kind, at
	return n
}

// open begins a map or a list; close ends it.
func (r *reader) open(kind Kind, at Pos) *Node {
	if r.depth++; r.depth > maxDepth {
		r.fail(at, fmt.Sprintf("maps and lists stand more than %d deep inside each other", maxDepth),
			"look for a bracket or a dash too many")
	}
	return r.node(kind, at)
}

func (r *reader) close() { r.depth-- }

// skip steps over bytes, but not beyond the end, where a fault may have set the
// reader meanwhile.
func (r *reader) skip(bytes int) { r.at = min(r.at+bytes, len(r.src)) }

// lineBreak steps over the end of a line.
func (r *reader) lineBreak() {
	r.at++
	r.line++
	r.lineStart = r.at
}

func (r *reader) spaces() {
	for r.ch() == ' ' || r.ch() == '\t' {
		r.at++
	}
}

// spaced says whether a blank or a new line comes before the next byte.
func (r *reader) spaced() bool {
	return r.at == r.lineStart || r.src[r.at-1] == ' ' || r.src[r.at-1] == '\t'
}

// blank steps over blank lines and comments to the next content; false at the
// end of the text or of the document.
func (r *reader) blank() bool {
	for {
		if r.marker() {
			return false
		}
		r.spaces()
		switch {
		case r.ch() == 0:
			return false
		case r.ch() == '\n':
			r.lineBreak()
		case r.ch() == '#' && r.spaced():
			r.toLineEnd()
		default:
			return true
		}
	}
}

func (r *reader) toLineEnd() {
	if end := strings.IndexByte(r.src[r.at:], '\n'); end >= 0 {
		r.at += end
	} else {
		r.at = len(r.src)
	}
}

// marker says whether a line "---" or "..." begins here.
func (r *reader) marker() bool {
	if r.at != r.lineStart {
		return false
	}
	rest := r.src[r.at:]
	return (strings.HasPrefix(rest, "---") || strings.HasPrefix(rest, "...")) && isEnd(r.peek(3))
}

// isEnd says whether a byte ends a mark such as "-" or ":".
func isEnd(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == 0 }

// mark says whether the mark c stands here by itself.
func (r *reader) mark(c byte) bool { return r.ch() == c && isEnd(r.peek(1)) }

// indent is the number of blanks (or marks of lists that it stands in) before
// the next content of its line.
func (r *reader) indent() int {
	before := r.src[r.lineStart:r.at]
	if tab := strings.IndexByte(before, '\t'); tab >= 0 && !r.failed {
		r.fail(Pos{r.line, tab + 1}, "a tab stands where spaces must line things up",
			"put spaces in place of the tab")
	}
	return r.at - r.lineStart
}
