package form

import "fmt"

// flow reads a map or a list in brackets, which may take several lines.
func (r *reader) flow() *Node {
	if r.ch() == '[' {
		return r.flowList()
	}
	return r.flowMap()
}

func (r *reader) flowList() *Node {
	list := r.open(List, r.pos())
	for r.flowNext(list.Pos, ']', len(list.Items)) {
		list.Items = append(list.Items, r.flowValue())
		if r.blank(); r.mark(':') {
			r.fail(r.pos(), fmt.Sprintf("a colon stands inside the list opened at %d:%d",
				list.Line, list.Column), "close that list, or put the key and its value in { }")
		}
	}
	r.close()
	return list
}

// flowNext steps to the next item or key after the opening bracket or a comma;
// false once it has stepped over the closing one. A comma may stand before that.
func (r *reader) flowNext(opened Pos, closing byte, had int) bool {
	if had == 0 {
		r.skip(1) // the opening bracket
	} else if r.blank() && r.ch() == ',' {
		r.skip(1)
	} else if r.ch() != closing && r.ch() != 0 && !r.marker() {
		r.fail(r.pos(), "a comma or "+string(closing)+" was expected here",
			"put a comma between the parts, or a text with , [ ] { } in double quotes")
	}
	if !r.blank() {
		r.fail(opened, "the bracket opened here is never closed", "close it with "+string(closing))
		return false
	}
	if r.ch() == closing {
		r.skip(1)
		return false
	}
	return true
}

func (r *reader) flowValue() *Node {
	switch r.ch() {
	case '[', '{':
		return r.flow()
	case '"', '\'':
		return r.quoted()
	}
	return r.plain(-1, true)
}

func (r *reader) flowMap() *Node {
	m, keys, had := r.open(Map, r.pos()), keyRing{}, 0
	for r.flowNext(m.Pos, '}', had) {
		key := r.flowKey()
		if r.blank() && r.ch() != ',' && r.ch() != '}' {
			r.pair(m, &keys, key, r.flowValue())
		} else {
			r.pair(m, &keys, key, r.node(Null, key.Pos))
		}
		had++
	}
	r.close()
	return m
}

// flowKey reads a key and steps over its colon, which must follow on the line
// and, unless the key is quoted, stand by itself.
func (r *reader) flowKey() *Node {
	line, quoted := r.line, r.ch() == '"' || r.ch() == '\''
	key := r.flowValue()
	r.spaces()
	if r.ch() != ':' || r.line != line || !quoted && !endsFlow(r.peek(1)) {
		r.noColon(key, "put a colon after the key, or a text that holds a comma in double quotes")
	}
	r.skip(1)
	return key
}

// endsFlow says whether a byte ends a mark inside brackets.
func endsFlow(c byte) bool {
	return isEnd(c) || c == ',' || c == '[' || c == ']' || c == '{' || c == '}'
}
