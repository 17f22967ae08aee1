package jobs

import (
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
	"putlog/variations"
)

// clash says whether two entries of one day may mean something else in another
// order: two of one stage or one variation (the later word on it stands), and
// two sets of changes (of which one may take away what the other makes).
func clash(j *Job, a, b Event) bool {
	name := func(id string) string { return id }
	refA, _ := a.says(name)
	refB, _ := b.says(name)
	if refA != "" && refA == refB {
		return true
	}
	return changes(j, a) && changes(j, b)
}

// changes says whether an event instructs changes to the programme.
func changes(j *Job, e Event) bool {
	r, ok := e.(*Ruling)
	if !ok || r.To != variations.Instructed {
		return false
	}
	for _, e := range j.Entries {
		if v, ok := e.Event.(*Variation); ok && v.Number == r.Number && len(v.Changes) > 0 {
			return true
		}
	}
	return false
}

// TestOrderOfOneDay: two entries of one day give the same programme and the same
// account whichever is written first, where either may be.
func TestOrderOfOneDay(t *testing.T) {
	pairs := map[[2]string]bool{}
	reaching(t, 2, func() bool { return len(pairs) >= 6 }, func(rt *rapid.T) {
		j := drawHistory(rt)
		day := lastDay(j)
		a, b := Entry{On: day, Event: drawEvent(rt, j, day)}, Entry{On: day, Event: drawEvent(rt, j, day)}
		if clash(j, a.Event, b.Event) {
			return
		}
		ab, err := j.With([]Entry{a, b})
		ba, err2 := j.With([]Entry{b, a})
		if err != nil || err2 != nil {
			return
		}
		pairs[[2]string{a.Event.Kind(), b.Event.Kind()}] = true
		asAt := day + schedule.Day(rapid.IntRange(0, 9).Draw(rt, "as at"))
		p, q := mustProgramme(rt, ab, asAt), mustProgramme(rt, ba, asAt)
		if one, other := programmeView(p), programmeView(q); one != other {
			rt.Fatalf("%s, %s:\n%s\nthe other way:\n%s", a.Event.Kind(), b.Event.Kind(), one, other)
		}
		if j.Contract == nil {
			return
		}
		one, err := ab.Account(asAt)
		other, err2 := ba.Account(asAt)
		if err != nil || err2 != nil {
			rt.Fatal(err, err2)
		}
		one.Lines, other.Lines = nil, nil // in the order raised
		if accountSums(one) != accountSums(other) {
			rt.Fatalf("%s, %s: %+v\nthe other way: %+v", a.Event.Kind(), b.Event.Kind(), one, other)
		}
	})
}

// accountSums are the sums of an account without its lines.
func accountSums(a variations.Account) [9]variations.Pence {
	return [9]variations.Pence{a.Contract, a.Agreed, a.NotAgreed, a.Revised, a.VAT, a.TotalDue, a.Retention,
		a.Paid, a.Balance}
}

// TestWrittenLate: an entry written down late, with its own date, gives what it
// would have given in its place.
func TestWrittenLate(t *testing.T) {
	late := 0
	reaching(t, 4, func() bool { return late > 0 }, func(rt *rapid.T) {
		j := drawHistory(rt)
		for _, e := range j.Entries {
			if _, corrects := e.Event.(*Correction); corrects {
				return // numbers tell the order of writing
			}
		}
		sorted := *j
		sorted.Entries = nil
		for i, e := range j.history(schedule.LastDay) {
			sorted.Entries = append(sorted.Entries, e.Entry)
			if e.number != i+1 {
				late++
			}
		}
		asAt := drawAsAt(rt, j)
		if got, want := view(rt, j, asAt), view(rt, &sorted, asAt); got != want {
			rt.Fatalf("written late:\n%s\nin its place:\n%s", got, want)
		}
	})
}

// TestFinishNeverBeforeAsAt: work that is not done is never forecast in the past,
// and what is recorded stands.
func TestFinishNeverBeforeAsAt(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		asAt := drawAsAt(rt, j)
		p := mustProgramme(rt, j, asAt)
		for _, r := range p.Rows() {
			rec := p.standing.records[r.Index]
			switch {
			case rec.Finished != 0 && (r.Finish != rec.Finished || r.State != schedule.Finished),
				rec.Started != 0 && r.Start != rec.Started:
				rt.Fatalf("%s: recorded %+v, shown %+v", r.ID, rec, r.Dates)
			case rec.Finished != 0 || r.Kind == schedule.KindWait:
			case r.Finish <= asAt.AM():
				rt.Fatalf("%s is forecast to finish %v, as at %s", r.ID, r.Finish, asAt)
			case r.Kind != schedule.KindDelivery && rec.Started == 0 && r.Start < asAt.AM():
				rt.Fatalf("%s is forecast to start %v, as at %s", r.ID, r.Start, asAt)
			}
			if r.State != schedule.Finished && r.LateFinish < r.Finish {
				rt.Fatalf("%s may finish %v at the latest and finishes %v", r.ID, r.LateFinish, r.Finish)
			}
		}
	})
}
