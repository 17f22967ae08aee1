package form

import "fmt"

// document reads the whole text: one document, its start and end marked or not.
func (r *reader) document() *Node {
	more, start := r.blank(), r.pos()
	if more && r.ch() == '%' && r.at == r.lineStart {
		r.fail(start, "a directive (%) is not used here", "take the line out")
	}
	if !more && r.ch() == '-' {
		r.skip(len("---"))
		line := r.line
		if more = r.blank(); more && r.line == line {
			r.fail(r.pos(), "text stands behind ---", "put it on the next line")
		}
	}
	n := r.node(Null, Pos{1, 1})
	if more && !r.failed {
		n = r.block(-1)
	}
	r.end()
	return n
}

// end makes sure that nothing follows the document.
func (r *reader) end() {
	if r.blank() {
		r.misfit()
	}
	if r.ch() == '.' {
		r.skip(len("..."))
		r.blank()
	}
	if r.ch() != 0 {
		r.fail(r.pos(), "a second document begins here", "put it in a file of its own")
	}
}

func (r *reader) misfit() {
	r.indent() // a tab is the likelier fault
	r.fail(r.pos(), "this line does not line up with those above",
		"give it the indent of the lines that it belongs with")
}

// block reads the node that begins here, inside something at the indent above
// (-1 for the document itself).
func (r *reader) block(above int) *Node {
	indent, line, at := r.indent(), r.line, r.pos()
	switch {
	case r.mark('-'):
		return r.blockList(indent)
	case r.ch() == '|' || r.ch() == '>':
		return r.literal(above)
	}
	n := r.leaf(above)
	if r.spaces(); r.mark(':') {
		if r.line != line {
			r.fail(at, "a key takes more than one line", "put the key and its colon on one line")
		}
		return r.blockMap(indent, n)
	}
	r.lineEnd()
	return n
}

// leaf reads what is no block: a scalar, or a map or list in brackets.
func (r *reader) leaf(above int) *Node {
	switch r.ch() {
	case '[', '{':
		return r.flow()
	case '"', '\'':
		return r.quoted()
	}
	return r.plain(above, false)
}

// lineEnd makes sure that nothing but a comment follows on the line.
func (r *reader) lineEnd() {
	switch r.spaces(); {
	case r.ch() == 0 || r.ch() == '\n' || r.ch() == '#' && r.spaced():
	case r.mark(':'):
		r.fail(r.pos(), "a colon stands inside a value",
			"put the value in double quotes, or line the key up with those above")
	default:
		r.fail(r.pos(), "text stands behind the end of a value",
			"put the whole value in double quotes, or take the rest out")
	}
}

// blockList reads a list of one item after each dash at that indent.
func (r *reader) blockList(indent int) *Node {
	list := r.open(List, r.pos())
	for r.mark('-') {
		dash := r.pos()
		r.skip(1)
		if r.blank() && (r.line == dash.Line || r.indent() > indent) {
			list.Items = append(list.Items, r.block(indent))
		} else {
			list.Items = append(list.Items, r.node(Null, dash))
		}
		if !r.blank() || r.indent() < indent {
			break
		}
		if r.indent() > indent {
			r.misfit()
		}
	}
	r.close()
	return list
}

// blockMap reads a map of one key a line at that indent. The first key has been
// read; the reader is at its colon.
func (r *reader) blockMap(indent int, key *Node) *Node {
	m, keys := r.open(Map, key.Pos), keyRing{}
	for r.ch() == ':' {
		r.skip(1)
		r.pair(m, &keys, key, r.blockValue(indent, key.Pos))
		if !r.blank() || r.indent() < indent {
			break
		}
		if r.indent() > indent || r.mark('-') {
			r.misfit()
			break
		}
		key = r.blockKey(indent)
	}
	r.close()
	return m
}

// blockKey reads a key up to its colon.
func (r *reader) blockKey(indent int) *Node {
	line := r.line
	key := r.leaf(indent)
	if r.spaces(); r.line != line || !r.mark(':') {
		r.noColon(key, "write a key, a colon and a value, or join the text to the line above")
	}
	return key
}

func (r *reader) noColon(key *Node, do string) {
	if hasTightColon(key.Text) {
		do = "put a space after the colon"
	}
	r.fail(key.Pos, show(key.Text)+" stands where a key and a colon are expected", do)
}

// hasTightColon says whether a text was perhaps meant as key and value.
func hasTightColon(text string) bool {
	for i := 1; i < len(text)-1; i++ {
		if text[i] == ':' && text[i+1] != ' ' {
			return true
		}
	}
	return false
}

// blockValue reads what follows the colon of a key at that indent.
func (r *reader) blockValue(indent int, key Pos) *Node {
	line := r.line
	if !r.blank() {
		return r.node(Null, key)
	}
	if r.line == line {
		return r.lineValue(indent)
	}
	if in := r.indent(); in > indent || in == indent && r.mark('-') {
		return r.block(indent)
	}
	return r.node(Null, key)
}

// lineValue reads a value that begins on the line of its key.
func (r *reader) lineValue(indent int) *Node {
	if r.ch() == '|' || r.ch() == '>' {
		return r.literal(indent)
	}
	if r.mark('-') {
		r.fail(r.pos(), "a list begins on the line of its key",
			"put each item on a line of its own, or the list in [ ]")
	}
	n := r.leaf(indent)
	r.lineEnd()
	return n
}

// keyRing knows the keys of a map once they are many.
type keyRing struct{ known map[string]bool }

// taken says whether the map has the key; the caller then adds it.
func (k *keyRing) taken(m *Node, key string) bool {
	const few = 16
	if len(m.Pairs) < few {
		return m.Get(key) != nil
	}
	if k.known == nil {
		k.known = make(map[string]bool, 2*few)
		for _, pair := range m.Pairs {
			k.known[pair.Key] = true
		}
	}
	had := k.known[key]
	k.known[key] = true
	return had
}

// pair adds a key and its value to a map.
func (r *reader) pair(m *Node, keys *keyRing, key, value *Node) {
	switch {
	case key.Kind == Map || key.Kind == List:
		r.fail(key.Pos, "a key must be a single word, not "+key.Kind.String(), "write a plain key")
	case len([]rune(key.Text)) > maxKey:
		r.fail(key.Pos, fmt.Sprintf("a key is longer than %d characters", maxKey),
			"look for a colon in a text that needs double quotes")
	case key.Text == "<<":
		r.refuse(key.Pos, "merge keys (<<) are not used here", "write the keys out in full")
	case keys.taken(m, key.Text):
		r.refuse(key.Pos, "the key "+show(key.Text)+" is given twice", "take one of the two out")
	default:
		m.Pairs = append(m.Pairs, Pair{key.Text, key.Pos, value})
	}
}
