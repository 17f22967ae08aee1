package schedule

import (
	"encoding"
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// waitRow is a line of a file under testdata/waits, by column name.
type waitRow map[string]string

// parseWaitRows reads a table of check values. It refuses one in which not
// every line says first where its value comes from, and then how that is known.
func parseWaitRows(text string) ([]waitRow, error) {
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, err
	}
	if len(lines) < 2 || len(lines[0]) < 3 ||
		lines[0][0] != "source" || lines[0][1] != "how_known" {
		return nil, errors.New("the first columns must be source and how_known")
	}
	var rows []waitRow
	for i, line := range lines[1:] {
		row := waitRow{}
		for c, name := range lines[0] {
			row[name] = line[c]
		}
		if row["source"] == "" || row["how_known"] == "" {
			return nil, fmt.Errorf("line %d has no source", i+2)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func loadWaits(t *testing.T, name string) []waitRow {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "waits", name))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := parseWaitRows(string(text))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return rows
}

func (r waitRow) number(t *testing.T, column string) float64 {
	t.Helper()
	n, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("%s in %v: %v", column, r, err)
	}
	return n
}

// readText reads a value as a job file would; an empty text leaves it not set.
func readText(t *testing.T, text string, into encoding.TextUnmarshaler) {
	t.Helper()
	if text == "" {
		return
	}
	if err := into.UnmarshalText([]byte(text)); err != nil {
		t.Fatal(err)
	}
}

func TestWaitTablesNeedSources(t *testing.T) {
	good := "source,how_known,days\nBS 8204-1,read,7\n"
	if rows, err := parseWaitRows(good); err != nil || rows[0]["days"] != "7" {
		t.Fatalf("%v, %v", rows, err)
	}
	for _, bad := range []string{
		"", "days\n7\n", "source,how_known,days\n", "days,source,how_known\n7,BS 8204-1,read\n",
		"source,how_known,days\n,read,7\n", "source,how_known,days\nBS 8204-1,,7\n",
	} {
		if _, err := parseWaitRows(bad); err == nil {
			t.Errorf("%q was let in", bad)
		}
	}
}

func TestWaitSpec(t *testing.T) {
	screed := &Screed{Type: SandCement, Thickness: 65}
	cases := []struct {
		spec WaitSpec
		kind string
		want string // part of the rule, or of the error
	}{
		{WaitSpec{Screed: screed}, "screed", "65 mm sand-cement"},
		{WaitSpec{Adhesive: &BoardAdhesive{}}, "adhesive", "24 hours"},
		{WaitSpec{}, "", "needs a rule; write concrete, screed, curing, skim, adhesive, " +
			"membrane or mortar"},
		{WaitSpec{Screed: screed, Skim: &Skim{Background: OnBoard}}, "", "not both screed and skim"},
		{WaitSpec{Concrete: &Concrete{}}, "concrete", "concrete: temperature is missing"},
	}
	for _, c := range cases {
		kind, _ := c.spec.Kind()
		w, err := c.spec.Wait()
		if kind != c.kind {
			t.Errorf("kind %q, want %q", kind, c.kind)
		}
		if said := w.Rule + fmt.Sprint(err); !strings.Contains(said, c.want) {
			t.Errorf("%q does not say %q", said, c.want)
		}
	}
}

// TestWaitSpecFields holds the form of a job file: every part may be left out,
// each is named as its kind, and every field reads and prints text.
func TestWaitSpecFields(t *testing.T) {
	reads := reflect.TypeFor[encoding.TextUnmarshaler]()
	prints := reflect.TypeFor[encoding.TextMarshaler]()
	spec := reflect.TypeFor[WaitSpec]()
	if spec.NumField() != len(WaitKinds()) {
		t.Fatalf("%d parts, %d kinds", spec.NumField(), len(WaitKinds()))
	}
	for i, kind := range WaitKinds() {
		field := spec.Field(i)
		if tag := field.Tag.Get("form"); tag != kind+",optional" {
			t.Errorf("%s is tagged %q", field.Name, tag)
		}
		part := field.Type.Elem()
		for j := range part.NumField() {
			f := part.Field(j)
			if f.Tag.Get("form") == "" || !reflect.PointerTo(f.Type).Implements(reads) ||
				!f.Type.Implements(prints) {
				t.Errorf("%s.%s is not a field of a job file", part, f.Name)
			}
		}
	}
}

// drawSpec draws any rule with any values in its fields, good and bad.
func drawSpec(t *rapid.T) WaitSpec {
	small := func(name string) uint8 { return rapid.Uint8Range(0, 6).Draw(t, name) }
	temperature := rapid.OneOf(rapid.Just(Celsius(0)), rapid.Custom(func(t *rapid.T) Celsius {
		return TenthsCelsius(rapid.IntRange(-60, 450).Draw(t, "tenths"))
	}), rapid.Custom(func(t *rapid.T) Celsius { return Celsius(rapid.Int16().Draw(t, "any")) }),
	).Draw(t, "temperature")
	switch rapid.SampledFrom(WaitKinds()).Draw(t, "kind") {
	case "concrete":
		return WaitSpec{Concrete: &Concrete{CementClass(small("class")), temperature,
			Fraction(rapid.Uint16Range(0, 1001).Draw(t, "fraction"))}}
	case "screed":
		return WaitSpec{Screed: &Screed{ScreedType(small("type")),
			Millimetres(rapid.Int32Range(-1, 160).Draw(t, "mm")), ScreedBed(small("bed")), temperature}}
	case "curing":
		return WaitSpec{Curing: &Curing{temperature, StrengthDevelopment(small("development")),
			CuringClass(small("class")), ColdSpell(rapid.Int32Range(-1, 740).Draw(t, "cold"))}}
	case "skim":
		return WaitSpec{Skim: &Skim{Background(small("on")), Season(small("season")), temperature}}
	case "adhesive":
		return WaitSpec{Adhesive: &BoardAdhesive{temperature}}
	case "membrane":
		return WaitSpec{Membrane: &LiquidMembrane{temperature, MembraneStep(small("until"))}}
	}
	return WaitSpec{Mortar: &Mortar{MortarCement(small("cement")), temperature}}
}

// TestAnyWaitAnswersOrRefuses: no rule panics, and an answer is complete.
func TestAnyWaitAnswersOrRefuses(t *testing.T) {
	answered := 0
	rapid.Check(t, func(t *rapid.T) {
		spec := drawSpec(t)
		w, err := spec.Wait()
		if err != nil {
			if w.Length != 0 || strings.Contains(err.Error(), "\n") || err.Error() == "" {
				t.Fatalf("%+v with %q", w, err)
			}
			return
		}
		answered++
		if w.Length < 1 || w.Rule == "" || w.Source == "" || w.Sure == "" {
			t.Fatalf("%+v", w)
		}
		for _, text := range append(w.Warnings, w.Rule, w.Source, w.Sure) {
			if strings.Contains(text, "%!") || strings.Contains(text, "  ") {
				t.Fatalf("%q is badly put", text)
			}
		}
		if !strings.Contains(w.Rule, spoken(w.Length)) {
			t.Fatalf("%q does not end at %s", w.Rule, spoken(w.Length))
		}
		again, _ := spec.Wait()
		if !reflect.DeepEqual(w, again) {
			t.Fatalf("%+v and then %+v", w, again)
		}
	})
	if answered == 0 {
		t.Fatal("no rule gave an answer")
	}
}

// textValue is a small value that a job file holds as text.
type textValue interface {
	comparable
	encoding.TextMarshaler
	fmt.Stringer
}

// readback prints a value and reads it again.
func readback[T textValue, P interface {
	*T
	encoding.TextUnmarshaler
}](t interface{ Fatalf(string, ...any) }, v T) {
	text, err := v.MarshalText()
	if err != nil {
		t.Fatalf("%v", err)
	}
	var again T
	if err := P(&again).UnmarshalText(text); err != nil || again != v || v.String() != string(text) {
		t.Fatalf("%q (%s) reads as %v, %v", text, v, again, err)
	}
}

func TestWaitTextRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readback(t, TenthsCelsius(rapid.IntRange(-500, 1000).Draw(t, "temperature")))
		readback(t, Fraction(rapid.Uint16Range(1, 1000).Draw(t, "fraction")))
		readback(t, Millimetres(rapid.Int32Range(1, 999999).Draw(t, "mm")))
		readback(t, ColdSpell(rapid.Int32Range(0, 730).Draw(t, "cold")))
		readback(t, CementClass(rapid.Uint8Range(1, 3).Draw(t, "class")))
		readback(t, ScreedType(rapid.Uint8Range(1, 2).Draw(t, "screed")))
		readback(t, ScreedBed(rapid.Uint8Range(1, 3).Draw(t, "bed")))
		readback(t, StrengthDevelopment(rapid.Uint8Range(1, 4).Draw(t, "development")))
		readback(t, CuringClass(rapid.Uint8Range(1, 4).Draw(t, "curing")))
		readback(t, Background(rapid.Uint8Range(1, 2).Draw(t, "background")))
		readback(t, Season(rapid.Uint8Range(1, 2).Draw(t, "season")))
		readback(t, MembraneStep(rapid.Uint8Range(1, 2).Draw(t, "until")))
		readback(t, MortarCement(rapid.Uint8Range(1, 2).Draw(t, "cement")))
	})
}

// TestWaitTexts holds what the numbers of a wait may look like, and how they
// are printed; "" stands for refused.
func TestWaitTexts(t *testing.T) {
	celsius, fraction, mm, cold := new(Celsius), new(Fraction), new(Millimetres), new(ColdSpell)
	cases := []struct {
		into encoding.TextUnmarshaler
		text string
		want string
	}{
		{celsius, "10", "10"}, {celsius, "7.5", "7.5"}, {celsius, "7.0", "7"},
		{celsius, "-0.5", "-0.5"}, {celsius, "0", "0"}, {celsius, "-0", "0"},
		{celsius, "7.5 °C", "7.5"}, {celsius, "12C", "12"}, {celsius, "-50", "-50"},
		{celsius, "100", "100"}, {celsius, "100.1", ""}, {celsius, "-50.1", ""},
		{celsius, "", ""}, {celsius, "7.55", ""}, {celsius, "7,5", ""}, {celsius, "--1", ""},
		{celsius, ".5", ""}, {celsius, "5.", ""}, {celsius, "1e1", ""}, {celsius, "+5", ""},
		{celsius, "- 5", ""}, {celsius, "5 ", ""}, {celsius, "C", ""}, {celsius, "9999999999", ""},
		{fraction, "0.7", "0.7"}, {fraction, "70%", "0.7"}, {fraction, "66.7 %", "0.667"},
		{fraction, "1", "1"}, {fraction, "100%", "1"}, {fraction, "0.001", "0.001"},
		{fraction, "0", ""}, {fraction, "0%", ""}, {fraction, "1.001", ""}, {fraction, "70", ""},
		{fraction, "0.6667", ""}, {fraction, "-0.7", ""}, {fraction, "%", ""}, {fraction, "NaN", ""},
		{mm, "65mm", "65mm"}, {mm, "65 mm", "65mm"}, {mm, "65", "65mm"}, {mm, "999999", "999999mm"},
		{mm, "0", ""}, {mm, "065", ""}, {mm, "6.5", ""}, {mm, "65cm", ""}, {mm, "mm", ""},
		{mm, "-65", ""}, {mm, "1000000", ""}, {mm, "٦٥", ""},
		{cold, "2d", "2d"}, {cold, "0.5d", "0.5d"}, {cold, "2", "2d"}, {cold, "0d", "0d"},
		{cold, "365d", "365d"}, {cold, "365.5d", ""}, {cold, "0.3d", ""}, {cold, "d", ""},
		{cold, "-1d", ""},
	}
	for _, c := range cases {
		got := ""
		if err := c.into.UnmarshalText([]byte(c.text)); err == nil {
			got = fmt.Sprint(c.into)
		}
		if got != c.want {
			t.Errorf("%T of %q is %q, want %q", c.into, c.text, got, c.want)
		}
	}
}
