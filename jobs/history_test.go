package jobs

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/jobs/book"
	"putlog/schedule"
	"putlog/variations"
)

// view is all that is said of a job as at a day, the day book itself apart: its
// programme, movement, account, exposure and agenda.
func view(t *rapid.T, j *Job, asAt schedule.Day) string {
	var said strings.Builder
	p := mustProgramme(t, j, asAt)
	said.WriteString(programmeView(p) + accountView(t, j, asAt))
	m, err := j.Moved(asAt)
	if err == nil {
		said.WriteString(movedView(m))
	} else {
		fmt.Fprintln(&said, "not moved:", err)
	}
	g, err := p.Agenda()
	if err != nil {
		t.Fatal(err)
	}
	g.Job = ""
	fmt.Fprintf(&said, "agenda %+v\n", *g)
	return said.String()
}

func mustProgramme(t *rapid.T, j *Job, asAt schedule.Day) *Programme {
	p, err := j.Programme(asAt)
	if err != nil {
		t.Fatalf("as at %s: %v", asAt, err)
	}
	return p
}

// accountView is the account, if there is a contract, and what may still come.
func accountView(t *rapid.T, j *Job, asAt schedule.Day) string {
	a, err := j.Account(asAt)
	if (err == nil) != (j.Contract != nil) {
		t.Fatalf("account as at %s: %v", asAt, err)
	}
	exposed, err := j.Exposures(asAt)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("account %+v\nexposure %+v\n", a, exposed)
}

// programmeView is every date of a programme.
func programmeView(p *Programme) string {
	var said strings.Builder
	fmt.Fprintf(&said, "finish %s as at %s\n", p.Finish, p.AsAt())
	for _, r := range p.Rows() {
		fmt.Fprintf(&said, "%s %s %v %+v\n", r.ID, r.Keeps, r.Length, r.Dates)
	}
	return said.String()
}

// movedView is every step of a movement and what they come to.
func movedView(m *Moved) string {
	var said strings.Builder
	fmt.Fprintln(&said, "moved", m.Accepted, m.Forecast, m.Entitled, m.Moved, m.Worked, m.By)
	for _, s := range m.Steps {
		alone := "-"
		if s.Alone != nil {
			alone = s.Alone.String()
		}
		s.Alone = nil
		fmt.Fprintf(&said, "%+v alone %s: %s\n", s, alone, m.Story(s))
	}
	return said.String()
}

// bookLines is the day book as it is shown.
func bookLines(j *Job, asAt schedule.Day) string {
	var said strings.Builder
	for _, l := range j.Lines(asAt) {
		fmt.Fprintln(&said, l.Number, l.On, l.Ref, l.Says, l.StruckBy)
	}
	return said.String()
}

// lastDay is the latest date in the day book, or the day before the start.
func lastDay(j *Job) schedule.Day {
	last := schedule.Instant(j.Start).Day() - 1
	for _, e := range j.Entries {
		last = max(last, e.On)
	}
	return last
}

// drawAsAt is a day about the history: before it, in it or after it.
func drawAsAt(t *rapid.T, j *Job) schedule.Day {
	first := schedule.Instant(j.Start).Day() - 12
	return first + schedule.Day(rapid.IntRange(0, int(lastDay(j)-first)+25).Draw(t, "as at"))
}

// TestMovementSumsToTheForecast: the steps join up and sum exactly to the
// movement, by bearer too, and lead to the programme's own finish; the days due
// stand on the accepted finish.
func TestMovementSumsToTheForecast(t *testing.T) {
	steps := 0
	reaching(t, 2, func() bool { return steps > 0 }, func(rt *rapid.T) {
		j := drawHistory(rt)
		steps += sumsToTheForecast(rt, j, drawAsAt(rt, j))
	})
}

func sumsToTheForecast(rt *rapid.T, j *Job, asAt schedule.Day) (steps int) {
	m, err := j.Moved(asAt)
	if err != nil {
		if s, _ := j.standingAt(asAt); s.accepted != 0 || !strings.Contains(err.Error(), "was accepted up to") {
			rt.Fatal(err)
		}
		return 0
	}
	p := mustProgramme(rt, j, asAt)
	site := p.Calendar(SiteCalendar)
	at, moved, worked := m.Accepted, schedule.Halves(0), schedule.Halves(0)
	var by [3]variations.Borne
	for _, s := range m.Steps {
		steps++
		if s.Before != at || schedule.Halves(s.After-s.Before) != s.Moved ||
			site.Count(s.Before, s.After) != s.Worked {
			rt.Fatalf("step %+v after %v", s, at)
		}
		if s.On < m.AcceptedOn || s.On > asAt || s.Moved == 0 && s.Kind != "instructed" {
			rt.Fatalf("step %+v, accepted on %s, as at %s", s, m.AcceptedOn, asAt)
		}
		at, moved, worked = s.After, moved+s.Moved, worked+s.Worked
		by[s.Bearer-1].Moved += s.Moved
		by[s.Bearer-1].Worked += s.Worked
	}
	if moved != m.Moved || worked != m.Worked || by != m.By ||
		m.Accepted+schedule.Instant(moved) != m.Forecast {
		rt.Fatalf("steps come to %v, %v, %v; said %v, %v, %v", moved, worked, by, m.Moved, m.Worked, m.By)
	}
	if at != m.Forecast || p.Finish != m.Forecast {
		rt.Fatalf("the steps lead to %v, the forecast is %v, the programme says %v", at, m.Forecast, p.Finish)
	}
	due := m.By[variations.Client-1].Worked + m.By[variations.Neutral-1].Worked
	if site.Count(m.Accepted, m.Entitled) != due || due == 0 && m.Entitled != m.Accepted {
		rt.Fatalf("%v due from %v: entitled to %v", due, m.Accepted, m.Entitled)
	}
	return steps
}

// TestAcceptedFinishIsTheProgrammeOfItsDay: the movement starts from what the
// programme was when it was accepted, with what was written up to that entry.
func TestAcceptedFinishIsTheProgrammeOfItsDay(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		m, err := j.Moved(drawAsAt(rt, j))
		if err != nil {
			return
		}
		history := j.history(m.AsAt)
		at := slices.IndexFunc(history, func(e numbered) bool { return e.Event.Kind() == "accepted" })
		then := *j
		then.Entries = nil
		for _, e := range history[:at+1] {
			if _, corrects := e.Event.(*Correction); !corrects { // what it struck out is gone already
				then.Entries = append(then.Entries, e.Entry)
			}
		}
		p := mustProgramme(rt, &then, m.AcceptedOn)
		if p.Finish != m.Accepted || history[at].On != m.AcceptedOn {
			rt.Fatalf("finish %v, accepted %v on %s", p.Finish, m.Accepted, m.AcceptedOn)
		}
	})
}

// TestAsAtNeverReadsLater: what is said as at a day is the same whether entries
// dated after it are in the book or not.
func TestAsAtNeverReadsLater(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		asAt := drawAsAt(rt, j)
		// Entries dated later are taken out from behind, so that the numbers of
		// the others stay; what still stands between is out of reach of asAt.
		early := *j
		early.Entries = slices.Clone(j.Entries)
		for n := len(early.Entries); n > 0 && early.Entries[n-1].On > asAt; n = len(early.Entries) {
			early.Entries = early.Entries[:n-1]
		}
		for i, e := range early.Entries {
			if e.On > asAt { // another that is out of reach
				early.Entries[i] = Entry{On: e.On, Event: &Payment{Amount: 1}}
			}
		}
		got := view(rt, &early, asAt) + bookLines(&early, asAt)
		want := view(rt, j, asAt) + bookLines(j, asAt)
		if got != want {
			rt.Fatalf("without later entries:\n%s\nwith them:\n%s", got, want)
		}
	})
}

// TestExportKeepsHistories: a job file read back gives the same bytes again and
// says the same, its float and late dates too.
func TestExportKeepsHistories(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		asAt := drawAsAt(rt, j)
		before := view(rt, j, asAt)
		file := j.File()
		if after := view(rt, j, asAt); after != before {
			rt.Fatalf("exporting changed what is said:\n%s\n%s", before, after)
		}
		back, err := ReadJob("drawn.yaml", file)
		if err != nil {
			rt.Fatalf("%v\n%s", err, file)
		}
		if again := back.File(); !bytes.Equal(again, file) {
			rt.Fatalf("exported\n%s\nand again\n%s", file, again)
		}
		if got := view(rt, back, asAt) + bookLines(back, asAt); got != before+bookLines(j, asAt) {
			rt.Fatalf("read back:\n%s\nbefore:\n%s", got, before)
		}
	})
}

// TestReplayInHalves: a job written to a book with its whole history, and one
// with the first part of it and the rest recorded later, are the same job.
func TestReplayInHalves(t *testing.T) {
	fewer(t, 6, func(rt *rapid.T) {
		j := drawHistory(rt)
		b, err := book.Open(filepath.Join(t.TempDir(), "putlog.db"))
		if err != nil {
			rt.Fatal(err)
		}
		defer b.Close()
		half := rapid.IntRange(0, len(j.Entries)).Draw(rt, "half")
		first := *j
		first.Entries = j.Entries[:half]
		back, err := ReadJob("first.yaml", first.File())
		if err != nil {
			rt.Fatal(err)
		}
		if err := Add(b, back, "2027-02-01T09:30:00Z"); err != nil {
			rt.Fatal(err)
		}
		for rest := j.Entries[half:]; len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(rt, "at once")
			if _, err := Record(b, j.Ref, rest[:n], lastDay(j), "2027-02-02T09:30:00Z"); err != nil {
				rt.Fatal(err)
			}
			rest = rest[n:]
		}
		got, err := Open(b, j.Ref)
		if err != nil {
			rt.Fatal(err)
		}
		if whole := j.File(); !bytes.Equal(got.File(), whole) {
			rt.Fatalf("in halves\n%s\nat once\n%s", got.File(), whole)
		}
		asAt := drawAsAt(rt, j)
		if a, b := view(rt, got, asAt), view(rt, j, asAt); a != b {
			rt.Fatalf("in halves\n%s\nat once\n%s", a, b)
		}
	})
}

// TestRecordedIsWhatBecomesOfIt: what recording says of the finish before and
// after is what the programme says before and after.
func TestRecordedIsWhatBecomesOfIt(t *testing.T) {
	fewer(t, 4, func(rt *rapid.T) {
		j := drawHistory(rt)
		if len(j.Entries) == 0 {
			return
		}
		n := len(j.Entries) - 1
		before := *j
		before.Entries = j.Entries[:n]
		asAt := lastDay(j)
		done, err := before.Try(j.Entries[n:], asAt)
		if err != nil {
			rt.Fatal(err)
		}
		p, q := mustProgramme(rt, &before, asAt), mustProgramme(rt, j, asAt)
		if programmeView(done.Before) != programmeView(p) || programmeView(done.After) != programmeView(q) {
			rt.Fatal("not the programmes before and after")
		}
		if done.Moved() != schedule.Halves(q.Finish-p.Finish) || len(done.Lines) != 1 ||
			done.Lines[0].Number != n+1 {
			rt.Fatalf("moved %v, lines %v", done.Moved(), done.Lines)
		}
		if len(before.Entries) != n {
			rt.Fatal("trying recorded")
		}
	})
}
