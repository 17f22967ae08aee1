package schedule

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Humidity is relative humidity in tenths of a per cent, 10 to 1000. The zero
// Humidity means "not set".
type Humidity int16

// The limits for covering a floor, by surface hygrometer (BS 8203, BS 5325
// and BS 8201, read on trade pages).
const (
	MostCoverings Humidity = 750
	UnderTimber   Humidity = 650 // timber stuck down, or where its maker asks for it
)

const (
	leastHumidity Humidity = 10
	mostHumidity  Humidity = 1000
)

// String gives the per cent, "82.5%"; "" when not set.
func (h Humidity) String() string {
	if h == 0 {
		return ""
	}
	return formatDecimal(int(h), 1) + "%"
}

// MarshalText prints the per cent: "82.5%".
func (h Humidity) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads "82.5%", "82.5 %" or "82.5": 1 to 100, tenths at the finest.
func (h *Humidity) UnmarshalText(text []byte) error {
	number, percent := strings.CutSuffix(string(text), "%")
	if percent {
		number = strings.TrimRight(number, " ")
	}
	n, ok := parseDecimal(number, 1)
	if !ok || n < int(leastHumidity) || n > int(mostHumidity) {
		return fmt.Errorf("%q is not a relative humidity; write per cent as 82.5 or 82.5%%, "+
			"from 1 to 100", text)
	}
	*h = Humidity(n)
	return nil
}

func (h Humidity) valid() bool { return h >= leastHumidity && h <= mostHumidity }

// HumidityReading is what the hygrometer box on a floor showed on a day.
type HumidityReading struct {
	On Day
	RH Humidity
}

// String gives the reading as it is said: "82.5% on Mon 12 Oct".
func (r HumidityReading) String() string { return fmt.Sprintf("%s on %s", r.RH, r.On.Short()) }

// Drying is a floor that dries towards the limit at which it may be covered.
type Drying struct {
	Starts   Instant           // when drying starts: after the days under sheet
	RuleEnds Instant           // when it ends by the rule of the wait
	Limit    Humidity          // dry at or under this: MostCoverings, UnderTimber or another
	Readings []HumidityReading // in any order; of several on a day the highest counts
}

// DryingForecast says when a floor may be covered. With a reading at or under
// the limit it is a fact, else an estimate or the rule.
type DryingForecast struct {
	Ends         Instant
	Dry          bool     // a reading at or under the limit, and none over it since
	DryOn        Day      // the day of the first such reading; zero when not dry
	FromReadings bool     // Ends follows the readings, not the rule
	Low, High    Instant  // the error of an estimate by 3 readings or more; zero: not known
	Model        string   // how Ends was come by, in words
	Source       string   // where that comes from
	Sure         string   // how sure it is
	Warnings     []string // what to mind, each with its source
}

// What the forecast goes by. All are ours but steadyReading.
const (
	steadyReading = 0.3 // points by which equal readings may differ (an instrument's sheet)
	wettingRise   = 30  // tenths: a rise beyond this is water, not scatter
	earliestDays  = 1   // an end that should have been is put at the end of the day after as-at
	standingDays  = 7   // while readings stand still: a box takes 3 days, so a week tells
	furthestDays  = 400 // nothing is forecast beyond this after the as-at date
	bandReading   = 1.0 // points by which a reading is off at least, for the error
	bandWide      = 1.5 // the error takes readings to be off by so many times their scatter
)

const (
	dryingSource = "the model is ours, not a published rule: drying from one face goes by the " +
		"square root of time (diffusion), as do Hedenblad's days to 90% and 85% (T9:1997, from " +
		"memory) within 16%; " + dryingLimits
	dryingLimits = "limits: 75% for most coverings and 65% under timber stuck down (BS 8203, " +
		"BS 5325, BS 8201, read on trade pages)"
	dryingSure = "tried on floors worked out by diffusion and read to 1 point, not on site data: " +
		"half of the forecasts came at 0.7 to 1.7 of the days left to 75%, and at 0.5 to 1.2 of " +
		"those left to 65%, where it is rather too early; it holds while heating and airing stay " +
		"as they were; the reading decides"
	dryingRule = "the rule of the wait; " + dryingLimits
	dryingTest = "planning figure: only a reading at or under the limit shows the floor dry"
	boxRules   = "a reading counts if the box was sealed to the floor for 72 hours and heating " +
		"and drying aids were off for 96 hours before (BS 8203 Annex A practice, read on a trade " +
		"page), and 3 readings 5 minutes apart were within 0.3% either way (an instrument's sheet)"
)

// Forecast says when the floor may be covered, as at a day; readings after it
// are not read. The floor is dry only by its readings. Without any the rule
// stands, even where its end has passed, as for any wait. While readings are
// over the limit the end is never before the end of the day after asAt. It
// fails for values that are not set or out of range and, with a *HorizonError,
// for an end past the horizon.
func (d Drying) Forecast(asAt Day) (DryingForecast, error) {
	if err := d.check(asAt); err != nil {
		return DryingForecast{}, err
	}
	days, warnings := d.counted(asAt)
	f := d.end(days, asAt)
	if !f.Ends.Valid() {
		return DryingForecast{}, &HorizonError{"the end of drying", -1}
	}
	f.Warnings = slices.Concat(warnings, d.caution(days), f.Warnings, []string{boxRules})
	return f, nil
}

func (d Drying) check(asAt Day) error {
	switch {
	case !asAt.Valid():
		return &HorizonError{"the as-at date", -1}
	case !d.Starts.Valid():
		return &HorizonError{"the start of drying", -1}
	case !d.RuleEnds.Valid():
		return &HorizonError{"the end of drying by the rule", -1}
	case d.RuleEnds < d.Starts:
		return fmt.Errorf("drying ends by the rule on %s, before it starts on %s; check the wait",
			d.RuleEnds, d.Starts)
	case !d.Limit.valid():
		return errors.New("limit is missing or not from 1 to 100%; write 75% for most coverings " +
			"or 65% under timber")
	}
	for _, r := range d.Readings {
		if !r.On.Valid() {
			return &HorizonError{"the date of a reading", -1}
		}
		if !r.RH.valid() {
			return fmt.Errorf("the reading of %s has no humidity from 1 to 100%%; "+
				"write it as 82.5%%", r.On)
		}
	}
	return nil
}

// counted gives the readings that count, one a day in order of date, and says
// which do not. A floor is as dry as its wettest spot, so the highest of a day
// counts; a reading is taken at noon.
func (d Drying) counted(asAt Day) (days []HumidityReading, warnings []string) {
	sorted := slices.Clone(d.Readings)
	slices.SortFunc(sorted, func(a, b HumidityReading) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(b.RH, a.RH))
	})
	for _, r := range sorted {
		switch {
		case r.On > asAt:
			return days, warnings
		case r.On.PM() < d.Starts:
			warnings = append(warnings, fmt.Sprintf("%s does not count: drying starts on %s; "+
				"if it started earlier, record when the floor was laid", r, d.Starts.Short()))
		case len(days) > 0 && days[len(days)-1].On == r.On:
			warnings = append(warnings, fmt.Sprintf("%s does not count: the highest of the day, "+
				"%s, does", r, days[len(days)-1].RH))
		default:
			days = append(days, r)
		}
	}
	return days, warnings
}

// end chooses what the forecast goes by. The days are those counted.
func (d Drying) end(days []HumidityReading, asAt Day) DryingForecast {
	if len(days) == 0 {
		return d.untested(asAt)
	}
	if first := d.firstDry(days); first < len(days) {
		return d.dry(days[first])
	}
	if len(days) == 1 {
		return d.single(days[0], asAt)
	}
	from, run := d.run(days)
	line := fitDrying(from, run)
	if why := line.stands(run); why != "" {
		return d.standing(asAt, why)
	}
	return d.falling(line, asAt)
}

// run gives the readings since the floor last took up water, and from when
// drying then counts.
func (d Drying) run(days []HumidityReading) (Instant, []HumidityReading) {
	for i := len(days) - 1; i > 0; i-- {
		if days[i].RH-days[i-1].RH > wettingRise {
			return days[i].On.PM(), days[i:]
		}
	}
	return d.Starts, days
}

// firstDry finds the first of the last readings that are all at or under the
// limit: len(days) when the last is over it.
func (d Drying) firstDry(days []HumidityReading) int {
	first := len(days)
	for first > 0 && days[first-1].RH <= d.Limit {
		first--
	}
	return first
}

// caution says what the limit and the counted readings give to mind.
func (d Drying) caution(days []HumidityReading) (warnings []string) {
	if d.Limit > MostCoverings {
		warnings = append(warnings, fmt.Sprintf("%s is a damper limit than the %s of BS 8203: only "+
			"if the maker of the covering gives it in writing", d.Limit, MostCoverings))
	}
	for i := 1; i < len(days); i++ {
		was, now := days[i-1], days[i]
		if was.RH <= d.Limit && now.RH > d.Limit {
			warnings = append(warnings, fmt.Sprintf("%s was dry, %s is not: the floor is not dry "+
				"until a later reading shows it (our choice)", was, now))
		}
		if now.RH-was.RH > wettingRise {
			warnings = append(warnings, fmt.Sprintf("%s and then %s: look for water getting in; "+
				"drying is counted anew from there (our choice)", was, now))
		}
	}
	return warnings
}

// untested is the rule as it stands, for a floor without readings.
func (d Drying) untested(asAt Day) DryingForecast {
	f := DryingForecast{Ends: d.RuleEnds, Source: dryingRule, Sure: dryingTest,
		Model: "the rule: no reading is recorded, and it takes two to follow the fall"}
	if asAt.AM() >= d.RuleEnds {
		f.Warnings = []string{"the days of the rule are up, but no reading shows the floor dry: " +
			"test it before you cover it (BS 8203)"}
	}
	return f
}

func (d Drying) dry(first HumidityReading) DryingForecast {
	return DryingForecast{
		Ends: first.On.End(), Dry: true, DryOn: first.On, FromReadings: true,
		Model:  fmt.Sprintf("tested: %s, at or under %s", first, d.Limit),
		Source: "the reading; " + dryingLimits,
		Sure:   "measured; sure as far as the box was sealed and left as it should be",
	}
}

// single keeps the rule after one reading, which shows the floor wet.
func (d Drying) single(r HumidityReading, asAt Day) DryingForecast {
	f := DryingForecast{Ends: d.RuleEnds, Source: dryingRule, Sure: dryingTest,
		Model: fmt.Sprintf("the rule: %s is the one reading, and it takes two to follow the fall", r)}
	f.hold(asAt, earliestDays, "by the rule")
	return f
}

// standing keeps the rule, or a week, while readings do not fall.
func (d Drying) standing(asAt Day, why string) DryingForecast {
	f := DryingForecast{Ends: d.RuleEnds, Source: dryingRule, Sure: dryingTest,
		Model: fmt.Sprintf("no forecast: %s; kept at the rule, and at least %d days from the "+
			"as-at date (our choice)", why, standingDays)}
	f.hold(asAt, standingDays, "by the rule")
	f.Warnings = append(f.Warnings, "a floor that does not dry wants a cause: cold or damp air, "+
		"no airing, a leak, damp from below ("+practice+")")
	return f
}

// falling is the end where the line reaches the limit.
func (d Drying) falling(line dryingLine, asAt Day) DryingForecast {
	limit := float64(d.Limit) / 10
	x := line.crossing(limit)
	f := DryingForecast{
		Ends: line.at(x), FromReadings: true, Source: dryingSource, Sure: dryingSure,
		Model: fmt.Sprintf("%d readings from %s to %s fitted by humidity falling in a line with "+
			"the square root of the days since %s: %.1f%% less %.2f × √days; %s after %.1f days",
			line.count, line.first.On.Short(), line.last.On.Long(), line.from.Short(),
			line.y-float64(line.slope*line.x), -line.slope, d.Limit, line.days(x)),
	}
	if line.count > 2 {
		f.Low, f.High = line.band(limit)
	}
	f.hold(asAt, earliestDays, "by the fall of the readings")
	f.stop(asAt)
	f.Low = min(f.Low, f.Ends)
	switch {
	case f.Low == 0:
		f.Sure = "error not known: two readings draw the line but cannot test it; " + f.Sure
	case f.High == 0:
		f.Sure = "no latest date: the readings fall too little to tell; " + f.Sure
	default:
		f.Sure = "dry between the low and the high date in 17 of 20 trials or more, which also " +
			"set how wide that is; " + f.Sure
	}
	return f
}

// hold keeps the end, and its error, from falling before so many days after
// the as-at date: nothing has shown the floor dry by then.
func (f *DryingForecast) hold(asAt Day, days Day, by string) {
	least := (asAt + days).End()
	if f.Ends < least {
		f.Warnings = append(f.Warnings, fmt.Sprintf("%s the floor should be dry by %s, but no "+
			"reading shows it: kept at %s; read again", by, f.Ends.Last().Short(),
			least.Last().Short()))
	}
	f.Ends = max(f.Ends, least)
	if f.Low != 0 {
		f.Low = max(f.Low, least)
	}
	if f.High != 0 {
		f.High = max(f.High, f.Ends)
	}
}

// stop keeps the end within furthestDays; a high end beyond that is not known.
func (f *DryingForecast) stop(asAt Day) {
	most := (asAt + furthestDays).End()
	if f.High > most || f.High > LastInstant {
		f.High = 0
	}
	if f.Ends <= most {
		return
	}
	f.Ends = most
	f.Warnings = append(f.Warnings, fmt.Sprintf("at this pace it takes over %d days: the date is "+
		"only where the forecast stops; warm and air the room, or ask about a surface membrane (%s)",
		furthestDays, practice))
}

// dryingLine is the line of humidity, in per cent, over x, the square root of
// the days since from. Its sums use only operations that IEEE 754 rounds in
// one way, and each product is converted so that none is fused with a sum:
// the same bits on every machine.
type dryingLine struct {
	from        Instant
	count       int
	first, last HumidityReading
	x, y        float64 // the means
	slope       float64 // points for each √day; under 0 when it falls
	spread      float64 // sum of squares of x about its mean
	scatter     float64 // points by which readings lie off the line; 0 for two
}

// fitDrying draws the line by least squares; one reading gives no slope.
func fitDrying(from Instant, run []HumidityReading) dryingLine {
	n := len(run)
	l := dryingLine{from: from, count: n, first: run[0], last: run[n-1]}
	for _, r := range run {
		l.x += l.root(r) / float64(n)
		l.y += float64(r.RH) / 10 / float64(n)
	}
	both := 0.0
	for _, r := range run {
		x, y := l.root(r)-l.x, float64(r.RH)/10-l.y
		l.spread += float64(x * x)
		both += float64(x * y)
	}
	if n < 2 {
		return l
	}
	l.slope = both / l.spread
	if n == 2 {
		return l
	}
	for _, r := range run {
		off := float64(r.RH)/10 - l.y - float64(l.slope*(l.root(r)-l.x))
		l.scatter += float64(off * off)
	}
	l.scatter = math.Sqrt(l.scatter / float64(n-2))
	return l
}

// root is the x of a reading.
func (l dryingLine) root(r HumidityReading) float64 {
	return math.Sqrt(float64(r.On.PM()-l.from) / 2)
}

// stands says why readings give no fall to follow; "" when they do. The fall
// of the line is rounded, so that noise does not decide.
func (l dryingLine) stands(run []HumidityReading) string {
	n := len(run)
	if n == 1 {
		return "the last reading, " + l.last.String() + ", has risen"
	}
	fall := float64(l.slope * (l.root(l.first) - l.root(l.last)))
	if math.Round(fall*1000) < 2*steadyReading*1000 {
		return fmt.Sprintf("readings do not fall: %s, %s", l.first, l.last)
	}
	if n > 2 && min(run[n-1].RH, run[n-2].RH) >= run[n-3].RH {
		return fmt.Sprintf("the fall has stopped: %s, %s, %s", run[n-3], run[n-2], run[n-1])
	}
	return ""
}

// crossing is the x at which the line reaches the limit.
func (l dryingLine) crossing(limit float64) float64 { return l.x + (limit-l.y)/l.slope }

// days are those from the start of drying to x, not under 0 and not over a
// million, which is past every horizon.
func (l dryingLine) days(x float64) float64 {
	x = min(max(x, 0), 1000)
	return float64(x * x)
}

// at is the instant of x, rounded up to a half-day.
func (l dryingLine) at(x float64) Instant {
	return l.from + Instant(millidays(l.days(x)).Halves())
}

// band gives the instants between which the line may reach the limit: all x at
// which it lies as near the limit as its own error (Fieller's theorem). For the
// error of the model, which errs early towards a low limit, the time from the
// last reading is then shortened to 4/5 and doubled: ours, chosen by trial.
// A high end of zero says that readings fall too little to tell.
func (l dryingLine) band(limit float64) (low, high Instant) {
	off := bandWide * max(l.scatter, bandReading)
	over, variance := l.y-limit, float64(off*off)
	// u = x - mean: (over + slope u)² = variance (1/n + u²/spread), so a u² + 2b u + c = 0
	a := float64(l.slope*l.slope) - variance/l.spread
	b := float64(l.slope * over)
	c := float64(over*over) - variance/float64(l.count)
	root := float64(b*b) - float64(a*c)
	now := l.last.On.PM()
	low, high = now, 0
	if root >= 0 && a != 0 {
		low = max(now, l.at(l.x+(-b-math.Sqrt(root))/a))
	}
	if root >= 0 && a > 0 {
		high = max(now, l.at(l.x+(-b+math.Sqrt(root))/a))
		high += high - now
	}
	return now + (low-now)*4/5, high
}
