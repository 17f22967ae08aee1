package schedule

import (
	"fmt"
	"math"
	"strings"
)

// Celsius is a temperature, kept in tenths of a degree above -273 °C (the
// zero of EN 1992-1-1 Annex B), so that the zero Celsius means "not set".
type Celsius int16

// tenthsAtZero is 0 °C.
const tenthsAtZero = 2730

// Limits on site.
const (
	freezing     Celsius = tenthsAtZero
	placingLimit Celsius = tenthsAtZero + 50  // EN 13670 8.4, BS EN 206: from memory
	hottest      Celsius = tenthsAtZero + 400 // over 40 °C the rules here are not to be trusted
)

// TenthsCelsius makes a Celsius of tenths of a degree: 75 is 7.5 °C. Outside
// -50 to 100 °C it gives the zero Celsius.
func TenthsCelsius(tenths int) Celsius {
	if tenths < -500 || tenths > 1000 {
		return 0
	}
	return Celsius(tenthsAtZero + tenths)
}

// Tenths gives the temperature in tenths of a degree above 0 °C.
func (c Celsius) Tenths() int { return int(c) - tenthsAtZero }

// String gives the degrees without the unit, "7.5"; "" when not set.
func (c Celsius) String() string {
	if c == 0 {
		return ""
	}
	return formatDecimal(c.Tenths(), 1)
}

// MarshalText prints the degrees: "7.5".
func (c Celsius) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads "10", "7.5", "-3" or "7.5 °C": tenths at the finest.
func (c *Celsius) UnmarshalText(text []byte) error {
	number := strings.TrimSuffix(strings.TrimSuffix(string(text), "C"), "°")
	if len(number) < len(text) {
		number = strings.TrimRight(number, " ")
	}
	number, below := strings.CutPrefix(number, "-")
	tenths, ok := parseDecimal(number, 1)
	if below {
		tenths = -tenths
	}
	read := TenthsCelsius(tenths)
	if !ok || read == 0 {
		return fmt.Errorf("%q is not a temperature; write degrees C as 10 or 7.5", text)
	}
	*c = read
	return nil
}

// pace is how fast concrete ages at this temperature, against 20 °C: k(T) of
// EN 1992-1-1 eq. B.10 as written, so 0.998 and not 1 at 20 °C itself.
func (c Celsius) pace() float64 { return math.Exp(13.65 - 4000/(float64(c)/10)) }

// checkPlacing refuses to place something wet in frost or great heat. A
// temperature that is not set passes.
func checkPlacing(what string, at Celsius) error {
	switch {
	case at == 0:
		return nil
	case at < freezing:
		return fmt.Errorf("%s °C is frost, no weather for %s; heat the place or wait, "+
			"and give 0 °C or more", at, what)
	case at > hottest:
		return fmt.Errorf("%s °C is too hot for %s: the rule is for 0 to 40 °C; "+
			"shade the work or ask the engineer", at, what)
	}
	return nil
}

// MonthlyMeans holds a mean temperature for each month, 1 to 12; 0 is unused.
type MonthlyMeans [13]Celsius

// On gives the mean temperature of the month in which d falls.
func (m *MonthlyMeans) On(d Day) Celsius {
	_, month, _ := d.Date()
	return m[month]
}
