package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Explanation says why a stage falls when it does.
type Explanation struct {
	Stage int   // index in the programme
	Chain []int // stages back from it, each held by the next, to where the chain begins
	Links []Holding
	Lines []string // one sentence for each stage of the chain, from the stage asked about
	Slack string   // the float of the stage asked about
	Pole  string   // the longest stretch in the chain
	Waits []string // the sum behind each wait in the chain that is given by what it is
	Ways  []string // what would have to change to start (or finish) earlier
}

// Holding says what holds one stage of a chain.
type Holding struct {
	Stage  int
	Reason schedule.Reason
	From   int // the stage the link comes from, -1 for any other cause
}

// Why explains the start of stage i, link by link back to the job's start, the
// as-at date or a recorded fact.
func (p *Programme) Why(i int) Explanation {
	e := Explanation{Stage: i}
	for at := i; at >= 0; {
		h, also := p.holding(at)
		e.Chain = append(e.Chain, at)
		e.Links = append(e.Links, h)
		e.Lines = append(e.Lines, p.sentence(h, also))
		if w, ok := p.WaitOf(at); ok {
			says := fmt.Sprintf("%s: %s (%s)", p.stages[at].Name(), w.Rule, w.Source)
			if p.stages[at].Air == SiteAir {
				says += "; the temperatures are " + p.Job.airSource()
			}
			e.Waits = append(e.Waits, says)
		}
		at = h.From
	}
	e.Slack, e.Pole = p.slack(i), p.pole(e.Chain)
	e.Ways = p.ways(i, e.Chain)
	return e
}

// holding finds what holds a stage: a link if one does, else the strongest
// other cause. also lists the other stages that hold it just as much.
func (p *Programme) holding(i int) (h Holding, also []int) {
	h = Holding{Stage: i, From: -1}
	for _, r := range p.Programme.Reasons(i) {
		switch {
		case !r.Holds:
		case r.Cause != schedule.CauseLink:
			if h.From < 0 {
				h.Reason = r
			}
		case h.From < 0:
			h.Reason, h.From = r, int(p.Programme.Link(r.Link).From)
		default:
			also = append(also, int(p.Programme.Link(r.Link).From))
		}
	}
	return h, also
}

// sentence says what holds one stage, as a builder would.
func (p *Programme) sentence(h Holding, also []int) string {
	row := p.Row(h.Stage)
	verb, begins := "starts", row.Start
	switch {
	case row.State == schedule.Started && h.Reason.Begins > row.Start:
		verb, begins = "goes on from", h.Reason.Begins
	case row.State != schedule.Planned:
		verb = "started"
	}
	said := fmt.Sprintf("%s %s %s %s", row.Name(), verb, begins.Short(), p.because(h))
	if len(also) > 0 {
		names := make([]string, len(also))
		for k, s := range also {
			names[k] = p.stages[s].Name()
		}
		said += "; " + words.AndMore(names) + " would hold it there too"
	}
	return said + "."
}

// because says the cause of a holding.
func (p *Programme) because(h Holding) string {
	row := p.Row(h.Stage)
	switch h.Reason.Cause {
	case schedule.CauseRecorded:
		return "because the day book says so"
	case schedule.CauseJobStart:
		return "because that is when the job starts" + p.gap(h)
	case schedule.CauseNotBefore:
		return "because it may not start before " + h.Reason.At.Short() + p.gap(h)
	case schedule.CauseAsAt:
		return "because it has not been done yet, and today is " + p.AsAt().Short() + p.gap(h)
	case schedule.CauseNotice:
		return p.noticeWords(row)
	}
	return "because " + p.linkWords(h) + p.gap(h)
}

// noticeWords says how notice holds an inspection.
func (p *Programme) noticeWords(row Row) string {
	days := "1 clear working day"
	if n := *row.Notice; n != 1 {
		days = fmt.Sprintf("%d clear working days", n)
	}
	if given := p.standing.records[row.Index].NoticeOn; given != 0 {
		return fmt.Sprintf("because notice was given on %s and %s must pass", given.Short(), days)
	}
	return fmt.Sprintf("because notice is not yet given: given today, %s, %s must pass",
		p.AsAt().Short(), days)
}

// linkWords says how a link holds: "See slab is to finish Mon 12 Apr pm".
func (p *Programme) linkWords(h Holding) string {
	l, from := p.Programme.Link(h.Reason.Link), p.Row(h.From)
	what, at := "finishes", from.Finish.Last()
	if l.Type == schedule.StartStart || l.Type == schedule.StartFinish {
		what, at = "starts", from.Start
	}
	if from.State == schedule.Finished || what == "starts" && from.State == schedule.Started {
		what = strings.TrimSuffix(what, "es") + "ed"
		what = strings.Replace(what, "startsed", "started", 1)
	}
	said := fmt.Sprintf("%s %s %s", from.Name(), what, at.Short())
	on := ""
	if p.calendars[l.Calendar] != EveryDayCalendar {
		on = " (" + p.calendars[l.Calendar] + " days)"
	}
	switch {
	case l.Lag > 0:
		said += fmt.Sprintf(" and %s%s must pass", words.Days(l.Lag), on)
	case l.Lag < 0:
		said += fmt.Sprintf(", less an overlap of %s%s", words.Days(-l.Lag), on)
	}
	if l.Type == schedule.FinishFinish || l.Type == schedule.StartFinish {
		said += ", which bounds when it may end"
	}
	return said
}

// gap names the days between a bound and the first working half-day after it.
func (p *Programme) gap(h Holding) string {
	from, to := h.Reason.At, h.Reason.Begins
	if p.stages[h.Stage].Kind == schedule.KindWait || to <= from || to > from+120 {
		return ""
	}
	if l := h.Reason.Link; l >= 0 {
		if t := p.Programme.Link(l).Type; t == schedule.FinishFinish || t == schedule.StartFinish {
			return ""
		}
	}
	if from.Half() == schedule.PM && to == from+1 && p.Calendar(SiteCalendar).Works(from) {
		return ""
	}
	return " (" + p.idle(from, to, p.Row(h.Stage).Keeps) + ")"
}

// idle names the days from one instant to another on which a calendar rests:
// "Sat 10 and Sun 11 Apr are not worked".
func (p *Programme) idle(from, to schedule.Instant, calendar string) string {
	titles := map[schedule.Day]string{} // for lookup only
	for _, y := range []schedule.Day{from.Day(), to.Day()} {
		year, _, _ := y.Date()
		holidays, _ := Holidays(p.Job.Region, year)
		for _, h := range holidays {
			titles[h.Day] = h.Title
		}
	}
	var days []string
	for d := from.Day(); d.AM() < to; d++ {
		if d.End() <= from || p.Calendar(calendar).Count(max(from, d.AM()), min(to, d.End())) > 0 {
			continue
		}
		name := d.Short()
		if title, ok := titles[d]; ok {
			name += " (" + title + ")"
		} else if why := p.closedFor(d, calendar); why != "" {
			name += " (" + why + ")"
		}
		days = append(days, name)
	}
	switch {
	case len(days) > 6:
		return fmt.Sprintf("%s to %s are not worked", from.Day().Short(), (to - 1).Day().Short())
	case len(days) == 1:
		return days[0] + " is not worked"
	}
	return words.And(days) + " are not worked"
}

// closedFor says why a calendar is closed on a day; "" when no closure says.
func (p *Programme) closedFor(d schedule.Day, calendar string) string {
	for _, c := range p.standing.closures {
		if s := c.Span(); c.shuts(calendar) && s.From < d.End() && s.To > d.AM() {
			if c.Why != "" {
				return c.Why
			}
			return "closed"
		}
	}
	return ""
}

// slack says what a stage's slipping would do.
func (p *Programme) slack(i int) string {
	r := p.Row(i)
	switch {
	case r.State == schedule.Finished:
		return ""
	case r.Drives:
		return fmt.Sprintf("%s drives the finish: each day it slips moves it.", r.Name())
	case r.Float == 0:
		return fmt.Sprintf("%s has no float: slipping half a day moves the finish.", r.Name())
	}
	return fmt.Sprintf("%s may slip %s (to %s) before it moves the finish.", r.Name(),
		words.Days(r.Float), r.LateFinish.Last().Short())
}

// pole names the longest stretch of a chain of two stages or more.
func (p *Programme) pole(chain []int) string {
	if len(chain) < 2 {
		return ""
	}
	long := slices.MaxFunc(chain, func(a, b int) int { return int(p.span(a)) - int(p.span(b)) })
	return fmt.Sprintf("The long pole is %s: %s.", p.stages[long].Name(), p.Takes(p.Row(long)))
}

// span is the calendar time from a stage's start to its finish.
func (p *Programme) span(i int) schedule.Instant {
	d := p.Programme.Stages[i]
	return d.Finish - d.Start
}

// ways says what a day less on each stage of the chain would bring, for the
// stages on which it brings the most; and, where no single one brings
// anything, why.
func (p *Programme) ways(stage int, chain []int) []string {
	type way struct {
		stage int
		gain  schedule.Instant
		start schedule.Instant
	}
	var all []way
	for _, i := range chain {
		d := p.Programme.Stages[i]
		if d.State == schedule.Finished || i == stage || p.Row(i).Length < 3 {
			continue
		}
		shorter, err := p.standing.shorter(i, p.Row(i).Length-2, p.AsAt())
		if err != nil {
			continue
		}
		start := shorter.Programme.Stages[stage].Start
		if gain := p.Programme.Stages[stage].Start - start; gain > 0 {
			all = append(all, way{i, gain, start})
		}
	}
	slices.SortStableFunc(all, func(a, b way) int { return int(b.gain) - int(a.gain) })
	var said []string
	for _, w := range all[:min(3, len(all))] {
		said = append(said, fmt.Sprintf("A day less on %s brings it to %s.",
			p.stages[w.stage].Name(), w.start.Short()))
	}
	if len(said) == 0 && len(chain) > 1 {
		said = append(said, "No one stage made a day shorter brings it forward: "+
			"more than one chain holds it, or the days won fall on days that are not worked.")
	}
	return said
}

// shorter is the programme with one stage of another length.
func (s *standing) shorter(i int, length schedule.Halves, asAt schedule.Day) (*Programme, error) {
	try := *s
	try.net = nil
	try.stages, try.recorded = slices.Clone(s.stages), slices.Clone(s.recorded)
	try.recorded[i].readings = nil
	try.stages[i].WaitSpec, try.stages[i].Air = schedule.WaitSpec{}, ""
	try.stages[i].Takes = Days(length)
	return try.programme(asAt)
}
