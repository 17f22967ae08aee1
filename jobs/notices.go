package jobs

import (
	"fmt"

	"putlog/jobs/words"
	"putlog/schedule"
)

// NoticeDue is a notice of an inspection still to be given.
type NoticeDue struct {
	Job       *Job
	Stage     string // its id; a variation may have added it
	Name      string
	Clear     int              // clear working days it takes
	Day       schedule.Instant // when the inspection is planned
	By        schedule.Day     // the latest day to give it so that no work waits; never before as at
	Missed    bool             // that day has gone by: work waits already
	LastDay   schedule.Day     // the latest day to give it so that the finish does not move
	Holds     []string         // what waits for the inspection
	Costs     schedule.Halves  // worked half-days by which the finish moves if it is missed by a day
	NewFinish schedule.Instant // and to where
}

// Notices lists the notices still to be given, soonest first.
func (p *Programme) Notices() ([]NoticeDue, error) {
	var due []NoticeDue
	for _, r := range p.Rows() {
		if r.Notice == nil || r.State != schedule.Planned || p.standing.records[r.Index].NoticeOn != 0 {
			continue
		}
		n, err := p.noticeDue(r)
		if err != nil {
			return nil, err
		}
		due = append(due, n)
	}
	return due, nil
}

func (p *Programme) noticeDue(r Row) (NoticeDue, error) {
	calendar := p.Calendar(r.Keeps)
	n := NoticeDue{Job: p.Job, Stage: r.ID, Name: r.Name(), Clear: *r.Notice, Day: r.Start,
		LastDay: max(p.AsAt(), schedule.LastNotice(calendar, r.LateStart, *r.Notice)),
		Holds:   p.followers(r.Index)}
	wanted := p.withoutNotice(r)
	n.By = schedule.LastNotice(calendar, wanted, *r.Notice)
	if n.By < p.AsAt() {
		n.By, n.Missed = p.AsAt(), true
	}
	later, err := calendar.Next(r.Start.Day().End())
	if err != nil {
		return n, err
	}
	missed, err := p.standing.notBefore(r.Index, later, p.AsAt())
	if err != nil {
		return n, err
	}
	n.NewFinish = missed.Finish
	n.Costs = p.Calendar(SiteCalendar).Count(p.Finish, missed.Finish)
	return n, nil
}

// withoutNotice is where an inspection would start if notice held nothing.
func (p *Programme) withoutNotice(r Row) schedule.Instant {
	start := p.Start()
	for _, reason := range p.Programme.Reasons(r.Index) {
		if reason.Cause != schedule.CauseNotice {
			start = max(start, reason.Begins)
		}
	}
	return start
}

// followers names the stages that wait for stage i to finish.
func (p *Programme) followers(i int) []string {
	var names []string
	for k := range p.stages {
		for _, a := range p.stages[k].After {
			if a.Stage == p.stages[i].ID && a.Link == schedule.FinishStart {
				names = append(names, p.stages[k].Name())
				break
			}
		}
	}
	return names
}

// notBefore is the programme with one stage held back to an instant.
func (s *standing) notBefore(i int, at schedule.Instant, asAt schedule.Day) (*Programme, error) {
	try := *s
	try.net = nil
	try.stages = append([]Stage(nil), s.stages...)
	try.stages[i].NotBefore = max(try.stages[i].NotBefore, Moment(at))
	return try.programme(asAt)
}

// Says tells what to do about the notice and what missing it costs.
func (n NoticeDue) Says() string {
	said := fmt.Sprintf("give notice of %s by %s", n.Name, n.By.Short())
	if n.Missed {
		said = fmt.Sprintf("give notice of %s today: work waits for it already", n.Name)
	}
	said += fmt.Sprintf(" (%s; planned for %s)", clearDays(n.Clear), n.Day.Short())
	switch {
	case n.Costs > 0:
		return said + fmt.Sprintf("; missed by a day, the finish moves %s, to %s",
			words.WorkingDays(n.Costs), n.NewFinish.Last().Short())
	case len(n.Holds) > 0:
		waits := "waits"
		if len(n.Holds) > 1 {
			waits = "wait"
		}
		return said + fmt.Sprintf("; missed, %s %s, and after %s the finish moves",
			words.AndMore(n.Holds), waits, n.LastDay.Short())
	}
	return said
}

func clearDays(n int) string {
	if n == 1 {
		return "1 clear working day"
	}
	return fmt.Sprintf("%d clear working days", n)
}
