package jobs

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
	"putlog/variations"
)

// one is the job with one entry more, which its day book must take.
func (j *Job) one(t *rapid.T, e Entry) *Job {
	after, err := j.With([]Entry{e})
	if err != nil {
		t.Fatalf("%+v: %v", e.Event, err)
	}
	return after
}

// undated is all that is said of a job as at a day, but for how the drift between
// entries is cut: a correction is an entry too, and a drift ends at its date.
func undated(t *rapid.T, j *Job, asAt schedule.Day) string {
	said := programmeView(mustProgramme(t, j, asAt)) + accountView(t, j, asAt)
	m, err := j.Moved(asAt)
	if err != nil {
		return said + err.Error()
	}
	m.Steps = slices.DeleteFunc(m.Steps, func(s variations.Step) bool { return s.Kind == variations.Drift })
	m.By = [3]variations.Borne{} // a drift may be laid to another stage for being cut
	m.Entitled = 0
	return said + movedView(m)
}

// TestStruckOutIsAsNeverWritten: an entry that is struck out leaves everything
// as if it had never been written; striking the correction out brings it back.
func TestStruckOutIsAsNeverWritten(t *testing.T) {
	struck := 0
	reaching(t, 2, func() bool { return struck > 0 }, func(rt *rapid.T) {
		without := drawHistory(rt)
		e := drawEntry(rt, without, lastDay(without))
		with := without.taking(rt, e)
		if with == without {
			return
		}
		struck++
		n := len(with.Entries)
		on := max(lastDay(with), e.On) + schedule.Day(rapid.IntRange(0, 3).Draw(rt, "noticed after"))
		never := with.one(rt, Entry{On: on, Event: &Correction{Entry: n}})
		again := never.one(rt, Entry{On: on, Event: &Correction{Entry: n + 1}})
		asAt := on + schedule.Day(rapid.IntRange(0, 20).Draw(rt, "as at"))
		if got, want := undated(rt, never, asAt), undated(rt, without, asAt); got != want {
			rt.Fatalf("%s struck out:\n%s\nnever written:\n%s", e.Event.Kind(), got, want)
		}
		if got, want := undated(rt, again, asAt), undated(rt, with, asAt); got != want {
			rt.Fatalf("%s brought back:\n%s\nas it was:\n%s", e.Event.Kind(), got, want)
		}
		// Before the correction was written, the entry counted.
		if day := on - 1; day >= lastDay(with) {
			if got, want := view(rt, never, day), view(rt, with, day); got != want {
				rt.Fatalf("%s on the day before:\n%s\nas it was:\n%s", e.Event.Kind(), got, want)
			}
		}
		lines := never.Lines(on)
		if len(lines) != n+1 {
			rt.Fatalf("%d lines of %d", len(lines), n+1)
		}
		for _, l := range lines {
			if l.Number == n && l.StruckBy != n+1 {
				rt.Fatalf("%+v is not struck out", l)
			}
		}
	})
}

// dayBook is a small job with entries as a file writes them; it must stand.
func dayBook(t *testing.T, entries string) (*Job, error) {
	t.Helper()
	return ReadJob("shed.yaml", []byte(`job: shed
region: england-and-wales
start: 2027-03-01
contract: {sum: 10000.00, vat: 20}
stages:
  - {stage: dig, takes: 2d}
  - {stage: see, kind: inspection, notice: 1, after: [dig]}
  - {stage: pour, takes: 1d, after: [see]}
entries:
`+entries))
}

// TestCorrectionsRefused: what can't be struck out, and what can't stand once
// something is.
func TestCorrectionsRefused(t *testing.T) {
	for _, c := range []struct{ name, entries, says string }{
		{"itself", `
  - {on: 2027-03-01, correction: {entry: 1}}`, "there is no earlier entry 1 to strike out"},
		{"one still to come", `
  - {on: 2027-03-01, correction: {entry: 2}}
  - {on: 2027-03-02, payment: {amount: 1}}`, "there is no earlier entry 2 to strike out"},
		{"none", `
  - {on: 2027-03-01, payment: {amount: 1}}
  - {on: 2027-03-01, correction: {entry: 0}}`, "there is no earlier entry 0 to strike out"},
		{"one dated later", `
  - {on: 2027-03-02, payment: {amount: 1}}
  - {on: 2027-03-01, correction: {entry: 1}}`, "entry 1 is dated Tue 2 Mar 2027, after this"},
		{"the start under what is left", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-02, progress: {stage: dig, left: 1d}}
  - {on: 2027-03-03, correction: {entry: 1}}`, "dig was never recorded as started"},
		{"the variation under its ruling", `
  - on: 2027-03-01
    variation: {number: V1, title: x, asked-by: client, cost: client, time: client}
  - {on: 2027-03-02, agreed: {variation: V1}}
  - {on: 2027-03-03, correction: {entry: 1}}`, `there is no variation "V1"`},
		{"the correction of one replaced since", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-02, correction: {entry: 1}}
  - {on: 2027-03-02, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 2}}`, "dig was already started on Mon 1 Mar 2027"},
		{"the start, written again under its old date: on the day between there would be two", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-02, progress: {stage: dig, left: 1d}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-01, started: {stage: dig}}`, "dig was already started on Mon 1 Mar 2027"},
		{"what a later one rests on, before it is replaced", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-02, progress: {stage: dig, left: 1d}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-04, started: {stage: dig, at: 2027-03-01}}`, "dig was never recorded as started"},
	} {
		if _, err := dayBook(t, c.entries); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v; want %s", c.name, err, c.says)
		}
	}
}

// TestCorrectionsStand: what may be put right, and what the programme is then.
func TestCorrectionsStand(t *testing.T) {
	for _, c := range []struct{ name, entries, asAt, started string }{
		{"a wrong day put right at once", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-03, started: {stage: dig, at: 2027-03-02 pm}}`, "2027-03-03", "2027-03-02 pm"},
		{"as at the day before it was put right", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-03, started: {stage: dig, at: 2027-03-02 pm}}`, "2027-03-02", "2027-03-01 am"},
		{"a correction struck out", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-04, correction: {entry: 2}}`, "2027-03-04", "2027-03-01 am"},
		{"a correction of a correction struck out", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-04, correction: {entry: 2}}
  - {on: 2027-03-05, correction: {entry: 3}}`, "2027-03-05", ""},
		{"struck out twice", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-03, correction: {entry: 1}}`, "2027-03-03", ""},
		{"struck out twice and one of them struck out", `
  - {on: 2027-03-01, started: {stage: dig}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-03, correction: {entry: 1}}
  - {on: 2027-03-03, correction: {entry: 3}}`, "2027-03-03", ""},
	} {
		j, err := dayBook(t, c.entries)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		s, err := j.standingAt(holidayDate(t, c.asAt))
		if err != nil {
			t.Fatal(err)
		}
		if got := s.records[0].Started.String(); got != c.started {
			t.Errorf("%s: started %q, want %q", c.name, got, c.started)
		}
	}
}

// TestStruckNumberStaysUsed: a variation struck out frees no number, so that
// one number never means two things.
func TestStruckNumberStaysUsed(t *testing.T) {
	j, err := dayBook(t, `
  - on: 2027-03-01
    variation: {number: V1, title: x, asked-by: client, cost: client, time: client}
  - {on: 2027-03-02, correction: {entry: 1}}`)
	if err != nil {
		t.Fatal(err)
	}
	if got := j.NextNumber(); got != "V2" {
		t.Errorf("the next number is %s", got)
	}
}

// TestRecordedEntriesAllOrNone: the error of a list says which of it can't be
// so, and which older entry can't be so with it.
func TestRecordedEntriesAllOrNone(t *testing.T) {
	j, err := dayBook(t, `
  - {on: 2027-03-03, started: {stage: dig}}`)
	if err != nil {
		t.Fatal(err)
	}
	day := holidayDate(t, "2027-03-04")
	paid, later := Entry{On: day, Event: &Payment{Amount: 1}}, Entry{On: day + 1, Event: &Payment{Amount: 1}}
	noticed := Entry{On: day, Event: &Notice{Stage: "dig"}}
	finished := Entry{On: day - 2, Event: &Finished{Stage: "dig"}} // before it was started
	for _, c := range []struct {
		name    string
		entries []Entry
		want    EntryError
	}{
		{"the second of two", []Entry{paid, noticed}, EntryError{Number: 3, Given: 2, Among: 2}},
		{"the only one", []Entry{noticed}, EntryError{Number: 2, Given: 1, Among: 1}},
		{"an older one", []Entry{finished}, EntryError{Number: 1, Given: 0, Among: 1}},
		{"one still to come", []Entry{paid, later}, EntryError{Number: 3, Given: 2, Among: 2}},
	} {
		_, err := j.Try(c.entries, day)
		var got *EntryError
		if !errors.As(err, &got) {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got.Number != c.want.Number || got.Given != c.want.Given || got.Among != c.want.Among {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// TestRehearsal: a job that has not begun may be tried out with entries still to
// come; one that has begun may not.
func TestRehearsal(t *testing.T) {
	j, err := dayBook(t, `
  - {on: 2027-02-20, accepted: {}}`)
	if err != nil {
		t.Fatal(err)
	}
	start := schedule.Instant(j.Start).Day()
	later := []Entry{{On: start + 10, Event: &Payment{Amount: variations.Pence(100)}}}
	if _, err := j.Try(later, start-1); err != nil {
		t.Errorf("the day before it begins: %v", err)
	}
	if _, err := j.Try(later, start); err == nil {
		t.Error("on the day it begins, an entry still to come is taken")
	}
	if _, err := j.Try(later, start+10); err != nil {
		t.Errorf("on the day itself: %v", err)
	}
}

// TestLongTexts: a text longer than can be printed is refused, by a command and
// in a job file; one that is just short enough is not.
func TestLongTexts(t *testing.T) {
	j, err := dayBook(t, `
  - {on: 2027-02-20, accepted: {}}`)
	if err != nil {
		t.Fatal(err)
	}
	day := holidayDate(t, "2027-03-04")
	for _, c := range []struct {
		length int
		taken  bool
	}{{MaxText, true}, {MaxText + 1, false}} {
		text := strings.Repeat("½", c.length)
		line := variations.Line{Kind: variations.Labour, What: text, Quantity: 1000, Rate: 1}
		raised, _ := raising(j, day)
		raised.Event.(*Variation).Lines = []variations.Line{line}
		for _, e := range []Entry{raised, {On: day, Event: &Payment{Amount: 1, Note: text}},
			{On: day, Event: &Inspection{Stage: "see", Outcome: Fail, Seen: text}}} {
			if _, err := j.Try([]Entry{e}, day); (err == nil) != c.taken {
				t.Errorf("%s with %d characters: %v", e.Event.Kind(), c.length, err)
			}
			told := *j
			told.Entries = []Entry{e}
			if _, err := ReadJob("shed.yaml", told.File()); (err == nil) != c.taken {
				t.Errorf("a job file with %s of %d characters: %v", e.Event.Kind(), c.length, err)
			}
		}
	}
}
