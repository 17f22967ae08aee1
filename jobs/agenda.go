package jobs

import (
	"fmt"
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Item is one line of what is on: a stage and what is to be said of it.
type Item struct {
	Stage string // id
	Says  string
	Day   schedule.Day // the day it turns on; for sorting
}

// Agenda is what a builder needs to know of one job on the day of its
// programme.
type Agenda struct {
	Job      string // its reference
	OnSite   []Item // begun and not done
	MayStart []Item // nothing holds it any more
	Held     []Item // work is done up to here; something else holds it
	Waits    []Item // running, and when each ends
	Orders   []Item // deliveries: order by, or chase
	Notices  []Item // to give
	Overdue  []Item // records that should have been made
}

// soon is how far ahead the agenda looks for notices and orders: two weeks.
const soon = 14

// Agenda works out what is on, and what must be given notice of or ordered
// within two weeks.
func (p *Programme) Agenda() (*Agenda, error) {
	g := &Agenda{Job: p.Job.Ref}
	for _, r := range p.Rows() {
		p.agendaFor(g, r)
	}
	notices, err := p.Notices()
	if err != nil {
		return nil, err
	}
	for _, n := range notices {
		if n.By > p.AsAt()+soon {
			continue
		}
		g.Notices = append(g.Notices, Item{n.Stage, n.Says(), n.By})
	}
	slices.SortStableFunc(g.Notices, func(a, b Item) int { return int(a.Day) - int(b.Day) })
	return g, nil
}

// agendaFor puts a stage where it belongs.
func (p *Programme) agendaFor(g *Agenda, r Row) {
	name, today := r.Name(), p.AsAt()
	add := func(list *[]Item, day schedule.Day, says string, args ...any) {
		*list = append(*list, Item{r.ID, fmt.Sprintf(says, args...), day})
	}
	rec := p.standing.records[r.Index]
	switch {
	case r.State == schedule.Finished && r.dries() && rec.Finished == 0 && p.waitedFor(r):
		if d, err := p.standing.drying(r.Index, r.Start, p.Calendar(r.Keeps), today); err == nil && !d.Forecast.Dry {
			add(&g.Overdue, r.Finish.Last().Day(), "%s; take a reading", d.Says(name))
		}
	case r.State == schedule.Finished:
	case r.Kind == schedule.KindWait && r.State == schedule.Started && r.dries():
		if d, err := p.standing.drying(r.Index, r.Start, p.Calendar(r.Keeps), today); err == nil {
			add(&g.Waits, r.Finish.Last().Day(), "%s", d.Says(name))
		}
	case r.Kind == schedule.KindWait && r.State == schedule.Started:
		add(&g.Waits, r.Finish.Last().Day(), "%s: to the end of %s", name, r.Finish.Last().Short())
	case r.Kind == schedule.KindWait:
	case r.Kind == schedule.KindDelivery:
		p.order(g, r)
	case r.State == schedule.Started:
		add(&g.OnSite, r.Finish.Last().Day(), "%s: should end %s", name, r.Finish.Last().Short())
		if due, ok := p.due(r); ok && due <= today.AM() {
			add(&g.Overdue, due.Last().Day(), "%s should have ended %s: record its finish, or what is left",
				name, due.Last().Short())
		}
	case r.Kind == schedule.KindInspection && rec.NoticeOn != 0 && r.Start.Day() <= today:
		add(&g.MayStart, today, "%s may be held today; record what is said", name)
	case r.Kind == schedule.KindInspection && rec.NoticeOn == 0 && r.Notice != nil:
		// it stands among the notices to give
	case r.Start.Day() <= today:
		add(&g.MayStart, today, "%s%s", name, p.couldHave(r))
	default:
		if holds := p.heldBy(r); holds != "" {
			add(&g.Held, r.Start.Day(), "%s waits for %s; may start %s", name, holds, r.Start.Short())
		}
	}
}

// waitedFor says whether something that follows a stage has not begun.
func (p *Programme) waitedFor(r Row) bool {
	for k := range p.stages {
		for _, a := range p.stages[k].After {
			if a.Stage == r.ID && p.Programme.Stages[k].State == schedule.Planned {
				return true
			}
		}
	}
	return false
}

// due is when a started stage should have ended by its length.
func (p *Programme) due(r Row) (schedule.Instant, bool) {
	rec := p.standing.records[r.Index]
	from, length := rec.Started, r.Length
	if rec.LeftOn != 0 {
		from, length = rec.LeftOn.AM(), rec.Left
	}
	at, err := p.Calendar(r.Keeps).Advance(from, length)
	return at, err == nil
}

// couldHave says since when a stage could have been begun, where that is past.
func (p *Programme) couldHave(r Row) string {
	since := p.Start()
	for _, reason := range p.Programme.Reasons(r.Index) {
		if reason.Cause != schedule.CauseAsAt {
			since = max(since, reason.Begins)
		}
	}
	if since.Day() < p.AsAt() {
		return fmt.Sprintf(" (free since %s: if it has begun, record its start)", since.Short())
	}
	return ""
}

// heldBy names what holds a stage whose work before it is all done: waits,
// deliveries, inspections and other people. It gives "" where work of the
// builder's own still comes first, or where nothing but a date holds it.
func (p *Programme) heldBy(r Row) string {
	var names []string
	for _, a := range r.After {
		i := p.standing.index[a.Stage]
		before := p.Row(i)
		switch {
		case a.Link == schedule.FinishStart && before.State == schedule.Finished,
			a.Link == schedule.StartStart && before.State != schedule.Planned:
		case before.Kind == schedule.KindWork && before.Acts() == Builder:
			return ""
		case !p.reached(before):
			return "" // work comes before what would hold it
		default:
			names = append(names, before.Name())
		}
	}
	if len(names) == 0 {
		return ""
	}
	return words.AndMore(names)
}

// reached says whether what a wait, an inspection or somebody else follows is
// done, so that it is what holds the job.
func (p *Programme) reached(r Row) bool {
	if r.State != schedule.Planned {
		return true
	}
	for _, a := range r.After {
		if p.Row(p.standing.index[a.Stage]).State != schedule.Finished {
			return false
		}
	}
	return r.Kind != schedule.KindWait
}

// order says what to do about a delivery that has not come.
func (p *Programme) order(g *Agenda, r Row) {
	calendar, today := p.Calendar(r.Keeps), p.AsAt()
	rec := p.standing.records[r.Index]
	planned, err := calendar.Advance(r.Start, r.Length)
	if err != nil {
		return
	}
	by, err := calendar.Retreat(r.LateFinish, r.Length)
	if err != nil {
		return
	}
	var item Item
	switch {
	case rec.Started != 0 && planned <= today.AM():
		item = Item{r.ID, fmt.Sprintf("%s was due %s: record that it has come, or chase it",
			r.Name(), planned.Last().Short()), planned.Last().Day()}
		g.Overdue = append(g.Overdue, item)
		return
	case rec.Started != 0:
		item = Item{r.ID, fmt.Sprintf("%s is ordered, due %s; needed by %s", r.Name(),
			planned.Last().Short(), r.LateFinish.Last().Short()), planned.Last().Day()}
	case by.Day() < today:
		item = Item{r.ID, fmt.Sprintf("order %s today: to come in time it had to be ordered by %s (%s)",
			r.Name(), by.Day().Short(), p.Takes(r)), today}
	case by.Day() > today+soon:
		return
	default:
		item = Item{r.ID, fmt.Sprintf("order %s by %s (%s); needed by %s", r.Name(), by.Day().Short(),
			p.Takes(r), r.LateFinish.Last().Short()), by.Day()}
	}
	g.Orders = append(g.Orders, item)
}
