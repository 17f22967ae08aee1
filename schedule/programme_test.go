package schedule

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

func day(t testing.TB, text string) Day {
	t.Helper()
	d, err := ParseDay(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// testCalendars are five: every day, Monday to Friday with holidays and a
// closure that begins at midday, a six-day week with a half Saturday, a two-day
// week, and one that works afternoons only.
func testCalendars(t testing.TB) []*Calendar {
	d := func(s string) Day { return day(t, s) }
	off := []Day{d("2027-03-26"), d("2027-03-29"), d("2027-05-03"), d("2027-05-31")}
	shut := []Span{{d("2027-04-07").PM(), d("2027-04-12").PM()}}
	afternoons := Week(0)
	for w := Monday; w <= Friday; w++ {
		afternoons = afternoons.With(w, PM)
	}
	return []*Calendar{
		EveryDay(),
		NewCalendar("site", MonToFri, off, shut),
		NewCalendar("six", MonToFri.With(Saturday, AM), off, nil),
		NewCalendar("two", Week(0).With(Thursday, AM).With(Thursday, PM).With(Friday, AM), nil, shut),
		NewCalendar("afternoons", afternoons, off, nil),
	}
}

func drawNetwork(t *rapid.T, calendars []*Calendar) *oracle {
	o := &oracle{calendars: calendars}
	first, _ := ParseDay("2027-03-01")
	o.start = first.AM() + Instant(rapid.IntRange(0, 20).Draw(t, "start"))
	o.asAt = first + Day(rapid.IntRange(-10, 40).Draw(t, "as at"))
	count := rapid.IntRange(1, 9).Draw(t, "stages")
	cal := rapid.IntRange(0, len(calendars)-1)
	for range count {
		s := Stage{
			Kind:     Kind(rapid.IntRange(0, 3).Draw(t, "kind")),
			Calendar: uint16(cal.Draw(t, "calendar")),
			Length:   Halves(rapid.IntRange(0, 12).Draw(t, "length")),
		}
		if s.Kind == KindInspection && rapid.Bool().Draw(t, "notice") {
			s.NeedsNotice, s.ClearDays = true, int16(rapid.IntRange(0, 3).Draw(t, "clear"))
		}
		if rapid.IntRange(0, 4).Draw(t, "not before?") == 0 {
			s.NotBefore = first.AM() + Instant(rapid.IntRange(0, 60).Draw(t, "not before"))
		}
		o.stages = append(o.stages, s)
	}
	perm := rapid.Permutation(indexes(count)).Draw(t, "order")
	for range rapid.IntRange(0, 2*count).Draw(t, "links") {
		a, b := rapid.IntRange(0, count-1).Draw(t, "a"), rapid.IntRange(0, count-1).Draw(t, "b")
		if a == b {
			continue
		}
		o.links = append(o.links, Link{
			From: int32(perm[min(a, b)]), To: int32(perm[max(a, b)]),
			Lag:      Halves(rapid.IntRange(-6, 10).Draw(t, "lag")),
			Calendar: uint16(cal.Draw(t, "lag on")),
			Type:     LinkType(rapid.IntRange(0, 3).Draw(t, "type")),
		})
	}
	o.records = make([]Record, count)
	return o
}

func indexes(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// drawRecords adds facts dated up to the as-at date.
func drawRecords(t *rapid.T, o *oracle) {
	latest := int(o.asAt.End() - o.start)
	if latest < 2 {
		return
	}
	for s := range o.stages {
		r := &o.records[s]
		at := o.start + Instant(rapid.IntRange(-6, latest-1).Draw(t, "at")) // a little before the start, too
		switch rapid.IntRange(0, 6).Draw(t, "fact") {
		case 0:
			r.Finished = at + 1
		case 1:
			r.Started, r.Finished = at, at+1+Instant(rapid.IntRange(0, int(o.asAt.End()-at)-1).Draw(t, "took"))
		case 2:
			r.Started = at
		case 3:
			r.Started = at
			r.LeftOn = at.Day() + Day(rapid.IntRange(0, int(o.asAt-at.Day())).Draw(t, "later"))
			r.Left = Halves(rapid.IntRange(1, 9).Draw(t, "left"))
		case 4:
			r.NoticeOn = at.Day()
		}
		if o.stages[s].Length == 0 {
			*r = Record{}
		}
	}
}

func TestPassesAgreeWithOracle(t *testing.T) {
	calendars := testCalendars(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := drawNetwork(rt, calendars)
		if rapid.Bool().Draw(rt, "records?") {
			drawRecords(rt, o)
		}
		p, err := o.network(t).Programme(o.asAt, o.records)
		if err != nil {
			rt.Fatal(err)
		}
		start, finish := o.passes()
		for s, d := range p.Stages {
			if d.Start != start[s] || d.Finish != finish[s] {
				rt.Fatalf("stage %d: %v to %v, oracle %v to %v", s, d.Start, d.Finish, start[s], finish[s])
			}
		}
		if p.Finish != o.finish() {
			rt.Fatalf("finish %v, oracle %v", p.Finish, o.finish())
		}
	})
}

// TestFloatByDefinition holds the late dates to their definition by brute
// force: a stage begun at its late start (or, once started, finished at its
// late finish) leaves the finish where it is, and one working half-day later
// moves it.
func TestFloatByDefinition(t *testing.T) {
	calendars := testCalendars(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := drawNetwork(rt, calendars)
		if rapid.Bool().Draw(rt, "records?") {
			drawRecords(rt, o)
		}
		p, err := o.network(t).Programme(o.asAt, o.records)
		if err != nil {
			rt.Fatal(err)
		}
		for s, d := range p.Stages {
			if o.records[s].Finished != 0 || d.State == Finished {
				if d.LateStart != 0 || d.Float != 0 {
					rt.Fatalf("finished stage %d has float", s)
				}
				continue
			}
			o.checkFloat(rt, p, s)
		}
	})
}

// checkFloat tries the late date of stage s and the half-day after it.
func (o *oracle) checkFloat(t *rapid.T, p *Programme, s int) {
	d, c := p.Stages[s], o.calendars[o.stages[s].Calendar]
	early, late, onFinish := d.Start, d.LateStart, d.State == Started ||
		o.stages[s].Kind == KindDelivery && d.Finish > slowAdvance(c, d.Start, o.stages[s].Length)
	if onFinish {
		early, late = d.Finish, d.LateFinish
	}
	if d.Float != slowCount(c, early, late) {
		t.Fatalf("stage %d: float %d from %v to %v", s, d.Float, early, late)
	}
	if o.stages[s].Length > 0 && !onFinish && !c.Works(d.LateStart) {
		t.Fatalf("stage %d: late start %v is not worked", s, d.LateStart)
	}
	later := slowNext(c, late) + 1
	if !onFinish {
		later = late + 1
	}
	for i, at := range []Instant{late, later} {
		try := *o
		try.held, try.heldTo = s, at
		if !onFinish {
			try.heldTo = 0
			try.stages = append([]Stage(nil), o.stages...)
			try.stages[s].NotBefore = max(at, o.stages[s].NotBefore)
		}
		if moved := try.finish() != p.Finish; moved != (i == 1) {
			t.Fatalf("stage %d: at %v finish %v, was %v (early %v)", s, at, try.finish(), p.Finish, early)
		}
	}
}

// TestDrivesByDefinition holds Drives to the contract's own words.
func TestDrivesByDefinition(t *testing.T) {
	calendars := testCalendars(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := drawNetwork(rt, calendars)
		p, err := o.network(t).Programme(o.asAt, o.records)
		if err != nil {
			rt.Fatal(err)
		}
		want := make([]bool, len(o.stages))
		for s, d := range p.Stages {
			want[s] = d.Finish == p.Finish
		}
		for range o.stages { // enough rounds for any chain
			for _, l := range o.links {
				if !want[l.To] {
					continue
				}
				at := p.Stages[l.From].Finish
				if l.Type == StartStart || l.Type == StartFinish {
					at = p.Stages[l.From].Start
				}
				from, fin := slowAdvance(calendars[l.Calendar], at, l.Lag), Instant(0)
				if l.Type == FinishFinish || l.Type == StartFinish {
					from, fin = FirstInstant, from
				}
				run := o.stages[l.To].Length
				if fin != 0 && run > 0 { // no need to walk from the year 2000
					c := calendars[o.stages[l.To].Calendar]
					from = max(FirstInstant, slowAdvance(c, fin, -run-2))
				}
				if a, _ := o.place(int(l.To), from, fin, run); a == p.Stages[l.To].Start {
					want[l.From] = true
				}
			}
		}
		for s, d := range p.Stages {
			if d.Drives != want[s] {
				rt.Fatalf("stage %d: drives %v, want %v", s, d.Drives, want[s])
			}
		}
	})
}

// TestHeldDeliveryIsDrivenByNothing: a delivery that was begun and has not come
// ends with the as-at date; the link that would have had it end earlier drives
// nothing. Not yet begun, it would begin earlier but for the link.
func TestHeldDeliveryIsDrivenByNothing(t *testing.T) {
	first := day(t, "2027-03-01")
	for _, begun := range []Instant{0, first.AM()} {
		o := oracle{start: first.AM(), calendars: testCalendars(t), asAt: day(t, "2027-03-15"),
			stages: []Stage{{Length: 1, Calendar: 1}, {Kind: KindDelivery, Length: 2, Calendar: 1}},
			links:  []Link{{From: 0, To: 1, Type: FinishFinish, Lag: 2, Calendar: 1}},
			records: []Record{{Started: first.AM(), Finished: day(t, "2027-03-03").AM()},
				{Started: begun}}}
		p, err := o.network(t).Programme(o.asAt, o.records)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Stages[0].Drives; got != (begun == 0) || p.Finish != o.asAt.End() {
			t.Errorf("begun at %v: drives %v, finish %v", begun, got, p.Finish)
		}
	}
}

// TestFinishedBeforeTheStart: the finish is the last stage's, wherever the job's
// start lies.
func TestFinishedBeforeTheStart(t *testing.T) {
	start := day(t, "2027-03-08")
	o := oracle{start: start.AM(), calendars: testCalendars(t), asAt: start,
		stages:  []Stage{{Length: 2, Calendar: 1}},
		records: []Record{{Finished: day(t, "2027-03-04").PM()}}}
	p, err := o.network(t).Programme(o.asAt, o.records)
	if err != nil || p.Finish != day(t, "2027-03-04").PM() || !p.Stages[0].Drives {
		t.Errorf("finish %v, %+v, %v", p.Finish, p.Stages, err)
	}
}

// TestMoreWorkNeverEarlier: adding work or a link never finishes earlier. Work
// is added only where links bound starts: a stage held by its finish begins
// earlier when it is longer, and takes what follows its start along.
func TestMoreWorkNeverEarlier(t *testing.T) {
	calendars := testCalendars(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := drawNetwork(rt, calendars)
		var before *Programme
		var err error
		s := rapid.IntRange(0, len(o.stages)-1).Draw(rt, "stage")
		if len(o.links) > 0 && rapid.Bool().Draw(rt, "drop a link") {
			o.links = o.links[:len(o.links)-1]
			before, err = o.network(t).Programme(o.asAt, o.records)
			if err != nil {
				rt.Fatal(err)
			}
			o.links = o.links[:len(o.links)+1]
		} else {
			for i := range o.links {
				o.links[i].Type %= 2 // finish-start or start-start
			}
			if before, err = o.network(t).Programme(o.asAt, o.records); err != nil {
				rt.Fatal(err)
			}
			o.stages[s].Length += Halves(rapid.IntRange(1, 9).Draw(rt, "more"))
		}
		after, err := o.network(t).Programme(o.asAt, o.records)
		if err != nil {
			rt.Fatal(err)
		}
		if after.Finish < before.Finish {
			rt.Fatalf("more work: %v, less: %v", after.Finish, before.Finish)
		}
	})
}

func TestCycleIsReportedAsTheLoop(t *testing.T) {
	o := &oracle{start: FirstInstant, calendars: []*Calendar{EveryDay()}, stages: make([]Stage, 5)}
	for _, l := range [][2]int32{{0, 1}, {1, 2}, {2, 3}, {3, 1}, {3, 4}} {
		o.links = append(o.links, Link{From: l[0], To: l[1]})
	}
	_, err := NewNetwork(o.start, o.calendars, o.stages, o.links)
	var cycle *CycleError
	if !errors.As(err, &cycle) {
		t.Fatalf("got %v", err)
	}
	if want := []int{1, 2, 3}; len(cycle.Stages) != 3 || cycle.Stages[0] != want[0] ||
		cycle.Stages[1] != want[1] || cycle.Stages[2] != want[2] {
		t.Fatalf("got %v", cycle.Stages)
	}
	_, err = NewNetwork(o.start, o.calendars, o.stages, []Link{{From: 2, To: 2}})
	if !errors.As(err, &cycle) || len(cycle.Stages) != 1 {
		t.Fatalf("a stage that follows itself: %v", err)
	}
}

func TestPastTheHorizonIsAnError(t *testing.T) {
	never := NewCalendar("never", 0, nil, nil)
	for _, o := range []oracle{
		{start: LastDay.PM(), calendars: []*Calendar{EveryDay()}, stages: []Stage{{Length: 2}}},
		{start: FirstInstant, calendars: []*Calendar{never}, stages: []Stage{{Length: 1}}},
		{start: FirstInstant, calendars: []*Calendar{EveryDay()},
			stages: []Stage{{Length: 1}, {Length: 1}}, links: []Link{{From: 0, To: 1, Lag: MaxLength}}},
		{start: FirstInstant, calendars: []*Calendar{EveryDay()}, stages: []Stage{
			{Length: MaxLength}, {Length: MaxLength}}, links: []Link{{From: 0, To: 1}}},
	} {
		n := o.network(t)
		_, err := n.Programme(FirstDay, nil)
		var horizon *HorizonError
		if !errors.As(err, &horizon) || horizon.Stage != len(o.stages)-1 {
			t.Errorf("got %v", err)
		}
	}
}

// TestReasonsHold: something always holds a stage where it begins, and what
// holds it is no later than where it begins.
func TestReasonsHold(t *testing.T) {
	calendars := testCalendars(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := drawNetwork(rt, calendars)
		drawRecords(rt, o)
		p, err := o.network(t).Programme(o.asAt, o.records)
		if err != nil {
			rt.Fatal(err)
		}
		for s, d := range p.Stages {
			held := false
			for _, r := range p.Reasons(s) {
				held = held || r.Holds
				if d.State == Planned && r.Begins > d.Start {
					rt.Fatalf("stage %d starts %v before %+v", s, d.Start, r)
				}
			}
			if !held {
				rt.Fatalf("nothing holds stage %d at %v: %+v", s, d.Start, p.Reasons(s))
			}
		}
	})
}
