package form

import (
	"encoding"
	"fmt"
	"reflect"
	"strconv"
)

// formEncoder is a type that writes itself, the counterpart of formDecoder.
type formEncoder interface{ EncodeForm() *Node }

// formScalar is a struct that can stand as a single value: in short for most of
// its values, as a map for the rest.
type formScalar interface{ FormScalar() (string, bool) }

// Encode gives the form of a value, as Decode reads it: keys in the order of the
// fields, optional fields that are zero or empty left out. A type writes itself
// with EncodeForm() *Node; as a single value with FormScalar() (string, bool),
// when that says true, or with MarshalText. A zero value is what IsZero() bool
// says, where a type has it.
//
// Encode panics on a type that no form can hold, and on an error of MarshalText,
// which only a value that no form gave can cause.
func Encode(v any) *Node {
	from := reflect.ValueOf(v)
	if from.Kind() != reflect.Pointer {
		to := reflect.New(from.Type()).Elem()
		to.Set(from)
		from = to
	}
	return encode(from)
}

func encode(v reflect.Value) *Node {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return &Node{}
		}
		return encode(v.Elem())
	}
	switch from := v.Addr().Interface().(type) {
	case formEncoder:
		return from.EncodeForm()
	case formScalar:
		if text, ok := from.FormScalar(); ok {
			return NewScalar(text)
		}
	case encoding.TextMarshaler:
		text, err := from.MarshalText()
		if err != nil {
			panic(fmt.Sprintf("form: write %s: %v", v.Type(), err))
		}
		return NewScalar(string(text))
	}
	switch {
	case v.Kind() == reflect.Struct:
		return encodeStruct(v)
	case v.Kind() == reflect.Slice:
		list := NewList()
		for i := range v.Len() {
			list.Items = append(list.Items, encode(v.Index(i)))
		}
		return list
	case v.Kind() == reflect.String:
		return NewScalar(v.String())
	case v.Kind() == reflect.Bool:
		return NewScalar(strconv.FormatBool(v.Bool()))
	case v.CanInt():
		return NewScalar(strconv.FormatInt(v.Int(), 10))
	case v.CanUint():
		return NewScalar(strconv.FormatUint(v.Uint(), 10))
	}
	panic(fmt.Sprintf("form: %s can't be written to a form", v.Type()))
}

func encodeStruct(v reflect.Value) *Node {
	m := NewMap()
	for _, f := range planOf(v.Type()).fields {
		value := v.FieldByIndex(f.index)
		switch {
		case f.optional && isZero(value):
		case f.keyed:
			m.Put(f.name, encodeKeyed(value))
		default:
			m.Put(f.name, encode(value))
		}
	}
	return m
}

// encodeKeyed writes a list of structs as a map by their keys.
func encodeKeyed(v reflect.Value) *Node {
	m, key := NewMap(), keyOf(v.Type())
	for i := range v.Len() {
		item := v.Index(i)
		m.Put(encode(item.FieldByIndex(key)).Text, encode(item))
	}
	return m
}

func isZero(v reflect.Value) bool {
	if v.Kind() == reflect.Slice {
		return v.Len() == 0
	}
	if v.Kind() != reflect.Pointer {
		if own, ok := v.Addr().Interface().(interface{ IsZero() bool }); ok {
			return own.IsZero()
		}
	}
	return v.IsZero()
}
