package variations

import (
	"encoding"
	"errors"
	"math"
	"math/big"
	"strings"
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

// FuzzMoney holds every parser of the package to its printer and to math/big,
// and the price of lines of any figures to exact fractions.
func FuzzMoney(f *testing.F) {
	for _, text := range []string{"18450.00", "-0.5", "1000000000.00", "17.5%", "-0", "00.10", "1.2345",
		"½", "client", "found-on-site", "daywork", "1e3", "two\nlines", "\xff"} {
		f.Add(text, []byte{0, 4, 5, 11}, int64(1_200), int64(14_850), int64(15_000), int64(60_000))
	}
	f.Add("", []byte{5, 5, 4}, int64(1_000_000_000), int64(MaxPence), int64(1_000_000), int64(Hundred))
	f.Fuzz(func(t *testing.T, text string, kinds []byte, quantity, rate, markup, client int64) {
		var pence Pence
		fuzzDecimal(t, text, text, &pence, 100)
		var q Quantity
		fuzzDecimal(t, text, text, &q, 1000)
		var percent Percent
		fuzzDecimal(t, text, strings.TrimSuffix(text, "%"), &percent, 1000)
		var asker AskedBy
		fuzzWord(t, text, &asker)
		var bearer Bearer
		fuzzWord(t, text, &bearer)
		var kind LineKind
		fuzzWord(t, text, &kind)
		fuzzPrice(t, kinds[:min(len(kinds), 20)], quantity%1_000_000_001, rate%int64(MaxPence+1),
			Percent(magnitude(markup)%1_000_001), Percent(magnitude(client)%uint64(Hundred+1)))
	})
}

// fuzzDecimal reads an amount: it is what the digits say, in so many units, and
// is read back as it is printed. What is refused changes nothing.
func fuzzDecimal[T ~int64, P interface {
	*T
	encoding.TextUnmarshaler
	encoding.TextMarshaler
}](t *testing.T, text, digits string, into P, units int64) {
	t.Helper()
	if err := into.UnmarshalText([]byte(text)); err != nil {
		if *into != 0 || strings.ContainsAny(err.Error(), "\n\r\x1b") {
			t.Fatalf("%q was refused with %q and gave %d", text, err, *into)
		}
		return
	}
	exact, ok := new(big.Rat).SetString(digits)
	if !ok || exact.Mul(exact, big.NewRat(units, 1)).Cmp(big.NewRat(int64(*into), 1)) != 0 {
		t.Fatalf("%q reads as %d", text, *into)
	}
	printed, _ := into.MarshalText()
	var again T
	if err := P(&again).UnmarshalText(printed); err != nil || again != *into {
		t.Fatalf("%q prints as %s and reads back as %d: %v", text, printed, again, err)
	}
}

func fuzzWord[T ~uint8, P interface {
	*T
	encoding.TextUnmarshaler
	encoding.TextMarshaler
}](t *testing.T, text string, into P) {
	t.Helper()
	if err := into.UnmarshalText([]byte(text)); err != nil {
		if *into != 0 || strings.ContainsAny(err.Error(), "\n\r\x1b") {
			t.Fatalf("%q was refused with %q and gave %d", text, err, *into)
		}
	} else if printed, _ := into.MarshalText(); string(printed) != text {
		t.Fatalf("%q prints as %q", text, printed)
	}
}

// fuzzPrice prices lines made of the kinds, each of other figures, and again in
// exact fractions.
func fuzzPrice(t *testing.T, kinds []byte, quantity, rate int64, markup, client Percent) {
	t.Helper()
	var lines []Line
	sum, worth, raw := new(big.Int), new(big.Int), 0.0
	for i, k := range kinds {
		l := Line{Kind: Labour + LineKind(k%6), Quantity: Quantity(quantity / int64(i+1)),
			Rate: Pence(rate / int64(2*i+1))}
		exact := big.NewRat(int64(l.Quantity), 1000)
		exact.Mul(exact, big.NewRat(int64(l.Rate), 1))
		switch l.Kind {
		case Daywork:
			l.Percent = Percent(k) * 1000
			exact.Mul(exact, big.NewRat(int64(Hundred+l.Percent), int64(Hundred)))
		case Omit:
			exact.Neg(exact)
		}
		lines = append(lines, l)
		sum.Add(sum, wholePence(exact))
		worth.Add(worth, new(big.Int).Abs(wholePence(exact)))
		raw = max(raw, math.Abs(float64(l.Quantity)*float64(l.Rate))) // daywork is added to before it is rounded
	}
	total := new(big.Int).Add(sum, shareOf(sum, markup))
	got, err := PriceOf(lines, markup, Share{Client: client, Builder: Hundred - client})
	if err != nil {
		if raw < 1<<63 && worth.Cmp(big.NewInt(1<<63/11-1)) < 0 { // mark-up may be ten times the sum
			t.Fatalf("%d pence were refused: %v", total, err)
		}
		return
	}
	if sum.Cmp(big.NewInt(int64(got.Lines))) != 0 || total.Cmp(big.NewInt(int64(got.Total))) != 0 ||
		got.Lines+got.Markup != got.Total || got.Client+got.Builder != got.Total ||
		shareOf(total, client).Cmp(big.NewInt(int64(got.Client))) != 0 {
		t.Fatalf("lines %d, total %d; got %+v", sum, total, got)
	}
}

// wholePence rounds half away from nought.
func wholePence(exact *big.Rat) *big.Int {
	twice := new(big.Int).Mul(exact.Num(), big.NewInt(2))
	if exact.Sign() < 0 {
		twice.Sub(twice, exact.Denom())
	} else {
		twice.Add(twice, exact.Denom())
	}
	return twice.Quo(twice, new(big.Int).Mul(exact.Denom(), big.NewInt(2)))
}

func shareOf(sum *big.Int, part Percent) *big.Int {
	exact := new(big.Rat).SetInt(sum)
	return wholePence(exact.Mul(exact, big.NewRat(int64(part), int64(Hundred))))
}
