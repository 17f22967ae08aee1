package schedule

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// CementClass is how fast a cement gains strength (EN 1992-1-1 3.1.2(6)).
type CementClass uint8

// The classes: rapid (CEM 42.5 R, 52.5), normal (32.5 R, 42.5 N), slow (32.5 N).
const (
	ClassR CementClass = iota + 1
	ClassN
	ClassS
)

var cementClasses = []string{"R", "N", "S"}

// String gives "R", "N" or "S"; "" when not set.
func (c CementClass) String() string { return spell(cementClasses, c) }

// MarshalText prints the class.
func (c CementClass) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads "R", "N" or "S".
func (c *CementClass) UnmarshalText(text []byte) error {
	return choose(c, "a cement class", cementClasses, text)
}

// s is the coefficient of EN 1992-1-1 eq. 3.2.
func (c CementClass) s() float64 {
	switch c {
	case ClassR:
		return 0.20
	case ClassN:
		return 0.25
	}
	return 0.38
}

// Fraction is a part of the 28-day strength in thousandths, 1 to 1000.
type Fraction uint16

const wholeStrength Fraction = 1000

// String gives the part of one, "0.7"; "" when not set.
func (f Fraction) String() string {
	if f == 0 {
		return ""
	}
	return formatDecimal(int(f), 3)
}

// MarshalText prints the part of one: "0.7".
func (f Fraction) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// UnmarshalText reads a part of one, "0.7", or per cent, "70%" or "66.7 %".
func (f *Fraction) UnmarshalText(text []byte) error {
	number, percent := strings.CutSuffix(string(text), "%")
	places := 3
	if percent {
		number, places = strings.TrimRight(number, " "), 1
	}
	n, ok := parseDecimal(number, places)
	if !ok || n < 1 || n > int(wholeStrength) {
		return fmt.Errorf("%q is not a part of the 28-day strength; write it as 0.7 or 70%%, "+
			"over nothing and up to 1 or 100%%", text)
	}
	*f = Fraction(n)
	return nil
}

// Millidays is a length of time in thousandths of a day.
type Millidays int64

// millidays rounds to the nearest thousandth (43 seconds apart from the
// physics), which also takes the noise off a sum that should be 7.000 days.
func millidays(days float64) Millidays { return Millidays(math.Round(days * 1000)) }

// Halves rounds up to half-days.
func (m Millidays) Halves() Halves { return Halves((m + 499) / 500) }

// String gives the days with three decimals: "7.717".
func (m Millidays) String() string {
	sign := ""
	if m < 0 {
		sign, m = "-", -m
	}
	return fmt.Sprintf("%s%d.%03d", sign, m/1000, m%1000)
}

// MarshalJSON prints the days as a number with three decimals.
func (m Millidays) MarshalJSON() ([]byte, error) { return []byte(m.String()), nil }

// Concrete is the wait until concrete has a fraction of its 28-day strength:
// EN 1992-1-1 3.1.2(6), its age at another temperature by Annex B eq. B.10.
type Concrete struct {
	Class       CementClass `form:"class"`
	Temperature Celsius     `form:"temperature,optional"` // none where it is counted day by day
	Fraction    Fraction    `form:"fraction"`
}

// ConcreteSum is the wait for concrete with its exact length.
type ConcreteSum struct {
	Wait
	Age  Millidays // what it takes at the pace of 20 °C: the equivalent age
	Days Millidays // what it takes at the temperature given
}

const (
	concreteSource = "EN 1992-1-1 3.1.2(6) eq. 3.2 for the strength curve; " +
		"Annex B eq. B.10 for the temperature"
	concreteSure = "curve and class figures were read in published copies, the temperature " +
		"formula in an open code library; planning figure: the test on site (cube) decides"
	earlyAge Millidays = 3000
)

// Wait gives the wait.
func (c Concrete) Wait() (Wait, error) {
	sum, err := c.Sum()
	return sum.Wait, err
}

// Sum works out the wait at one temperature, from 0 to 40 °C.
func (c Concrete) Sum() (ConcreteSum, error) {
	if c.Temperature == 0 {
		return ConcreteSum{}, errors.New("temperature is missing; write degrees C as 10 or 7.5")
	}
	if err := c.check(); err != nil {
		return ConcreteSum{}, err
	}
	if err := checkPlacing("concrete", c.Temperature); err != nil {
		return ConcreteSum{}, err
	}
	age, pace := c.age(), c.Temperature.pace()
	how := fmt.Sprintf("at %s °C concrete gains at %.3f of that pace", c.Temperature, pace)
	return c.answer(age, age/pace, how, c.Temperature), nil
}

// SumFrom works out the wait for concrete placed at start when the
// temperature changes from day to day; c.Temperature is not used. At a
// constant temperature it gives what Sum gives.
func (c Concrete) SumFrom(start Instant, air func(Day) Celsius) (ConcreteSum, error) {
	if err := c.check(); err != nil {
		return ConcreteSum{}, err
	}
	age := c.age()
	days, err := walkAge(age, start, air)
	if err != nil {
		return ConcreteSum{}, err
	}
	how := fmt.Sprintf("placed %s and counted day by day at the temperatures of the season",
		start.Day().Long())
	return c.answer(age, days, how, air(start.Day())), nil
}

func (c Concrete) check() error {
	if err := need("class", cementClasses, c.Class); err != nil {
		return err
	}
	if c.Fraction < 1 || c.Fraction > wholeStrength {
		return errors.New("fraction is missing or over the whole; write 0.7 or 70%")
	}
	return nil
}

// age is the age at 20 °C, in days: eq. 3.2 turned round,
// t = 28 / (1 - ln p / s)².
func (c Concrete) age() float64 { return strengthAge(c.Class.s(), float64(c.Fraction)/1000) }

func strengthAge(s, p float64) float64 {
	r := 1 - math.Log(p)/s
	return 28 / (r * r)
}

// answer puts the sum in words.
func (c Concrete) answer(age, days float64, how string, placed Celsius) ConcreteSum {
	sum := ConcreteSum{Age: millidays(age), Days: millidays(days)}
	sum.Wait = Wait{
		Length: sum.Days.Halves(),
		Rule: fmt.Sprintf("class %s cement to %s%% of its 28-day strength: %s days at 20 °C; "+
			"%s: %s days, rounded up to %s", c.Class, formatDecimal(int(c.Fraction), 1),
			sum.Age, how, sum.Days, spoken(sum.Days.Halves())),
		Source: concreteSource,
		Sure:   concreteSure,
	}
	if min(sum.Age, sum.Days) <= earlyAge {
		sum.Warnings = append(sum.Warnings, "up to 3 days old, only tests can tell the strength: "+
			"crush a cube before you load it (EN 1992-1-1 3.1.2(5), from memory)")
	}
	if placed < placingLimit {
		sum.Warnings = append(sum.Warnings, "under 5 °C: the concrete must be 5 °C or more when "+
			"it goes in, and no part of it may freeze until it has 5 MPa "+
			"(EN 13670 8.4 and 8.5, BS EN 206, from memory)")
	}
	return sum
}

// TemperatureSpan is a stretch of time at one temperature.
type TemperatureSpan struct {
	Length      Millidays
	Temperature Celsius
}

// EquivalentAge is the age at 20 °C of concrete with that history: the sum of
// k(T) × length (EN 1992-1-1 eq. B.10), for 0 to 40 °C.
func EquivalentAge(history []TemperatureSpan) (Millidays, error) {
	const century = 36525 * 1000
	age := 0.0
	for i, span := range history {
		if span.Length < 0 || span.Length > century {
			return 0, fmt.Errorf("stretch %d lasts %s days; give 0 days or more, "+
				"and less than a hundred years", i+1, span.Length)
		}
		if span.Temperature < freezing || span.Temperature > hottest {
			return 0, fmt.Errorf("stretch %d has no temperature from 0 to 40 °C; "+
				"the rule of Annex B is not used outside that", i+1)
		}
		age += span.Temperature.pace() * float64(span.Length) / 1000
	}
	return millidays(age), nil
}

// walkAge is the time in days from start until concrete has gained that age
// (days at 20 °C), by half-days. Half-days of equal temperature are taken
// together, so that a constant temperature gives age / k(T) to the last bit.
func walkAge(age float64, start Instant, air func(Day) Celsius) (float64, error) {
	if !start.Valid() {
		return 0, &HorizonError{What: "the day the concrete goes in", Stage: -1}
	}
	var gained, passed, run float64 // age and days before this run; days in it
	var now Celsius
	for at := start; at < LastInstant; at++ {
		t := air(at.Day())
		if t < freezing || t > hottest {
			return 0, fmt.Errorf("%s has no temperature from 0 to 40 °C; "+
				"the rule of Annex B is not used outside that", at.Day())
		}
		if t != now {
			if run > 0 {
				gained, passed = gained+run*now.pace(), passed+run
			}
			run, now = 0, t
		}
		run += 0.5
		if gained+run*now.pace() >= age {
			return passed + (age-gained)/now.pace(), nil
		}
	}
	return 0, &HorizonError{What: "the strength of concrete placed " + start.String(), Stage: -1}
}
