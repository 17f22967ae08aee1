package form_test

import (
	"errors"
	"strings"

	"putlog/jobs/form"
)

// sheet is a form that uses everything a form can: the types below it stand for
// those of a real one.
type sheet struct {
	Job       string     `form:"job" eg:"orchard-row"`
	Title     string     `form:"title,optional"`
	Start     day        `form:"start" eg:"2027-03-01"`
	Week      week       `form:"week,optional" eg:"mon-fri"`
	Terms     *terms     `form:"contract"`
	Calendars []calendar `form:"calendars,optional,keyed"`
	Closures  []closure  `form:"closures,optional"`
	Stages    []stage    `form:"stages"`
	Entries   []entry    `form:"entries,optional"`
}

type day string

type dayError struct{ text string }

func (e dayError) Error() string { return "no such day: " + e.text }
func (e dayError) Do() string    { return "write the date as 2027-03-01" }

func (d *day) UnmarshalText(text []byte) error {
	if len(text) != 10 || text[4] != '-' || text[7] != '-' {
		return dayError{string(text)}
	}
	*d = day(text)
	return nil
}

func (d day) MarshalText() ([]byte, error) {
	if d == "" {
		return nil, errors.New("day not set")
	}
	return []byte(d), nil
}

// length has no remedy of its own: the example of its field must serve.
type length int

func (l *length) UnmarshalText(text []byte) error {
	days, ok := strings.CutSuffix(string(text), "d")
	if !ok || days == "" || len(days) > 4 {
		return errors.New("not a length: " + string(text))
	}
	*l = 0
	for _, c := range days {
		if c < '0' || c > '9' {
			return errors.New("not a length: " + string(text))
		}
		*l = *l*10 + length(c-'0')
	}
	return nil
}

func (l length) MarshalText() ([]byte, error) {
	digits := []byte{'d'}
	for n := l; n > 0 || len(digits) == 1; n /= 10 {
		digits = append([]byte{byte('0' + n%10)}, digits...)
	}
	return digits, nil
}

// week is a word or a map.
type week struct {
	Word string
	Mon  string `form:"mon,optional"`
	Thu  string `form:"thu,optional"`
}

func (w *week) UnmarshalText(text []byte) error {
	w.Word = string(text)
	if w.Word != "mon-fri" && w.Word != "mon-sat" {
		return errors.New("no such week: " + w.Word)
	}
	return nil
}

func (w week) FormScalar() (string, bool) { return w.Word, w.Word != "" }

func (w week) IsZero() bool { return w == week{} || w.Word == "mon-fri" }

type terms struct {
	Sum       string `form:"sum" eg:"18450.00"`
	VAT       int8   `form:"vat,optional"`
	Bonds     uint16 `form:"bonds,optional"`
	Retention *int64 `form:"retention"`
	Agreed    bool   `form:"agreed,optional"`
}

type calendar struct {
	Name string `form:"name,key"`
	Week week   `form:"week"`
}

type closure struct {
	From day      `form:"from"`
	Who  []string `form:"who,lone"`
	Why  string   `form:"why,optional"`
}

type bond struct {
	Link string `form:"link,optional"`
	Lag  length `form:"lag,optional" eg:"2d"`
}

// link lends itself the fields of bond.
type link struct {
	Stage string `form:"stage"`
	bond
}

func (l *link) UnmarshalText(text []byte) error { l.Stage = string(text); return nil }
func (l link) FormScalar() (string, bool)       { return l.Stage, l.bond == bond{} }

type stage struct {
	Stage  string `form:"stage" eg:"probe"`
	Title  string `form:"title,optional"`
	Takes  length `form:"takes" eg:"1d"`
	Notice *int   `form:"notice"`
	After  []link `form:"after,optional,lone"`
}

// entry is {on: DATE, KIND: {...}}.
type entry struct {
	On   day
	What any // accepted, started or variation
}

type accepted struct{}

type started struct {
	Stage string `form:"stage"`
	At    day    `form:"at,optional"`
}

type variation struct {
	Number string `form:"number"`
	Why    string `form:"because,optional"`
	Lines  []line `form:"lines"`
}

type line struct {
	Kind string `form:"kind"`
	What string `form:"what"`
	Rate string `form:"rate"`
}

func (e *entry) DecodeForm(n *form.Node, d *form.Decoder) {
	if !d.IsMap(n) {
		return
	}
	d.Need(n, "on", &e.On)
	d.Only(n, "on", "accepted", "started", "variation")
	for _, pair := range n.Pairs {
		switch pair.Key {
		case "accepted":
			var a accepted
			d.Pair(pair, &a)
			e.What = a
		case "started":
			var s started
			d.Pair(pair, &s)
			e.What = s
		case "variation":
			var v variation
			d.Pair(pair, &v)
			e.What = v
		}
	}
	if e.What == nil {
		d.Refuse(n.Pos, "the entry says only when", "say what happened")
	}
}

func (e entry) EncodeForm() *form.Node {
	kind := "accepted"
	switch e.What.(type) {
	case started:
		kind = "started"
	case variation:
		kind = "variation"
	}
	return form.NewMap().Put("on", form.Encode(e.On)).Put(kind, form.Encode(e.What))
}
