package variations

import (
	"encoding/csv"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// priceTable reads a table of testdata/prices: the source in the first line,
// the names of the columns in the second. It fails a file without either.
func priceTable(t *testing.T, name string, columns ...string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "prices", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(rows) < 3 || !strings.HasPrefix(rows[0][0], "source: ") {
		t.Fatalf("%s: the first line names no source", name)
	}
	if !slices.Equal(rows[1], columns) {
		t.Fatalf("%s: columns %q, want %q", name, rows[1], columns)
	}
	return rows[2:]
}

// text reads a value as a job file writes it.
func text[T any, P interface {
	*T
	UnmarshalText([]byte) error
}](t *testing.T, word string) T {
	t.Helper()
	var v T
	if err := P(&v).UnmarshalText([]byte(word)); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestLinesOfThePriceTable(t *testing.T) {
	for _, row := range priceTable(t, "lines.csv", "case", "kind", "quantity", "rate", "percent", "amount") {
		l := Line{What: row[0], Kind: text[LineKind](t, row[1]), Quantity: text[Quantity](t, row[2]),
			Rate: text[Pence](t, row[3]), Percent: text[Percent](t, row[4])}
		if err := l.Fault(); err != nil {
			t.Errorf("%s: %v", row[0], err)
		}
		if got, err := l.Amount(); err != nil || got != text[Pence](t, row[5]) {
			t.Errorf("%s: %v, %v; want %s", row[0], got, err, row[5])
		}
	}
}

func TestSumsOfThePriceTable(t *testing.T) {
	for _, row := range priceTable(t, "sums.csv", "case", "amount", "percent", "result") {
		got, err := text[Percent](t, row[2]).Of(text[Pence](t, row[1]))
		if err != nil || got != text[Pence](t, row[3]) {
			t.Errorf("%s: %v, %v; want %s", row[0], got, err, row[3])
		}
	}
}

// The daywork variation of the tables as a whole: labour £273.60 and materials
// £98.33 come to £371.93, with VAT £446.32.
func TestDayworkVariation(t *testing.T) {
	p, err := PriceOf([]Line{
		{Kind: Daywork, What: "two men", Quantity: 6000, Rate: 2400, Percent: 90_000},
		{Kind: Daywork, What: "materials", Quantity: 1000, Rate: 8550, Percent: 15_000},
	}, 0, Share{Client: Hundred})
	if err != nil || p != (Price{Lines: 37193, Total: 37193, Client: 37193}) {
		t.Fatalf("%+v, %v", p, err)
	}
	if vat, err := Percent(20_000).Of(p.Client); err != nil || vat != 7439 {
		t.Errorf("VAT %v, %v", vat, err)
	}
}

// rounded is a ÷ b half away from zero, by way of big integers.
func rounded(a, b *big.Int) *big.Int {
	twice := new(big.Int).Mul(new(big.Int).Abs(a), big.NewInt(2))
	twice.Add(twice, b).Quo(twice, new(big.Int).Mul(b, big.NewInt(2)))
	if a.Sign() < 0 {
		twice.Neg(twice)
	}
	return twice
}

// product multiplies.
func product(factors ...int64) *big.Int {
	p := big.NewInt(1)
	for _, f := range factors {
		p.Mul(p, big.NewInt(f))
	}
	return p
}

func drawLine(t *rapid.T) Line {
	l := Line{
		Kind:     LineKind(rapid.IntRange(int(Labour), int(Daywork)).Draw(t, "kind")),
		What:     "a line",
		Quantity: Quantity(rapid.Int64Range(1, 5_000_000).Draw(t, "thousandths")),
		Rate:     Pence(rapid.Int64Range(0, 10_000_000).Draw(t, "pence")),
	}
	if l.Kind == Daywork {
		l.Percent = Percent(rapid.Int64Range(0, 250_000).Draw(t, "percent"))
	}
	return l
}

// amountOracle is the line's amount from its definition alone.
func amountOracle(l Line) *big.Int {
	a := rounded(product(int64(l.Quantity), int64(l.Rate), int64(Hundred+l.Percent)),
		product(1000, int64(Hundred)))
	if l.Kind == Omit {
		a.Neg(a)
	}
	return a
}

// TestPriceOracle holds a price to its definition: lines rounded one by one,
// mark-up on their sum, the client's share rounded and the rest the builder's.
func TestPriceOracle(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lines := rapid.SliceOfN(rapid.Custom(drawLine), 0, 6).Draw(rt, "lines")
		markup := Percent(rapid.Int64Range(0, 100_000).Draw(rt, "markup"))
		client := Percent(rapid.Int64Range(0, int64(Hundred)).Draw(rt, "client"))
		sum := new(big.Int)
		for _, l := range lines {
			if err := l.Fault(); err != nil {
				rt.Fatal(err)
			}
			sum.Add(sum, amountOracle(l))
		}
		total := new(big.Int).Add(sum, rounded(product(sum.Int64(), int64(markup)), big.NewInt(100_000)))
		share := rounded(product(total.Int64(), int64(client)), big.NewInt(100_000))
		want := Price{Lines: Pence(sum.Int64()), Markup: Pence(total.Int64() - sum.Int64()),
			Total: Pence(total.Int64()), Client: Pence(share.Int64()),
			Builder: Pence(total.Int64() - share.Int64())}
		split := Share{Client: client, Builder: Hundred - client}
		got, err := PriceOf(lines, markup, split)
		if err != nil || got != want {
			rt.Fatalf("%+v, %v; want %+v", got, err, want)
		}
		if got.Client+got.Builder != got.Total || got.Lines+got.Markup != got.Total {
			rt.Fatalf("%+v does not add up", got)
		}
		shuffled := rapid.Permutation(lines).Draw(rt, "shuffled")
		if again, err := PriceOf(shuffled, markup, split); err != nil || again != got {
			rt.Fatalf("in another order %+v, %v", again, err)
		}
	})
}

// A penny that can't be halved is the client's: his share is rounded half away
// from nothing, and the builder has what is left.
func TestPriceSharesOddPence(t *testing.T) {
	half := Share{Client: 50_000, Builder: 50_000}
	for pence, client := range map[Pence]Pence{0: 0, 1: 1, 2: 1, 3: 2, 333: 167} {
		line := Line{Kind: Material, What: "a pin", Quantity: 1000, Rate: pence}
		p, err := PriceOf([]Line{line}, 0, half)
		if err != nil || p.Client != client || p.Builder != pence-client {
			t.Errorf("%v: %+v, %v", pence, p, err)
		}
		line.Kind = Omit
		p, err = PriceOf([]Line{line}, 0, half)
		if err != nil || p.Client != -client || p.Builder != client-pence {
			t.Errorf("%v taken off: %+v, %v", pence, p, err)
		}
	}
}

// What is added and taken off again comes to nothing, mark-up and shares too.
func TestPriceOfAnOmission(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l := drawLine(rt)
		l.Kind, l.Percent = Subcontract, 0
		off := l
		off.Kind = Omit
		share := Share{Client: 60_000, Builder: 40_000}
		both, err := PriceOf([]Line{l, off}, 15_000, share)
		if err != nil || both != (Price{}) {
			rt.Fatalf("added and omitted: %+v, %v", both, err)
		}
		added, _ := PriceOf([]Line{l}, 15_000, share)
		omitted, err := PriceOf([]Line{off}, 15_000, share)
		if err != nil || omitted != (Price{-added.Lines, -added.Markup, -added.Total, -added.Client, -added.Builder}) {
			rt.Fatalf("omitted %+v, %v; added %+v", omitted, err, added)
		}
	})
}

// The largest line that may be typed is a thousand million pounds a thousand
// thousand times: 92 of them fit into a sum, 93 do not.
func TestPriceTooLarge(t *testing.T) {
	huge := Line{Kind: Material, What: "gold", Quantity: 1_000_000_000, Rate: MaxPence}
	half := Share{Client: 50_000, Builder: 50_000}
	for _, c := range []struct {
		count  int
		markup Percent
		fits   bool
	}{
		{1, 0, true}, {92, 0, true}, {93, 0, false}, {9, 900_000, true}, {10, 900_000, false},
		{1, 1_000_000, true}, {80, 20_000, false},
	} {
		lines := slices.Repeat([]Line{huge}, c.count)
		p, err := PriceOf(lines, c.markup, half)
		if c.fits != (err == nil) || err != nil && p != (Price{}) {
			t.Errorf("%d lines and %s per cent: %+v, %v", c.count, c.markup, p, err)
		}
		for i := range lines {
			lines[i].Kind = Omit
		}
		if _, err := PriceOf(lines, c.markup, half); c.fits != (err == nil) {
			t.Errorf("%d omissions and %s per cent: %v", c.count, c.markup, err)
		}
	}
	by := huge
	by.Kind, by.Percent = Daywork, 90_000
	if _, err := PriceOf([]Line{by}, 0, half); err == nil {
		t.Error("daywork past every sum is priced")
	}
	if err := by.Fault(); err == nil {
		t.Error("daywork past every sum is no fault")
	}
	terms := Terms{Title: "gold", Cost: half, Lines: slices.Repeat([]Line{huge}, 93)}
	if err := terms.Fault(); err == nil || err.Error() != "the price is too large" {
		t.Errorf("terms past every sum: %v", err)
	}
}

func TestLineFaults(t *testing.T) {
	good := Line{Kind: Labour, What: "digging", Quantity: 1000, Rate: 100}
	for _, c := range []struct {
		change func(*Line)
		says   string
	}{
		{func(*Line) {}, ""},
		{func(l *Line) { l.Rate = 0 }, ""},
		{func(l *Line) { l.Quantity = 0 }, "digging: the quantity 0 is not more than nothing"},
		{func(l *Line) { l.Quantity = -1500 }, "digging: the quantity -1.5 is not more than nothing"},
		{func(l *Line) { l.Rate = -1 }, "digging: the rate is below nothing"},
		{func(l *Line) { l.Percent = 1 }, "digging: a percentage addition is for daywork"},
		{func(l *Line) { l.Kind, l.Percent = Omit, 1 }, "digging: a percentage addition is for daywork"},
		{func(l *Line) { l.Kind, l.Percent = Daywork, 90_000 }, ""},
	} {
		l := good
		c.change(&l)
		err := l.Fault()
		if c.says == "" && err != nil || c.says != "" && (err == nil || !strings.HasPrefix(err.Error(), c.says)) {
			t.Errorf("%+v: %v; want %q", l, err, c.says)
		}
		terms := Terms{Title: "x", Cost: Share{Client: Hundred}, Lines: []Line{good, l}}
		if (terms.Fault() == nil) != (c.says == "") {
			t.Errorf("%+v among terms: %v", l, terms.Fault())
		}
	}
}

// A split makes 100 and nobody's part lies outside it. (A share of 150 per cent
// with one of -50 was once taken, and then could not be read back.)
func TestShareFaults(t *testing.T) {
	for _, c := range []struct {
		share Share
		good  bool
	}{
		{Share{Hundred, 0}, true}, {Share{0, Hundred}, true}, {Share{60_000, 40_000}, true},
		{Share{33_333, 66_667}, true}, {Share{}, false}, {Share{60_000, 30_000}, false},
		{Share{Hundred, Hundred}, false}, {Share{150_000, -50_000}, false}, {Share{-50_000, 150_000}, false},
	} {
		if err := c.share.Fault(); (err == nil) != c.good {
			t.Errorf("%+v: %v", c.share, err)
		}
	}
}

func TestShareText(t *testing.T) {
	for word, want := range map[string]Share{"client": {Client: Hundred}, "builder": {Builder: Hundred}} {
		if got := text[Share](t, word); got != want {
			t.Errorf("%s: %+v", word, got)
		}
		if back, ok := want.FormScalar(); !ok || back != word {
			t.Errorf("%+v is written %q, %v", want, back, ok)
		}
	}
	if back, ok := (Share{60_000, 40_000}).FormScalar(); ok {
		t.Errorf("a split is written %q", back)
	}
	var s Share
	if err := s.UnmarshalText([]byte("neutral")); err == nil {
		t.Error("a cost is borne by nobody")
	}
}
