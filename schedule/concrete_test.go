package schedule

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestStrengthTables holds the curve, its inverse and k(T) against the tables:
// the last printed digit, half of it either way.
func TestStrengthTables(t *testing.T) {
	counts := map[string]int{}
	for _, row := range loadWaits(t, "strength.csv") {
		input, want := row.number(t, "input"), row.number(t, "value")
		var class CementClass
		readText(t, row["class"], &class)
		counts[row["kind"]]++
		got, tolerance := 0.0, 0.00005001
		switch row["kind"] {
		case "beta_cc": // the age at which the curve reaches what is tabled for it
			got, tolerance = strengthCurve(class.s(), input), 0.0000005001
			if back := strengthAge(class.s(), want); math.Abs(back-input) > input*0.0005 {
				t.Errorf("class %s reaches %v at %v d, want %v", class, want, back, input)
			}
		case "t_for_fraction":
			got = strengthAge(class.s(), input)
		case "k_T_B10":
			got, tolerance = TenthsCelsius(int(math.Round(input*10))).pace(), 0.0000005001
		default:
			t.Fatalf("unknown kind %q", row["kind"])
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s %s %v: %v, want %v", row["kind"], class, input, got, want)
		}
	}
	if counts["beta_cc"] != 36 || counts["t_for_fraction"] != 36 || counts["k_T_B10"] != 13 {
		t.Errorf("rows missing: %v", counts)
	}
}

// strengthCurve is EN 1992-1-1 eq. 3.2 the right way round.
func strengthCurve(s, age float64) float64 { return math.Exp(s * (1 - math.Sqrt(28/age))) }

func TestConcreteDays(t *testing.T) {
	for _, row := range loadWaits(t, "concrete-days.csv") {
		var c Concrete
		readText(t, row["class"], &c.Class)
		readText(t, row["temperature"], &c.Temperature)
		readText(t, row["fraction"], &c.Fraction)
		sum, err := c.Sum()
		if err != nil {
			t.Fatal(err)
		}
		if sum.Days.String() != row["days"] {
			t.Errorf("%+v: %s days, want %s", c, sum.Days, row["days"])
		}
		if want := Halves(math.Ceil(row.number(t, "days") * 2)); sum.Length != want {
			t.Errorf("%+v: %d half-days, want %d", c, sum.Length, want)
		}
	}
}

func TestConcreteInWords(t *testing.T) {
	sum, err := Concrete{ClassN, TenthsCelsius(100), 700}.Sum()
	if err != nil {
		t.Fatal(err)
	}
	want := "class N cement to 70% of its 28-day strength: 4.755 days at 20 °C; at 10 °C " +
		"concrete gains at 0.616 of that pace: 7.717 days, rounded up to 8 days"
	if sum.Rule != want || sum.Length != 16 || len(sum.Warnings) != 0 {
		t.Errorf("%d, %q, %q", sum.Length, sum.Rule, sum.Warnings)
	}
	out, err := json.Marshal(sum.Days)
	if err != nil || string(out) != "7.717" {
		t.Errorf("%s, %v", out, err)
	}
}

func TestConcreteWarnsAndRefuses(t *testing.T) {
	const cube, cold = "crush a cube", "under 5 °C"
	cases := []struct {
		c    Concrete
		want string // in the warnings or the error; "" for neither
	}{
		{Concrete{ClassN, TenthsCelsius(50), 700}, ""},
		{Concrete{ClassN, TenthsCelsius(49), 700}, cold},
		{Concrete{ClassN, TenthsCelsius(0), 700}, cold},
		{Concrete{ClassN, TenthsCelsius(400), 1000}, ""},
		{Concrete{ClassN, TenthsCelsius(200), 598}, cube}, // 2.998 days at 20 °C
		{Concrete{ClassN, TenthsCelsius(50), 599}, ""},    // 3.01 days at 20 °C, 6.3 at 5 °C
		{Concrete{ClassN, TenthsCelsius(400), 700}, cube}, // 1.99 days at 40 °C
		{Concrete{ClassN, TenthsCelsius(-1), 700}, "frost"},
		{Concrete{ClassN, TenthsCelsius(401), 700}, "too hot"},
		{Concrete{ClassN, 0, 700}, "temperature is missing"},
		{Concrete{0, TenthsCelsius(100), 700}, "class is missing; write R, N or S"},
		{Concrete{9, TenthsCelsius(100), 700}, "class is missing"},
		{Concrete{ClassN, TenthsCelsius(100), 0}, "fraction is missing"},
		{Concrete{ClassN, TenthsCelsius(100), 1001}, "fraction is missing or over"},
	}
	for _, c := range cases {
		w, err := c.c.Wait()
		said := strings.Join(w.Warnings, "; ")
		if err != nil {
			said = err.Error()
		}
		if !strings.Contains(said, c.want) || (c.want == "") != (said == "") {
			t.Errorf("%+v says %q, want %q", c.c, said, c.want)
		}
	}
}

// TestRoundingUpHasNoNoise: a sum of whole half-days in floats stays whole.
func TestRoundingUpHasNoNoise(t *testing.T) {
	tenth := 0.0
	for range 70 {
		tenth += 0.1 // comes to a hair under or over 7
	}
	cases := []struct {
		days  float64
		print string
		want  Halves
	}{
		{7, "7.000", 14}, {tenth, "7.000", 14}, {math.Nextafter(7, 8), "7.000", 14},
		{math.Nextafter(7, 6), "7.000", 14}, {7.001, "7.001", 15}, {7.4996, "7.500", 15},
		{7.499, "7.499", 15}, {0.5, "0.500", 1}, {0.022, "0.022", 1}, {0, "0.000", 0},
	}
	for _, c := range cases {
		m := millidays(c.days)
		if m.String() != c.print || m.Halves() != c.want {
			t.Errorf("%v: %s and %d, want %s and %d", c.days, m, m.Halves(), c.print, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // up, and by less than a half-day
		m := Millidays(rapid.Int64Range(0, 1e7).Draw(t, "m"))
		if over := Millidays(m.Halves())*500 - m; over < 0 || over >= 500 {
			t.Fatalf("%s rounds to %d", m, m.Halves())
		}
	})
}

// TestEquivalentAge holds the worked histories: the age to the thousandth that
// is kept, the exact ones to the fifth decimal too, and the strength then.
func TestEquivalentAge(t *testing.T) {
	for _, row := range loadWaits(t, "maturity.csv") {
		var history []TemperatureSpan
		exact := 0.0
		for span := range strings.SplitSeq(row["history"], "; ") {
			var days, degrees float64
			if _, err := fmt.Sscanf(span, "%g d at %g", &days, &degrees); err != nil {
				t.Fatal(err)
			}
			at := TenthsCelsius(int(degrees * 10))
			history = append(history, TemperatureSpan{millidays(days), at})
			exact += days * at.pace()
		}
		age, err := EquivalentAge(history)
		if err != nil {
			t.Fatal(err)
		}
		want, tolerance := row.number(t, "age"), 0.0000051
		if len(row["age"]) < 7 { // tabled to a hundredth of a day
			tolerance = 0.0121 // of the calendar days, by k up to 2.39
		}
		if math.Abs(exact-want) > tolerance || math.Abs(float64(age)/1000-exact) > 0.00051 {
			t.Errorf("%s: %s (%v), want %v", row["history"], age, exact, want)
		}
		for _, class := range []CementClass{ClassR, ClassN, ClassS} {
			if row["beta_"+class.String()] == "" {
				continue
			}
			beta := row.number(t, "beta_"+class.String())
			if got := strengthCurve(class.s(), exact); math.Abs(got-beta) > 0.0000051 {
				t.Errorf("%s: class %s at %v, want %v", row["history"], class, got, beta)
			}
		}
	}
}

func TestEquivalentAgeRefuses(t *testing.T) {
	ten := TenthsCelsius(100)
	for _, span := range []TemperatureSpan{
		{-1, ten}, {36525001, ten}, {1000, 0}, {1000, TenthsCelsius(-1)}, {1000, TenthsCelsius(401)},
	} {
		if age, err := EquivalentAge([]TemperatureSpan{{1000, ten}, span}); err == nil ||
			!strings.Contains(err.Error(), "stretch 2") {
			t.Errorf("%+v gives %s, %v", span, age, err)
		}
	}
}

func drawCelsius(t *rapid.T, name string) Celsius {
	return TenthsCelsius(rapid.IntRange(0, 400).Draw(t, name))
}

func drawConcrete(t *rapid.T) Concrete {
	return Concrete{
		Class:       CementClass(rapid.Uint8Range(1, 3).Draw(t, "class")),
		Temperature: drawCelsius(t, "temperature"),
		Fraction:    Fraction(rapid.Uint16Range(1, 1000).Draw(t, "fraction")),
	}
}

// TestConcreteIsMonotonic: colder, more strength or a slower cement is never sooner.
func TestConcreteIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawConcrete(t)
		base, err := c.Sum()
		if err != nil {
			t.Fatal(err)
		}
		colder, more, slower := c, c, c
		colder.Temperature = min(c.Temperature, drawCelsius(t, "colder"))
		more.Fraction = max(c.Fraction, Fraction(rapid.Uint16Range(1, 1000).Draw(t, "more")))
		slower.Class = max(c.Class, CementClass(rapid.Uint8Range(1, 3).Draw(t, "slower")))
		for _, other := range []Concrete{colder, more, slower} {
			sum, err := other.Sum()
			if err != nil || sum.Days < base.Days || sum.Length < base.Length {
				t.Fatalf("%+v: %s, but %+v: %s (%v)", c, base.Days, other, sum.Days, err)
			}
		}
	})
}

// TestWalkAtConstantTemperature: the walk day by day gives the closed form, exactly.
func TestWalkAtConstantTemperature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawConcrete(t)
		start := Instant(rapid.Int32Range(int32(FirstInstant), int32(LastInstant)-160).Draw(t, "start"))
		closed, err := c.Sum()
		if err != nil {
			t.Fatal(err)
		}
		means := &MonthlyMeans{}
		for m := 1; m <= 12; m++ {
			means[m] = c.Temperature
		}
		walked, err := c.SumFrom(start, means.On)
		if err != nil || walked.Days != closed.Days || walked.Length != closed.Length ||
			walked.Age != closed.Age {
			t.Fatalf("%+v from %s: %s, want %s (%v)", c, start, walked.Days, closed.Days, err)
		}
	})
}

// TestWalkThroughTheYear: over changing temperatures the history walked has the
// age that was wanted, and colder weather never makes it shorter.
func TestWalkThroughTheYear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawConcrete(t)
		start := Instant(rapid.Int32Range(int32(FirstInstant), int32(LastInstant)-160).Draw(t, "start"))
		week := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Celsius {
			return drawCelsius(t, "day")
		}), 1, 9).Draw(t, "week")
		air := func(d Day) Celsius { return week[int(d)%len(week)] }
		sum, err := c.SumFrom(start, air)
		if err != nil {
			t.Fatal(err)
		}
		var history []TemperatureSpan
		left := sum.Days
		for at := start; left > 0; at++ {
			step := min(left, 500)
			history = append(history, TemperatureSpan{step, air(at.Day())})
			left -= step
		}
		age, err := EquivalentAge(history)
		if err != nil || age < sum.Age-2 || age > sum.Age+2 { // 3 roundings, by k up to 2.39
			t.Fatalf("%s days have an age of %s, want %s (%v)", sum.Days, age, sum.Age, err)
		}
		colder, err := c.SumFrom(start, func(d Day) Celsius { return max(freezing, air(d)-30) })
		if err != nil || colder.Days < sum.Days {
			t.Fatalf("%s, but 3 degrees colder %s (%v)", sum.Days, colder.Days, err)
		}
	})
}

// TestWalkByMonths: the mean changes from 5 to 10 °C at the turn of the month.
func TestWalkByMonths(t *testing.T) {
	means := &MonthlyMeans{2: TenthsCelsius(50), 3: TenthsCelsius(100)}
	c := Concrete{Class: ClassN, Fraction: 700}
	// Wants 4.75467 d at 20 °C. Fri 26 Feb pm to the end of 28 Feb is 2.5 d at
	// 0.477835; then (4.75467 - 1.19459) / 0.616143 = 5.77801 d more.
	sum, err := c.SumFrom(day(t, "2027-02-26").PM(), means.On)
	if err != nil || sum.Days != 8278 || sum.Length != 17 {
		t.Errorf("%s, %d, %v", sum.Days, sum.Length, err)
	}
	if !strings.Contains(sum.Rule, "placed Fri 26 Feb 2027 and counted day by day") {
		t.Error(sum.Rule)
	}
	if _, err := c.SumFrom(day(t, "2027-03-30").AM(), means.On); err == nil ||
		!strings.HasPrefix(err.Error(), "2027-04-01 has no temperature") {
		t.Error(err)
	}
	frost := func(d Day) Celsius { return TenthsCelsius(-1) }
	if _, err := c.SumFrom(day(t, "2027-03-30").AM(), frost); err == nil {
		t.Error("placed in frost")
	}
	ten := func(Day) Celsius { return TenthsCelsius(100) }
	for _, start := range []Instant{0, LastInstant + 1, LastInstant, LastDay.AM()} {
		var horizon *HorizonError
		if _, err := c.SumFrom(start, ten); !errors.As(err, &horizon) {
			t.Errorf("%s: %v", start, err)
		}
	}
}

func ExampleConcrete_Sum() {
	sum, err := Concrete{Class: ClassN, Temperature: TenthsCelsius(100), Fraction: 700}.Sum()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(sum.Days, sum.Length)
	// Output: 7.717 8d
}
