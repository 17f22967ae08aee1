package form

import (
	"encoding"
	"fmt"
	"reflect"
	"strings"
	"sync"
)

// field is a field of a struct with a `form` tag.
type field struct {
	name     string
	index    []int
	example  string // from the tag `eg`: what a value may look like
	optional bool   // may be left out; a zero value is not written
	lone     bool   // of a list: one item may stand without the list
	keyed    bool   // of a list of structs: a map, by the key field of each
}

// plan is how a struct and a map become each other: the tags, read once.
type plan struct {
	fields []field
	key    []int // the field that holds the key of a keyed list's item, if any
}

// plansMade holds the plan of each struct type that was asked for; a plan never
// changes.
var plansMade sync.Map

// planOf gives the plan of a struct type. A tag that makes no sense is a fault of
// the program and shows on the first use of the type, whatever the form holds.
func planOf(t reflect.Type) *plan {
	if p, ok := plansMade.Load(t); ok {
		return p.(*plan)
	}
	p := &plan{}
	p.add(t, nil)
	plansMade.Store(t, p)
	return p
}

func (p *plan) add(t reflect.Type, above []int) {
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(above[:len(above):len(above)], i)
		tag, tagged := f.Tag.Lookup("form")
		if !tagged {
			if f.Anonymous && f.Type.Kind() == reflect.Struct {
				p.add(f.Type, index)
			}
			continue
		}
		p.addField(t, f, index, tag)
	}
}

func (p *plan) addField(t reflect.Type, f reflect.StructField, index []int, tag string) {
	name, options, _ := strings.Cut(tag, ",")
	made := field{name: name, index: index, example: f.Tag.Get("eg"),
		optional: f.Type.Kind() == reflect.Pointer}
	isKey := false
	for option := range strings.SplitSeq(options, ",") {
		switch option {
		case "optional":
			made.optional = true
		case "lone":
			made.lone = true
		case "keyed":
			made.keyed = true
		case "key":
			isKey = true
		case "":
		default:
			panic(fmt.Sprintf("form: %s.%s has the unknown tag option %q", t, f.Name, option))
		}
	}
	if name == "" || !f.IsExported() || !isUsable(f.Type) {
		panic(fmt.Sprintf("form: %s.%s can't be a field of a form", t, f.Name))
	}
	if isKey {
		p.key = index
		return
	}
	p.fields = append(p.fields, made)
}

// isUsable says whether values of a type can be in a form.
func isUsable(t reflect.Type) bool {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		if isHooked(t) {
			return true
		}
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.String, reflect.Bool, reflect.Struct,
		reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return true
	}
	return isHooked(t)
}

// isHooked says whether a type reads itself.
func isHooked(t reflect.Type) bool {
	t = reflect.PointerTo(t)
	return t.Implements(reflect.TypeFor[formDecoder]()) ||
		t.Implements(reflect.TypeFor[encoding.TextUnmarshaler]())
}

// keyOf gives the key field of the items of a keyed list.
func keyOf(list reflect.Type) []int {
	key := planOf(list.Elem()).key
	if key == nil {
		panic(fmt.Sprintf("form: %s has no field with the tag option key", list.Elem()))
	}
	return key
}

// names are the keys of the map, in canonical order.
func (p *plan) names() []string {
	names := make([]string, len(p.fields))
	for i, f := range p.fields {
		names[i] = f.name
	}
	return names
}

// needed are the keys that must be there.
func (p *plan) needed() []string {
	var names []string
	for _, f := range p.fields {
		if !f.optional {
			names = append(names, f.name)
		}
	}
	return names
}

// find gives the number of the field of that name, -1 if there is none.
func (p *plan) find(name string) int {
	for i := range p.fields {
		if p.fields[i].name == name {
			return i
		}
	}
	return -1
}
