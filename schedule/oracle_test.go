package schedule

import (
	"slices"
	"testing"
)

// The oracle is slow and obvious: it walks half-day by half-day and relaxes
// every link again and again until nothing moves.
type oracle struct {
	start     Instant
	calendars []*Calendar
	stages    []Stage
	links     []Link
	records   []Record
	asAt      Day
	held      int     // with heldTo: this stage finishes no earlier than that,
	heldTo    Instant // whatever its start
}

func slowAdvance(c *Calendar, k Instant, n Halves) Instant {
	for n > 0 {
		if c.Works(k) {
			n--
		}
		k++
		if k > LastInstant {
			return beyond
		}
	}
	for n < 0 {
		k--
		if k < FirstInstant {
			return FirstInstant
		}
		if c.Works(k) {
			n++
		}
	}
	return k
}

func slowNext(c *Calendar, k Instant) Instant {
	for k < LastInstant && !c.Works(k) {
		k++
	}
	return k
}

func slowCount(c *Calendar, a, b Instant) Halves {
	n := Halves(0)
	for ; a < b; a++ {
		if c.Works(a) {
			n++
		}
	}
	return n
}

// place gives start and finish of stage s when its run may not begin before
// from nor finish before finish.
func (o *oracle) place(s int, from, finish Instant, run Halves) (Instant, Instant) {
	c := o.calendars[o.stages[s].Calendar]
	if o.stages[s].Length == 0 {
		at := max(from, finish)
		return at, at
	}
	for k := slowNext(c, from); ; k = slowNext(c, k+1) {
		if f := slowAdvance(c, k, run); f >= finish || k >= LastInstant {
			return k, f
		}
	}
}

// passes gives the start and finish of every stage.
func (o *oracle) passes() (start, finish []Instant) {
	start, finish = make([]Instant, len(o.stages)), make([]Instant, len(o.stages))
	for s := range o.stages {
		start[s], finish[s] = o.start, o.start
	}
	for moved := true; moved; {
		moved = false
		for s := range o.stages {
			a, b := o.one(s, start, finish)
			if a != start[s] || b != finish[s] {
				start[s], finish[s], moved = a, b, true
			}
		}
	}
	return start, finish
}

func (o *oracle) one(s int, start, finish []Instant) (Instant, Instant) {
	stage, rec := o.stages[s], o.records[s]
	c := o.calendars[stage.Calendar]
	if rec.Finished != 0 {
		if rec.Started == 0 {
			return slowAdvance(c, rec.Finished, -stage.Length), rec.Finished
		}
		return rec.Started, rec.Finished
	}
	byItself := stage.Kind == KindWait || stage.Kind == KindDelivery
	from, fin, run := o.floor(s), Instant(0), stage.Length
	for _, l := range o.links {
		if int(l.To) != s {
			continue
		}
		at := finish[l.From]
		if l.Type == StartStart || l.Type == StartFinish {
			at = start[l.From]
		}
		at = slowAdvance(o.calendars[l.Calendar], at, l.Lag)
		switch {
		case l.Type == FinishFinish || l.Type == StartFinish:
			fin = max(fin, at)
		case rec.Started == 0, l.Type == FinishStart && !byItself:
			from = max(from, at)
		}
	}
	if rec.Started != 0 && !byItself {
		if rec.LeftOn != 0 {
			run = rec.Left - slowCount(c, rec.LeftOn.AM(), o.asAt.AM())
		} else {
			run -= slowCount(c, rec.Started, o.asAt.AM())
		}
		run = max(run, 1)
	}
	a, b := o.place(s, from, fin, run)
	if rec.Started != 0 {
		a = rec.Started
	}
	if stage.Kind == KindDelivery {
		b = max(b, o.asAt.End())
	}
	if o.held == s {
		b = max(b, o.heldTo)
	}
	return a, b
}

func (o *oracle) floor(s int) Instant {
	stage, rec := o.stages[s], o.records[s]
	byItself := stage.Kind == KindWait || stage.Kind == KindDelivery
	switch {
	case rec.Started != 0 && byItself:
		return rec.Started
	case rec.Started != 0:
		return max(rec.Started, o.asAt.AM())
	case byItself:
		return max(o.start, stage.NotBefore)
	}
	from := max(o.start, stage.NotBefore, o.asAt.AM())
	if stage.Kind == KindInspection && stage.NeedsNotice {
		c := o.calendars[stage.Calendar]
		day := rec.NoticeOn
		if day == 0 {
			day = o.asAt
		}
		for left := stage.ClearDays + 1; left > 0; {
			day++
			if c.Works(day.AM()) || c.Works(day.PM()) {
				left--
			}
		}
		from = max(from, day.AM())
	}
	return from
}

func (o *oracle) finish() Instant {
	_, finish := o.passes()
	return slices.Max(finish)
}

func (o *oracle) network(t testing.TB) *Network {
	t.Helper()
	n, err := NewNetwork(o.start, o.calendars, o.stages, o.links)
	if err != nil {
		t.Fatal(err)
	}
	return n
}
