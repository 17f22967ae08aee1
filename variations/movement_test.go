package variations

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
)

// told is a history whose programme is read from a table: the finish when the
// first n events have been applied and the as-at date is a day.
type told struct {
	views map[string]View
	asked []string // in the order in which movement asked
}

func at(n int, day schedule.Day) string { return fmt.Sprintf("%d on %d", n, day) }

func (h *told) view(n int, day schedule.Day) (View, error) {
	h.asked = append(h.asked, at(n, day))
	v, ok := h.views[at(n, day)]
	if !ok {
		return View{}, fmt.Errorf("movement asks for %s", at(n, day))
	}
	return v, nil
}

// monday is Mon 1 Mar 2027; fine weeks, no holiday near.
const monday = schedule.Day(9922)

func site() *schedule.Calendar { return schedule.NewCalendar("site", schedule.MonToFri, nil, nil) }

// TestMovementSteps: drift up to an event's day comes before the event, the
// last drift leads to the day asked for, and what moves nothing is left out
// unless it is always listed.
func TestMovementSteps(t *testing.T) {
	f := func(days int) schedule.Instant { return (monday + schedule.Day(days)).End() }
	alone := schedule.Halves(8)
	h := &told{views: map[string]View{
		at(0, monday):   {Finish: f(11)},                                                  // Fri 12 Mar
		at(0, monday+1): {Finish: f(14), Held: "dig", HeldTitle: "Dig", HeldBy: Builder},  // Mon 15 Mar
		at(1, monday+1): {Finish: f(18)},                                                  // Fri 19 Mar
		at(2, monday+1): {Finish: f(18)},                                                  // a start: nothing
		at(3, monday+1): {Finish: f(18)},                                                  // a variation: nothing
		at(3, monday+3): {Finish: f(18)},                                                  // days go by: nothing
		at(4, monday+3): {Finish: f(17)},                                                  // an omission
		at(4, monday+9): {Finish: f(21), Held: "pick", HeldTitle: "Pick", HeldBy: Client}, // Mon 22 Mar
	}}
	m, err := MovementOf(History{Accepted: monday, AsAt: monday + 9, At: h.view, Site: site(),
		Events: []Event{
			{On: monday + 1, Kind: "closure", Title: "snow", Bearer: Neutral},
			{On: monday + 1, Kind: "started", Ref: "dig", Bearer: Builder},
			{On: monday + 1, Kind: "instructed", Ref: "V1", Bearer: Client, Always: true, Alone: &alone},
			{On: monday + 3, Kind: "instructed", Ref: "V2", Bearer: Client, Always: true},
		}})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range m.Steps {
		got = append(got, fmt.Sprintf("%d %s %s %s %v %v", s.On-monday, s.Kind, s.Ref, s.Bearer, s.Moved, s.Worked))
	}
	want := []string{"1 drift dig builder 3d 1d", "1 closure  neutral 4d 4d", "1 instructed V1 client 0d 0d",
		"3 instructed V2 client -1d -1d", "9 drift pick client 4d 2d"}
	if !slices.Equal(got, want) {
		t.Errorf("steps %q\nwant %q", got, want)
	}
	if m.Steps[2].Alone != &alone || m.Steps[0].Title != "Dig" {
		t.Errorf("%+v", m.Steps)
	}
	if m.Moved != 20 || m.Worked != 12 || m.Accepted != f(11) || m.Forecast != f(21) {
		t.Errorf("moved %v, worked %v, from %v to %v", m.Moved, m.Worked, m.Accepted, m.Forecast)
	}
	if m.By != [3]Borne{{6, 2}, {6, 2}, {8, 8}} {
		t.Errorf("by bearer %v", m.By)
	}
	if m.Entitled != f(18) { // five working days after Fri 12 Mar
		t.Errorf("entitled to %v", m.Entitled)
	}
}

// drawCalendar is a site that works some half-days of the week and shuts a while.
func drawCalendar(t *rapid.T) *schedule.Calendar {
	week := schedule.Week(rapid.Uint16Range(1, uint16(schedule.WholeWeek)).Draw(t, "week"))
	from := monday.AM() + schedule.Instant(rapid.IntRange(-40, 80).Draw(t, "shut from"))
	shut := schedule.Span{From: from, To: from + schedule.Instant(rapid.IntRange(0, 20).Draw(t, "shut for"))}
	return schedule.NewCalendar("site", week, nil, []schedule.Span{shut})
}

// workedBetween counts a calendar's half-days one by one, below nothing when b
// comes first.
func workedBetween(c *schedule.Calendar, a, b schedule.Instant) (n schedule.Halves) {
	for i := min(a, b); i < max(a, b); i++ {
		if c.Works(i) {
			n++
		}
	}
	if b < a {
		return -n
	}
	return n
}

// drawHistory is a history with finishes that jump about; its programme is made
// up as movement asks for it.
func drawHistory(t *rapid.T) History {
	h := History{Accepted: monday, Site: drawCalendar(t)}
	day := monday
	for i := range rapid.IntRange(0, 6).Draw(t, "events") {
		day += schedule.Day(rapid.SampledFrom([]int{0, 0, 1, 4}).Draw(t, "days on"))
		h.Events = append(h.Events, Event{On: day, Kind: "entry", Ref: fmt.Sprint(i),
			Bearer: Bearer(rapid.IntRange(int(Client), int(Neutral)).Draw(t, "bearer")),
			Always: rapid.Bool().Draw(t, "always")})
	}
	h.AsAt = day + schedule.Day(rapid.IntRange(0, 5).Draw(t, "days to as at"))
	n, last := 0, monday
	h.At = func(to int, on schedule.Day) (View, error) {
		if to < n || to > n+1 || on < last || to > n && to > 0 && h.Events[to-1].On != on {
			t.Fatalf("asked for %d on %d after %d on %d", to, on, n, last)
		}
		n, last = to, on
		return View{Finish: monday.AM() + schedule.Instant(rapid.IntRange(-10, 60).Draw(t, "finish")),
			Held:   rapid.SampledFrom([]string{"", "dig"}).Draw(t, "held"),
			HeldBy: Bearer(rapid.IntRange(0, int(Neutral)).Draw(t, "held by"))}, nil
	}
	return h
}

// TestMovementSums: the steps join up, sum exactly to the whole, each is borne
// by one, and the days due are those of the client's and the neutral steps.
func TestMovementSums(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := drawHistory(rt)
		m, err := MovementOf(h)
		if err != nil {
			rt.Fatal(err)
		}
		finish, day := m.Accepted, h.Accepted
		var moved, worked schedule.Halves
		var by [3]Borne
		for _, s := range m.Steps {
			if s.Before != finish || s.After-s.Before != schedule.Instant(s.Moved) || s.On < day || s.On > h.AsAt {
				rt.Fatalf("step %+v does not follow %v on %d", s, finish, day)
			}
			if n := workedBetween(h.Site, s.Before, s.After); s.Worked != n {
				rt.Fatalf("step %+v is worked %v", s, n)
			}
			if s.Moved == 0 && !s.Always {
				rt.Fatalf("step %+v moves nothing", s)
			}
			finish, day = s.After, s.On
			moved, worked = moved+s.Moved, worked+s.Worked
			by[s.Bearer-1].Moved += s.Moved
			by[s.Bearer-1].Worked += s.Worked
		}
		if finish != m.Forecast || m.Accepted+schedule.Instant(moved) != m.Forecast {
			rt.Fatalf("the steps lead to %v, the forecast is %v", finish, m.Forecast)
		}
		if moved != m.Moved || worked != m.Worked || by != m.By {
			rt.Fatalf("sums %v %v %v; said %v %v %v", moved, worked, by, m.Moved, m.Worked, m.By)
		}
		for _, e := range h.Events {
			if e.Always && !slices.ContainsFunc(m.Steps, func(s Step) bool { return s.Ref == e.Ref }) {
				rt.Fatalf("%+v is not listed", e)
			}
		}
		checkEntitled(rt, h.Site, m)
	})
}

// checkEntitled walks half-day by half-day from the accepted finish.
func checkEntitled(t *rapid.T, site *schedule.Calendar, m *Movement) {
	due := m.By[Client-1].Worked + m.By[Neutral-1].Worked
	want := m.Accepted
	for n := due; n > 0; want++ {
		if site.Works(want) {
			n--
		}
	}
	for n := due; n < 0; n++ {
		for want--; !site.Works(want); want-- {
		}
		if n == -1 { // as a finish: the end of the worked half-day before
			for !site.Works(want - 1) {
				want--
			}
		}
	}
	if m.Entitled != want {
		t.Fatalf("due %v from %v: entitled to %v, want %v", due, m.Accepted, m.Entitled, want)
	}
}

// A drift with nobody to lay it to is the builder's.
func TestDriftIsTheBuilders(t *testing.T) {
	h := &told{views: map[string]View{at(0, monday): {Finish: monday.End()}, at(0, monday+7): {Finish: (monday + 7).End()}}}
	m, err := MovementOf(History{Accepted: monday, AsAt: monday + 7, At: h.view, Site: site()})
	if err != nil || len(m.Steps) != 1 {
		t.Fatalf("%+v, %v", m, err)
	}
	s := m.Steps[0]
	if s.Kind != Drift || s.On != monday+7 || s.Ref != "" || s.Bearer != Builder || s.Worked != 10 {
		t.Errorf("%+v", s)
	}
	if m.Entitled != m.Accepted {
		t.Errorf("entitled to %v", m.Entitled)
	}
}

// As at the day of acceptance nothing has moved and nothing is asked for twice.
func TestMovementOfNothing(t *testing.T) {
	h := &told{views: map[string]View{at(0, monday): {Finish: monday.End(), Held: "dig", HeldBy: Client}}}
	m, err := MovementOf(History{Accepted: monday, AsAt: monday, At: h.view, Site: site()})
	if err != nil || len(m.Steps) != 0 || m.Moved != 0 || m.Entitled != monday.End() || len(h.asked) != 1 {
		t.Errorf("%+v, %v, asked %q", m, err, h.asked)
	}
}

// Whichever programme can't be made, the movement fails with its error.
func TestMovementPassesErrorsOn(t *testing.T) {
	broken := errors.New("no programme")
	for _, bad := range []string{at(0, monday), at(0, monday+1), at(1, monday+1), at(1, monday+2)} {
		h := History{Accepted: monday, AsAt: monday + 2, Site: site(),
			Events: []Event{{On: monday + 1, Kind: "entry", Bearer: Client}},
			At: func(n int, day schedule.Day) (View, error) {
				if at(n, day) == bad {
					return View{}, broken
				}
				return View{Finish: monday.End()}, nil
			}}
		if m, err := MovementOf(h); !errors.Is(err, broken) || m != nil {
			t.Errorf("%s fails: %+v, %v", bad, m, err)
		}
	}
}

// A revised completion date past the horizon is an error, not a date.
func TestEntitledPastTheHorizon(t *testing.T) {
	h := &told{views: map[string]View{at(0, monday): {Finish: schedule.LastInstant - 2},
		at(1, monday): {Finish: monday.End()}, at(2, monday): {Finish: schedule.LastInstant - 2}}}
	m, err := MovementOf(History{Accepted: monday, AsAt: monday, At: h.view, Site: schedule.EveryDay(),
		Events: []Event{{On: monday, Kind: "a", Bearer: Builder}, {On: monday, Kind: "b", Bearer: Client}}})
	var horizon *schedule.HorizonError
	if !errors.As(err, &horizon) {
		t.Errorf("%+v, %v", m, err)
	}
}
