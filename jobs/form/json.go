package form

import (
	"encoding/json"
	"unicode/utf8"
)

// ParseJSON reads a form as the book stores it: JSON in which every scalar is a
// string. The error is *Problems. JSON in that sense is also YAML, so the same
// reader reads it, once it is known to be JSON.
func ParseJSON(src []byte) (*Node, error) {
	p := &Problems{}
	r := newReader(src, p)
	if r == nil {
		return nil, p.Err()
	}
	if !json.Valid(src) {
		p.Add(jsonFault(r.src), "", "this is not JSON", "restore the text as it was written")
		return nil, p.Err()
	}
	r.json = true
	n := r.document()
	if r.failed {
		return nil, p.Err()
	}
	return n, p.Err()
}

// jsonFault finds the place where a text ceases to be JSON.
func jsonFault(src string) Pos {
	var into json.RawMessage
	err := json.Unmarshal([]byte(src), &into)
	fault, ok := err.(*json.SyntaxError)
	if !ok {
		return Pos{Line: 1, Column: 1}
	}
	r := &reader{src: src, line: 1}
	for r.at < len(src) && r.at < int(fault.Offset)-1 {
		if src[r.at] == '\n' {
			r.lineBreak()
		} else {
			r.at++
		}
	}
	return r.pos()
}

// JSON gives the tree as JSON: no blanks, maps in the order of their keys, every
// scalar a string, what is left out null. Equal trees give equal bytes.
func (n *Node) JSON() []byte { return appendJSON(nil, n) }

func appendJSON(out []byte, n *Node) []byte {
	switch n.Kind {
	case Scalar:
		return appendQuoted(out, n.Text)
	case List:
		out = append(out, '[')
		for i, item := range n.Items {
			if i > 0 {
				out = append(out, ',')
			}
			out = appendJSON(out, item)
		}
		return append(out, ']')
	case Map:
		out = append(out, '{')
		for i, pair := range n.Pairs {
			if i > 0 {
				out = append(out, ',')
			}
			out = append(appendQuoted(out, pair.Key), ':')
			out = appendJSON(out, pair.Value)
		}
		return append(out, '}')
	}
	return append(out, "null"...)
}

// appendQuoted writes a text in double quotes, with escapes that mean the same
// in JSON and in YAML. What is not UTF-8 becomes U+FFFD.
func appendQuoted(out []byte, text string) []byte {
	const digits = "0123456789abcdef"
	out = append(out, '"')
	for _, c := range text {
		switch {
		case c == '"' || c == '\\':
			out = append(out, '\\', byte(c))
		case c == '\n':
			out = append(out, `\n`...)
		case c == '\r':
			out = append(out, `\r`...)
		case c == '\t':
			out = append(out, `\t`...)
		case escapeNeeded(c):
			out = append(out, '\\', 'u',
				digits[c>>12&15], digits[c>>8&15], digits[c>>4&15], digits[c&15])
		default:
			out = utf8.AppendRune(out, c)
		}
	}
	return append(out, '"')
}

// escapeNeeded says of which characters a text must not hold the bare form:
// those that no form may hold, those that YAML counts as line ends, and the
// byte order mark.
func escapeNeeded(c rune) bool {
	if c == 0x2028 || c == 0x2029 || c == 0xfeff || c == 0xfffe || c == 0xffff {
		return true
	}
	return faultOf(c, utf8.RuneLen(c)) != nil
}
