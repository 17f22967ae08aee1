package jobs

import (
	"bytes"
	"encoding/csv"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"putlog/jobs/book"
	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/variations"
)

// drawRates makes lists that ReadRates could give: names apart, no blank that
// it would take out.
func drawRates(t *rapid.T) Rates {
	awkward := rapid.OneOf(
		rapid.StringMatching(`[-=+@']{0,3}[a-zA-Z½£²", ;=@'+-]{1,12}`),
		rapid.StringOfN(rapid.RuneFrom([]rune("'\"=+-@,;½é·✓a1 ")), 1, 20, -1))
	text := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(strings.Fields(awkward.Draw(t, "text")), " ")
	})
	draw := rapid.Custom(func(t *rapid.T) Rate {
		r := Rate{
			Name: rapid.StringMatching(`[a-z0-9-]{1,40}`).Draw(t, "name"),
			Kind: variations.LineKind(rapid.IntRange(1, 6).Draw(t, "kind")),
			What: text.Filter(func(s string) bool { return s != "" }).Draw(t, "what"),
			Unit: text.Draw(t, "unit"),
			Rate: variations.Pence(rapid.Int64Range(0, int64(variations.MaxPence)).Draw(t, "rate")),
		}
		if r.Kind == variations.Daywork {
			r.Percent = variations.Percent(rapid.Int64Range(0, 1_000_000).Draw(t, "percent"))
		}
		return r
	})
	return rapid.SliceOfNDistinct(draw, 1, 8, func(r Rate) string { return r.Name }).Draw(t, "rates")
}

// Loading what was exported gives the same list, and no cell of it would be
// taken for a formula, whichever way a reader of RFC 4180 cuts it up.
func TestRatesLoadExportIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := drawRates(t)
		table := list.CSV()
		again, err := ReadRates("rates.csv", table)
		if err != nil {
			t.Fatalf("%v\n%s", err, table)
		}
		if diff := cmp.Diff(list, again); diff != "" {
			t.Fatalf("(-exported +loaded):\n%s\n%s", diff, table)
		}
		rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
		if err != nil || len(rows) != len(list)+1 {
			t.Fatalf("%d rows, %v", len(rows), err)
		}
		for _, cell := range slices.Concat(rows...) {
			if cell != "" && strings.Contains("=+-@", cell[:1]) {
				t.Errorf("the cell %q is a formula", cell)
			}
		}
		if n := bytes.Count(table, []byte("\n")); n != bytes.Count(table, []byte("\r\n")) {
			t.Errorf("not every line ends as RFC 4180 has it:\n%q", table)
		}
	})
}

// Saved lists come back as they were, the last one counts, and what changed is
// named.
func TestRatesInTheBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "putlog.db")
	b, err := book.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	const written = "2027-03-01T08:30:00Z"
	if list, err := SavedRates(b); err != nil || len(list) != 0 {
		t.Fatalf("%v, %v", list, err)
	}
	rapid.Check(t, func(t *rapid.T) {
		before, err := SavedRates(b)
		if err != nil {
			t.Fatal(err)
		}
		list := drawRates(t)
		if n := len(before); n > 0 && rapid.Bool().Draw(t, "keep one") {
			list = slices.DeleteFunc(list, func(r Rate) bool { return r.Name == before[0].Name })
			list = append(list, before[0])
		}
		done, err := SaveRates(b, list, written)
		if err != nil {
			t.Fatal(err)
		}
		after, err := SavedRates(b)
		if err != nil || !slices.Equal(list, after) {
			t.Fatalf("saved %v, %v; want %v", after, err, list)
		}
		same := 0
		for _, r := range list {
			if slices.Contains(before, r) {
				same++
			}
		}
		if len(done.Added)+len(done.Changed)+same != len(list) ||
			len(before)+len(done.Added)-len(done.Gone) != len(list) {
			t.Errorf("%+v from %v to %v", done, before, list)
		}
	})
	report, err := b.Check()
	if err != nil || report.Rates < 10 {
		t.Fatalf("%+v, %v", report, err)
	}
	last, err := SavedRates(b)
	if err != nil {
		t.Fatal(err)
	}
	done, err := SaveRates(b, last, written)
	if err != nil || len(done.Added)+len(done.Changed)+len(done.Gone) != 0 {
		t.Errorf("%+v, %v", done, err)
	}
	if again, err := b.Check(); err != nil || again.Rates != report.Rates {
		t.Errorf("the same list was written again: %+v, %v", again, err)
	}
}

func TestFindRate(t *testing.T) {
	list := Rates{
		{Name: "labour-day", Kind: variations.Labour, What: "Two men", Unit: "day", Rate: 32000},
		{Name: "skip", Kind: variations.Plant, What: "Skip", Rate: 28550}}
	r, err := list.Find("skip")
	if err != nil || r != list[1] {
		t.Errorf("%v, %v", r, err)
	}
	want := variations.Line{Kind: variations.Labour, What: "Two men", Quantity: 1500,
		Unit: "day", Rate: 32000}
	if got := list[0].Line(1500); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	for _, c := range []struct {
		list           Rates
		name, what, do string
	}{
		{list, "labour-dya", `there is no rate "labour-dya"`, "did you mean labour-day?"},
		{list, "Skip", `there is no rate "Skip"`, "did you mean skip?"},
		{list, "concrete", `there is no rate "concrete"`, "the rates are labour-day and skip"},
		{nil, "skip", "no rates are saved yet", "load your list: putlog rates load rates.csv"},
	} {
		_, err := c.list.Find(c.name)
		if err == nil || err.Error() != c.what || words.Advice(err) != c.do {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Tables that are not quite right, and what is said of them.
func TestBadRates(t *testing.T) {
	const heading = "name,kind,what,unit,rate,percent\n"
	many := heading + strings.Repeat("a,labour,x,,1,\n", maxRates+1)
	for _, c := range []struct {
		name, table string
		want        []string
	}{
		{"nothing", "", []string{"1:1: the table is empty"}},
		{"blank lines", "\n,,\n\n", []string{"1:1: the table is empty"}},
		{"no rates", heading, []string{"the table holds no rates"}},
		{"tabs", "name\tkind\twhat\n", []string{"1:1: the columns are not parted by commas"}},
		{"not UTF-8", heading + "skip,plant,6 m\xb3,,1,\n", []string{"2:15: this is not UTF-8 text"}},
		{"control", heading + "skip,plant,\x00,,1,\n", []string{"2:12: control character U+0000"}},
		{"direction", heading + "skip,plant,\u202eabc,,1,\n",
			[]string{"2:12: hidden text-direction mark"}},
		{"two columns", "name,kind,what,rate,rate\n", []string{`1:21: there are two columns "rate"`}},
		{"columns missing", "what,rate\nSkip,1\n", []string{`there is no column "name"`,
			`there is no column "kind"`}},
		{"a comma too many", heading + "a,labour,Dig, by hand,day,1,\n",
			[]string{"2:1: the line has 7 cells and the heading 6"}},
		{"a cell too few", heading + "a,labour,Dig,day,1\n", []string{"the line has 5 cells"}},
		{"quote inside", heading + "a,labour,½\" pipe,m,1,\nb,hire,x,m,1,\n",
			[]string{"2:11: a quote stands inside a text", `3:3: "hire" is not a kind of line`}},
		{"quote left open", heading + "a,labour,\"pipe,m,1,\nb,hire,x,m,1,\n",
			[]string{"2:1: the quotes of this line do not match"}},
		{"after the quote", heading + "a,labour,\"pipe\" x,m,1,\nB,plant,x,m,1,\n",
			[]string{"2:1: the quotes of this line do not match", `3:1: "B" is not a name`}},
		{"quotes in the heading", "na\"me,kind\nx,y\n", []string{"1:3: a quote stands inside a text"}},
		{"names", heading + ",labour,x,,1,\nA b,labour,x,,1,\nok,labour,x,,1,\nok,labour,x,,1,\n",
			[]string{`2:1: "" is not a name`, `3:1: "A b" is not a name`,
				`5:1: there already is a rate "ok", on line 4`}},
		{"money", heading + "a,labour,x,,1.234,\nb,labour,x,,-1,\nc,labour,x,,,\nd,labour,x,,1e3,\n" +
			"e,labour,x,,\"12,50\",\nf,labour,x,,1000000000.01,\n",
			[]string{"2:13: \"1.234\" is not an amount", "3:13: the rate is below nothing",
				`4:13: "" is not an amount`, `5:13: "1e3" is not`, `6:13: "12,50" is not`, "7:13: "}},
		{"percent", heading + "a,daywork,x,,1,-5\nb,labour,x,,1,5\nc,daywork,x,,1,1000.001\n",
			[]string{`2:16: "-5" is not a rate`, "3:15: a percentage addition is for daywork", "4:16: "}},
		{"texts", heading + "a,labour,,,1,\nb,labour," + strings.Repeat("½", MaxText+1) + ",,1,\n" +
			"c,labour,x," + strings.Repeat("½", MaxText+1) + ",1,\n",
			[]string{"2:10: the line does not say what it is for", "3:10: the text is too long",
				"4:12: the text is too long"}},
		{"too many", many, []string{"5002:1: a list has 5000 rates at the most"}},
	} {
		list, err := ReadRates("rates.csv", []byte(c.table))
		var problems *form.Problems
		if list != nil || !errors.As(err, &problems) {
			t.Errorf("%s: %v, %v", c.name, list, err)
			continue
		}
		if len(problems.List) != len(c.want) && c.name != "too many" {
			t.Errorf("%s: %d problems, want %d:\n%v", c.name, len(problems.List), len(c.want), err)
		}
		for _, want := range c.want {
			if c.name != "too many" && !strings.Contains(err.Error(), want) {
				t.Errorf("%s: no %q in\n%v", c.name, want, err)
			}
		}
	}
}

// What spreadsheets do to a table is taken as meant.
func TestRatesFromASpreadsheet(t *testing.T) {
	table := "\ufeffPercent, Kind ,NAME,what,Rate\r\n" +
		"90%,Daywork,carpenter,  A carpenter\tby  the hour ,\"£1,024.50\"\r\n" +
		",,,,\r\n" +
		",plant,skip,\"Skip,\r\n6 yd\",£ 285.5\r"
	if _, err := ReadRates("rates.csv", []byte(table)); err == nil {
		t.Error("£ 285.5 was taken")
	}
	table = strings.Replace(table, "£ 285.5", "'=1,285.5", 1)
	if _, err := ReadRates("rates.csv", []byte(table)); err == nil {
		t.Error("a formula was taken for an amount")
	}
	table = strings.Replace(table, "'=1,285.5", "285.5", 1)
	want := Rates{
		{Name: "carpenter", Kind: variations.Daywork, What: "A carpenter by the hour",
			Rate: 102450, Percent: 90000},
		{Name: "skip", Kind: variations.Plant, What: "Skip, 6 yd", Rate: 28550}}
	got, err := ReadRates("rates.csv", []byte(table))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Whatever the table is, it is read or refused with a place; what is read can be
// saved and exported.
func FuzzReadRates(f *testing.F) {
	f.Add([]byte("name,kind,what,unit,rate,percent\nlabour-day,labour,Two men,day,320.00,\n"))
	f.Add([]byte("rate,what,name,kind\r\n\"£1,250.00\",'=x,-a,omit\r\n"))
	f.Add([]byte("\ufeffname,kind,what,rate\n\"a\",\"daywork\",\"4\"\" x\n2\",'1\n\"\n"))
	f.Add([]byte("name;kind\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		list, err := ReadRates("rates.csv", src)
		var problems *form.Problems
		switch {
		case errors.As(err, &problems):
			if list != nil || len(problems.List) == 0 {
				t.Fatalf("%v beside %v", list, err)
			}
			return
		case err != nil || len(list) == 0:
			t.Fatalf("%v, %v", list, err)
		}
		text, err := bookText(list)
		if err != nil {
			t.Fatal(err)
		}
		if saved, err := ratesFrom(text); err != nil || !slices.Equal(list, saved) {
			t.Fatalf("saved as %v, %v; want %v", saved, err, list)
		}
		again, err := ReadRates("rates.csv", list.CSV())
		if err != nil || !slices.Equal(list, again) {
			t.Fatalf("exported as %q, loaded as %v, %v; want %v", list.CSV(), again, err, list)
		}
		for _, r := range list {
			if _, err := r.Line(1000).Amount(); err != nil || r.Rate < 0 {
				t.Fatalf("%v: %v", r, err)
			}
		}
	})
}
