package schedule

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// plasterSpec makes the rule that a line of plaster.csv is about.
func plasterSpec(t *testing.T, row waitRow) WaitSpec {
	t.Helper()
	var at Celsius
	readText(t, row["temperature"], &at)
	switch row["wait"] {
	case "skim":
		skim := &Skim{Temperature: at}
		on, season, _ := strings.Cut(row["choice"], " ")
		readText(t, on, &skim.Background)
		readText(t, season, &skim.Season)
		return WaitSpec{Skim: skim}
	case "adhesive":
		return WaitSpec{Adhesive: &BoardAdhesive{at}}
	case "membrane":
		membrane := &LiquidMembrane{Temperature: at}
		readText(t, row["choice"], &membrane.Until)
		return WaitSpec{Membrane: membrane}
	case "mortar":
		mortar := &Mortar{Temperature: at}
		readText(t, row["choice"], &mortar.Cement)
		return WaitSpec{Mortar: mortar}
	}
	t.Fatalf("unknown wait %q", row["wait"])
	return WaitSpec{}
}

func TestPlasterTable(t *testing.T) {
	for _, row := range loadWaits(t, "plaster.csv") {
		w, err := plasterSpec(t, row).Wait()
		if err != nil || float64(w.Length) != 2*row.number(t, "days") {
			t.Errorf("%v: %s, %v", row, w.Length, err)
		}
	}
}

func TestPlasterInWords(t *testing.T) {
	cases := []struct {
		spec WaitSpec
		want string
	}{
		{WaitSpec{Skim: &Skim{Background: OnSolid, Season: Winter}}, "skim on solid before paint: " +
			"5 to 6 days, taken as 6; in winter 1 to 2 days more, taken as 2: 8 days"},
		{WaitSpec{Membrane: &LiquidMembrane{Temperature: TenthsCelsius(100)}}, "liquid membrane at " +
			"10 °C, twice as long for each 10 °C under 20 °C: 2 days to the second coat " +
			"(24 hours at 20 °C), 4 days from then to covering (48 hours at 20 °C): 6 days"},
		{WaitSpec{Mortar: &Mortar{PlainCement, TenthsCelsius(50)}}, "masonry in plain cement mortar " +
			"before load: 4 days at 10 °C and over; at 5 °C cement is slower: 5.158 days, rounded " +
			"up to 5.5 days"},
	}
	for _, c := range cases {
		if w, err := c.spec.Wait(); err != nil || w.Rule != c.want {
			t.Errorf("%q, %v", w.Rule, err)
		}
	}
}

func TestPlasterWarnsAndRefuses(t *testing.T) {
	frost, cold, cool := TenthsCelsius(-1), TenthsCelsius(49), TenthsCelsius(50)
	cases := []struct {
		spec WaitSpec
		want string // in the warnings or the error
		no   string // not in them
	}{
		{WaitSpec{Skim: &Skim{Background: OnBoard, Temperature: cold}}, "do not plaster", ""},
		{WaitSpec{Skim: &Skim{Background: OnBoard, Temperature: cool}}, "", "do not plaster"},
		{WaitSpec{Skim: &Skim{Background: OnBoard, Temperature: frost}}, "frost", ""},
		{WaitSpec{Skim: &Skim{}}, "background is missing; write board or solid", ""},
		{WaitSpec{Skim: &Skim{Background: OnBoard, Season: 3}}, "season is missing", ""},
		{WaitSpec{Adhesive: &BoardAdhesive{cold}}, "stick boards", ""},
		{WaitSpec{Adhesive: &BoardAdhesive{frost}}, "frost", ""},
		{WaitSpec{Membrane: &LiquidMembrane{cold, 0}}, "warm the floor", ""},
		{WaitSpec{Membrane: &LiquidMembrane{cool, 0}}, "how late the second coat", "warm the floor"},
		{WaitSpec{Membrane: &LiquidMembrane{frost, 0}}, "frost", ""},
		{WaitSpec{Membrane: &LiquidMembrane{0, 0}}, "temperature is missing", ""},
		{WaitSpec{Membrane: &LiquidMembrane{cool, 3}}, "until is missing", ""},
		{WaitSpec{Mortar: &Mortar{PlainCement, cold}}, "below 3 °C and falling", ""},
		{WaitSpec{Mortar: &Mortar{PlainCement, cool}}, "", "below 3 °C"},
		{WaitSpec{Mortar: &Mortar{PlainCement, frost}}, "frost", ""},
		{WaitSpec{Mortar: &Mortar{}}, "cement is missing; write plain or blended", ""},
	}
	for _, c := range cases {
		w, err := c.spec.Wait()
		said := strings.Join(w.Warnings, "; ")
		if err != nil {
			said = err.Error()
		}
		if !strings.Contains(said, c.want) || c.no != "" && strings.Contains(said, c.no) {
			t.Errorf("says %q, want %q and not %q", said, c.want, c.no)
		}
	}
}

// TestColdSlowsPlasterTrades: colder is never shorter for membrane and mortar.
func TestColdSlowsPlasterTrades(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		warm := drawCelsius(t, "warm")
		cold := min(warm, drawCelsius(t, "cold"))
		until := MembraneStep(rapid.Uint8Range(0, 2).Draw(t, "until"))
		cement := MortarCement(rapid.Uint8Range(1, 2).Draw(t, "cement"))
		for _, pair := range [][2]WaitSpec{
			{{Membrane: &LiquidMembrane{warm, until}}, {Membrane: &LiquidMembrane{cold, until}}},
			{{Mortar: &Mortar{cement, warm}}, {Mortar: &Mortar{cement, cold}}},
			{{Mortar: &Mortar{Cement: cement}}, {Mortar: &Mortar{cement, cold}}},
		} {
			short, err := pair[0].Wait()
			long, errLong := pair[1].Wait()
			if err != nil || errLong != nil || long.Length < short.Length {
				t.Fatalf("%s at %s °C, %s at %s °C", short.Length, warm, long.Length, cold)
			}
		}
	})
}

// TestMembraneNeverUnderTheCurve: half the rate for each 10 °C less, as a
// curve, is never longer than what is given, and by two days at most.
func TestMembraneNeverUnderTheCurve(t *testing.T) {
	for tenths := 0; tenths <= 400; tenths++ {
		sum, err := LiquidMembrane{Temperature: TenthsCelsius(tenths)}.Sum()
		if err != nil {
			t.Fatal(err)
		}
		slower := max(1, math.Exp2(float64(200-tenths)/100))
		second, covering := 2*slower, 4*slower // half-days
		if over := float64(sum.SecondCoat) - second; over < -1e-9 || over > 2 {
			t.Errorf("second coat at %d: %d, curve %v", tenths, sum.SecondCoat, second)
		}
		if over := float64(sum.Covering) - covering; over < -1e-9 || over > 4 {
			t.Errorf("covering at %d: %d, curve %v", tenths, sum.Covering, covering)
		}
		if sum.Length != sum.SecondCoat+sum.Covering {
			t.Errorf("%+v does not add up", sum)
		}
	}
}
