package schedule

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
	Finish  Instant    // the greatest finish of any stage
	ends    []Instant  // early start and finish of each stage in turn
	limits  []Instant  // what followers allow each end at the latest
	pushed  [4]Instant // by kind: no earlier start than this, for the as-at date
}

// Programme passes forward and backward over the network as at a day. records
// holds one Record a stage, or is nil. It takes time linear in stages and links
// and fails with a *HorizonError where a stage would end after 2099.
func (n *Network) Programme(asAt Day, records []Record) (*Programme, error) {
	if !asAt.Valid() {
		return nil, &HorizonError{What: "the as-at date", Stage: -1}
	}
	ends := make([]Instant, 4*len(n.stages))
	p := &Programme{net: n, records: records, asAt: asAt, Finish: FirstInstant,
		Stages: make([]Dates, len(n.stages)),
		ends:   ends[:2*len(n.stages)], limits: ends[2*len(n.stages):],
		pushed: [4]Instant{KindWork: asAt.AM(), KindInspection: asAt.AM()}}
	for _, s := range n.order {
		finish := p.forward(s)
		if finish > LastInstant {
			return nil, &HorizonError{What: "the end of a stage", Stage: int(s)}
		}
		p.Finish = max(p.Finish, finish)
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

// record gives what the day book says of a stage.
func (p *Programme) record(s int32) *Record {
	if p.records == nil {
		return &Record{}
	}
	return &p.records[s]
}

// bound is where a link holds the stage it leads to.
func (p *Programme) bound(a *arc) Instant {
	return p.net.calendars[a.calendar].shift(p.ends[a.from], a.lag)
}

// past says that a link no longer binds: the stage it leads to has started, and
// the recorded start stands whatever comes before.
func past(a *arc, stage *Stage, rec *Record) bool {
	return rec.Started != 0 && a.to == 0 && (a.from&1 == 0 || stage.runsByItself())
}

// forward places one stage, all that it follows being placed, and gives its
// finish.
func (p *Programme) forward(s int32) Instant {
	stage, rec, d := &p.net.stages[s], p.record(s), &p.Stages[s]
	cal := p.net.calendars[stage.Calendar]
	if rec.Finished != 0 {
		d.Start, d.Finish, d.State = rec.Started, rec.Finished, Finished
		if d.Start == 0 {
			d.Start = cal.advance(rec.Finished, -stage.Length)
		}
		p.ends[2*s], p.ends[2*s+1] = d.Start, d.Finish
		return d.Finish
	}
	d.run = stage.Length
	from := max(p.net.start, stage.NotBefore, p.pushed[stage.Kind&3])
	switch {
	case rec.Started != 0:
		from = max(rec.Started, p.pushed[stage.Kind&3])
		if !stage.runsByItself() {
			d.run = left(cal, stage.Length, rec, p.asAt.AM())
		}
	case stage.NeedsNotice:
		from = max(from, p.noticeBound(s))
	}
	bounds := [2]Instant{from, FirstInstant} // on the start, on the finish
	arcs := p.net.into(s)
	for i := range arcs {
		if a := &arcs[i]; !past(a, stage, rec) {
			bounds[a.to&1] = max(bounds[a.to&1], p.bound(a))
		}
	}
	if stage.Length == 0 {
		d.begins = max(bounds[0], bounds[1])
		d.Finish = d.begins
	} else {
		run := int32(d.run)
		rank := max(cal.rank(bounds[0]), cal.rank(bounds[1]-1)-run+1)
		d.begins, d.Finish = cal.place(rank), cal.place(rank+run-1)+1
	}
	d.Start = d.begins
	if rec.Started != 0 {
		d.Start = rec.Started
	}
	if d.Start <= p.asAt.PM() {
		p.settle(stage, rec, d)
	}
	p.ends[2*s], p.ends[2*s+1] = d.Start, d.Finish
	return d.Finish
}

// settle gives the state, and holds a delivery that has not arrived.
func (p *Programme) settle(stage *Stage, rec *Record, d *Dates) {
	asAt := p.asAt.AM()
	if d.Finish < p.asAt.End() && stage.Kind == KindDelivery {
		d.Finish, d.onFinish = p.asAt.End(), true
	}
	switch {
	case d.Finish <= asAt && stage.Kind == KindWait:
		d.State = Finished
	case rec.Started != 0 || d.Start <= asAt && stage.runsByItself():
		d.State, d.onFinish = Started, true
	}
}

// runsByItself says that nobody needs to be there: the as-at date does not
// push its start, and a recorded start fixes the start and nothing else.
func (s *Stage) runsByItself() bool { return s.Kind-KindWait <= KindDelivery-KindWait }

// left is what remains of a started stage at the as-at instant, at least one
// half-day.
func left(cal *Calendar, length Halves, rec *Record, asAt Instant) Halves {
	since := rec.Started
	if rec.LeftOn != 0 {
		length, since = rec.Left, rec.LeftOn.AM()
	}
	return max(1, length-max(0, cal.Count(since, asAt)))
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
func (p *Programme) Link(i int) Link { return p.net.links[i] }
