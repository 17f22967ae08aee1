package schedule

import (
	"errors"
	"fmt"
	"strings"
)

// StrengthDevelopment is how fast a concrete gains strength, as its delivery
// note says: the strength at 2 days over that at 28 days (EN 206).
type StrengthDevelopment uint8

// The developments: from 0.5, from 0.3, from 0.15, and under 0.15.
const (
	Rapid StrengthDevelopment = iota + 1
	Medium
	Slow
	VerySlow
)

var developments = []string{"rapid", "medium", "slow", "very-slow"}

// String gives "rapid", "medium", "slow" or "very-slow"; "" when not set.
func (d StrengthDevelopment) String() string { return spell(developments, d) }

// MarshalText prints the development.
func (d StrengthDevelopment) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads "rapid", "medium", "slow" or "very-slow".
func (d *StrengthDevelopment) UnmarshalText(text []byte) error {
	return choose(d, "a strength development", developments, text)
}

// CuringClass is a curing class of EN 13670, 1 to 4. When it is not set the
// table of DIN 1045-3 is used.
type CuringClass uint8

var curingClasses = []string{"1", "2", "3", "4"}

// String gives "1" to "4"; "" when not set.
func (c CuringClass) String() string { return spell(curingClasses, c) }

// MarshalText prints the class.
func (c CuringClass) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads "1" to "4".
func (c *CuringClass) UnmarshalText(text []byte) error {
	return choose(c, "a curing class", curingClasses, text)
}

// ColdSpell is time under 5 °C, in half-days.
type ColdSpell Halves

// longestSpell is more cold than any job can want.
const longestSpell = ColdSpell(2 * 365)

// String gives days: "2d", "0.5d".
func (c ColdSpell) String() string { return Halves(c).String() }

// MarshalText prints days: "2d".
func (c ColdSpell) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads days, "2d", "0.5d" or "2", up to a year.
func (c *ColdSpell) UnmarshalText(text []byte) error {
	tenths, ok := parseDecimal(strings.TrimSuffix(string(text), "d"), 1)
	if !ok || tenths%5 != 0 || tenths/5 > int(longestSpell) {
		return fmt.Errorf("%q is not a count of days; write 2d or 0.5d, up to 365d", text)
	}
	*c = ColdSpell(tenths / 5)
	return nil
}

// Curing is how long new concrete must at least be kept damp and covered.
// Temperature is that of its surface, or of the air, on the days at 5 °C and
// over; Cold is the time under 5 °C, which does not count and is added.
type Curing struct {
	Temperature Celsius             `form:"temperature"`
	Development StrengthDevelopment `form:"development"`
	Class       CuringClass         `form:"class,optional"`
	Cold        ColdSpell           `form:"cold,optional"`
}

// curingBand names the rows of the tables below and says where each begins.
type curingBand struct {
	from Celsius
	name string
}

var curingBands = [4]curingBand{
	{tenthsAtZero + 250, "25 °C and over"},
	{tenthsAtZero + 150, "15 to 25 °C"},
	{tenthsAtZero + 100, "10 to 15 °C"},
	{tenthsAtZero + 50, "5 to 10 °C"},
}

// curingDIN is the table of DIN 1045-3 (50% of f_ck; not for X0, XC1 and wear)
// in days: rows as curingBands, columns rapid to very slow. Read in three pages.
var curingDIN = [4][4]Halves{
	{2, 4, 4, 6},
	{2, 4, 8, 10},
	{4, 8, 14, 20},
	{6, 12, 20, 30},
}

// curingEN holds tables F.1 to F.3 of EN 13670:2009 (classes 2 to 4: 35%, 50%
// and 70% of f_ck) in half-days: rows as curingBands, columns rapid, medium, slow.
// From memory.
var curingEN = [3][4][3]Halves{
	{{2, 3, 5}, {2, 5, 10}, {3, 8, 16}, {4, 10, 22}},
	{{3, 5, 7}, {4, 8, 14}, {5, 14, 24}, {7, 18, 36}},
	{{6, 10, 12}, {10, 18, 24}, {14, 26, 42}, {18, 36, 60}},
}

// Wait gives the least curing time.
func (c Curing) Wait() (Wait, error) {
	row, err := c.check()
	if err != nil {
		return Wait{}, err
	}
	w := c.table(row)
	rule := fmt.Sprintf("keep damp and covered: %s strength development at %s °C (row %s), %s",
		c.Development, c.Temperature, curingBands[row].name, spoken(w.Length))
	if c.Cold > 0 {
		w.Length += Halves(c.Cold)
		rule += fmt.Sprintf(", and %s under 5 °C on top, which do not count: %s",
			spoken(Halves(c.Cold)), spoken(w.Length))
		w.Warnings = append(w.Warnings, "under 5 °C: cover against frost; no part of the concrete "+
			"may freeze until it has 5 MPa (EN 13670 8.5, from memory)")
	}
	w.Rule = rule
	return w, nil
}

// check refuses what no table answers and finds the row.
func (c Curing) check() (row int, err error) {
	if c.Temperature == 0 {
		return 0, errors.New("temperature is missing; write degrees C as 10 or 7.5")
	}
	if err := need("development", developments, c.Development); err != nil {
		return 0, err
	}
	if err := allow("class", curingClasses, c.Class); err != nil {
		return 0, err
	}
	if c.Class > 1 && c.Development == VerySlow {
		return 0, errors.New("the classes of EN 13670 have no column for very slow concrete; " +
			"leave class out, and DIN 1045-3 is used")
	}
	if c.Cold < 0 || c.Cold > longestSpell {
		return 0, errors.New("cold is out of range; write days as 2d, up to 365d")
	}
	if c.Temperature > hottest {
		return 0, checkPlacing("curing", c.Temperature)
	}
	for row, band := range curingBands {
		if c.Temperature >= band.from {
			return row, nil
		}
	}
	return 0, fmt.Errorf("at %s °C no day counts towards curing; give the temperature of the days "+
		"at 5 °C and over, and the days under it as cold", c.Temperature)
}

// table looks the row up and says how far the table is to be trusted.
func (c Curing) table(row int) Wait {
	const test = "; planning figure: the engineer or a strength test decides"
	switch c.Class {
	case 0:
		return Wait{
			Length: curingDIN[row][c.Development-1],
			Source: "DIN 1045-3, the German table to EN 13670 (to 50% of the strength; for " +
				"concrete that meets weather or damp)",
			Sure: "the table was read in three published pages" + test,
		}
	case 1:
		return Wait{
			Length: 1,
			Source: "EN 13670:2009 curing class 1, from memory: 12 hours, if it sets within " +
				"5 hours and stays at 5 °C or more",
			Sure: "from memory, fairly sure" + test,
		}
	}
	return Wait{
		Length: curingEN[c.Class-2][row][c.Development-1],
		Source: fmt.Sprintf("EN 13670:2009 table F.%d, curing class %s, from memory",
			c.Class-1, c.Class),
		Sure: "from memory: check against the standard" + test,
	}
}
