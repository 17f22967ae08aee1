package form

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ParseYAML reads a form from YAML. The error is *Problems. Where a fault leaves
// the rest readable (a key given twice) the tree comes back beside the error, so
// that decoding it can add what else is wrong; a fault of syntax leaves none.
//
// Refused are anchors, aliases, tags, merge keys, directives, several documents,
// keys that are not single words, and texts beyond the limits.
func ParseYAML(file string, src []byte) (*Node, error) {
	p := &Problems{File: file}
	n := readYAML(src, p)
	return n, p.Err()
}

// Read reads a form from YAML, decodes it into what the pointer points to and has
// that checked. The error is *Problems and holds every fault at once.
//
// The check, nil where there is none, notes faults by their paths in the form
// ("stages[3].takes"); sound tells it that the form itself had none. A fault at
// or under a path where the form already has one, or above it, follows from that
// one and is left out.
func Read(file string, src []byte, into any,
	check func(note func(path, what, do string), sound bool)) error {
	p := &Problems{File: file}
	root := readYAML(src, p)
	if root == nil {
		return p.Err()
	}
	Decode(root, into, p)
	if check == nil {
		return p.Err()
	}
	found := p.List
	check(func(path, what, do string) {
		for _, f := range found {
			if within(path, f.Path) || within(f.Path, path) {
				return
			}
		}
		p.Add(root.At(path), path, what, do)
	}, len(found) == 0)
	return p.Err()
}

// within says whether one path of a form lies at or under another; all do under
// the form itself.
func within(path, above string) bool {
	rest, ok := strings.CutPrefix(path, above)
	return ok && (above == "" || rest == "" || rest[0] == '.' || rest[0] == '[')
}

func readYAML(src []byte, p *Problems) *Node {
	r := newReader(src, p)
	if r == nil {
		return nil
	}
	n := r.document()
	if r.failed {
		return nil
	}
	return n
}

// lineWidth is the longest line that a map or a list in brackets may make, in
// characters; a longer one is broken into lines of its own parts.
const lineWidth = 100

// YAML gives the tree as YAML that reads back to the same tree: each key of the
// form on a line, each map of a list under such a key on a line, and other maps
// and lists in brackets where these fit the line. Equal trees give equal bytes.
func (n *Node) YAML() []byte {
	w := &yamlWriter{}
	if n.isEmpty() {
		w.line(n)
	} else {
		w.block(n, 0, true)
	}
	return w.out
}

// isEmpty says whether the node has no parts to stand on lines of their own.
func (n *Node) isEmpty() bool { return len(n.Pairs)+len(n.Items) == 0 }

type yamlWriter struct{ out []byte }

func (w *yamlWriter) pad(indent int) {
	w.out = append(w.out, bytes.Repeat([]byte{' '}, indent)...)
}

// block writes the parts of a map or a list on lines of their own. The writer is
// at the indent already; top says that the node is the form itself.
func (w *yamlWriter) block(n *Node, indent int, top bool) {
	for i, item := range n.Items {
		if i > 0 {
			w.pad(indent)
		}
		w.out = append(w.out, "- "...)
		if item.isEmpty() || room(item, lineWidth-indent-2) >= 0 {
			w.line(item)
		} else {
			w.block(item, indent+2, false)
		}
	}
	for i, pair := range n.Pairs {
		if i > 0 {
			w.pad(indent)
		}
		key := appendScalar(nil, pair.Key, false)
		w.out = append(append(w.out, key...), ':')
		left := lineWidth - indent - utf8.RuneCount(key) - len(": ")
		if v := pair.Value; v.isEmpty() || !(top && v.isTable()) && room(v, left) >= 0 {
			w.out = append(w.out, ' ')
			w.line(v)
		} else {
			w.out = append(w.out, '\n')
			w.pad(indent + 2)
			w.block(v, indent+2, false)
		}
	}
}

// isTable says whether a list holds more than single values.
func (n *Node) isTable() bool {
	for _, item := range n.Items {
		if !item.isEmpty() {
			return true
		}
	}
	return false
}

// line writes a node on what is left of the line.
func (w *yamlWriter) line(n *Node) {
	if n.Kind == Scalar {
		w.out = append(appendScalar(w.out, n.Text, false), '\n')
	} else {
		w.out = append(appendFlow(w.out, n), '\n')
	}
}

// appendFlow writes a node in brackets, on one line.
func appendFlow(out []byte, n *Node) []byte {
	switch n.Kind {
	case Scalar:
		return appendScalar(out, n.Text, true)
	case List:
		out = append(out, '[')
		for i, item := range n.Items {
			if i > 0 {
				out = append(out, ", "...)
			}
			out = appendFlow(out, item)
		}
		return append(out, ']')
	case Map:
		out = append(out, '{')
		for i, pair := range n.Pairs {
			if i > 0 {
				out = append(out, ", "...)
			}
			out = append(appendScalar(out, pair.Key, true), ": "...)
			out = appendFlow(out, pair.Value)
		}
		return append(out, '}')
	}
	return append(out, "null"...)
}

// room gives what is left of a width after a node in brackets; negative as soon
// as it does not fit, so that asking of a large node costs little.
func room(n *Node, width int) int {
	const brackets, between = 2, 2
	switch n.Kind {
	case Null:
		return width - len("null")
	case Scalar:
		return width - widthOf(n.Text)
	}
	width -= brackets
	for i := 0; i < len(n.Items) && width >= 0; i++ {
		width = room(n.Items[i], width-between*min(i, 1))
	}
	for i := 0; i < len(n.Pairs) && width >= 0; i++ {
		width -= between*min(i, 1) + widthOf(n.Pairs[i].Key) + len(": ")
		width = room(n.Pairs[i].Value, width)
	}
	return width
}

func widthOf(text string) int {
	if len(text) > 4*lineWidth {
		return len(text) / 4 // more than fits, whatever its characters
	}
	if isPlain(text, true) {
		return utf8.RuneCountInString(text)
	}
	return utf8.RuneCount(appendQuoted(nil, text))
}

// appendScalar writes a text plain where every reader of YAML takes that for the
// text, else in double quotes. In flow, that is in brackets, fewer may be plain.
func appendScalar(out []byte, text string, flow bool) []byte {
	if isPlain(text, flow) {
		return append(out, text...)
	}
	return appendQuoted(out, text)
}

// isPlain says whether a text may stand without quotes. It says no more often
// than it must: not every reader draws the line where the standard does.
func isPlain(text string, flow bool) bool {
	first, size := utf8.DecodeRuneInString(text)
	if first == '-' {
		first, _ = utf8.DecodeRuneInString(text[size:])
	}
	if !unicode.IsLetter(first) && !unicode.IsNumber(first) && !strings.ContainsRune("£(+", first) {
		return false
	}
	for _, c := range text {
		switch c {
		case ':', '#', utf8.RuneError:
			return false
		case ',', '[', ']', '{', '}':
			if flow {
				return false
			}
		}
		if !unicode.IsPrint(c) {
			return false
		}
	}
	return text[len(text)-1] != ' ' && !isNull(text)
}
