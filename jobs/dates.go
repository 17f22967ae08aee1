package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// DateKind says what a date of a job's calendar is for.
type DateKind uint8

// The kinds of date.
const (
	StageDate  DateKind = iota + 1 // a stage, from its start to its finish
	NoticeDate                     // the latest day to give notice of an inspection
	OrderDate                      // the latest day to order a delivery
	FinishDate                     // the finish of the job
)

var dateKindNames = [...]string{"", "stage", "notice", "order", "finish"}

// String gives "stage", "notice", "order" or "finish".
func (k DateKind) String() string { return dateKindNames[k] }

// Date is one line of a job's calendar. Its kind and its stage name it for good,
// whatever becomes of its title and its days.
type Date struct {
	Kind  DateKind
	Stage string // id; "" for the finish
	Of    schedule.Kind
	State schedule.State
	Title string
	Says  string           // more about it, in words, without a full stop
	From  schedule.Instant // its first half-day begins here
	To    schedule.Instant // its last half-day ends here
	Gone  bool             // it stood in the programme once, or was to be done, and is no more
}

// Due says whether it is a notice or an order that is still to be done.
func (d Date) Due() bool {
	return (d.Kind == NoticeDate || d.Kind == OrderDate) && d.State == schedule.Planned && !d.Gone
}

// Dates lists the calendar of the job in order of its first half-day: stages,
// notices to give, deliveries to order, the finish, and last what is gone.
func (p *Programme) Dates() ([]Date, error) {
	due, err := p.Notices()
	if err != nil {
		return nil, err
	}
	var dates []Date
	for _, r := range p.Rows() {
		dates = append(dates, p.stageDate(r))
		switch {
		case r.Kind == schedule.KindInspection && r.Notice != nil:
			dates = append(dates, p.noticeDate(r, due))
		case r.Kind == schedule.KindDelivery:
			order, err := p.orderDate(r)
			if err != nil {
				return nil, err
			}
			dates = append(dates, order)
		}
	}
	dates = append(dates, p.finishDate())
	slices.SortStableFunc(dates, func(a, b Date) int { return int(a.From) - int(b.From) })
	return append(dates, p.goneDates()...), nil
}

func (p *Programme) stageDate(r Row) Date {
	d := Date{Kind: StageDate, Stage: r.ID, Of: r.Kind, State: r.State, Title: r.Name(),
		From: r.Start, To: r.Finish}
	span := fmt.Sprintf("%s, %s", r.Kind, spanWords(r.Start, r.Finish))
	d.Says = span + ", " + p.Takes(r)
	if w, ok := p.WaitOf(r.Index); ok {
		d.Says += " (" + w.Rule + ")"
	}
	switch {
	case r.State == schedule.Finished:
		d.Says = span
	case r.Drives:
		d.Says += ". It drives the finish"
	case r.Float > 0:
		d.Says += fmt.Sprintf(". It may slip %s before the finish moves", words.Days(r.Float))
	}
	return d
}

// spanWords says from when to when: "Mon 1 Mar", "Mon 1 Mar am", "Mon 1 Mar am
// to Thu 4 Mar pm".
func spanWords(from, to schedule.Instant) string {
	last := to.Last()
	switch {
	case last == from:
		return from.Short()
	case from.Half() == schedule.AM && last == from.Day().PM():
		return from.Day().Short()
	}
	return from.Short() + " to " + last.Short()
}

// noticeDate is the latest day to give notice or, once it is given, the day on
// which it was. An inspection held without one needs none any more.
func (p *Programme) noticeDate(r Row, due []NoticeDue) Date {
	d := Date{Kind: NoticeDate, Stage: r.ID, Of: r.Kind, Title: r.Name()}
	given := p.standing.records[r.Index].NoticeOn
	at := slices.IndexFunc(due, func(n NoticeDue) bool { return n.Stage == r.ID })
	switch {
	case given != 0:
		d.State, d.Says = schedule.Finished, "notice given of "+r.Name()
		return d.on(given)
	case at >= 0:
		d.Says = due[at].Says()
		return d.on(due[at].By)
	}
	d.Gone, d.Says = true, "no notice was recorded"
	return d.on(r.Start.Day())
}

// orderDate is the latest day to order a delivery so that the finish does not
// move, never before as at; or, once it is ordered, the day on which it was.
func (p *Programme) orderDate(r Row) (Date, error) {
	d := Date{Kind: OrderDate, Stage: r.ID, Of: r.Kind, Title: r.Name()}
	if r.State == schedule.Finished || p.standing.records[r.Index].Started != 0 {
		d.State, d.Says = schedule.Finished, r.Name()+" is ordered"
		return d.on(r.Start.Day()), nil
	}
	at, err := p.Calendar(r.Keeps).Retreat(r.LateFinish, r.Length)
	if err != nil {
		return d, err
	}
	by, needed := at.Day(), r.LateFinish.Last().Short()
	d.Says = fmt.Sprintf("order %s by %s (%s); needed by %s", r.Name(), by.Short(), p.Takes(r), needed)
	if by < p.AsAt() {
		d.Says = fmt.Sprintf("order %s today: to come by %s it had to be ordered by %s (%s)",
			r.Name(), needed, by.Short(), p.Takes(r))
	}
	return d.on(max(by, p.AsAt())), nil
}

func (p *Programme) finishDate() Date {
	d := Date{Kind: FinishDate, Title: p.Job.Ref, Says: strings.TrimSuffix(p.Headline(), ".")}
	if p.Job.Title != "" {
		d.Title = p.Job.Title
	}
	if p.done() {
		d.State = schedule.Finished
	}
	return d.on(p.Finish.Last().Day())
}

// on puts a date on a whole day.
func (d Date) on(day schedule.Day) Date {
	d.From, d.To = day.AM(), day.End()
	return d
}

// goneDates lists what stood in the programme once and no longer does, so that
// a calendar that has it can take it out. It stands on the as-at date, as it has
// no day of its own any more.
func (p *Programme) goneDates() []Date {
	var dates []Date
	ever := p.Job.everStood(p.AsAt())
	for i := range ever {
		s := &ever[i]
		if _, stands := p.standing.index[s.ID]; stands {
			continue
		}
		d := Date{Kind: StageDate, Stage: s.ID, Of: s.Kind, Title: s.Name(), Gone: true,
			Says: s.Name() + " is no longer in the programme"}.on(p.AsAt())
		dates = append(dates, d)
		switch {
		case s.Kind == schedule.KindInspection && s.Notice != nil:
			d.Kind = NoticeDate
			dates = append(dates, d)
		case s.Kind == schedule.KindDelivery:
			d.Kind = OrderDate
			dates = append(dates, d)
		}
	}
	return dates
}

// everStood lists the stages of the job file and those that variations added
// which were ever instructed up to a day, struck out since or not.
func (j *Job) everStood(asAt schedule.Day) []Stage {
	s := j.newStanding()
	raised := map[string]*Variation{} // by number; for lookup only
	for _, e := range j.Entries {
		switch event := e.Event.(type) {
		case *Variation:
			raised[event.Number] = event
		case *Ruling:
			if v := raised[event.Number]; v != nil && event.To == variations.Instructed && e.On <= asAt {
				s.addAll(v.Changes)
			}
		}
	}
	return s.stages
}

// addAll adds the stages that changes add and does nothing else of them.
func (s *standing) addAll(changes []Change) {
	for _, c := range changes {
		if c.Add != nil || c.Underpin != nil {
			_ = c.apply(s) // one that is there already stays as it is
		}
	}
}
