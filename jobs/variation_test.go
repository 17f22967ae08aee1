package jobs

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
	"putlog/variations"
)

// raising is a variation as a history holds it, raised on a day.
func raising(j *Job, on schedule.Day, changes ...Change) (Entry, string) {
	number := j.NextNumber()
	return Entry{On: on, Event: &Variation{Changes: changes, Terms: variations.Terms{Number: number,
		Title: "some change", AskedBy: variations.AskedByClient,
		Cost: variations.Share{Client: variations.Hundred}, Time: variations.Client}}}, number
}

// instructing raises a variation and instructs it on one day.
func instructing(j *Job, on schedule.Day, changes ...Change) []Entry {
	raised, number := raising(j, on, changes...)
	return []Entry{raised, {On: on, Event: &Ruling{Number: number, To: variations.Instructed}}}
}

// sameProgramme holds what has become of a job to what it was.
func sameProgramme(t *rapid.T, got, want *Job, asAt schedule.Day) {
	a, b := programmeView(mustProgramme(t, got, asAt)), programmeView(mustProgramme(t, want, asAt))
	if a != b {
		t.Fatalf("the programme is\n%s\nand was\n%s", a, b)
	}
}

// finishAt is the finish as at a day.
func finishAt(t *rapid.T, j *Job, asAt schedule.Day) schedule.Instant {
	return mustProgramme(t, j, asAt).Finish
}

// TestVariationThatChangesNothing moves nothing, and is listed all the same.
func TestVariationThatChangesNothing(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		on := lastDay(j)
		after, err := j.With(instructing(j, on))
		if err != nil {
			rt.Fatal(err)
		}
		asAt := on + schedule.Day(rapid.IntRange(0, 9).Draw(rt, "as at"))
		sameProgramme(rt, after, j, asAt)
		m, err := after.Moved(asAt)
		if err != nil {
			return // never accepted
		}
		number := after.Entries[len(after.Entries)-1].Event.(*Ruling).Number
		for _, s := range m.Steps {
			if s.Ref == number && s.Moved == 0 && s.Alone != nil && *s.Alone == 0 {
				return
			}
		}
		rt.Fatalf("%s is not listed as moving nothing: %+v", number, m.Steps)
	})
}

// TestAddedAndOmittedAgain: work added by one variation and left out by the next
// before it starts gives the programme back, whatever else goes on.
func TestAddedAndOmittedAgain(t *testing.T) {
	moved := 0
	reaching(t, 4, func() bool { return moved > 0 }, func(rt *rapid.T) {
		j := drawHistory(rt)
		on, asAt := lastDay(j), lastDay(j)+schedule.Day(rapid.IntRange(0, 9).Draw(rt, "as at"))
		now, err := j.standingAt(on)
		if err != nil {
			rt.Fatal(err)
		}
		// It goes between two stages of which one follows the other, so that
		// leaving it out ties nothing that was not tied before.
		to := drawStageID(rt, now, func(i int) bool { return len(now.stages[i].After) > 0 })
		add := &Added{Stage: Stage{ID: "more", Takes: drawLength(rt, 20)}}
		for _, a := range now.stages[now.index[to]].After {
			if a.Link == schedule.FinishStart && a.Lag.Halves() == 0 {
				add.After, add.Before = []After{{Stage: a.Stage}}, []string{to}
			}
		}
		added, err := j.With(instructing(j, on, Change{Add: add}))
		if err != nil {
			rt.Fatal(err)
		}
		omitted, err := added.With(instructing(added, on, Change{Drop: &Dropped{Stage: "more"}}))
		if err != nil {
			rt.Fatal(err)
		}
		if finishAt(rt, added, asAt) < finishAt(rt, j, asAt) {
			rt.Fatal("more work is done earlier")
		}
		if finishAt(rt, added, asAt) > finishAt(rt, j, asAt) {
			moved++
		}
		sameProgramme(rt, omitted, j, asAt)
	})
}

// TestRetimedBack: another length and then the old one again leave no trace.
func TestRetimedBack(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		on, asAt := lastDay(j), lastDay(j)+schedule.Day(rapid.IntRange(0, 9).Draw(rt, "as at"))
		now, err := j.standingAt(on)
		if err != nil {
			rt.Fatal(err)
		}
		open := func(i int) bool { return now.records[i].Finished == 0 && !now.stages[i].ruled() }
		id := drawStageID(rt, now, open)
		if i := now.index[id]; !open(i) {
			return
		}
		was, err := now.stages[now.index[id]].Length()
		if err != nil {
			rt.Fatal(err)
		}
		longer, err := j.With(instructing(j, on, Change{Retime: &Retimed{id, Days(was + 5)}}))
		if err != nil {
			rt.Fatal(err)
		}
		back, err := longer.With(instructing(longer, on, Change{Retime: &Retimed{id, Days(was)}}))
		if err != nil {
			rt.Fatal(err)
		}
		if finishAt(rt, longer, asAt) < finishAt(rt, j, asAt) {
			rt.Fatal("a longer stage is done earlier")
		}
		sameProgramme(rt, back, j, asAt)
	})
}

// TestNotInstructedChangesNothing: a variation raised, agreed, declined or
// withdrawn, and never instructed, changes no date; declined or withdrawn it is
// no exposure and owes nothing.
func TestNotInstructedChangesNothing(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		on, asAt := lastDay(j), lastDay(j)+schedule.Day(rapid.IntRange(0, 9).Draw(rt, "as at"))
		now, err := j.standingAt(on)
		if err != nil {
			rt.Fatal(err)
		}
		raised := Entry{On: on, Event: drawVariation(rt, j, now)}
		after := j.taking(rt, raised)
		if after == j {
			return
		}
		number := raised.Event.(*Variation).Number
		to := rapid.SampledFrom([]variations.State{variations.Raised, variations.Agreed, variations.Declined,
			variations.Withdrawn}).Draw(rt, "to")
		if to != variations.Raised {
			after = after.one(rt, Entry{On: on, Event: &Ruling{Number: number, To: to}})
		}
		sameProgramme(rt, after, j, asAt)
		off := to == variations.Declined || to == variations.Withdrawn
		checkOwing(rt, j, after, asAt, off)
		exposed, err := after.Exposures(asAt)
		if err != nil {
			rt.Fatal(err)
		}
		listed := slices.ContainsFunc(exposed, func(e Exposure) bool { return e.Number == number })
		if listed == off {
			rt.Fatalf("%v, and among what may still come: %v", to, listed)
		}
	})
}

// checkOwing holds the account after a variation that is off to the one before.
func checkOwing(t *rapid.T, before, after *Job, asAt schedule.Day, off bool) {
	if before.Contract == nil || !off {
		return
	}
	a, err := before.Account(asAt)
	if err != nil {
		t.Fatal(err)
	}
	b, err := after.Account(asAt)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Lines) != len(a.Lines)+1 {
		t.Fatal("a variation that is off is not listed")
	}
	if a.Agreed != b.Agreed || a.NotAgreed != b.NotAgreed || a.Balance != b.Balance || a.TotalDue != b.TotalDue {
		t.Fatalf("off, and the account goes from %+v to %+v", a, b)
	}
}

// TestExposureIsWhatInstructingDoes: what is said that a variation would move is
// what it does move when it is instructed that day, and what trying it said.
func TestExposureIsWhatInstructingDoes(t *testing.T) {
	known := 0
	reaching(t, 4, func() bool { return known > 0 }, func(rt *rapid.T) {
		j := drawHistory(rt)
		on := lastDay(j)
		exposed, err := j.Exposures(on)
		if err != nil {
			rt.Fatal(err)
		}
		for _, e := range exposed {
			if e.Instructed != 0 {
				continue
			}
			after := j.taking(rt, Entry{On: on, Event: &Ruling{Number: e.Number, To: variations.Instructed}})
			if (after != j) != e.Known {
				rt.Fatalf("%s is known: %v, and taken: %v", e.Number, e.Known, after != j)
			}
			if !e.Known {
				continue
			}
			known++
			moved := schedule.Halves(finishAt(rt, after, on) - finishAt(rt, j, on))
			if moved != e.Moves {
				rt.Fatalf("%s would move %v and moves %v", e.Number, e.Moves, moved)
			}
		}
	})
}

// TestTryIsWhatInstructingDoes: trying a variation records nothing and says what
// raising and instructing it would do.
func TestTryIsWhatInstructingDoes(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		on, file := lastDay(j), string(j.File())
		now, err := j.standingAt(on)
		if err != nil {
			rt.Fatal(err)
		}
		v := drawVariation(rt, j, now)
		v.Number = ""
		trial, err := j.TryVariation(v, on)
		if v.Number != "" || string(j.File()) != file {
			rt.Fatal("trying wrote something")
		}
		named := *v
		named.Number = j.NextNumber()
		after, refused := j.With([]Entry{{On: on, Event: &named},
			{On: on, Event: &Ruling{Number: named.Number, To: variations.Instructed}}})
		if (err == nil) != (refused == nil) {
			rt.Fatalf("tried: %v, recorded: %v", err, refused)
		}
		if err != nil {
			return
		}
		if programmeView(trial.After) != programmeView(mustProgramme(rt, after, on)) ||
			programmeView(trial.Before) != programmeView(mustProgramme(rt, j, on)) {
			rt.Fatal("not the programmes before and after")
		}
		if price, err := v.Price(); err != nil || price != trial.Price || trial.Variation.Number != named.Number {
			rt.Fatalf("%+v, %v; tried %+v", price, err, trial.Price)
		}
	})
}

// TestRetimedRule: a wait given by what it is may be given a length instead.
func TestRetimedRule(t *testing.T) {
	j, err := ReadJob("skim.yaml", []byte(`job: skim
region: scotland
start: 2027-03-01
stages:
  - {stage: skim, takes: 1d}
  - {stage: dries, kind: wait, skim: {background: board}, after: [skim]}
`))
	if err != nil {
		t.Fatal(err)
	}
	day := schedule.Instant(j.Start).Day()
	change := Change{Retime: &Retimed{"dries", Days(schedule.Days(9))}}
	after, err := j.With(instructing(j, day, change))
	if err != nil {
		t.Fatal(err)
	}
	p, err := after.Programme(day)
	if err != nil || p.Row(1).Length != schedule.Days(9) || p.Finish != (day+9).End() {
		t.Errorf("%v: %+v, finish %v", err, p.Row(1), p.Finish)
	}
}

// TestDroppedTiesOnce: followers of a stage left out take over what it followed,
// each once.
func TestDroppedTiesOnce(t *testing.T) {
	j, err := ReadJob("ties.yaml", []byte(`job: ties
region: scotland
start: 2027-03-01
stages:
  - {stage: a, takes: 1d}
  - {stage: b, takes: 1d}
  - {stage: c, takes: 1d, after: [a, {stage: b, lag: 2d}]}
  - {stage: d, takes: 1d, after: [a, c]}
`))
	if err != nil {
		t.Fatal(err)
	}
	day := schedule.Instant(j.Start).Day()
	after, err := j.With(instructing(j, day, Change{Drop: &Dropped{"c"}}))
	if err != nil {
		t.Fatal(err)
	}
	p, err := after.Programme(day)
	if err != nil {
		t.Fatal(err)
	}
	want := []After{{Stage: "a"}, {Stage: "b"}} // without the lag
	if got := p.Row(2).After; p.Row(2).ID != "d" || !slices.Equal(got, want) {
		t.Errorf("%s follows %+v, want %+v", p.Row(2).ID, got, want)
	}
	if len(j.Stages[3].After) != 2 {
		t.Errorf("the job file itself changed: %+v", j.Stages[3])
	}
}
