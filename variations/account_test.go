package variations

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawLedger raises variations and takes each some way.
func drawLedger(t *rapid.T) *Ledger {
	var l Ledger
	for i := range rapid.IntRange(0, 5).Draw(t, "variations") {
		client := Percent(rapid.Int64Range(0, int64(Hundred)).Draw(t, "client"))
		terms := Terms{Number: fmt.Sprintf("V%d", i+1), Title: "some work",
			Cost:   Share{client, Hundred - client},
			Markup: Percent(rapid.Int64Range(0, 50_000).Draw(t, "markup")),
			Lines:  rapid.SliceOfN(rapid.Custom(drawLine), 0, 4).Draw(t, "lines")}
		if err := l.Raise(terms, 100); err != nil {
			t.Fatal(err)
		}
		for _, s := range rapid.SliceOfN(rapid.SampledFrom(everyMove), 0, 3).Draw(t, "moves") {
			_ = l.Move(terms.Number, s, 101)
		}
	}
	return &l
}

// TestAccountFormula holds the account to the contract's own words, with big
// integers beside it.
func TestAccountFormula(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l := drawLedger(rt)
		r := Rates{Sum: Pence(rapid.Int64Range(0, int64(MaxPence)).Draw(rt, "sum")),
			VAT:       Percent(rapid.Int64Range(0, int64(Hundred)).Draw(rt, "vat")),
			Retention: Percent(rapid.Int64Range(0, int64(Hundred)).Draw(rt, "retention"))}
		paid := Pence(rapid.Int64Range(0, int64(MaxPence)).Draw(rt, "paid"))
		a, err := AccountOf(r, l, paid)
		if err != nil {
			rt.Fatal(err)
		}
		var agreed, open Pence
		for i, line := range a.Lines {
			v := l.All()[i]
			price, _ := v.Price()
			if line.Number != v.Number || line.Price != price || price.Client+price.Builder != price.Total {
				rt.Fatalf("line %d: %+v", i, line)
			}
			switch {
			case v.Declined != 0 || v.Withdrawn != 0:
			case v.Agreed != 0:
				agreed += price.Client
			case v.Instructed != 0:
				open += price.Client
			}
		}
		of := func(p Percent, sum Pence) Pence {
			return Pence(rounded(product(int64(sum), int64(p)), big.NewInt(100_000)).Int64())
		}
		want := Account{Contract: r.Sum, Lines: a.Lines, Agreed: agreed, NotAgreed: open, Revised: r.Sum + agreed,
			VAT: of(r.VAT, r.Sum+agreed), Retention: of(r.Retention, r.Sum+agreed), Paid: paid}
		want.TotalDue = want.Revised + want.VAT
		want.Balance = want.TotalDue - want.Retention - paid
		if fmt.Sprint(a) != fmt.Sprint(want) || len(a.Lines) != len(l.All()) {
			rt.Fatalf("%+v\nwant %+v", a, want)
		}
	})
}

// The order in which variations were raised changes no sum.
func TestAccountInAnyOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l := drawLedger(rt)
		shuffled := Ledger{list: rapid.Permutation(l.list).Draw(rt, "shuffled")}
		r := Rates{Sum: 18_450_00, VAT: 20_000, Retention: 2_500}
		a, err := AccountOf(r, l, 100_000)
		b, err2 := AccountOf(r, &shuffled, 100_000)
		if err != nil || err2 != nil {
			rt.Fatal(err, err2)
		}
		a.Lines, b.Lines = nil, nil
		if fmt.Sprint(a) != fmt.Sprint(b) {
			rt.Fatalf("%+v\n%+v", a, b)
		}
	})
}

// Retention as it runs: common practice, no published source. £12,400.00 at
// 5 per cent keeps £620.00; with £7,600.00 paid, £4,180.00 is due.
func TestAccountRetention(t *testing.T) {
	a, err := AccountOf(Rates{Sum: 12_400_00, Retention: 5_000}, &Ledger{}, 7_600_00)
	if err != nil || a.Retention != 620_00 || a.Balance != 4_180_00 {
		t.Errorf("%+v, %v", a, err)
	}
	a, err = AccountOf(Rates{Sum: 20_000_00, Retention: 2_500}, &Ledger{}, 11_780_00)
	if err != nil || a.Retention != 500_00 || a.Balance != 7_720_00 {
		t.Errorf("%+v, %v", a, err)
	}
}

// VAT is taken once, on the whole: three variations of £10.33 bear £6.20, where
// line by line it would be £6.21 (VAT Notice 700 section 17.5, nearest penny).
func TestAccountTakesVATOnce(t *testing.T) {
	var l Ledger
	for _, n := range []string{"V1", "V2", "V3"} {
		line := Line{Kind: Material, What: "a hinge", Quantity: 1000, Rate: 1033}
		if err := l.Raise(Terms{Number: n, Cost: Share{Client: Hundred}, Lines: []Line{line}}, 1); err != nil {
			t.Fatal(err)
		}
		if err := l.Move(n, Agreed, 2); err != nil {
			t.Fatal(err)
		}
	}
	a, err := AccountOf(Rates{VAT: 20_000}, &l, 0)
	if err != nil || a.VAT != 620 || a.TotalDue != 3719 {
		t.Errorf("%+v, %v", a, err)
	}
}

// Whatever step of the account does not fit is an error, never a wrong sum.
func TestAccountTooLarge(t *testing.T) {
	most := Pence(math.MaxInt64)
	huge := Terms{Number: "V1", Cost: Share{Client: Hundred}, Lines: slices.Repeat(
		[]Line{{Kind: Material, What: "gold", Quantity: 1_000_000_000, Rate: MaxPence}}, 92)}
	for _, c := range []struct {
		name   string
		rates  Rates
		agreed []string // variations of £92,000 million million each, agreed
		paid   Pence
		fits   bool
	}{
		{"the sum alone", Rates{Sum: most}, nil, 0, true},
		{"VAT on it", Rates{Sum: most, VAT: 20_000}, nil, 0, false},
		{"all of it kept back", Rates{Sum: most, Retention: Hundred}, nil, 0, true},
		{"all of it paid", Rates{Sum: most}, nil, most, true},
		{"kept back and paid", Rates{Sum: 10, Retention: Hundred}, nil, most, true},
		{"nothing owed and too much paid", Rates{Sum: -10}, nil, most, false},
		{"one variation", Rates{Sum: 1}, []string{"V1"}, 0, true},
		{"one on the largest sum", Rates{Sum: most}, []string{"V1"}, 0, false},
		{"two variations", Rates{}, []string{"V1", "V2"}, 0, false},
	} {
		for _, how := range []State{Agreed, Instructed} {
			var l Ledger
			for _, n := range c.agreed {
				huge.Number = n
				if err := l.Raise(huge, 1); err != nil {
					t.Fatal(err)
				}
				if err := l.Move(n, how, 2); err != nil {
					t.Fatal(err)
				}
			}
			fits := c.fits || how == Instructed && len(c.agreed) == 1 // not agreed: beside the sum
			_, err := AccountOf(c.rates, &l, c.paid)
			if fits != (err == nil) || err != nil && !errors.Is(err, ErrOverflow) {
				t.Errorf("%s, %v: %v", c.name, how, err)
			}
		}
	}
}
