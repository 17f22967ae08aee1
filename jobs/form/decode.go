package form

import (
	"cmp"
	"encoding"
	"errors"
	"fmt"
	"math"
	"putlog/jobs/words"
	"reflect"
	"strconv"
	"strings"
)

// formDecoder is a type that reads itself from a node, such as one of a closed
// set. It reports what is wrong to the Decoder.
type formDecoder interface {
	DecodeForm(n *Node, d *Decoder)
}

// Decode fills what the pointer points to from a form, notes every problem and
// carries on, so that one run finds them all. Where there is a problem the value
// is not to be used.
//
// The tag `form:"name"` names the key of a field; the order of the fields is the
// canonical order. Options: optional (may be left out, as a pointer may), lone
// (a list of one may be written without the list), keyed (a list of structs is a
// map; the struct's field with the option key holds the key). The tag `eg` shows
// a value in messages. An embedded struct without a tag lends its fields.
//
// A type with UnmarshalText takes a single value; if it is also a struct with
// tags it takes a map as well. A type with DecodeForm(*Node, *Decoder) reads
// itself. Else strings, bools, whole numbers, structs and lists are read.
func Decode(n *Node, into any, p *Problems) {
	d := &Decoder{problems: p}
	d.Into(n, into)
}

// Decoder reads one form; a type with DecodeForm gets it to read its parts and
// to report problems, which it does at the place where it stands.
type Decoder struct {
	problems *Problems
	path     []step
}

// Refuse notes a problem with the value read now.
func (d *Decoder) Refuse(at Pos, what, do string) {
	if !d.problems.overflows() {
		d.problems.Add(at, pathOf(d.path), what, do)
	}
}

// Into reads the node into what the pointer points to.
func (d *Decoder) Into(n *Node, into any) {
	v := reflect.ValueOf(into)
	if v.Kind() != reflect.Pointer || v.IsNil() {
		panic("form: decoding needs a pointer")
	}
	d.value(n, v.Elem())
}

// IsMap says whether the node is a map, and notes a problem if not.
func (d *Decoder) IsMap(n *Node) bool {
	if n.Kind != Map {
		d.wants(n, "a map")
	}
	return n.Kind == Map
}

// Only refuses the keys of a map that are not among those given.
func (d *Decoder) Only(n *Node, keys ...string) {
	for _, pair := range n.Pairs {
		known := false
		for _, key := range keys {
			known = known || key == pair.Key
		}
		if !known {
			d.unknown(pair, keys)
		}
	}
}

// Child reads the value of a key, and says whether it is there.
func (d *Decoder) Child(n *Node, key string, into any) bool {
	for _, pair := range n.Pairs {
		if pair.Key == key && pair.Value.Kind != Null {
			d.Pair(pair, into)
			return true
		}
	}
	return false
}

// Need reads the value of a key, and notes a problem if it is not there.
func (d *Decoder) Need(n *Node, key string, into any) bool {
	there := d.Child(n, key, into)
	if !there {
		d.missing(n.Pos, field{name: key})
	}
	return there
}

// Pair reads the value of a pair of a map. A value left out is read as an empty
// map.
func (d *Decoder) Pair(pair Pair, into any) {
	d.push(step{key: pair.Key})
	defer d.pop()
	d.Into(pair.Value, into)
}

func (d *Decoder) push(s step) { d.path = append(d.path, s) }

func (d *Decoder) pop() { d.path = d.path[:len(d.path)-1] }

// example shows what the value read now may look like.
func (d *Decoder) example() string {
	if len(d.path) == 0 {
		return ""
	}
	return d.path[len(d.path)-1].example
}

func (d *Decoder) value(n *Node, v reflect.Value) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		d.value(n, v.Elem())
		return
	}
	switch into := v.Addr().Interface().(type) {
	case formDecoder:
		into.DecodeForm(n, d)
		return
	case encoding.TextUnmarshaler:
		either := v.Kind() == reflect.Struct && len(planOf(v.Type()).fields) > 0
		switch {
		case n.Kind == Scalar:
			d.text(n, into)
			return
		case !either:
			d.wants(n, Scalar.String())
			return
		case n.Kind == List:
			d.wants(n, "a single value or a map")
			return
		}
	}
	switch v.Kind() {
	case reflect.Struct:
		d.fields(n, v)
	case reflect.Slice:
		d.list(n, v)
	default:
		if n.Kind == Scalar {
			d.scalar(n, v)
		} else {
			d.wants(n, Scalar.String())
		}
	}
}

// text lets a type read its own text. An error with Do says what to do.
func (d *Decoder) text(n *Node, into encoding.TextUnmarshaler) {
	err := into.UnmarshalText([]byte(n.Text))
	if err == nil {
		return
	}
	d.Refuse(n.Pos, err.Error(), cmp.Or(words.Advice(err), d.like()))
}

// like shows a value to write, or nothing where no example is known.
func (d *Decoder) like() string {
	if d.example() == "" {
		return ""
	}
	return "write something like " + d.example()
}

func (d *Decoder) scalar(n *Node, v reflect.Value) {
	switch {
	case v.Kind() == reflect.String:
		v.SetString(n.Text)
	case v.Kind() == reflect.Bool:
		v.SetBool(n.Text == "true")
		if n.Text != "true" && n.Text != "false" {
			d.Refuse(n.Pos, show(n.Text)+" is neither true nor false", "write true or false")
		}
	case v.CanInt():
		bits := v.Type().Bits()
		i, err := strconv.ParseInt(n.Text, 10, bits)
		if err != nil {
			span := ""
			if bits < 64 {
				most := int64(math.MaxInt64) >> (64 - bits)
				span = fmt.Sprintf(" from %d to %d", -most-1, most)
			}
			d.number(n, err, span)
		}
		v.SetInt(i)
	case v.CanUint():
		bits := v.Type().Bits()
		u, err := strconv.ParseUint(n.Text, 10, bits)
		if err != nil {
			d.number(n, err, fmt.Sprintf(" from 0 to %d", uint64(math.MaxUint64)>>(64-bits)))
		}
		v.SetUint(u)
	default:
		panic(fmt.Sprintf("form: %s can't be read from a form", v.Type()))
	}
}

func (d *Decoder) number(n *Node, err error, span string) {
	what := " is not a whole number"
	if errors.Is(err, strconv.ErrRange) {
		what = " is out of range"
	}
	d.Refuse(n.Pos, show(n.Text)+what, "write a whole number"+span)
}

func (d *Decoder) list(n *Node, v reflect.Value) {
	if n.Kind != List {
		d.wants(n, List.String())
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.Items), len(n.Items)))
	example := d.example()
	for i, item := range n.Items {
		d.push(step{index: i, item: true, example: example})
		if item.Kind == Null {
			d.Refuse(item.Pos, placeOf(d.path)+" is empty", "fill it in, or take it out")
		} else {
			d.value(item, v.Index(i))
		}
		d.pop()
	}
}

// keyed reads a map into a list of structs that hold their own keys.
func (d *Decoder) keyed(n *Node, v reflect.Value) {
	if !d.IsMap(n) {
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.Pairs), len(n.Pairs)))
	key := keyOf(v.Type())
	for i, pair := range n.Pairs {
		d.push(step{key: pair.Key})
		d.value(&Node{Kind: Scalar, Text: pair.Key, Pos: pair.KeyPos}, v.Index(i).FieldByIndex(key))
		d.value(pair.Value, v.Index(i))
		d.pop()
	}
}

// fields reads a map into a struct.
func (d *Decoder) fields(n *Node, v reflect.Value) {
	if n.Kind != Null && !d.IsMap(n) {
		return
	}
	p := planOf(v.Type())
	if n.Kind == Null && len(d.path) == 0 {
		if needed := p.needed(); len(needed) > 0 {
			d.Refuse(n.Pos, "the form is empty", "fill in "+strings.Join(needed, ", "))
			return
		}
	}
	seen := make([]bool, len(p.fields))
	for _, pair := range n.Pairs {
		i := p.find(pair.Key)
		if i < 0 {
			d.unknown(pair, p.names())
		} else if pair.Value.Kind != Null {
			seen[i] = true
			d.field(pair.Value, p.fields[i], v.FieldByIndex(p.fields[i].index))
		}
	}
	for i, f := range p.fields {
		if !seen[i] && !f.optional {
			d.missing(n.Pos, f)
		}
	}
}

func (d *Decoder) field(n *Node, f field, v reflect.Value) {
	d.push(step{key: f.name, example: f.example})
	defer d.pop()
	switch {
	case f.keyed:
		d.keyed(n, v)
	case f.lone && n.Kind != List:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		d.value(n, v.Index(0))
	default:
		d.value(n, v)
	}
}

func (d *Decoder) missing(at Pos, f field) {
	if d.problems.overflows() {
		return
	}
	place := placeOf(d.path)
	d.push(step{key: f.name})
	defer d.pop()
	do := "add " + f.name
	if f.example != "" {
		do += ": " + f.example
	}
	d.Refuse(at, place+" has no "+f.name, do)
}

func (d *Decoder) unknown(pair Pair, known []string) {
	if d.problems.overflows() {
		return
	}
	place, do := placeOf(d.path), ""
	if near := words.Near(pair.Key, known); len(near) > 0 {
		do = "write " + words.Or(near)
	} else {
		do = "take it out; the keys here are " + strings.Join(known, ", ")
	}
	if len(known) == 0 {
		do = "take it out; nothing is given here"
	}
	d.push(step{key: pair.Key})
	defer d.pop()
	d.Refuse(pair.KeyPos, place+" has no key "+show(pair.Key), do)
}

// wants notes a node of the wrong kind.
func (d *Decoder) wants(n *Node, kind string) {
	if d.problems.overflows() {
		return
	}
	do := d.like()
	switch {
	case n.Kind == Scalar && kind == "a map" && hasTightColon(n.Text):
		do = "put a space after the colon"
	case n.Kind != List && kind == "a list":
		do = "put it in square brackets, or each item on a line with a dash"
	}
	d.Refuse(n.Pos, placeOf(d.path)+" must be "+kind+", not "+n.Kind.String(), do)
}
