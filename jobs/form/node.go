package form

import "iter"

// Kind says what a Node is.
type Kind uint8

// The kinds of Node. A Null is a value left out: nothing after the key, or a
// plain null or ~.
const (
	Null Kind = iota
	Scalar
	Map
	List
)

// String names the kind as a message does.
func (k Kind) String() string {
	return [...]string{"nothing", "a single value", "a map", "a list"}[k]
}

// Node is a form, or a part of one: a tree of scalars, maps and lists, each
// with its place in the text. Maps keep the order of their keys.
type Node struct {
	Pos
	Kind  Kind
	Text  string  // of a Scalar
	Pairs []Pair  // of a Map
	Items []*Node // of a List
}

// Pair is one key of a map and its value, which is never nil.
type Pair struct {
	Key    string
	KeyPos Pos
	Value  *Node
}

// NewScalar gives a node that holds the text.
func NewScalar(text string) *Node { return &Node{Kind: Scalar, Text: text} }

// NewList gives a list of the items.
func NewList(items ...*Node) *Node { return &Node{Kind: List, Items: items} }

// NewMap gives an empty map, to be filled with Put.
func NewMap() *Node { return &Node{Kind: Map} }

// Put appends a key, which the map must not hold yet, and gives back the map.
func (n *Node) Put(key string, value *Node) *Node {
	n.Pairs = append(n.Pairs, Pair{Key: key, Value: value})
	return n
}

// Texts gives every scalar and key of a form, in order.
func (n *Node) Texts() iter.Seq[string] {
	return func(yield func(string) bool) { n.texts(yield) }
}

func (n *Node) texts(yield func(string) bool) bool {
	if n.Kind == Scalar && !yield(n.Text) {
		return false
	}
	for _, item := range n.Items {
		if !item.texts(yield) {
			return false
		}
	}
	for _, pair := range n.Pairs {
		if !yield(pair.Key) || !pair.Value.texts(yield) {
			return false
		}
	}
	return true
}

// Get gives the value of a key, or nil where the node has no such key.
func (n *Node) Get(key string) *Node {
	for i := range n.Pairs {
		if n.Pairs[i].Key == key {
			return n.Pairs[i].Value
		}
	}
	return nil
}
