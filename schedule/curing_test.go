package schedule

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// bandTenths gives the ends of the rows of the curing tables, in tenths of a
// degree, as the check values name them.
var bandTenths = map[string][2]int{
	">=25": {250, 400}, "15-25": {150, 249}, "10-15": {100, 149}, "5-10": {50, 99}, ">=5": {50, 400},
}

func TestCuringTables(t *testing.T) {
	cells := map[string]int{}
	for _, row := range loadWaits(t, "curing.csv") {
		var c Curing
		readText(t, row["class"], &c.Class)
		if row["development"] == "any" {
			c.Development = VerySlow
		} else {
			readText(t, row["development"], &c.Development)
		}
		cells[row["class"]]++
		want := Halves(row.number(t, "days") * 2)
		for _, tenths := range bandTenths[row["band"]] {
			c.Temperature = TenthsCelsius(tenths)
			w, err := c.Wait()
			if err != nil || w.Length != want {
				t.Errorf("%v at %s °C: %s, want %s (%v)", row, c.Temperature, w.Length, want, err)
			}
			if memory := row["how_known"] == "from memory"; memory !=
				strings.Contains(w.Sure, "from memory") {
				t.Errorf("%v: how sure? %q", row, w.Sure)
			}
			if std, _, _ := strings.Cut(row["source"], " ("); !strings.Contains(w.Source, std[:8]) {
				t.Errorf("%v: source %q", row, w.Source)
			}
		}
	}
	if cells[""] != 16 || cells["1"] != 1 || cells["2"] != 12 || cells["3"] != 12 || cells["4"] != 12 {
		t.Errorf("cells missing: %v", cells)
	}
}

// TestCuringInTheCold: medium, 5 to 10 °C, 2 days under 5 °C: 6 + 2 = 8 days
// (DIN 1045-3, worked by hand).
func TestCuringInTheCold(t *testing.T) {
	c := Curing{Temperature: TenthsCelsius(80), Development: Medium, Cold: 4}
	w, err := c.Wait()
	if err != nil || w.Length != Days(8) || len(w.Warnings) != 1 {
		t.Errorf("%+v, %v", w, err)
	}
	want := "keep damp and covered: medium strength development at 8 °C (row 5 to 10 °C), 6 days, " +
		"and 2 days under 5 °C on top, which do not count: 8 days"
	if w.Rule != want {
		t.Error(w.Rule)
	}
	if !strings.Contains(w.Source, "DIN 1045-3") {
		t.Error(w.Source)
	}
}

func TestCuringRefuses(t *testing.T) {
	eight := TenthsCelsius(80)
	cases := []struct {
		c    Curing
		want string
	}{
		{Curing{0, Medium, 0, 0}, "temperature is missing"},
		{Curing{TenthsCelsius(49), Medium, 0, 0}, "no day counts"},
		{Curing{TenthsCelsius(401), Medium, 0, 0}, "too hot"},
		{Curing{eight, 0, 0, 0}, "development is missing"},
		{Curing{eight, Medium, 5, 0}, "class is missing"},
		{Curing{eight, VerySlow, 2, 0}, "no column"},
		{Curing{eight, Medium, 0, -1}, "cold is out of range"},
	}
	for _, c := range cases {
		if _, err := c.c.Wait(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// TestCuringIsMonotonic: colder, slower or a higher class is never shorter,
// and time under 5 °C is added to the half-day.
func TestCuringIsMonotonic(t *testing.T) {
	length := func(t *rapid.T, c Curing) Halves {
		w, err := c.Wait()
		if err != nil {
			t.Fatal(err)
		}
		return w.Length
	}
	rapid.Check(t, func(t *rapid.T) {
		temperature := rapid.IntRange(50, 400)
		development := rapid.Uint8Range(1, 3)
		c := Curing{
			Temperature: TenthsCelsius(temperature.Draw(t, "temperature")),
			Development: StrengthDevelopment(development.Draw(t, "development")),
			Class:       CuringClass(rapid.Uint8Range(0, 4).Draw(t, "class")),
		}
		base := length(t, c)
		colder, slower, higher, cold := c, c, c, c
		colder.Temperature = min(c.Temperature, TenthsCelsius(temperature.Draw(t, "colder")))
		slower.Development = max(c.Development, StrengthDevelopment(development.Draw(t, "slower")))
		if c.Class > 0 {
			higher.Class = CuringClass(rapid.Uint8Range(uint8(c.Class), 4).Draw(t, "higher"))
		}
		cold.Cold = ColdSpell(rapid.Int32Range(0, 730).Draw(t, "cold"))
		for _, other := range []Curing{colder, slower, higher} {
			if length(t, other) < base {
				t.Fatalf("%+v is shorter than %+v", other, c)
			}
		}
		if length(t, cold) != base+Halves(cold.Cold) {
			t.Fatalf("%s of cold is not added", cold.Cold)
		}
	})
}
