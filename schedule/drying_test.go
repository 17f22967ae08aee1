package schedule

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func loadDrying(t *testing.T, name string) []waitRow {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "drying", name))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := parseWaitRows(string(text))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return rows
}

// moment reads an instant of a table; "" is not set.
func (r waitRow) moment(t *testing.T, column string) Instant {
	t.Helper()
	if r[column] == "" {
		return 0
	}
	at, err := ParseInstant(r[column], AM)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// drying reads a floor of floors.csv and the as-at date.
func (r waitRow) drying(t *testing.T) (d Drying, asAt Day) {
	t.Helper()
	d.Starts, d.RuleEnds = r.moment(t, "starts"), r.moment(t, "rule_ends")
	readText(t, r["limit"], &d.Limit)
	for text := range strings.SplitSeq(r["readings"], ";") {
		on, rh, found := strings.Cut(text, " ")
		if !found {
			continue
		}
		var reading HumidityReading
		readText(t, on, &reading.On)
		readText(t, rh, &reading.RH)
		d.Readings = append(d.Readings, reading)
	}
	readText(t, r["as_at"], &asAt)
	return d, asAt
}

func TestDryingFloors(t *testing.T) {
	for _, row := range loadDrying(t, "floors.csv") {
		d, asAt := row.drying(t)
		f, err := d.Forecast(asAt)
		if err != nil {
			t.Fatalf("%s: %v", row["case"], err)
		}
		got := []string{f.Ends.String(), f.DryOn.String(), f.Low.String(), f.High.String(),
			map[bool]string{true: "yes", false: "no"}[f.FromReadings]}
		want := []string{row["ends"], row["dry_on"], row["low"], row["high"], row["from_readings"]}
		if !slices.Equal(got, want) || f.Dry != (row["dry_on"] != "") {
			t.Errorf("%s: %q, want %q", row["case"], got, want)
		}
		said := strings.Join(append(f.Warnings, f.Model, f.Sure), "; ")
		if !strings.Contains(said, row["says"]) || row["says"] == "" {
			t.Errorf("%s: %q does not say %q", row["case"], said, row["says"])
		}
		if strings.Contains(said, "damper limit") != (d.Limit > 750) {
			t.Errorf("%s: %q of a limit of %s", row["case"], said, d.Limit)
		}
		if f.Source == "" || !slices.Contains(f.Warnings, boxRules) {
			t.Errorf("%s: no source, or no word on how to read", row["case"])
		}
	}
}

// TestDryingBesideTheRule: the rule that floors.csv shows beside the readings
// is that of 65 mm laid on 1 Sep 2026: from 8 Sep to 27 Nov.
func TestDryingBesideTheRule(t *testing.T) {
	sum, err := Screed{Type: SandCement, Thickness: 65}.Sum()
	if err != nil {
		t.Fatal(err)
	}
	laid := day(t, "2026-09-01").AM()
	starts := laid + Instant(Days(sum.CureDays))
	for _, row := range loadDrying(t, "floors.csv") {
		d, _ := row.drying(t)
		if d.Starts != starts || d.RuleEnds != laid+Instant(sum.Length) {
			t.Errorf("%s: from %s to %s, not by the rule", row["case"], d.Starts, d.RuleEnds)
		}
	}
}

// TestDryingLawAgainstHedenblad holds what the source says: from 100% the
// square-root law takes 2.25 times as long to 85% as to 90%.
func TestDryingLawAgainstHedenblad(t *testing.T) {
	for _, row := range loadDrying(t, "hedenblad.csv") {
		ratio := row.number(t, "days_to_85") / row.number(t, "days_to_90")
		if math.Abs(ratio/2.25-1) > 0.16 {
			t.Errorf("w/c %s: %.3f times as long to 85%% as to 90%%", row["w_c"], ratio)
		}
	}
	if !strings.Contains(dryingSource, "within 16%") {
		t.Error("the source does not give what is held here")
	}
}

func TestDryingRefuses(t *testing.T) {
	good := Drying{Starts: 100, RuleEnds: 300, Limit: MostCoverings}
	cases := []struct {
		spoil func(*Drying)
		asAt  Day
		want  string
	}{
		{func(d *Drying) { d.Starts = 0 }, 60, "the start of drying falls outside"},
		{func(d *Drying) { d.RuleEnds = 0 }, 60, "the end of drying by the rule falls outside"},
		{func(d *Drying) { d.RuleEnds = 99 }, 60, "before it starts"},
		{func(d *Drying) { d.Limit = 0 }, 60, "limit is missing"},
		{func(d *Drying) { d.Limit = 1001 }, 60, "limit is missing"},
		{func(d *Drying) {}, 0, "the as-at date falls outside"},
		{func(d *Drying) {}, LastDay + 1, "the as-at date falls outside"},
		{func(d *Drying) { d.Readings = []HumidityReading{{0, 800}} }, 60, "the date of a reading"},
		{func(d *Drying) { d.Readings = []HumidityReading{{60, 0}} }, 60, "write it as 82.5%"},
		{func(d *Drying) { d.Readings = []HumidityReading{{60, -5}} }, 60, "write it as 82.5%"},
		{func(d *Drying) { d.Readings = []HumidityReading{{LastDay, 800}} }, LastDay,
			"the end of drying falls outside"},
	}
	for _, c := range cases {
		d := good
		c.spoil(&d)
		if f, err := d.Forecast(c.asAt); err == nil || !strings.Contains(err.Error(), c.want) ||
			!reflect.DeepEqual(f, DryingForecast{}) {
			t.Errorf("%+v: %v, %v, want %q", d, f, err, c.want)
		}
	}
	if _, err := good.Forecast(60); err != nil {
		t.Error(err)
	}
}

// curve is a floor that dries by the model itself: top less fall for each odd
// k, in tenths of a per cent, read at the noon k² half-days after the start, so
// that every reading is exact.
type curve struct {
	start     Day
	top, fall int
	odd       []int
}

func drawCurve(t *rapid.T) curve {
	c := curve{
		start: Day(rapid.IntRange(36000, int(LastDay)-250).Draw(t, "start")),
		top:   rapid.IntRange(900, 1000).Draw(t, "top"),
		fall:  rapid.IntRange(5, 25).Draw(t, "fall"),
	}
	halves := rapid.SliceOfNDistinct(rapid.IntRange(1, 10), 2, 8, rapid.ID[int]).Draw(t, "k")
	for _, h := range halves {
		c.odd = append(c.odd, 2*h+1)
	}
	slices.Sort(c.odd)
	return c
}

func (c curve) reading(k int) HumidityReading {
	return HumidityReading{(c.start.AM() + Instant(k*k)).Day(), Humidity(c.top - c.fall*k)}
}

// floor gives the floor with readings at the given k, which are over limit.
func (c curve) floor(limit Humidity, odd []int) Drying {
	d := Drying{Starts: c.start.AM(), RuleEnds: c.start.AM() + 160, Limit: limit}
	for _, k := range odd {
		d.Readings = append(d.Readings, c.reading(k))
	}
	return d
}

// TestDryingFindsItsOwnCurve: on a curve of the model the end is the half-day
// in which it reaches the limit, however many of its readings are given, or
// the day after the as-at date, or 400 days after it.
func TestDryingFindsItsOwnCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t)
		last := c.reading(c.odd[len(c.odd)-1])
		if last.RH < 400 || last.On > LastDay-200 {
			t.Skip("too dry or too late")
		}
		limit := last.RH - Humidity(rapid.IntRange(1, 350).Draw(t, "under"))
		asAt := last.On + Day(rapid.IntRange(0, 200).Draw(t, "after"))
		k := float64(c.top-int(limit)) / float64(c.fall)
		dries := c.start.AM() + Instant(math.Ceil(k*k-1e-9))
		want := min(max(dries, (asAt+1).End()), (asAt + 400).End())
		some := []int{c.odd[0], c.odd[len(c.odd)-1]}
		for _, odd := range [][]int{c.odd, some} {
			f, err := c.floor(limit, odd).Forecast(asAt)
			if want > LastInstant && err != nil {
				continue
			}
			off := f.Ends - want
			if err != nil || off < -1 || off > 1 || !f.FromReadings || f.Dry {
				t.Fatalf("%d readings: want %s, got %v: %+v", len(odd), want, err, f)
			}
			checkError(t, f, asAt)
		}
	})
}

// checkError: an error has the end within it, and neither promises the floor
// before the day after the as-at date nor looks on for over 400 days.
func checkError(t *rapid.T, f DryingForecast, asAt Day) {
	if f.Low > f.Ends || f.Low != 0 && f.Low < (asAt+1).End() {
		t.Fatalf("as at %s: %s, at the earliest %s", asAt, f.Ends, f.Low)
	}
	if f.High != 0 && (f.High < f.Ends || f.High > (asAt+400).End() || !f.High.Valid()) {
		t.Fatalf("as at %s: %s, at the latest %s", asAt, f.Ends, f.High)
	}
}

// drawFloor is a floor with any readings whatever.
func drawFloor(t *rapid.T) (Drying, Day) {
	start := rapid.Int32Range(2000, 2400)
	d := Drying{
		Starts: Instant(start.Draw(t, "starts")),
		Limit:  Humidity(rapid.Int16Range(600, 800).Draw(t, "limit")),
	}
	d.RuleEnds = d.Starts + Instant(rapid.Int32Range(0, 300).Draw(t, "rule"))
	d.Readings = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) HumidityReading {
		return HumidityReading{
			On: Day(rapid.Int32Range(990, 1500).Draw(t, "on")),
			RH: Humidity(rapid.Int16Range(550, 1000).Draw(t, "rh")),
		}
	}), 0, 6).Draw(t, "readings")
	return d, Day(rapid.Int32Range(1000, 1600).Draw(t, "as at"))
}

// TestDryingHolds: what must be true of any readings at all.
func TestDryingHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, asAt := drawFloor(t)
		f, err := d.Forecast(asAt)
		if err != nil {
			t.Fatal(err)
		}
		var read, under, last int
		for _, r := range d.Readings {
			if r.On > asAt || r.On.PM() < d.Starts {
				continue
			}
			read++
			last = max(last, int(r.On))
			if r.RH <= d.Limit {
				under++
			}
		}
		switch {
		case f.Dry && (under == 0 || f.DryOn > Day(last) || f.Ends != f.DryOn.End()):
			t.Fatalf("dry by %d readings under the limit: %+v", under, f)
		case f.Dry != (f.DryOn != 0):
			t.Fatalf("%+v", f)
		case !f.Dry && read > 0 && f.Ends < (asAt+1).End():
			t.Fatalf("ends %s, before the day after %s", f.Ends, asAt)
		case read == 0 && (f.Ends != d.RuleEnds || f.FromReadings):
			t.Fatalf("the rule ends %s, not %s", d.RuleEnds, f.Ends)
		case f.FromReadings && f.Ends > (asAt+400).End():
			t.Fatalf("ends %s, over 400 days after %s", f.Ends, asAt)
		case f.Low != 0 && read < 3:
			t.Fatalf("error from %s by %d readings", f.Low, read)
		}
		checkError(t, f, asAt)
		for _, r := range d.Readings {
			if int(r.On) == last && r.RH > d.Limit && f.Dry {
				t.Fatalf("dry, but the last reading is %s", r)
			}
		}
	})
}

// TestDryingOrders: the order of the readings does not matter; a lower limit
// never ends earlier, nor does a later as-at date without new readings.
func TestDryingOrders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, asAt := drawFloor(t)
		f, err := d.Forecast(asAt)
		if err != nil {
			t.Fatal(err)
		}
		shuffled := d
		shuffled.Readings = rapid.Permutation(d.Readings).Draw(t, "shuffled")
		if again, _ := shuffled.Forecast(asAt); !reflect.DeepEqual(f, again) {
			t.Fatalf("%+v\n%+v", f, again)
		}
		lower := d
		lower.Limit -= Humidity(rapid.Int16Range(1, 100).Draw(t, "lower"))
		if g, _ := lower.Forecast(asAt); g.Ends < f.Ends {
			t.Fatalf("%s at %s, but %s at %s", f.Ends, d.Limit, g.Ends, lower.Limit)
		}
		later := asAt + Day(rapid.Int32Range(1, 50).Draw(t, "later"))
		for _, r := range d.Readings {
			if r.On > asAt && r.On <= later {
				return
			}
		}
		if g, _ := d.Forecast(later); g.Ends < f.Ends {
			t.Fatalf("%s as at %s, but %s as at %s", f.Ends, asAt, g.Ends, later)
		}
	})
}

// diffusion walks a floor open at its top in ten layers, from 99% all through,
// and gives the humidity at 0.4 of its depth at equal steps until it is under
// 62%. Pace is what is left of the diffusivity when dry, against wet: 0.05 is
// the curve for concrete of fib Model Code 2010 (from memory), 1 is constant.
func diffusion(pace float64, room func(humidity float64) float64) (history []float64) {
	const layer, step = 0.1, 0.003 // of the depth; of depth² / diffusivity
	var h [10]float64
	for i := range h {
		h[i] = 0.99
	}
	spread := func(h float64) float64 { return pace + (1-pace)/(1+math.Pow((1-h)/0.2, 15)) }
	for now := 99.0; now >= 62; now = 50 * (h[3] + h[4]) {
		history = append(history, now)
		var up [11]float64
		up[0] = spread(h[0]) * (h[0] - room(now)) / (layer / 2)
		for i := 1; i < len(h); i++ {
			up[i] = spread((h[i]+h[i-1])/2) * (h[i] - h[i-1]) / layer
		}
		for i := range h {
			h[i] += step / layer * (up[i+1] - up[i])
		}
	}
	return append(history, 50*(h[3]+h[4]))
}

// crossed is the first step at or under the limit.
func crossed(history []float64, limit float64) float64 {
	return float64(slices.IndexFunc(history, func(h float64) bool { return h <= limit }))
}

// trial is how forecasts from the first readings of constructed floors met the
// day on which those floors were dry.
type trial struct {
	parts      []float64 // days forecast over days left, for each forecast
	held, told int       // forecasts dry within their error; those with both its dates
	none       int       // no forecast
}

// tryFloor reads a history every so many days, to a point, and forecasts after
// each reading. The floor is at 75% after days75.
func (r *trial) tryFloor(history []float64, days75 float64, first, every Day, limit Humidity,
	noise func() float64) {
	steps := crossed(history, 75) / days75
	dry := crossed(history, float64(limit)/10) / steps
	d := Drying{Starts: Day(1000).AM(), RuleEnds: Day(1000).AM(), Limit: limit}
	for k := first; float64(k)+0.5 < dry && dry < 400; k += every {
		on := 1000 + k
		rh := Humidity(math.Round(10 * (history[int((float64(k)+0.5)*steps)] + noise())))
		if rh <= limit {
			return
		}
		d.Readings = append(d.Readings, HumidityReading{on, min(rh, 1000)})
		if f, _ := d.Forecast(on); len(d.Readings) > 1 {
			r.note(f, on, d.Starts+Instant(math.Ceil(2*dry)))
		}
	}
}

func (r *trial) note(f DryingForecast, on Day, dry Instant) {
	if !f.FromReadings {
		r.none++
		return
	}
	r.parts = append(r.parts, float64(f.Ends-on.PM())/float64(dry-on.PM()))
	if f.Low == 0 || f.High == 0 {
		return
	}
	r.told++
	dry = max(dry, (on + 1).End()) // no forecast says earlier
	if dry >= f.Low && dry <= f.High {
		r.held++
	}
}

// TestDryingOnConstructedFloors holds what Sure says of the error: on floors
// worked out by diffusion, three ways of losing pace, four rooms (one of them
// cold until 88%), four paces, read from two days on at two intervals.
func TestDryingOnConstructedFloors(t *testing.T) {
	said := map[Humidity][2]float64{MostCoverings: {0.7, 1.7}, UnderTimber: {0.5, 1.2}}
	for _, limit := range []Humidity{MostCoverings, UnderTimber} {
		var r trial
		random := rand.New(rand.NewPCG(1, uint64(limit)))
		for _, pace := range []float64{0.05, 0.2, 1} {
			for room := range 4 {
				history := diffusion(pace, func(now float64) float64 {
					if room == 3 && now > 88 {
						return 0.70
					}
					return []float64{0.40, 0.50, 0.58, 0.45}[room]
				})
				for _, days := range []float64{35, 50, 80, 110} {
					for _, first := range []Day{14, 28} {
						r.tryFloor(history, days, first, 7, limit, random.NormFloat64)
						r.tryFloor(history, days, first, 14, limit, random.NormFloat64)
					}
				}
			}
		}
		slices.Sort(r.parts)
		n := len(r.parts)
		low, middle, high := r.parts[n/4], r.parts[n/2], r.parts[3*n/4]
		held := float64(r.held) / float64(r.told)
		t.Logf("%s: %d forecasts, %d times none; quartiles %.2f %.2f %.2f; %.3f within the error",
			limit, n, r.none, low, middle, high, held)
		want := said[limit]
		if n < 500 || math.Abs(low-want[0]) > 0.06 || math.Abs(high-want[1]) > 0.06 {
			t.Errorf("%s: half of %d forecasts at %.2f to %.2f", limit, n, low, high)
		}
		if held < 17.0/20 {
			t.Errorf("%s: %d of %d within the error", limit, r.held, r.told)
		}
		if !strings.Contains(dryingSure, fmt.Sprintf("at %.1f to %.1f", want[0], want[1])) {
			t.Error("Sure does not say what is held here")
		}
	}
}

// TestDryingLineEnds: a line that crosses before drying starts, or hardly ever,
// gives an instant that can be counted with.
func TestDryingLineEnds(t *testing.T) {
	l := dryingLine{from: LastInstant}
	for x, want := range map[float64]Instant{-5: 0, 3: 18, 1e9: 2e6, math.Inf(1): 2e6} {
		if at := l.at(x); at != LastInstant+want {
			t.Errorf("%g: %d half-days", x, at-LastInstant)
		}
	}
}

func TestHumidityText(t *testing.T) {
	cases := map[string]Humidity{"82.5": 825, "82.5%": 825, "82.5 %": 825, "75": 750, "1": 10,
		"100%": 1000, "99.9%": 999}
	for text, want := range cases {
		var h Humidity
		if err := h.UnmarshalText([]byte(text)); err != nil || h != want {
			t.Errorf("%q reads as %d, %v", text, h, err)
		}
	}
	for _, text := range []string{"", "%", "0", "0.75", "0.9%", "100.1", "-75", "75.55", "75.",
		"75 ", "75%%", "75 pc", "٧٥"} {
		h := Humidity(7)
		if err := h.UnmarshalText([]byte(text)); err == nil || h != 7 {
			t.Errorf("%q was let in as %d", text, h)
		}
	}
	if s := Humidity(825).String() + MostCoverings.String() + Humidity(0).String(); s != "82.5%75%" {
		t.Error(s)
	}
}

func ExampleDrying_Forecast() {
	starts, _ := ParseInstant("2026-09-08", AM)
	rule, _ := ParseInstant("2026-11-27", AM)
	first, _ := ParseDay("2026-09-20")
	second, _ := ParseDay("2026-10-02")
	floor := Drying{
		Starts: starts, RuleEnds: rule, Limit: MostCoverings,
		Readings: []HumidityReading{{first, 900}, {second, 860}},
	}
	f, err := floor.Forecast(second)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Dry, f.FromReadings, f.Ends.Last().Short())
	// Output: false true Wed 25 Nov am
}
