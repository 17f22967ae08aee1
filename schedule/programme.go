package schedule

import "slices"

// Record is what the day book says of one stage, up to the as-at date.
// The zero Record says nothing.
type Record struct {
	Started  Instant // recorded start
	Finished Instant // recorded finish
	Left     Halves  // what was left on the day LeftOn
	LeftOn   Day     // the day Left was recorded; 0 when never
	NoticeOn Day     // the day notice was given and still stands; 0 when not
}

// State says how far a stage has come at the as-at date.
type State uint8

// The states of a stage.
const (
	Planned State = iota
	Started
	Finished
)

var stateNames = [...]string{"planned", "started", "finished"}

// String gives the state's name.
func (s State) String() string { return stateNames[s] }

// Dates is what the passes find for one stage.
type Dates struct {
	Start, Finish         Instant
	LateStart, LateFinish Instant // 0 for a finished stage
	Float                 Halves  // worked half-days of its own calendar; 0 when finished
	State                 State
	Drives                bool // the finish would be earlier but for this stage
	onFinish              bool // its float lies on the finish alone
	run                   Halves
	begins                Instant // where the run that ends in Finish begins
}

// Programme is a network passed over as at a date.
type Programme struct {
	net     *Network
	records []Record
	asAt    Day
	Stages  []Dates
	Finish  Instant // the greatest finish of any stage
}

// Programme passes forward and backward over the network as at a day. records
// holds one Record a stage, or is nil. It takes time linear in stages and links
// and fails with a *HorizonError where a stage would end after 2099.
func (n *Network) Programme(asAt Day, records []Record) (*Programme, error) {
	if !asAt.Valid() {
		return nil, &HorizonError{What: "the as-at date", Stage: -1}
	}
	p := &Programme{net: n, records: records, asAt: asAt,
		Stages: make([]Dates, len(n.stages)), Finish: n.start}
	for _, s := range n.order {
		p.forward(s)
		if p.Stages[s].Finish > LastInstant {
			return nil, &HorizonError{What: "the end of a stage", Stage: int(s)}
		}
		p.Finish = max(p.Finish, p.Stages[s].Finish)
	}
	p.backward()
	return p, nil
}

// Stage gives the stage as the network holds it.
func (p *Programme) Stage(s int) Stage { return p.net.stages[s] }

// AsAt is the day for which the programme stands.
func (p *Programme) AsAt() Day { return p.asAt }

// Start is the start of the job.
func (p *Programme) Start() Instant { return p.net.start }

func (p *Programme) record(s int32) Record {
	if p.records == nil {
		return Record{}
	}
	return p.records[s]
}

// bound is where a link holds the stage it leads to.
func (p *Programme) bound(l *Link) Instant {
	from := p.Stages[l.From].Finish
	if l.Type.fromStart() {
		from = p.Stages[l.From].Start
	}
	return p.net.calendars[l.Calendar].advance(from, l.Lag)
}

// startFor is the earliest worked start on c from which n half-days finish no
// earlier than bound.
func startFor(c *Calendar, bound Instant, n Halves) Instant {
	return c.place(c.rank(bound-1) - int32(n) + 1)
}

// forward places one stage, all that it follows being placed.
func (p *Programme) forward(s int32) {
	stage, rec, d := &p.net.stages[s], p.record(s), &p.Stages[s]
	cal := p.net.calendars[stage.Calendar]
	asAt := p.asAt.AM()
	if rec.Finished != 0 {
		d.Start, d.Finish, d.State = rec.Started, rec.Finished, Finished
		if d.Start == 0 {
			d.Start = cal.advance(rec.Finished, -stage.Length)
		}
		return
	}
	d.run = stage.Length
	from, finish := p.floor(s), Instant(0)
	links := p.net.into(s)
	for i := range links {
		l := &links[i]
		switch b := p.bound(l); {
		case !l.Type.toStart():
			finish = max(finish, b)
		case rec.Started == 0 || l.Type == FinishStart && !stage.runsByItself():
			from = max(from, b)
		}
	}
	if rec.Started != 0 && !stage.runsByItself() {
		d.run = left(cal, stage.Length, rec, asAt)
	}
	if stage.Length == 0 {
		d.begins = max(from, finish)
		d.Start, d.Finish = d.begins, d.begins
	} else {
		d.begins = cal.next(from)
		if finish != 0 {
			d.begins = max(d.begins, startFor(cal, finish, d.run))
		}
		d.Start, d.Finish = d.begins, cal.advance(d.begins, d.run)
	}
	if rec.Started != 0 {
		d.Start = rec.Started
	}
	p.settle(stage, rec, d)
}

// settle gives the state, and holds a delivery that has not arrived.
func (p *Programme) settle(stage *Stage, rec Record, d *Dates) {
	asAt := p.asAt.AM()
	if stage.Kind == KindDelivery && d.Finish < p.asAt.End() {
		d.Finish, d.onFinish = p.asAt.End(), true
	}
	switch {
	case stage.Kind == KindWait && d.Finish <= asAt:
		d.State = Finished
	case rec.Started != 0 || stage.runsByItself() && d.Start <= asAt:
		d.State, d.onFinish = Started, true
	}
}

// runsByItself says that nobody needs to be there: the as-at date does not
// push its start, and a recorded start fixes the start and nothing else.
func (s *Stage) runsByItself() bool { return s.Kind == KindWait || s.Kind == KindDelivery }

// left is what remains of a started stage at the as-at instant, at least one
// half-day.
func left(cal *Calendar, length Halves, rec Record, asAt Instant) Halves {
	since := rec.Started
	if rec.LeftOn != 0 {
		length, since = rec.Left, rec.LeftOn.AM()
	}
	return max(1, length-max(0, cal.Count(since, asAt)))
}

// floor is the earliest instant at which the stage may begin, or what is left
// of it go on, before any link has its say.
func (p *Programme) floor(s int32) Instant {
	stage, rec := &p.net.stages[s], p.record(s)
	switch {
	case rec.Started != 0 && stage.runsByItself():
		return rec.Started
	case rec.Started != 0:
		return max(rec.Started, p.asAt.AM())
	}
	from := max(p.net.start, stage.NotBefore)
	if !stage.runsByItself() {
		from = max(from, p.asAt.AM(), p.noticeBound(s))
	}
	return from
}

// noticeBound is the am of the working day on which an inspection may start:
// the clear days must pass after the day of notice or, while none is given,
// after the as-at date. It is 0 where no notice is needed.
func (p *Programme) noticeBound(s int32) Instant {
	stage := &p.net.stages[s]
	if stage.Kind != KindInspection || !stage.NeedsNotice {
		return 0
	}
	given := p.record(s).NoticeOn
	if given == 0 {
		given = p.asAt
	}
	return FirstAfterNotice(p.net.calendars[stage.Calendar], given, int(stage.ClearDays))
}

// FirstAfterNotice is the instant at which the first working day begins on
// which an inspection may be held when notice is given on a day and a number
// of clear working days must pass between (Building Regulations 2010 reg
// 16(1): notice on a Monday, two days, inspection on the Thursday). A working
// day is one with a worked half-day. Past the horizon it gives its end.
func FirstAfterNotice(cal *Calendar, given Day, clear int) Instant {
	day := given
	for range clear + 1 {
		if day >= LastDay {
			return LastInstant
		}
		day = cal.next(day.End()).Day()
	}
	return day.AM()
}

// LastNotice is the latest day on which notice can be given so that an
// inspection may be held on the day of at. It gives 0 when there is none.
func LastNotice(cal *Calendar, at Instant, clear int) Day {
	day := at.Day()
	for range clear + 1 {
		rank := cal.rank(day.AM()) - 1
		if rank < 0 {
			return 0
		}
		day = cal.place(rank).Day()
	}
	return day
}

// Calendars lists the network's calendars by index.
func (p *Programme) Calendars() []*Calendar { return p.net.calendars }

// Link gives a link by its index as given to NewNetwork.
func (p *Programme) Link(i int) Link { return p.net.links[slices.Index(p.net.given, int32(i))] }
