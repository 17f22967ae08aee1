package schedule

import (
	"errors"
	"fmt"
	"strings"
)

// Millimetres is a thickness. The zero Millimetres means "not set".
type Millimetres int32

// String gives "65mm"; "" when not set.
func (m Millimetres) String() string {
	if m == 0 {
		return ""
	}
	return fmt.Sprintf("%dmm", m)
}

// MarshalText prints "65mm".
func (m Millimetres) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads "65mm", "65 mm" or "65": whole millimetres, 1 to 999999.
func (m *Millimetres) UnmarshalText(text []byte) error {
	number, unit := strings.CutSuffix(string(text), "mm")
	if unit {
		number = strings.TrimRight(number, " ")
	}
	n, ok := parseDecimal(number, 0)
	if !ok || n < 1 || number[0] == '0' {
		return fmt.Errorf("%q is not a thickness; write whole millimetres as 65mm", text)
	}
	*m = Millimetres(n)
	return nil
}

// ScreedType is what a screed is made of.
type ScreedType uint8

// The types of screed.
const (
	SandCement ScreedType = iota + 1
	CalciumSulfate
)

var screedTypes = []string{"sand-cement", "calcium-sulfate"}

// String gives "sand-cement" or "calcium-sulfate"; "" when not set.
func (t ScreedType) String() string { return spell(screedTypes, t) }

// MarshalText prints the type.
func (t ScreedType) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads "sand-cement" or "calcium-sulfate".
func (t *ScreedType) UnmarshalText(text []byte) error {
	return choose(t, "a type of screed", screedTypes, text)
}

// ScreedBed is what a screed lies on: bonded to the slab, unbonded on a
// membrane, floating on insulation.
type ScreedBed uint8

// The beds of a screed.
const (
	Bonded ScreedBed = iota + 1
	Unbonded
	Floating
)

var screedBeds = []string{"bonded", "unbonded", "floating"}

// String gives "bonded", "unbonded" or "floating"; "" when not set.
func (b ScreedBed) String() string { return spell(screedBeds, b) }

// MarshalText prints the bed.
func (b ScreedBed) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText reads "bonded", "unbonded" or "floating".
func (b *ScreedBed) UnmarshalText(text []byte) error {
	return choose(b, "a bed for screed", screedBeds, text)
}

// Screed is the wait from laying a screed until it is dry enough to cover.
// Thickness is 10 to 150 mm.
type Screed struct {
	Type        ScreedType  `form:"type"`
	Thickness   Millimetres `form:"thickness"`
	Bed         ScreedBed   `form:"bed,optional"`
	Temperature Celsius     `form:"temperature,optional"`
}

// ScreedSum is the wait for a screed with its parts, in whole days: TotalDays
// is CureDays and then DryDays.
type ScreedSum struct {
	Wait
	CureDays, DryDays, TotalDays int
}

// screedRule holds what one type of screed goes by.
type screedRule struct {
	cure     int            // days before drying starts
	kept     string         // how it is kept meanwhile
	even     Millimetres    // dries at 1 day a mm up to here, at 2 days a mm above
	long     Millimetres    // above this the drying is uncertain
	why      string         // and why
	least    [3]Millimetres // least thickness by bed
	leastWhy string         // where those come from
	source   string
	sure     string
}

func (t ScreedType) rule() screedRule {
	if t == CalciumSulfate {
		return screedRule{
			cure: 3, kept: "kept from draughts and at 5 °C or more",
			even: 40, long: 60, why: "no figure was found above 60 mm",
			least:    [3]Millimetres{25, 30, 35},
			leastWhy: "BS 8204-7, from memory",
			source: "EN 1264-4 for the first 3 days; BS 8204-7 practice for drying, at 20 °C " +
				"and 65% humidity or less",
			sure: "1 day a mm to 40 mm and 2 days a mm above is published by several screeders " +
				"(50 mm: 60 days); the first 3 days are EN 1264-4's least and are added on top " +
				"to be safe; " + screedTest,
		}
	}
	return screedRule{
		cure: 7, kept: "under sheet",
		even: 50, long: 75, why: "a 150 mm slab is said to take over a year (trade page)",
		least:    [3]Millimetres{25, 50, 65},
		leastWhy: "BS 8204-1, read in a trade summary",
		source: "BS 8204-1, from memory, for 7 days under sheet (Concrete Society note: 4 at " +
			"least, better 7); BS 8204-1 and BS 8203 for the first 50 mm; " +
			"2 days a mm above is common practice, no published source",
		sure: "sheet and first 50 mm sure; above 50 mm less so, as the standard only says that " +
			"each mm takes longer; " + screedTest,
	}
}

const screedTest = "planning figure: the test on site (hygrometer) decides"

// Wait gives the wait.
func (s Screed) Wait() (Wait, error) {
	sum, err := s.Sum()
	return sum.Wait, err
}

// Sum works out the wait and its parts.
func (s Screed) Sum() (ScreedSum, error) {
	if err := s.check(); err != nil {
		return ScreedSum{}, err
	}
	return s.sum(s.Type.rule()), nil
}

// SumFrom works out the wait for a screed laid at start when the temperature
// changes from day to day; s.Temperature is not used. The cure is counted by
// equivalent age (EN 1992-1-1 eq. B.10), so that at 20 °C it is what Sum gives;
// drying keeps the rule, which knows no temperature.
func (s Screed) SumFrom(start Instant, air func(Day) Celsius) (ScreedSum, error) {
	s.Temperature = air(start.Day())
	if err := s.check(); err != nil {
		return ScreedSum{}, err
	}
	rule := s.Type.rule()
	days, err := walkAge(float64(rule.cure)*TenthsCelsius(200).pace(), start, air)
	if err != nil {
		return ScreedSum{}, err
	}
	at20 := rule.cure
	rule.cure = int(millidays(days)+999) / 1000
	if rule.cure != at20 {
		rule.kept += fmt.Sprintf(" (%d at 20 °C, counted day by day at the temperatures of the season)", at20)
		rule.source += "; EN 1992-1-1 Annex B eq. B.10 for the cure in the cold"
	}
	return s.sum(rule), nil
}

// sum is the wait by a rule.
func (s Screed) sum(rule screedRule) ScreedSum {
	first := min(s.Thickness, rule.even)
	other := s.Thickness - first
	sum := ScreedSum{CureDays: rule.cure, DryDays: int(first + 2*other)}
	sum.TotalDays = sum.CureDays + sum.DryDays
	drying := fmt.Sprintf("%d days at 1 day a mm", first)
	if other > 0 {
		drying = fmt.Sprintf("%d days for the first %d mm at 1 day a mm and %d days for the "+
			"other %d mm at 2 days a mm", first, first, 2*other, other)
	}
	sum.Wait = Wait{
		Length: Days(sum.TotalDays),
		Rule: fmt.Sprintf("%d mm %s: %d days %s, then %s: %d days", s.Thickness, s.Type,
			rule.cure, rule.kept, drying, sum.TotalDays),
		Source:   rule.source,
		Sure:     rule.sure,
		Warnings: append(s.thicknessWarnings(rule), s.coldWarnings()...),
	}
	return sum
}

func (s Screed) check() error {
	if err := need("type", screedTypes, s.Type); err != nil {
		return err
	}
	switch {
	case s.Thickness == 0:
		return errors.New("thickness is missing; write whole millimetres as 65mm")
	case s.Thickness < 10 || s.Thickness > 150:
		return fmt.Errorf("a screed of %d mm is outside the rule, which is for 10 to 150 mm; "+
			"check the thickness", s.Thickness)
	}
	if err := allow("bed", screedBeds, s.Bed); err != nil {
		return err
	}
	return checkPlacing("screed", s.Temperature)
}

func (s Screed) thicknessWarnings(rule screedRule) []string {
	var warnings []string
	warn := func(format string, args ...any) {
		warnings = append(warnings, fmt.Sprintf(format, args...))
	}
	if s.Bed != 0 && s.Thickness < rule.least[s.Bed-1] {
		warn("%d mm is thin: %s %s screed wants %d mm or more (%s)", s.Thickness,
			s.Bed, s.Type, rule.least[s.Bed-1], rule.leastWhy)
	}
	if s.Bed == 0 && s.Thickness < rule.least[0] {
		warn("%d mm is thin: %s screed wants %d mm even when bonded, and more on a membrane "+
			"or insulation (%s)", s.Thickness, s.Type, rule.least[0], rule.leastWhy)
	}
	if s.Type == SandCement {
		switch {
		case s.Bed == Bonded && s.Thickness > 40:
			warn("bonded screed is for 25 to 40 mm: ask before you lay it thicker (%s)",
				rule.leastWhy)
		case s.Bed == Unbonded && s.Thickness >= 50 && s.Thickness < 70:
			warn("ask for 70 mm, so that no spot comes out under 50 mm (%s)", rule.leastWhy)
		case s.Bed == Floating && s.Thickness >= 65 && s.Thickness < 75:
			warn("under 75 mm is for light loads, as in a house; heavier loads want 75 mm (%s)",
				rule.leastWhy)
		}
	}
	if s.Thickness > rule.long {
		warn("over %d mm drying runs long and is hard to tell: %s; test before you cover",
			rule.long, rule.why)
	}
	return warnings
}

func (s Screed) coldWarnings() []string {
	switch {
	case s.Temperature == 0:
		return nil
	case s.Temperature < placingLimit:
		return []string{"under 5 °C: do not lay screed in the cold; keep screed and room at " +
			"5 °C or more for 3 days at least, and take up screed that froze " +
			"(EN 1264-4; NHBC 9.3.4)"}
	case s.Type == CalciumSulfate && s.Temperature < TenthsCelsius(200):
		return []string{fmt.Sprintf("the drying figures are for 20 °C: at %s °C it takes longer "+
			"(BS 8204-7 practice)", s.Temperature)}
	}
	return nil
}
