package variations

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// Pence is an amount of money in whole pence; it may be negative.
type Pence int64

// MaxPence is the largest amount that may be typed: a thousand million pounds.
const MaxPence Pence = 100_000_000_000

// ErrOverflow says that a sum of money does not fit.
var ErrOverflow = errors.New("the sum is too large")

// Add gives a + b, or ErrOverflow.
func (a Pence) Add(b Pence) (Pence, error) {
	sum := a + b
	if (sum > a) != (b > 0) && b != 0 {
		return 0, ErrOverflow
	}
	return sum, nil
}

// String gives the amount in pounds as a job file writes it: "18450.00".
func (a Pence) String() string { return decimal(int64(a), 2, 2) }

// Pounds gives the amount as it is read: "£18,450.00", "-£140.40".
func (a Pence) Pounds() string {
	text := a.String()
	sign := ""
	if text[0] == '-' {
		sign, text = "-", text[1:]
	}
	whole, pence, _ := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	return sign + "£" + whole + "." + pence
}

// MarshalText gives the amount as a job file writes it.
func (a Pence) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads pounds with at most two decimals: "18450", "18450.00".
func (a *Pence) UnmarshalText(text []byte) error {
	n, err := parseDecimal(string(text), 2, int64(MaxPence))
	if err != nil {
		return fmt.Errorf("%q is not an amount in pounds: %w", text, err)
	}
	*a = Pence(n)
	return nil
}

// Quantity is an exact decimal in thousandths: 1.2 m3 is 1200.
type Quantity int64

// String gives the quantity without needless noughts: "1.2".
func (q Quantity) String() string { return decimal(int64(q), 3, 0) }

// MarshalText gives the quantity as a job file writes it.
func (q Quantity) MarshalText() ([]byte, error) { return []byte(q.String()), nil }

// UnmarshalText reads a number with at most three decimals.
func (q *Quantity) UnmarshalText(text []byte) error {
	n, err := parseDecimal(string(text), 3, 1_000_000_000)
	if err != nil {
		return fmt.Errorf("%q is not a quantity: %w", text, err)
	}
	*q = Quantity(n)
	return nil
}

// Percent is an exact rate in thousandths of a per cent: 17.5 % is 17500.
type Percent int64

// Hundred is all of something.
const Hundred Percent = 100_000

// String gives the rate without needless noughts: "17.5".
func (p Percent) String() string { return decimal(int64(p), 3, 0) }

// MarshalText gives the rate as a job file writes it.
func (p Percent) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads a number from 0 to 1000 with at most three decimals.
func (p *Percent) UnmarshalText(text []byte) error {
	n, err := parseDecimal(strings.TrimSuffix(string(text), "%"), 3, 1_000_000)
	if err == nil && n < 0 {
		err = errors.New("it may not be negative")
	}
	if err != nil {
		return fmt.Errorf("%q is not a rate in per cent: %w", text, err)
	}
	*p = Percent(n)
	return nil
}

// Of gives p per cent of an amount, rounded half away from zero to the penny.
func (p Percent) Of(a Pence) (Pence, error) {
	n, err := mulDiv(int64(a), int64(p), int64(Hundred))
	return Pence(n), err
}

// Times gives quantity × rate, rounded half away from zero to the penny.
func (q Quantity) Times(rate Pence) (Pence, error) {
	n, err := mulDiv(int64(q), int64(rate), 1000)
	return Pence(n), err
}

// mulDiv is the one rounding: a × b / den, half away from zero; den > 0.
func mulDiv(a, b, den int64) (int64, error) {
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	lo, carry := bits.Add64(lo, uint64(den)/2, 0)
	hi += carry
	if hi >= uint64(den) {
		return 0, ErrOverflow
	}
	q, _ := bits.Div64(hi, lo, uint64(den))
	if q > math.MaxInt64 {
		return 0, ErrOverflow
	}
	if (a < 0) != (b < 0) {
		return -int64(q), nil
	}
	return int64(q), nil
}

func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n)
	}
	return uint64(n)
}

// parseDecimal reads a plain decimal number into units of 10^-places, without
// ever passing through a float. Its size may not exceed limit units.
func parseDecimal(text string, places int, limit int64) (int64, error) {
	digits := strings.TrimPrefix(text, "-")
	whole, part, dotted := strings.Cut(digits, ".")
	if !allDigits(whole) || dotted && !allDigits(part) {
		return 0, errors.New("write a plain number such as 12 or 12.5")
	}
	if len(part) > places {
		return 0, fmt.Errorf("at most %d decimals", places)
	}
	whole += part + strings.Repeat("0", places-len(part))
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil || n > limit {
		return 0, errors.New("it is too large")
	}
	if digits != text {
		n = -n
	}
	return n, nil
}

func allDigits(text string) bool {
	for _, c := range []byte(text) {
		if c < '0' || c > '9' {
			return false
		}
	}
	return text != ""
}

// decimal prints n units of 10^-places with at least keep decimals.
func decimal(n int64, places, keep int) string {
	digits := fmt.Sprintf("%0*d", places+1, magnitude(n))
	whole, part := digits[:len(digits)-places], digits[len(digits)-places:]
	for len(part) > keep && part[len(part)-1] == '0' {
		part = part[:len(part)-1]
	}
	if part != "" {
		whole += "." + part
	}
	if n < 0 {
		whole = "-" + whole
	}
	return whole
}
