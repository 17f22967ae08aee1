package variations

import (
	"errors"
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// TestRoundingAgainstBigRationals holds the one rounding to math/big.
func TestRoundingAgainstBigRationals(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.Int64().Draw(rt, "a"), rapid.Int64().Draw(rt, "b")
		den := rapid.SampledFrom([]int64{1, 2, 3, 1000, 100_000}).Draw(rt, "den")
		product := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
		twice := new(big.Int).Mul(product, big.NewInt(2))
		add := big.NewInt(den)
		if product.Sign() < 0 {
			add.Neg(add)
		}
		want := twice.Add(twice, add)
		want.Quo(want, big.NewInt(2*den)) // truncates towards zero
		got, err := mulDiv(a, b, den)
		fits := want.IsInt64() && want.Int64() != math.MinInt64
		if fits != (err == nil) || fits && got != want.Int64() {
			rt.Fatalf("%d × %d / %d = %d, %v; want %v", a, b, den, got, err, want)
		}
	})
}

// Check values: VAT Notice 700 roundings and the daywork and retention sums of
// the price make-up fixtures (computed from the stated rule, not published).
func TestPercentages(t *testing.T) {
	for _, c := range []struct {
		rate   string
		amount Pence
		want   Pence
	}{
		{"20", 3099, 620},       // three lines of £10.33: invoice level, nearest
		{"20", 9999, 2000},      // £99.99: 19.998
		{"5", 3333, 167},        // £33.33 at 5 %: 1.6665
		{"5", 1240000, 62000},   // retention on £12,400
		{"2.5", 2000000, 50000}, // half of it at completion
		{"15", 8550 + 0, 1283},  // 12.825
		{"20", -14040, -2808},
		{"0", 12345, 0},
		{"50", -1, -1}, // half a penny goes away from zero
	} {
		var p Percent
		if err := p.UnmarshalText([]byte(c.rate)); err != nil {
			t.Fatal(err)
		}
		if got, err := p.Of(c.amount); err != nil || got != c.want {
			t.Errorf("%s %% of %v = %v, %v; want %v", c.rate, c.amount, got, err, c.want)
		}
	}
	if got, err := Quantity(4500).Times(4785); err != nil || got != 21533 { // 215.325
		t.Errorf("4.5 × 47.85 = %v, %v", got, err)
	}
}

func TestTextRoundTrips(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a := Pence(rapid.Int64Range(-int64(MaxPence), int64(MaxPence)).Draw(rt, "pence"))
		var b Pence
		if err := b.UnmarshalText([]byte(a.String())); err != nil || a != b {
			rt.Fatalf("%v reads back as %v, %v", a, b, err)
		}
		q := Quantity(rapid.Int64Range(-1_000_000_000, 1_000_000_000).Draw(rt, "quantity"))
		var r Quantity
		if err := r.UnmarshalText([]byte(q.String())); err != nil || q != r {
			rt.Fatalf("%v reads back as %v, %v", q, r, err)
		}
		p := Percent(rapid.Int64Range(0, 1_000_000).Draw(rt, "percent"))
		var s Percent
		if err := s.UnmarshalText([]byte(p.String())); err != nil || p != s {
			rt.Fatalf("%v reads back as %v, %v", p, s, err)
		}
	})
}

func TestBadAmounts(t *testing.T) {
	for _, text := range []string{"", "-", ".5", "5.", "1e3", "1,000", "£5", "1.234", "0x10", " 1",
		"--1", "+1", "999999999999999999999", "1000000000.01", "NaN", "½"} {
		var a Pence
		if err := a.UnmarshalText([]byte(text)); err == nil {
			t.Errorf("%q reads as %v", text, a)
		}
	}
	var p Percent
	if p.UnmarshalText([]byte("-1")) == nil || p.UnmarshalText([]byte("1000.001")) == nil {
		t.Error("a rate out of range was taken")
	}
	if _, err := Pence(math.MaxInt64).Add(1); !errors.Is(err, ErrOverflow) {
		t.Errorf("overflow: %v", err)
	}
	if _, err := Pence(math.MinInt64).Add(-1); !errors.Is(err, ErrOverflow) {
		t.Errorf("overflow: %v", err)
	}
	if got := Pence(-1234567).Pounds(); got != "-£12,345.67" {
		t.Error(got)
	}
	if got := Pence(5).Pounds(); got != "£0.05" {
		t.Error(got)
	}
}

func FuzzPence(f *testing.F) {
	f.Add("18450.00")
	f.Add("-0.5")
	f.Fuzz(func(t *testing.T, text string) {
		var a, b Pence
		if a.UnmarshalText([]byte(text)) != nil {
			return
		}
		if err := b.UnmarshalText([]byte(a.String())); err != nil || a != b {
			t.Fatalf("%q reads as %v and back as %v (%v)", text, a, b, err)
		}
	})
}
