package jobs

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Programme is the job's programme as at a date: the passes, with names.
type Programme struct {
	Job *Job
	*schedule.Programme
	stages    []Stage  // by index, as they stand
	calendars []string // by index
	standing  *standing
}

// Programme computes the programme as at a date from the job file and the
// entries dated up to it.
func (j *Job) Programme(asAt schedule.Day) (*Programme, error) {
	s, err := j.standingAt(asAt)
	if err != nil {
		return nil, err
	}
	return s.programme(asAt)
}

// Row is one stage of a programme.
type Row struct {
	Index int // in the programme
	*Stage
	schedule.Dates
	Keeps  string // the calendar it keeps
	Length schedule.Halves
}

// Rows lists the stages in order of start, those of one start in the order of
// the file.
func (p *Programme) Rows() []Row {
	rows := make([]Row, len(p.stages))
	for i := range p.stages {
		rows[i] = p.Row(i)
	}
	slices.SortStableFunc(rows, func(a, b Row) int { return int(a.Start) - int(b.Start) })
	return rows
}

// Row gives one stage by its index.
func (p *Programme) Row(i int) Row {
	stage := p.Programme.Stage(i)
	return Row{Index: i, Stage: &p.stages[i], Dates: p.Programme.Stages[i],
		Keeps: p.calendars[stage.Calendar], Length: stage.Length}
}

// Find gives the index of a stage by its id; the error names near matches.
func (p *Programme) Find(id string) (int, error) { return p.standing.find(id) }

// Calendar gives a calendar of the job by name, with every closure that stands;
// nil when there is none.
func (p *Programme) Calendar(name string) *schedule.Calendar {
	i := slices.Index(p.calendars, name)
	if i < 0 {
		return nil
	}
	return p.Programme.Calendars()[i]
}

// network builds the network of the stages as they stand, and the names of its
// calendars by index. lengths, where it is not nil and not 0, has a stage's
// length.
func (s *standing) network(lengths []schedule.Halves) (*schedule.Network, []string, error) {
	names := s.job.calendarNames()
	if s.net != nil && lengths == nil {
		return s.net, names, nil
	}
	stages, links, err := s.drawn(names, lengths)
	if err != nil {
		return nil, nil, err
	}
	n, err := schedule.NewNetwork(schedule.Instant(s.job.Start), s.calendars(), stages, links)
	if err != nil {
		return nil, nil, s.named(err)
	}
	if lengths == nil {
		s.net = n
	}
	return n, names, nil
}

// sound says whether the stages as they stand make a network, on whatever
// calendars: no ring, nothing out of range.
func (s *standing) sound() error {
	names := s.job.calendarNames()
	stages, links, err := s.drawn(names, nil)
	if err != nil {
		return err
	}
	_, err = schedule.NewNetwork(schedule.Instant(s.job.Start), make([]*schedule.Calendar, len(names)), stages, links)
	return s.named(err)
}

// drawn gives the stages and links as they stand as the network takes them.
func (s *standing) drawn(names []string, lengths []schedule.Halves) ([]schedule.Stage, []schedule.Link, error) {
	stages := make([]schedule.Stage, len(s.stages))
	var links []schedule.Link
	for i := range s.stages {
		stage := &s.stages[i]
		length, err := stage.Length()
		if err != nil {
			return nil, nil, fmt.Errorf("stage %s: %w", stage.ID, err)
		}
		if lengths != nil && lengths[i] != 0 {
			length = lengths[i]
		}
		stages[i] = schedule.Stage{Kind: stage.Kind, Length: length,
			Calendar: uint16(stage.calendarIndex(names)), NotBefore: schedule.Instant(stage.NotBefore)}
		if stage.Notice != nil {
			stages[i].NeedsNotice, stages[i].ClearDays = true, int16(*stage.Notice)
		}
		for _, a := range stage.After {
			links = append(links, s.link(a, i, names))
		}
	}
	return stages, links, nil
}

// link gives a link into stage i as the network takes it.
func (s *standing) link(a After, i int, names []string) schedule.Link {
	on := EveryDayCalendar
	if a.LagOn != "" {
		on = a.LagOn
	}
	return schedule.Link{From: int32(s.index[a.Stage]), To: int32(i), Type: a.Link,
		Lag: a.Lag.Halves(), Calendar: uint16(slices.Index(names, on))}
}

// named puts the stages' names to an error of the network.
func (s *standing) named(err error) error {
	var cycle *schedule.CycleError
	var horizon *schedule.HorizonError
	switch {
	case errors.As(err, &cycle):
		return &LoopError{Stages: s.ids(cycle.Stages)}
	case errors.As(err, &horizon) && horizon.Stage >= 0:
		return words.Refuse("shorten it, or give its calendar days that are worked",
			"stage %s would end after 2099", s.stages[horizon.Stage].ID)
	}
	return err
}

func (s *standing) ids(stages []int) []string {
	var ids []string
	for _, i := range stages {
		ids = append(ids, s.stages[i].ID)
	}
	return ids
}

// LoopError says that stages follow one another in a ring.
type LoopError struct {
	Stages []string // each followed by the next, the last by the first
}

func (e *LoopError) Error() string {
	show := e.Stages
	if len(show) > 10 {
		show = append(slices.Clone(show[:10]), "…")
	}
	return "stages follow one another in a ring: " + strings.Join(append(show, e.Stages[0]), " → ")
}

// Takes says how long a stage takes, on which days.
func (p *Programme) Takes(r Row) string {
	if r.Keeps == EveryDayCalendar {
		return words.Days(r.Length)
	}
	return words.WorkingDays(r.Length)
}

// Shown is the half-day by which an instant of a stage is shown: the one that
// begins there for a start, the one that ends there for a finish and for a
// stage of no length (save at the start of the job).
func (p *Programme) Shown(r Row, at schedule.Instant, finish bool) schedule.Instant {
	if at != 0 && (finish || r.Length == 0) && !(r.Length == 0 && at == p.Start()) {
		return at.Last()
	}
	return at
}

// FirstStart is the earliest start of any stage.
func (p *Programme) FirstStart() schedule.Instant {
	first := p.Finish
	for _, d := range p.Programme.Stages {
		first = min(first, d.Start)
	}
	return first
}

// Last is the stage that finishes last, the first of them by place in the file.
func (p *Programme) Last() int {
	for i, d := range p.Programme.Stages {
		if d.Finish == p.Finish {
			return i
		}
	}
	return 0
}

// Headline says when the job finishes, or finished, as a builder would say it.
func (p *Programme) Headline() string {
	name := p.Job.Ref
	if p.Job.Title != "" {
		name = p.Job.Title + " (" + p.Job.Ref + ")"
	}
	if p.done() {
		return fmt.Sprintf("%s finished on %s%s. As at %s.", name, longHalf(p.Finish.Last()),
			p.againstPromise(", %s before the promised %s", ", %s after the promised %s", ", the day promised"), p.AsAt().Long())
	}
	return fmt.Sprintf("%s finishes on %s. Last comes: %s. As at %s%s.", name, longHalf(p.Finish.Last()),
		p.lastWords(), p.AsAt().Long(), p.againstPromise("; that leaves %s to the promised %s",
			"; that is %s after the promised %s", "; that is the day promised"))
}

// lastWords names the stages that finish last.
func (p *Programme) lastWords() string {
	var last []string
	for i, d := range p.Programme.Stages {
		if d.Finish == p.Finish && d.Drives {
			last = append(last, p.stages[i].Name())
		}
	}
	if n := len(last); n > 3 {
		last = append(last[:3], fmt.Sprintf("%d more", n-3))
	}
	return words.And(last)
}

func (p *Programme) done() bool {
	for _, d := range p.Programme.Stages {
		if d.State != schedule.Finished {
			return false
		}
	}
	return true
}

// againstPromise says how the finish stands against the date promised, in the
// words for before, after and on it; "" where none was.
func (p *Programme) againstPromise(before, after, on string) string {
	if p.Job.Contract == nil || p.Job.Contract.Promised == 0 {
		return ""
	}
	promised := p.Job.Contract.Promised
	late := p.Calendar(SiteCalendar).Count(promised.End(), p.Finish)
	switch {
	case late > 0:
		return fmt.Sprintf(after, words.WorkingDays(late), promised.Long())
	case late < 0:
		return fmt.Sprintf(before, words.WorkingDays(-late), promised.Long())
	}
	return on
}

// longHalf says a half-day with its year: "Fri 21 May 2027 pm".
func longHalf(at schedule.Instant) string {
	return at.Day().Long() + " " + at.Half().String()
}

// Warnings lists what a builder should look at in the programme: waits outside
// their limits.
func (p *Programme) Warnings() []string {
	var all []string
	for i := range p.stages {
		s := &p.stages[i]
		if w, ok := p.WaitOf(i); ok {
			for _, warning := range w.Warnings {
				all = append(all, s.Name()+": "+warning)
			}
		}
	}
	return all
}

// CalendarNames lists the job's calendars.
func (p *Programme) CalendarNames() []string { return p.calendars }

// WorkingDaysFrom is the day n working days after a day that is itself not
// counted, or before it when n is negative. A working day is one with a worked
// half-day.
func WorkingDaysFrom(c *schedule.Calendar, from schedule.Day, n int) (schedule.Day, error) {
	day := from
	for ; n > 0; n-- {
		if day >= schedule.LastDay {
			return 0, &schedule.HorizonError{What: "the day asked for", Stage: -1}
		}
		at, err := c.Next(day.End())
		if err != nil {
			return 0, err
		}
		day = at.Day()
	}
	for ; n < 0; n++ {
		at, err := c.Retreat(day.AM(), 1)
		if err != nil {
			return 0, err
		}
		day = at.Day()
	}
	return day, nil
}

// AcceptedOn is the day the programme was accepted; 0 when it was not.
func (p *Programme) AcceptedOn() schedule.Day { return p.standing.accepted }
