package documents

import (
	"slices"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// Statement is the client's copy as data.
type Statement struct {
	Ref, Title string
	AsAt       schedule.Day
	Stands     string           // where the job stands, in a sentence
	Accepted   schedule.Instant // the finish agreed; 0 when no programme was accepted
	AcceptedOn schedule.Day
	Now        schedule.Instant // the finish as forecast
	Revised    schedule.Instant // the revised completion date; 0 when none was accepted
	Moved      string           // how the finish moved, in a sentence; "" when none was accepted
	Ladder     []Rung
	Picture    Picture
	Variations []jobs.ClientLine
	Account    *Account // nil for a job without a contract
	Answers    []jobs.Answer
	Next       []jobs.Coming
	Photos     []Photo // evidence marked for the client; the caller's to fill in
	Cautions   []string
	Method     string
}

// Rung is one step of the movement, as the client reads it.
type Rung struct {
	On     schedule.Day
	What   string // what happened, in a few words
	Story  string // what happened and what it did, in words
	Asked  string // who asked, for a variation; else ""
	Bearer variations.Bearer
	From   schedule.Instant
	To     schedule.Instant
	Worked schedule.Halves // working days by which the finish moved
}

// Account is the account without anything of the builder's own.
type Account struct {
	Contract, Agreed, NotAgreed, Revised, VAT, TotalDue, Retention, Paid, Balance variations.Pence
	VATRate, RetentionRate                                                        variations.Percent
}

// Picture is the programme as cells on a strip of dates.
type Picture struct {
	From, To schedule.Day // the strip: whole weeks, a Monday to a Sunday
	Bars     []Bar
}

// Bar is one stage of the picture. Cells has a byte for each half-day of the
// strip: '#' worked, '.' a wait, '-' a delivery, 'H' a hold point, ' ' blank.
type Bar struct {
	Name   string
	Kind   schedule.Kind
	Start  schedule.Instant
	End    schedule.Instant // its finish
	Drives bool
	State  schedule.State
	Cells  string
	// Before is where it stood in the accepted programme, in cells; "" when it
	// was not in it or none was accepted.
	Before      string
	BeforeStart schedule.Instant
	BeforeEnd   schedule.Instant
}

// StatementOf draws the client's copy up as at a date.
func StatementOf(j *jobs.Job, asAt schedule.Day) (*Statement, error) {
	now, err := j.Programme(asAt)
	if err != nil {
		return nil, err
	}
	s := &Statement{Ref: j.Ref, Title: j.Title, AsAt: asAt, Stands: now.Headline(), Now: now.Finish,
		Next: now.Next(14), Cautions: j.Cautions(), Method: jobs.Method}
	if s.Title == "" {
		s.Title = j.Ref
	}
	var then *jobs.Programme
	if now.AcceptedOn() != 0 {
		m, err := j.Moved(asAt)
		if err != nil {
			return nil, err
		}
		then = m.Then
		s.movement(m)
	}
	s.Picture = pictureOf(now, then)
	if s.Variations, err = j.ClientLines(asAt); err != nil {
		return nil, err
	}
	if s.Answers, err = now.Answers(); err != nil {
		return nil, err
	}
	if j.Contract != nil {
		a, err := j.Account(asAt)
		if err != nil {
			return nil, err
		}
		s.Account = &Account{a.Contract, a.Agreed, a.NotAgreed, a.Revised, a.VAT, a.TotalDue, a.Retention,
			a.Paid, a.Balance, j.Contract.VAT, j.Contract.Retention}
	}
	return s, nil
}

// movement fills in what moved.
func (s *Statement) movement(m *jobs.Moved) {
	s.Accepted, s.AcceptedOn, s.Revised = m.Accepted, m.AcceptedOn, m.Entitled
	s.Moved = m.Headline()
	for _, step := range m.Steps {
		s.Ladder = append(s.Ladder, Rung{On: step.On, What: whatWords(step), Story: m.Story(step),
			Asked: m.AskedBy(step), Bearer: step.Bearer, From: step.Before, To: step.After,
			Worked: step.Worked})
	}
}

// mainSteps are the steps that moved the finish most, in order of date, and how
// many more moved it.
func (s *Statement) mainSteps() (main []Rung, more int) {
	const most = 3
	for _, r := range s.Ladder {
		if r.Worked != 0 {
			main = append(main, r)
		}
	}
	if len(main) <= most {
		return main, 0
	}
	size := func(r Rung) int { return int(max(r.Worked, -r.Worked)) }
	by := make([]int, len(main))
	for i := range by {
		by[i] = i
	}
	slices.SortStableFunc(by, func(a, b int) int { return size(main[b]) - size(main[a]) })
	slices.Sort(by[:most])
	told := make([]Rung, most)
	for i := range told {
		told[i] = main[by[i]]
	}
	return told, len(main) - most
}

// pictureOf draws the programme now and, where there is one, as accepted.
func pictureOf(now, then *jobs.Programme) Picture {
	first, last := now.FirstStart(), now.Finish
	if then != nil {
		first, last = min(first, then.FirstStart()), max(last, then.Finish)
	}
	from := first.Day() - schedule.Day(first.Day().Weekday())
	to := last.Last().Day() + 6 - schedule.Day(last.Last().Day().Weekday())
	pic := Picture{From: max(from, schedule.FirstDay), To: min(to, schedule.LastDay)}
	for _, r := range now.Rows() {
		bar := Bar{Name: r.Name(), Kind: r.Kind, Start: r.Start, End: r.Finish, Drives: r.Drives,
			State: r.State, Cells: pic.cells(now, r)}
		if then != nil {
			if i, err := then.Find(r.ID); err == nil {
				before := then.Row(i)
				bar.Before = pic.cells(then, before)
				bar.BeforeStart, bar.BeforeEnd = before.Start, before.Finish
			}
		}
		pic.Bars = append(pic.Bars, bar)
	}
	return pic
}

var cellMarks = [...]byte{schedule.KindWork: '#', schedule.KindWait: '.',
	schedule.KindDelivery: '-', schedule.KindInspection: 'H'}

// cells draws one stage, a byte a half-day.
func (p Picture) cells(of *jobs.Programme, r jobs.Row) string {
	calendar := of.Calendar(r.Keeps)
	cells := make([]byte, 0, 2*(p.To-p.From+1))
	for at := p.From.AM(); at < p.To.End(); at++ {
		mark := byte(' ')
		if at >= r.Start && at < r.Finish && calendar.Works(at) {
			mark = cellMarks[r.Kind]
		}
		cells = append(cells, mark)
	}
	return string(cells)
}
