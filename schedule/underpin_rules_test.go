package schedule

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// underpinRun is a sequence on calendars, walked half-day by half-day.
type underpinRun struct {
	UnderpinSequence
	site, inspector *Calendar
	start, finish   []Instant
}

// slowUnderpin starts each step at the first worked half-day at which all its
// links let it. overrun holds what each step takes beyond its length.
func slowUnderpin(s UnderpinSequence, site, inspector *Calendar, from Instant,
	overrun []Halves) underpinRun {
	r := underpinRun{UnderpinSequence: s, site: site, inspector: inspector}
	own := map[Kind]*Calendar{KindWork: site, KindWait: EveryDay(), KindInspection: inspector}
	for i, step := range s.Steps {
		at, length := from, step.Length
		for _, link := range step.After {
			lag := EveryDay()
			if link.OnSite {
				lag = site
			}
			at = max(at, slowAdvance(lag, r.finish[link.Step], link.Lag))
		}
		if overrun != nil {
			length += overrun[i]
		}
		at = slowNext(own[step.Kind], at)
		r.start = append(r.start, at)
		r.finish = append(r.finish, slowAdvance(own[step.Kind], at, length))
	}
	return r
}

// step gives the index of a bay's step, -1 when it has none.
func (r *underpinRun) step(id string, bay int) int {
	return slices.IndexFunc(r.Steps, func(s UnderpinStep) bool {
		return s.ID == fmt.Sprintf("%s-%d", id, bay)
	})
}

// open gives the bays between the start of the dig and the end of the pack.
func (r *underpinRun) open(k Instant) (bays []int) {
	for bay := 1; bay <= r.Bays; bay++ {
		if r.start[r.step("dig", bay)] <= k && k < r.finish[r.step("pack", bay)] {
			bays = append(bays, bay)
		}
	}
	return bays
}

func drawUnderpinning(t *rapid.T) Underpinning {
	draw := func(name string, low, high int) int { return rapid.IntRange(low, high).Draw(t, name) }
	some := func(name string, low int) Halves { // now and then the usual one
		return Halves(draw(name, low, low+4)) * Halves(draw(name+"?", 0, 1))
	}
	u := Underpinning{WallMM: draw("wall", 2000, 18000), BayMM: draw("bay", 500, 1400),
		Share: rapid.SampledFrom([]int{0, 12, 20, 24, 25}).Draw(t, "share"),
		See:   some("see", 1), Pack: some("pack", 1), Gain: some("gain", 2),
		Neighbour: some("neighbour", 2), Abreast: rapid.Bool().Draw(t, "abreast"),
		SeenOnTheDay: rapid.Bool().Draw(t, "seen on the day")}
	if !u.SeenOnTheDay {
		u.Dig, u.Pour = some("dig", 1), some("pour", 1)
	}
	return u
}

// Whatever the wall, the order, the calendars and the overruns, the links alone
// keep every rule.
func TestUnderpinKeepsRules(t *testing.T) {
	calendars := testCalendars(t)
	from := day(t, "2027-03-01").AM()
	rapid.Check(t, func(t *rapid.T) {
		u := drawUnderpinning(t)
		s, err := u.Sequence()
		if err != nil {
			mendUnderpinning(t, u, err)
			return
		}
		if rapid.Bool().Draw(t, "given order") {
			u.Order = rapid.Permutation(s.Order).Draw(t, "order")
			if s, err = u.Sequence(); err != nil {
				t.Fatal(err)
			}
		}
		overrun := make([]Halves, len(s.Steps))
		if rapid.Bool().Draw(t, "overruns") {
			for i := range overrun {
				overrun[i] = Halves(max(0, rapid.IntRange(-4, 6).Draw(t, "overrun")))
			}
		}
		cal := rapid.SampledFrom(calendars)
		r := slowUnderpin(s, cal.Draw(t, "site"), cal.Draw(t, "inspector"),
			from+Instant(rapid.IntRange(0, 20).Draw(t, "start")), overrun)
		r.checkSteps(t, u)
		r.checkOpen(t, u)
		r.checkWaits(t, u.usual())
		r.checkNetwork(t, overrun)
	})
}

var remedy = regexp.MustCompile(`make the bays up to (\d+) mm`)

// mendUnderpinning checks that a wall is refused for good reason and that
// doing what the refusal says helps.
func mendUnderpinning(t *rapid.T, u Underpinning, err error) {
	full := u.usual()
	bays, fits := 1, false
	for ; bays*full.BayMM < u.WallMM; bays++ {
	}
	if 100 <= bays*full.Share && bays*500 <= u.WallMM {
		t.Fatalf("%d bays would do: %v", bays, err)
	}
	for n := 1; n*500 <= u.WallMM; n++ {
		fits = fits || 100 <= n*full.Share
	}
	found := remedy.FindStringSubmatch(err.Error())
	if (found != nil) != fits {
		t.Fatalf("some width would do: %v, but: %v", fits, err)
	}
	if found != nil {
		u.BayMM, _ = strconv.Atoi(found[1])
		if _, again := u.Sequence(); again != nil {
			t.Fatalf("%v; but then: %v", err, again)
		}
	}
}

// checkSteps: every bay once, each step after those it follows, fewest bays.
func (r *underpinRun) checkSteps(t *rapid.T, u Underpinning) {
	full, seen := u.usual(), map[string]int{}
	if r.Bays*full.BayMM < u.WallMM || (r.Bays-1)*full.BayMM >= u.WallMM ||
		r.WidthMM*r.Bays < u.WallMM || (r.WidthMM-1)*r.Bays >= u.WallMM {
		t.Fatalf("%d bays of %d mm", r.Bays, r.WidthMM)
	}
	for i, step := range r.Steps {
		seen[step.ID]++
		for _, link := range step.After {
			if link.Step < 0 || link.Step >= i {
				t.Fatalf("step %d follows step %d", i, link.Step)
			}
		}
	}
	ids := []string{"dig", "see", "pour", "gain", "pack"}
	if u.SeenOnTheDay {
		ids = slices.Delete(ids, 1, 2)
	}
	for bay := 1; bay <= r.Bays; bay++ {
		for _, id := range ids {
			if seen[fmt.Sprintf("%s-%d", id, bay)] != 1 {
				t.Fatalf("bay %d has not one %s", bay, id)
			}
		}
	}
	if len(r.Steps) != r.Bays*len(ids) || !slices.Equal(r.Order, slices.Concat(r.Groups...)) {
		t.Fatalf("%d steps, groups %v, order %v", len(r.Steps), r.Groups, r.Order)
	}
	if u.Order == nil {
		if most := r.Bays * full.Share / 100; len(r.Groups)*most >= r.Bays+most {
			t.Fatalf("%d groups of at most %d", len(r.Groups), most)
		}
	} else if !slices.Equal(r.Order, u.Order) {
		t.Fatalf("order %v, want %v", r.Order, u.Order)
	}
}

// checkOpen: never two neighbours open, never more than the share.
func (r *underpinRun) checkOpen(t *rapid.T, u Underpinning) {
	for k := slices.Min(r.start); k < slices.Max(r.finish); k++ {
		open, digging := r.open(k), 0
		if len(open)*100 > r.Bays*u.usual().Share {
			t.Fatalf("%v: %v of %d bays open", k, open, r.Bays)
		}
		for i, bay := range open {
			if i > 0 && bay == open[i-1]+1 {
				t.Fatalf("%v: neighbours open: %v", k, open)
			}
			if k < r.finish[r.step("dig", bay)] {
				digging++
			}
		}
		if digging > 1 && !u.Abreast {
			t.Fatalf("%v: %d dug at once by one gang", k, digging)
		}
	}
}

// checkWaits: seen before concreted, packed the day after or later, no
// neighbour dug before its wait is over.
func (r *underpinRun) checkWaits(t *rapid.T, u Underpinning) {
	for bay := 1; bay <= r.Bays; bay++ {
		dig, see, pour := r.step("dig", bay), r.step("see", bay), r.step("pour", bay)
		pack := r.step("pack", bay)
		if r.start[pour] < r.finish[dig] || see >= 0 &&
			(r.start[see] < r.finish[dig] || r.start[pour] < r.finish[see]) {
			t.Fatalf("bay %d concreted before it was dug and seen", bay)
		}
		poured := r.finish[pour].Last()
		if r.start[pack].Day() <= poured.Day() || r.start[pack] < poured+Instant(u.Gain) {
			t.Fatalf("bay %d poured %v, packed %v", bay, poured, r.start[pack])
		}
		if bay == r.Bays {
			continue
		}
		first, second := bay, bay+1
		if r.start[r.step("dig", bay+1)] < r.start[dig] {
			first, second = second, first
		}
		packed, dug := r.finish[r.step("pack", first)], r.start[r.step("dig", second)]
		if wait := slowCount(r.site, packed, dug); dug < packed || wait < u.Neighbour {
			t.Fatalf("bay %d packed %v, bay %d dug %v: %v", first, packed, second, dug, wait)
		}
	}
}

// checkNetwork: the network puts the steps where the walk does.
func (r *underpinRun) checkNetwork(t *rapid.T, overrun []Halves) {
	var stages []Stage
	var links []Link
	calendar := map[Kind]uint16{KindWork: 0, KindWait: 1, KindInspection: 2}
	for i, step := range r.Steps {
		stages = append(stages, Stage{Kind: step.Kind, Calendar: calendar[step.Kind],
			Length: step.Length + overrun[i]})
		for _, l := range step.After {
			link := Link{From: int32(l.Step), To: int32(i), Lag: l.Lag, Calendar: 1}
			if l.OnSite {
				link.Calendar = 0
			}
			links = append(links, link)
		}
	}
	begin := slices.Min(r.start)
	n, err := NewNetwork(begin, []*Calendar{r.site, EveryDay(), r.inspector}, stages, links)
	if err != nil {
		t.Fatal(err)
	}
	p, err := n.Programme(begin.Day(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range p.Stages {
		if d.Start != r.start[i] || d.Finish != r.finish[i] {
			t.Fatalf("%s from %v to %v, the walk says %v to %v", r.Steps[i].ID,
				d.Start, d.Finish, r.start[i], r.finish[i])
		}
	}
}
