package templates

import (
	"errors"
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// knownTo gives what a few names stand for in tests.
func knownTo(name string) (Amount, error) {
	switch name {
	case "length":
		return parseAmount("5.2m")
	case "slab-to-dpc":
		return parseAmount("140mm")
	case "points":
		return parseAmount("12")
	case "warm":
		return parseAmount("10C")
	}
	return Amount{}, errors.New("unknown")
}

func TestExpressionValue(t *testing.T) {
	for text, want := range map[string]string{
		"length":                   "5.2 m",
		"length * 2.6m":            "13.52 m2",
		"2 * length + 2.6m":        "13 m",
		"2*(length+2.6m)":          "15.6 m",
		"slab-to-dpc - 75mm":       "65 mm",
		"slab-to-dpc - 75mm - 5mm": "60 mm",
		"100mm - (75mm - 5mm)":     "30 mm",
		"length * 0.6m * 1m":       "3.12 m3",
		"0.5 * 37.5mm":             "18.8 mm",
		"points * 0.5":             "6",
		"75mm - slab-to-dpc":       "-65 mm",
		"warm":                     "10 °C",
		"32m2 + 1 * 3m2":           "35 m2",
		"1.5m³":                    "1.5 m3",
	} {
		var e Expression
		if err := e.UnmarshalText([]byte(text)); err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if a, err := e.value(knownTo); err != nil || a.String() != want {
			t.Errorf("%s is %s (%v), want %s", text, a, err, want)
		}
	}
}

func TestExpressionRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                                      "it breaks off",
		"length +":                              "it breaks off",
		"length length":                         `"l" does not fit there`,
		"(length":                               "a bracket is not closed",
		"length)":                               `")" does not fit there`,
		"length / 2":                            `"/" does not fit there`,
		"-1 * length":                           `"-" does not fit there`,
		"5 feet":                                `"f" does not fit there`,
		"5feet":                                 `"5feet" is not a quantity`,
		"1.23456m":                              `"1.23456m" is not a quantity`,
		"1234567m":                              `"1234567m" is not a quantity`,
		"length + 2":                            "a length and a number can't be added",
		"length * length * 1m2":                 "an area times an area is nothing that can be measured",
		"warm + 1C":                             "a temperature can't be reckoned with",
		"lenght":                                "unknown",
		strings.Repeat("(", 150):                "it breaks off",
		strings.Repeat("1+", 101):               "longer than 200 characters",
		"999999" + strings.Repeat("*999999", 9): "more than anything on a site",
	} {
		var e Expression
		err := e.UnmarshalText([]byte(text))
		if err == nil {
			_, err = e.value(knownTo)
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// TestExpressionOracle: brackets everywhere or only where they are needed, the
// sum is that of exact arithmetic.
func TestExpressionOracle(t *testing.T) {
	type sum struct {
		text  string
		value *big.Rat
	}
	var draw func(rt *rapid.T, deep int) sum
	draw = func(rt *rapid.T, deep int) sum {
		if deep == 0 || rapid.Bool().Draw(rt, "leaf") {
			n := rapid.Int64Range(0, 9999).Draw(rt, "n")
			return sum{fmt.Sprintf("%d.%02d", n/100, n%100), big.NewRat(n, 100)}
		}
		a, b := draw(rt, deep-1), draw(rt, deep-1)
		value := new(big.Rat)
		op := rapid.SampledFrom([]string{"+", "-", "*"}).Draw(rt, "op")
		switch op {
		case "+":
			value.Add(a.value, b.value)
		case "-":
			value.Sub(a.value, b.value)
		case "*":
			value.Mul(a.value, b.value)
		}
		return sum{"(" + a.text + " " + op + " " + b.text + ")", value}
	}
	rapid.Check(t, func(rt *rapid.T) {
		s := draw(rt, 3)
		var e Expression
		if err := e.UnmarshalText([]byte(s.text)); err != nil {
			rt.Fatal(err)
		}
		a, err := e.value(knownTo)
		if err != nil || a.of.Cmp(s.value) != 0 {
			rt.Fatalf("%s is %s (%v), want %s", s.text, a, err, s.value)
		}
		var again Expression
		if err := again.UnmarshalText([]byte(e.explain(knownTo))); err != nil {
			rt.Fatalf("%s is explained as %s: %v", s.text, e.explain(knownTo), err)
		}
		if b, _ := again.value(knownTo); b.of.Cmp(a.of) != 0 {
			rt.Fatalf("%s is explained as %s", s.text, e.explain(knownTo))
		}
	})
}

// TestAmountText: what is printed reads back, lengths to a tenth of a millimetre.
func TestAmountText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		unit := rapid.SampledFrom([]string{"mm", "m", "m2", "m3", " °C", ""}).Draw(rt, "unit")
		n := rapid.Int64Range(0, 999_999).Draw(rt, "n")
		text := fmt.Sprintf("%d.%d%s", n/10, n%10, unit)
		a, err := parseAmount(text)
		if err != nil {
			rt.Fatal(err)
		}
		if b, err := parseAmount(a.String()); err != nil || b.dim != a.dim || b.Cmp(a) != 0 {
			rt.Fatalf("%s is printed as %s, which reads as %s (%v)", text, a, b, err)
		}
	})
}
