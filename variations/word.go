package variations

import (
	"fmt"
	"slices"
	"strings"
)

// choose reads a word of a closed list into a value counted from 1.
func choose[T ~uint8](into *T, what string, words []string, text []byte) error {
	i := slices.Index(words, string(text))
	if i < 0 {
		return fmt.Errorf("%q is not %s; write %s or %s", text, what,
			strings.Join(words[:len(words)-1], ", "), words[len(words)-1])
	}
	*into = T(i + 1)
	return nil
}

// AskedBy is who asked for a variation.
type AskedBy uint8

// Who may ask.
const (
	AskedByInspector AskedBy = iota + 1
	AskedByClient
	AskedByBuilder
	FoundOnSite
)

var askers = []string{"inspector", "client", "builder", "found-on-site"}

// String gives the word.
func (a AskedBy) String() string { return askers[a-1] }

// MarshalText gives the word.
func (a AskedBy) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads the word.
func (a *AskedBy) UnmarshalText(text []byte) error {
	return choose(a, "who asked", askers, text)
}

// Bearer is who bears a delay; the zero Bearer is not set.
type Bearer uint8

// The bearers. A neutral delay gives time to finish but no money.
const (
	Client Bearer = iota + 1
	Builder
	Neutral
)

var bearers = []string{"client", "builder", "neutral"}

// String gives the bearer's word; "" when not set.
func (b Bearer) String() string {
	if b == 0 {
		return ""
	}
	return bearers[b-1]
}

// Whose says whose a delay is: "the client's", "the builder's", "neutral"; "" when
// not set.
func (b Bearer) Whose() string {
	return [...]string{"", Client: "the client's", Builder: "the builder's", Neutral: "neutral"}[b]
}

// MarshalText gives the bearer's word.
func (b Bearer) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText reads a bearer's word.
func (b *Bearer) UnmarshalText(text []byte) error {
	return choose(b, "who bears it", bearers, text)
}

// LineKind is what a line of a price is for.
type LineKind uint8

// The kinds of line.
const (
	Labour LineKind = iota + 1
	Plant
	Material
	Subcontract
	Omit    // taken off
	Daywork // by time, with a percentage addition
)

var lineKinds = []string{"labour", "plant", "material", "subcontract", "omit", "daywork"}

// String gives the kind's word.
func (k LineKind) String() string { return lineKinds[k-1] }

// MarshalText gives the kind's word.
func (k LineKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads a kind's word.
func (k *LineKind) UnmarshalText(text []byte) error {
	return choose(k, "a kind of line", lineKinds, text)
}
