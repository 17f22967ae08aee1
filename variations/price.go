package variations

import (
	"errors"
	"fmt"
	"strings"
)

// Line is one line of a price: quantity × rate.
type Line struct {
	Kind     LineKind `form:"kind"`
	What     string   `form:"what"`
	Quantity Quantity `form:"quantity"`
	Unit     string   `form:"unit,optional"`
	Rate     Pence    `form:"rate"`
	Percent  Percent  `form:"percent,optional"` // daywork's addition
}

// Amount gives the line rounded to the penny: quantity × rate, with daywork's
// addition; below nothing for an omission.
func (l Line) Amount() (Pence, error) {
	switch l.Kind {
	case Omit:
		a, err := l.Quantity.Times(l.Rate)
		return -a, err
	case Daywork:
		whole, err := mulDiv(int64(l.Quantity), int64(l.Rate), 1)
		if err != nil {
			return 0, err
		}
		a, err := mulDiv(whole, int64(Hundred+l.Percent), 1000*int64(Hundred))
		return Pence(a), err
	}
	return l.Quantity.Times(l.Rate)
}

// Fault says what is wrong with a line; nil when nothing is.
func (l Line) Fault() error {
	what := strings.Join(strings.Fields(l.What), " ") // a message is one line
	switch {
	case l.Quantity <= 0:
		return fmt.Errorf("%s: the quantity %s is not more than nothing", what, l.Quantity)
	case l.Rate < 0:
		return fmt.Errorf("%s: the rate is below nothing; work taken off is a line of kind omit", what)
	case l.Percent != 0 && l.Kind != Daywork:
		return fmt.Errorf("%s: a percentage addition is for daywork; use markup for the whole", what)
	}
	_, err := l.Amount()
	return err
}

// Share is how the cost of a variation is split: the client's part; the builder
// bears the rest. A job file writes client, builder or {client: 60, builder: 40}.
type Share struct {
	Client  Percent `form:"client"`
	Builder Percent `form:"builder"`
}

// UnmarshalText reads "client" or "builder".
func (s *Share) UnmarshalText(text []byte) error {
	switch string(text) {
	case "client":
		*s = Share{Client: Hundred}
	case "builder":
		*s = Share{Builder: Hundred}
	default:
		return fmt.Errorf("%q does not bear a cost; write client, builder or {client: 60, builder: 40}", text)
	}
	return nil
}

// FormScalar gives "client" or "builder" where one bears all.
func (s Share) FormScalar() (string, bool) {
	switch s {
	case Share{Client: Hundred}:
		return "client", true
	case Share{Builder: Hundred}:
		return "builder", true
	}
	return "", false
}

// Fault says that a split does not add up.
func (s Share) Fault() error {
	switch {
	case s.Client > Hundred || s.Builder > Hundred:
		return errors.New("nobody can bear more than 100 per cent of a cost")
	case s.Client+s.Builder != Hundred:
		return fmt.Errorf("the client's %s and the builder's %s per cent do not make 100", s.Client, s.Builder)
	}
	return nil
}

// Price is what a variation comes to, without VAT.
type Price struct {
	Lines   Pence // the sum of the lines, omissions taken off
	Markup  Pence
	Total   Pence
	Client  Pence // the client's share of the total
	Builder Pence // the rest
}

// errTooLarge says that the price of a variation does not fit.
var errTooLarge = errors.New("the price is too large")

// PriceOf sums the lines, takes the mark-up on the sum, and splits the total:
// the client's share is rounded, the builder has what is left.
func PriceOf(lines []Line, markup Percent, share Share) (Price, error) {
	var p Price
	for _, l := range lines {
		amount, err := l.Amount()
		if err != nil {
			return Price{}, errTooLarge
		}
		if p.Lines, err = p.Lines.Add(amount); err != nil {
			return Price{}, errTooLarge
		}
	}
	var err error
	if p.Markup, err = markup.Of(p.Lines); err != nil {
		return Price{}, errTooLarge
	}
	if p.Total, err = p.Lines.Add(p.Markup); err != nil {
		return Price{}, errTooLarge
	}
	if p.Client, err = share.Client.Of(p.Total); err != nil {
		return Price{}, errTooLarge
	}
	p.Builder = p.Total - p.Client
	return p, nil
}
