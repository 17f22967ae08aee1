package templates

import (
	"errors"
	"fmt"
	"math/big"
	"strings"
)

// Amount is an exact quantity: a plain number, a length, an area, a volume or
// degrees Celsius. Lengths are kept in metres. The zero Amount means "not set".
type Amount struct {
	of  *big.Rat // in m, m2, m3; never changed once made
	dim dimension
}

// dimension is what an amount measures: for the first four, the power of the
// metre.
type dimension int8

const (
	dimNumber dimension = iota
	dimLength
	dimArea
	dimVolume
	dimDegrees
)

var dimensionNames = [...]string{"a number", "a length", "an area", "a volume", "a temperature"}

// String says what is measured: "a length".
func (d dimension) String() string { return dimensionNames[d] }

// units lists how an amount may be written, longest first among those that
// begin alike, with the part of its base unit that one of it is.
var units = [...]struct {
	word string
	dim  dimension
	per  int64 // in one m
}{
	{"mm", dimLength, 1000}, {"m2", dimArea, 1}, {"m²", dimArea, 1}, {"m3", dimVolume, 1},
	{"m³", dimVolume, 1}, {"m", dimLength, 1}, {"°C", dimDegrees, 1}, {"C", dimDegrees, 1},
}

// Limits on a number as it is written, and on what may be computed from it.
const (
	maxWhole    = 6   // digits before the point
	maxDecimals = 4   // digits after it
	maxBits     = 120 // of a computed amount's numerator or denominator
)

// parseAmount reads "5.2m", "75 mm", "32m2", "10 °C" or a plain number.
func parseAmount(text string) (Amount, error) {
	number := strings.TrimRight(text, " ")
	unit, dim, per := "", dimNumber, int64(1)
	for _, u := range units {
		if cut, ok := strings.CutSuffix(number, u.word); ok {
			number, unit, dim, per = cut, u.word, u.dim, u.per
			break
		}
	}
	if unit != "" {
		number = strings.TrimRight(number, " ")
	}
	of, ok := parseDecimal(number)
	if !ok {
		return Amount{}, fmt.Errorf("%q is not a quantity; write a number with a point and, "+
			"where it has one, its unit: 5.2m, 75mm, 32m2", text)
	}
	return Amount{of.Quo(of, big.NewRat(per, 1)), dim}, nil
}

// parseDecimal reads an unsigned decimal number of a few digits.
func parseDecimal(text string) (*big.Rat, bool) {
	whole, rest, point := strings.Cut(text, ".")
	if len(whole) < 1 || len(whole) > maxWhole || len(rest) > maxDecimals || point && rest == "" {
		return nil, false
	}
	for _, c := range []byte(whole + rest) {
		if c < '0' || c > '9' {
			return nil, false
		}
	}
	return new(big.Rat).SetString(text)
}

// UnmarshalText is parseAmount.
func (a *Amount) UnmarshalText(text []byte) (err error) {
	*a, err = parseAmount(string(text))
	return err
}

// IsZero says whether the amount is not set.
func (a Amount) IsZero() bool { return a.of == nil }

// Cmp compares two amounts of one dimension: -1, 0 or 1.
func (a Amount) Cmp(b Amount) int { return a.of.Cmp(b.of) }

// sign is -1, 0 or 1.
func (a Amount) sign() int { return a.of.Sign() }

// String gives the amount with its unit, "5.2 m", "75 mm", "32 m2"; "" when it
// is not set. Lengths under a metre are in millimetres. It rounds to a tenth of
// a millimetre or a thousandth of any other unit.
func (a Amount) String() string {
	switch {
	case a.of == nil:
		return ""
	case a.dim == dimNumber:
		return ratText(a.of, 3)
	case a.dim == dimDegrees:
		return ratText(a.of, 3) + " °C"
	case a.dim == dimArea:
		return ratText(a.of, 3) + " m2"
	case a.dim == dimVolume:
		return ratText(a.of, 3) + " m3"
	case new(big.Rat).Abs(a.of).Cmp(big.NewRat(1, 1)) < 0:
		return ratText(a.mm(), 1) + " mm"
	}
	return ratText(a.of, 4) + " m"
}

// mm is a length in millimetres.
func (a Amount) mm() *big.Rat { return new(big.Rat).Mul(a.of, big.NewRat(1000, 1)) }

// wholeMM is a length in whole millimetres, halves rounded away from nought.
func (a Amount) wholeMM() int64 {
	n, _ := new(big.Rat).SetString(a.mm().FloatString(0))
	return n.Num().Int64()
}

// ratText prints an exact number rounded to so many places, halves away from
// nought, without trailing noughts.
func ratText(r *big.Rat, places int) string {
	text := r.FloatString(places)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

var errBeyond = errors.New("the figures come to more than anything on a site; " +
	"look for a number or a multiplication too many")

// sized refuses a result that has grown beyond all reason.
func sized(of *big.Rat, dim dimension) (Amount, error) {
	if of.Num().BitLen() > maxBits || of.Denom().BitLen() > maxBits {
		return Amount{}, errBeyond
	}
	return Amount{of, dim}, nil
}

// apply computes a + b, a - b or a * b.
func (a Amount) apply(op byte, b Amount) (Amount, error) {
	switch {
	case a.dim == dimDegrees || b.dim == dimDegrees:
		return Amount{}, errors.New("a temperature can't be reckoned with; use it by itself")
	case op == '*' && a.dim+b.dim > dimVolume:
		return Amount{}, fmt.Errorf("%s times %s is nothing that can be measured", a.dim, b.dim)
	case op == '*':
		return sized(new(big.Rat).Mul(a.of, b.of), a.dim+b.dim)
	case a.dim != b.dim:
		return Amount{}, fmt.Errorf("%s and %s can't be added or taken from each other; "+
			"give a length its unit: 150mm, 0.6m", a.dim, b.dim)
	case op == '-':
		return sized(new(big.Rat).Sub(a.of, b.of), a.dim)
	}
	return sized(new(big.Rat).Add(a.of, b.of), a.dim)
}
