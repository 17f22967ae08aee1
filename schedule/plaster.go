package schedule

import (
	"cmp"
	"errors"
	"fmt"
)

// Background is what plaster is skimmed on.
type Background uint8

// The backgrounds: plasterboard; or undercoat, render and masonry.
const (
	OnBoard Background = iota + 1
	OnSolid
)

var backgrounds = []string{"board", "solid"}

// String gives "board" or "solid"; "" when not set.
func (b Background) String() string { return spell(backgrounds, b) }

// MarshalText prints the background.
func (b Background) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText reads "board" or "solid".
func (b *Background) UnmarshalText(text []byte) error {
	return choose(b, "a background for plaster", backgrounds, text)
}

// Season says whether a wait falls in winter. Not set is not winter.
type Season uint8

// The seasons that plaster knows.
const (
	Summer Season = iota + 1
	Winter
)

var seasons = []string{"summer", "winter"}

// String gives "summer" or "winter"; "" when not set.
func (s Season) String() string { return spell(seasons, s) }

// MarshalText prints the season.
func (s Season) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads "summer" or "winter".
func (s *Season) UnmarshalText(text []byte) error { return choose(s, "a season", seasons, text) }

const (
	gypsumCold = "under 5 °C: do not plaster or stick boards, nor on a frozen wall " +
		"(gypsum plaster practice, from memory)"
	practice = "common practice, no published source"
)

// gypsumWarnings warns of work in the cold.
func gypsumWarnings(at Celsius) []string {
	if at != 0 && at < placingLimit {
		return []string{gypsumCold}
	}
	return nil
}

// Skim is the wait from a skim coat of gypsum plaster to the first paint.
type Skim struct {
	Background  Background `form:"background"`
	Season      Season     `form:"season,optional"`
	Temperature Celsius    `form:"temperature,optional"`
}

// Wait gives the wait: the longer end of what plasterers publish.
func (s Skim) Wait() (Wait, error) {
	err := cmp.Or(need("background", backgrounds, s.Background),
		allow("season", seasons, s.Season), checkPlacing("plaster", s.Temperature))
	if err != nil {
		return Wait{}, err
	}
	days, usual := 3, "2 to 3"
	if s.Background == OnSolid {
		days, usual = 6, "5 to 6"
	}
	rule := fmt.Sprintf("skim on %s before paint: %s days, taken as %d", s.Background, usual, days)
	if s.Season == Winter {
		days += 2
		rule += fmt.Sprintf("; in winter 1 to 2 days more, taken as 2: %d days", days)
	}
	return Wait{
		Length:   Days(days),
		Rule:     rule,
		Source:   "plasterers' published practice (two trade pages), longer end taken",
		Sure:     "fairly sure; no paint before it is pale all over (" + practice + ")",
		Warnings: gypsumWarnings(s.Temperature),
	}, nil
}

// BoardAdhesive is the wait from sticking plasterboard on dabs to skimming it
// or hanging weight on it.
type BoardAdhesive struct {
	Temperature Celsius `form:"temperature,optional"`
}

// Wait gives the wait.
func (a BoardAdhesive) Wait() (Wait, error) {
	if err := checkPlacing("board adhesive", a.Temperature); err != nil {
		return Wait{}, err
	}
	return Wait{
		Length:   Days(1),
		Rule:     "boards on dabs: 24 hours before you skim or load them: 1 day",
		Source:   practice,
		Sure:     "from memory, fairly sure; a maker's longer time goes before",
		Warnings: gypsumWarnings(a.Temperature),
	}, nil
}

// MembraneStep is how far the wait for a liquid membrane goes.
type MembraneStep uint8

// The steps: from the first coat to the second, and from the second to covering.
// Not set is both, from the first coat to covering.
const (
	ToSecondCoat MembraneStep = iota + 1
	ToCovering
)

var membraneSteps = []string{"second-coat", "covering"}

// String gives "second-coat" or "covering"; "" when not set.
func (m MembraneStep) String() string { return spell(membraneSteps, m) }

// MarshalText prints the step.
func (m MembraneStep) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads "second-coat" or "covering".
func (m *MembraneStep) UnmarshalText(text []byte) error {
	return choose(m, "a step of a liquid membrane", membraneSteps, text)
}

// LiquidMembrane is the wait for an epoxy damp-proof membrane of two coats
// brushed or rolled on a floor.
type LiquidMembrane struct {
	Temperature Celsius      `form:"temperature"`
	Until       MembraneStep `form:"until,optional"`
}

// MembraneSum is the wait for a liquid membrane with both of its parts.
type MembraneSum struct {
	Wait
	SecondCoat Halves // from the first coat to the second
	Covering   Halves // from the second coat to screed or levelling on it
}

// Wait gives the wait.
func (m LiquidMembrane) Wait() (Wait, error) {
	sum, err := m.Sum()
	return sum.Wait, err
}

// Sum works out both parts, at the longer end of the makers' practice, and
// gives the wait for the part asked for.
func (m LiquidMembrane) Sum() (MembraneSum, error) {
	if m.Temperature == 0 {
		return MembraneSum{}, errors.New("temperature is missing; write degrees C as 10 or 7.5")
	}
	err := cmp.Or(checkPlacing("a liquid membrane", m.Temperature),
		allow("until", membraneSteps, m.Until))
	if err != nil {
		return MembraneSum{}, err
	}
	sum := MembraneSum{SecondCoat: m.slowed(24), Covering: m.slowed(48)}
	first := fmt.Sprintf("%s to the second coat (24 hours at 20 °C)", spoken(sum.SecondCoat))
	then := fmt.Sprintf("%s from then to covering (48 hours at 20 °C)", spoken(sum.Covering))
	rule := fmt.Sprintf("liquid membrane at %s °C, twice as long for each 10 °C under 20 °C: ",
		m.Temperature)
	switch m.Until {
	case ToSecondCoat:
		sum.Length, sum.Rule = sum.SecondCoat, rule+first
	case ToCovering:
		sum.Length, sum.Rule = sum.Covering, rule+then
	default:
		sum.Length = sum.SecondCoat + sum.Covering
		sum.Rule = fmt.Sprintf("%s%s, %s: %s", rule, first, then, spoken(sum.Length))
	}
	sum.Source = "makers' practice, from memory: 8 to 24 hours, then 24 to 48 hours at 20 °C, " +
		"longer end taken"
	sum.Sure = "not very sure: the sheet that comes with the tin goes before"
	sum.Warnings = []string{"the tin also says how late the second coat may go on: " +
		"do not leave it longer (" + practice + ")"}
	if m.Temperature < placingLimit {
		sum.Warnings = append(sum.Warnings,
			"under 5 °C: most of these do not set; warm the floor first ("+practice+")")
	}
	return sum, nil
}

// slowed gives hours at 20 °C in half-days at the membrane's temperature:
// twice for 10 °C, four times for 0 °C, on straight lines between, which lie
// over the curve; never shorter above 20 °C.
func (m LiquidMembrane) slowed(hours int) Halves {
	below := max(0, 200-m.Temperature.Tenths()) // tenths under 20 °C
	percent := 100 + below
	if below > 100 {
		percent = 200 + 2*(below-100)
	}
	return Halves((hours*percent + 1199) / 1200)
}

// MortarCement is what binds a mortar or a concrete that is to be loaded.
type MortarCement uint8

// The cements: Portland cement alone, or part of it replaced by ash or slag.
const (
	PlainCement MortarCement = iota + 1
	BlendedCement
)

var mortarCements = []string{"plain", "blended"}

// String gives "plain" or "blended"; "" when not set.
func (c MortarCement) String() string { return spell(mortarCements, c) }

// MarshalText prints the cement.
func (c MortarCement) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads "plain" or "blended".
func (c *MortarCement) UnmarshalText(text []byte) error {
	return choose(c, "a cement for mortar", mortarCements, text)
}

// Mortar is the wait from laying masonry in cement mortar to loading it.
type Mortar struct {
	Cement      MortarCement `form:"cement"`
	Temperature Celsius      `form:"temperature,optional"`
}

// mortarBase is the temperature from which down the days grow.
const mortarBase Celsius = tenthsAtZero + 100

// Wait gives the wait: the days of plain and blended concrete, stretched in
// the cold as concrete ages more slowly.
func (m Mortar) Wait() (Wait, error) {
	err := cmp.Or(need("cement", mortarCements, m.Cement),
		checkPlacing("mortar", m.Temperature))
	if err != nil {
		return Wait{}, err
	}
	days := 4
	if m.Cement == BlendedCement {
		days = 7
	}
	w := Wait{
		Length: Days(days),
		Rule:   fmt.Sprintf("masonry in %s cement mortar before load: %d days", m.Cement, days),
		Source: "NHBC 3.1.15 (concrete: 4 days, 7 with cement replaced, longer when cold); " +
			"the same for mortar is " + practice,
		Sure: "the days were read, for concrete; for mortar fairly sure; the engineer's time " +
			"goes before",
	}
	if m.Temperature != 0 && m.Temperature < mortarBase {
		slow := millidays(float64(days) * mortarBase.pace() / m.Temperature.pace())
		w.Length = slow.Halves()
		w.Rule += fmt.Sprintf(" at 10 °C and over; at %s °C cement is slower: %s days, rounded "+
			"up to %s", m.Temperature, slow, spoken(w.Length))
		w.Source += "; under 10 °C stretched by EN 1992-1-1 eq. B.10, our choice"
	}
	if m.Temperature != 0 && m.Temperature < placingLimit {
		w.Warnings = append(w.Warnings, "cold: lay nothing below 3 °C and falling; go on at 1 °C "+
			"and rising only if it will pass 3 °C; keep frost off for up to 6 days (NHBC 3.2.5, 2023)")
	}
	return w, nil
}
