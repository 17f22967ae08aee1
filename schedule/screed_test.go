package schedule

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestScreedTable(t *testing.T) {
	for _, row := range loadWaits(t, "screed.csv") {
		var s Screed
		readText(t, row["type"], &s.Type)
		readText(t, row["thickness"], &s.Thickness)
		sum, err := s.Sum()
		if err != nil {
			t.Fatal(err)
		}
		if float64(sum.DryDays) != row.number(t, "dry_days") {
			t.Errorf("%s %s dries in %d days, want %s", s.Thickness, s.Type, sum.DryDays, row["dry_days"])
		}
	}
}

// TestScreedWithCure: 65 mm with 7 days under sheet is 87 days, and laid on
// 1 Sep 2026 it is dry on 27 Nov (worked by hand from BS 8204-1 and practice).
func TestScreedWithCure(t *testing.T) {
	sum, err := Screed{Type: SandCement, Thickness: 65}.Sum()
	if err != nil {
		t.Fatal(err)
	}
	if sum.CureDays != 7 || sum.DryDays != 80 || sum.TotalDays != 87 || sum.Length != Days(87) {
		t.Errorf("%+v", sum)
	}
	want := "65 mm sand-cement: 7 days under sheet, then 50 days for the first 50 mm at 1 day a mm " +
		"and 30 days for the other 15 mm at 2 days a mm: 87 days"
	if sum.Rule != want {
		t.Error(sum.Rule)
	}
	dry, err := EveryDay().Advance(day(t, "2026-09-01").AM(), sum.Length)
	if err != nil || dry.Day() != day(t, "2026-11-27") {
		t.Errorf("dry on %s, %v", dry, err)
	}
	flowing, err := Screed{Type: CalciumSulfate, Thickness: 40}.Sum()
	if err != nil || flowing.CureDays != 3 || flowing.TotalDays != 43 {
		t.Errorf("%+v, %v", flowing, err)
	}
	want = "40 mm calcium-sulfate: 3 days kept from draughts and at 5 °C or more, then 40 days " +
		"at 1 day a mm: 43 days"
	if flowing.Rule != want {
		t.Error(flowing.Rule)
	}
}

func TestScreedWarnsAndRefuses(t *testing.T) {
	cases := []struct {
		s    Screed
		want string // in the warnings or the error; "" for neither
	}{
		{Screed{SandCement, 50, 0, 0}, ""},
		{Screed{SandCement, 24, 0, 0}, "wants 25 mm even when bonded"},
		{Screed{SandCement, 24, Bonded, 0}, "bonded sand-cement screed wants 25 mm"},
		{Screed{SandCement, 25, Bonded, 0}, ""},
		{Screed{SandCement, 40, Bonded, 0}, ""},
		{Screed{SandCement, 41, Bonded, 0}, "ask before you lay it thicker"},
		{Screed{SandCement, 49, Unbonded, 0}, "wants 50 mm"},
		{Screed{SandCement, 50, Unbonded, 0}, "ask for 70 mm"},
		{Screed{SandCement, 70, Unbonded, 0}, ""},
		{Screed{SandCement, 64, Floating, 0}, "wants 65 mm"},
		{Screed{SandCement, 65, Floating, 0}, "heavier loads want 75 mm"},
		{Screed{SandCement, 75, Floating, 0}, ""},
		{Screed{SandCement, 76, Floating, 0}, "over 75 mm drying runs long"},
		{Screed{CalciumSulfate, 34, Floating, 0}, "wants 35 mm"},
		{Screed{CalciumSulfate, 60, Floating, 0}, ""},
		{Screed{CalciumSulfate, 61, Floating, 0}, "over 60 mm drying runs long"},
		{Screed{SandCement, 50, 0, TenthsCelsius(49)}, "under 5 °C"},
		{Screed{SandCement, 50, 0, TenthsCelsius(50)}, ""},
		{Screed{CalciumSulfate, 50, 0, TenthsCelsius(199)}, "at 19.9 °C it takes longer"},
		{Screed{CalciumSulfate, 50, 0, TenthsCelsius(200)}, ""},
		{Screed{SandCement, 50, 0, TenthsCelsius(-1)}, "frost"},
		{Screed{SandCement, 9, 0, 0}, "10 to 150 mm"},
		{Screed{SandCement, 10, 0, 0}, "thin"},
		{Screed{SandCement, 150, 0, 0}, "over a year"},
		{Screed{SandCement, 151, 0, 0}, "10 to 150 mm"},
		{Screed{SandCement, 0, 0, 0}, "thickness is missing"},
		{Screed{0, 50, 0, 0}, "type is missing; write sand-cement or calcium-sulfate"},
		{Screed{SandCement, 50, 4, 0}, "bed is missing"},
	}
	for _, c := range cases {
		w, err := c.s.Wait()
		said := strings.Join(w.Warnings, "; ")
		if err != nil {
			said = err.Error()
		}
		if !strings.Contains(said, c.want) || (c.want == "") != (said == "") {
			t.Errorf("%+v says %q, want %q", c.s, said, c.want)
		}
	}
}

// TestScreedIsMonotonic: each mm takes a day or two more, and the parts add up.
func TestScreedIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Screed{
			Type:      ScreedType(rapid.Uint8Range(1, 2).Draw(t, "type")),
			Thickness: Millimetres(rapid.Int32Range(10, 149).Draw(t, "mm")),
			Bed:       ScreedBed(rapid.Uint8Range(0, 3).Draw(t, "bed")),
		}
		thin, err := s.Sum()
		if err != nil {
			t.Fatal(err)
		}
		s.Thickness++
		thick, err := s.Sum()
		if err != nil {
			t.Fatal(err)
		}
		if more := thick.DryDays - thin.DryDays; more != 1 && more != 2 {
			t.Fatalf("1 mm more takes %d days more", more)
		}
		if thin.TotalDays != thin.CureDays+thin.DryDays || thin.Length != Days(thin.TotalDays) {
			t.Fatalf("%+v does not add up", thin)
		}
	})
}

func ExampleScreed_Sum() {
	sum, err := Screed{Type: SandCement, Thickness: 65}.Sum()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(sum.CureDays, sum.DryDays, sum.TotalDays)
	// Output: 7 80 87
}
