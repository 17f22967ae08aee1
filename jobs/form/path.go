package form

import (
	"fmt"
	"strconv"
	"strings"
)

// step is one step from a node to a node in it: a key of a map or, with key
// empty and item true, an item of a list.
type step struct {
	key     string
	index   int
	item    bool
	example string // what a value there may look like, for messages
}

// pathOf writes the steps as in "stages[3].after[0].stage". A key that is not
// a plain word stands in brackets and quotes.
func pathOf(steps []step) string {
	var b strings.Builder
	for _, s := range steps {
		switch {
		case s.item:
			fmt.Fprintf(&b, "[%d]", s.index)
		case strings.ContainsAny(s.key, `.["`) || s.key == "":
			b.WriteString("[" + strconv.Quote(s.key) + "]")
		case b.Len() > 0:
			b.WriteString("." + s.key)
		default:
			b.WriteString(s.key)
		}
	}
	return b.String()
}

// placeOf says the steps in words: "item 1 of after in item 4 of stages".
func placeOf(steps []step) string {
	if len(steps) == 0 {
		return "the form"
	}
	up, last := steps[:len(steps)-1], steps[len(steps)-1]
	switch {
	case last.item:
		return fmt.Sprintf("item %d of %s", last.index+1, placeOf(up))
	case len(up) == 0:
		return shorten(last.key, 40)
	}
	return shorten(last.key, 40) + " in " + placeOf(up)
}

// cutStep takes the first step off a path.
func cutStep(path string) (first step, rest string) {
	path = strings.TrimPrefix(path, ".")
	if !strings.HasPrefix(path, "[") {
		end := strings.IndexAny(path, ".[")
		if end <= 0 {
			end = len(path)
		}
		return step{key: path[:end]}, path[end:]
	}
	if quoted, err := strconv.QuotedPrefix(path[1:]); err == nil {
		key, _ := strconv.Unquote(quoted)
		return step{key: key}, strings.TrimPrefix(path[1+len(quoted):], "]")
	}
	inside, rest, _ := strings.Cut(path[1:], "]")
	index, err := strconv.Atoi(inside)
	if err != nil {
		index = -1
	}
	return step{index: index, item: true}, rest
}

// At gives the place of the value at a path, such as "stages[3].after[0]", or
// of the nearest thing above it that is there. A lone value stands for the
// list of one that it was read as.
func (n *Node) At(path string) Pos {
	if n == nil {
		return Pos{}
	}
	for path != "" {
		var s step
		s, path = cutStep(path)
		next := n.child(s)
		if next == nil {
			break
		}
		n = next
	}
	return n.Pos
}

func (n *Node) child(s step) *Node {
	switch {
	case !s.item:
		return n.Get(s.key)
	case n.Kind == List && s.index >= 0 && s.index < len(n.Items):
		return n.Items[s.index]
	case n.Kind != List && s.index == 0:
		return n
	}
	return nil
}
