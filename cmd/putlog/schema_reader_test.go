package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// A reader of JSON Schema (draft 2020-12) for the keywords that the schemas of
// the answers use. A keyword it does not know is a fault of the schema.

// schemaReader holds answers to one schema, and notes which of its properties
// it has seen.
type schemaReader struct {
	name string
	root map[string]any
	seen map[string]bool // places of properties that an answer had

	patterns map[string]*regexp.Regexp
}

func readSchema(t *testing.T, name string) *schemaReader {
	t.Helper()
	text, ok := schemaText(name)
	if !ok {
		t.Fatalf("there is no schema %s", name)
	}
	root, err := readJSON(text)
	if err != nil {
		t.Fatalf("schema %s: %v", name, err)
	}
	return newSchemaReader(name, root.(map[string]any))
}

func newSchemaReader(name string, root map[string]any) *schemaReader {
	return &schemaReader{name, root, map[string]bool{}, map[string]*regexp.Regexp{}}
}

func (r *schemaReader) pattern(text string) *regexp.Regexp {
	if r.patterns[text] == nil {
		r.patterns[text] = regexp.MustCompile(text)
	}
	return r.patterns[text]
}

// readJSON reads one JSON value, numbers as they are written; a key that comes
// twice or anything behind the value is an error.
func readJSON(text []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	v, err := readValue(d)
	if err == nil && d.More() {
		err = errors.New("there is more behind the value")
	}
	return v, err
}

func readValue(d *json.Decoder) (any, error) {
	token, err := d.Token()
	list, object := []any{}, map[string]any{}
	switch {
	case err != nil:
		return nil, err
	case token == json.Delim('['):
		for d.More() {
			one, err := readValue(d)
			if err != nil {
				return nil, err
			}
			list = append(list, one)
		}
		_, err := d.Token()
		return list, err
	case token != json.Delim('{'):
		return token, nil
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, err
		}
		if _, twice := object[key.(string)]; twice {
			return nil, fmt.Errorf("the key %s comes twice", key)
		}
		if object[key.(string)], err = readValue(d); err != nil {
			return nil, err
		}
	}
	_, err = d.Token()
	return object, err
}

// faults lists where a value does not hold to the schema. A key that no
// properties name is one too: the schemas are open, as keys may be added, but
// what this program answers is all in them.
func (r *schemaReader) faults(v any) []string {
	return r.check(r.root, v, "#", "$")
}

// follow gives the schema that a $ref leads to, and its place.
func (r *schemaReader) follow(s map[string]any, place string) (map[string]any, string) {
	ref, ok := s["$ref"].(string)
	if !ok {
		return s, place
	}
	defs, _ := r.root["$defs"].(map[string]any)
	name := strings.TrimPrefix(ref, "#/$defs/")
	to, _ := defs[name].(map[string]any)
	if to == nil {
		return map[string]any{"not there": ref}, place
	}
	return to, "#/$defs/" + name
}

func (r *schemaReader) check(s map[string]any, v any, place, path string) []string {
	s, place = r.follow(s, place)
	var faults []string
	for _, key := range sortedKeys(s) {
		if why := r.keyword(s, key, v, place, path, &faults); why != "" {
			faults = append(faults, path+": "+why)
		}
	}
	return faults
}

// keyword holds a value to one keyword; faults inside it go to the list.
func (r *schemaReader) keyword(s map[string]any, key string, v any, place, path string,
	inside *[]string) string {
	want := s[key]
	switch key {
	case "$schema", "$id", "title", "description", "$defs", "format":
	case "type":
		if !slices.ContainsFunc(asList(want), func(name any) bool { return hasType(v, name.(string)) }) {
			return fmt.Sprintf("%v is not of type %v", v, want)
		}
	case "enum":
		if !slices.ContainsFunc(asList(want), func(one any) bool { return reflect.DeepEqual(one, v) }) {
			return fmt.Sprintf("%v is none of %v", v, want)
		}
	case "pattern":
		if text, ok := v.(string); ok && !r.pattern(want.(string)).MatchString(text) {
			return fmt.Sprintf("%q does not match %s", text, want)
		}
	case "maxLength":
		if text, ok := v.(string); ok && big.NewRat(int64(utf8.RuneCountInString(text)),
			1).Cmp(number(want)) > 0 {
			return fmt.Sprintf("%q is longer than %v", text, want)
		}
	case "multipleOf", "minimum", "maximum":
		return numberFault(key, want, v)
	case "items":
		list, _ := v.([]any)
		for i, one := range list {
			at := fmt.Sprintf("%s[%d]", path, i)
			*inside = append(*inside, r.check(want.(map[string]any), one, place+"/items", at)...)
		}
	case "properties":
		return r.properties(want.(map[string]any), v, place, path, inside)
	case "required":
		object, ok := v.(map[string]any)
		for _, k := range asList(want) {
			if _, there := object[k.(string)]; ok && !there {
				return fmt.Sprintf("%v is missing", k)
			}
		}
	case "additionalProperties":
		if want != false {
			return "additionalProperties is not false"
		}
	default:
		return fmt.Sprintf("the schema says %q, which this reader does not know", key)
	}
	return ""
}

func (r *schemaReader) properties(want map[string]any, v any, place, path string,
	inside *[]string) string {
	object, _ := v.(map[string]any)
	for _, k := range sortedKeys(object) {
		s, named := want[k].(map[string]any)
		if !named {
			return fmt.Sprintf("%s is not in the schema", k)
		}
		r.seen[place+"/properties/"+k] = true
		*inside = append(*inside, r.check(s, object[k], place+"/properties/"+k, path+"."+k)...)
	}
	return ""
}

func numberFault(key string, want, v any) string {
	n := number(v)
	if n == nil {
		return ""
	}
	limit := number(want)
	switch {
	case key == "multipleOf" && !new(big.Rat).Quo(n, limit).IsInt(),
		key == "minimum" && n.Cmp(limit) < 0, key == "maximum" && n.Cmp(limit) > 0:
		return fmt.Sprintf("%v breaks %s %v", v, key, want)
	}
	return ""
}

func number(v any) *big.Rat {
	n, ok := v.(json.Number)
	if !ok {
		return nil
	}
	rat, _ := new(big.Rat).SetString(n.String())
	return rat
}

func hasType(v any, name string) bool {
	switch v := v.(type) {
	case nil:
		return name == "null"
	case bool:
		return name == "boolean"
	case string:
		return name == "string"
	case []any:
		return name == "array"
	case map[string]any:
		return name == "object"
	case json.Number:
		return name == "number" || name == "integer" && number(v).IsInt()
	}
	return false
}

func asList(v any) []any {
	if list, ok := v.([]any); ok {
		return list
	}
	return []any{v}
}

func sortedKeys(m map[string]any) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// named lists the places of all properties that a schema names.
func (r *schemaReader) named() []string {
	var places []string
	var walk func(v any, place string)
	walk = func(v any, place string) {
		s, _ := v.(map[string]any)
		properties, _ := s["properties"].(map[string]any)
		for _, k := range sortedKeys(properties) {
			places = append(places, place+"/properties/"+k)
			walk(properties[k], place+"/properties/"+k)
		}
		if items, ok := s["items"]; ok {
			walk(items, place+"/items")
		}
	}
	walk(r.root, "#")
	defs, _ := r.root["$defs"].(map[string]any)
	for _, k := range sortedKeys(defs) {
		walk(defs[k], "#/$defs/"+k)
	}
	return places
}

func TestReadJSON(t *testing.T) {
	for text, good := range map[string]bool{`{"a": [1, {"a": null}], "b": "x"}`: true, `3`: true,
		`[]`:               true,
		`{"a": 1, "a": 1}`: false, `{"b": [{"a": 1, "a": 2}]}`: false, `{} {}`: false, `[1`: false,
		``: false} {
		if _, err := readJSON([]byte(text)); (err == nil) != good {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// TestSchemaReader tries the reader itself on values that are right and wrong.
func TestSchemaReader(t *testing.T) {
	schema := `{"type": "object", "required": ["n"], "properties": {
		"n": {"type": "number", "multipleOf": 0.5, "minimum": -1, "maximum": 9},
		"i": {"type": "integer"}, "s": {"type": ["string", "null"], "pattern": "^a+$", "maxLength": 3},
		"e": {"enum": ["x", null]}, "b": {"type": "boolean"},
		"l": {"type": "array", "items": {"$ref": "#/$defs/d"}}},
		"$defs": {"d": {"type": "object", "properties": {"k": {"type": "integer"}}, "required": ["k"]}}}`
	root, err := readJSON([]byte(schema))
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]int{
		`{"n": 1.5}`: 0, `{"n": 8, "i": 2, "s": "aa", "e": "x", "b": true, "l": [{"k": 1}]}`: 0,
		`{"n": 0, "s": null, "e": null, "l": []}`: 0, `{"n": 1e0}`: 0,
		`[]`: 1, `{}`: 1, `{"n": 1.25}`: 1, `{"n": "1"}`: 1, `{"n": -2}`: 1, `{"n": 9.5}`: 1,
		`{"n": 1, "i": 1.5}`: 1, `{"n": 1, "s": "b"}`: 1, `{"n": 1, "s": "aaaa"}`: 1,
		`{"n": 1, "s": 3}`:   1,
		`{"n": 1, "e": "y"}`: 1, `{"n": 1, "b": 0}`: 1, `{"n": 1, "l": {}}`: 1,
		`{"n": 1, "l": [{}, {"k": ""}]}`: 2,
		`{"n": 1, "more": 1}`:            1, `{"n": null}`: 1,
	} {
		v, err := readJSON([]byte(text))
		if err != nil {
			t.Fatal(text, err)
		}
		r := newSchemaReader("test", root.(map[string]any))
		if got := r.faults(v); len(got) != want {
			t.Errorf("%s: %d faults, want %d: %q", text, len(got), want, got)
		}
	}
}
