package schedule

// backward finds late dates, float and what drives, each stage after all that
// follow it. Until a stage is reached, LateFinish and LateStart hold the
// limits its followers put on its finish and on its start.
func (p *Programme) backward() {
	for i := range p.Stages {
		d := &p.Stages[i]
		d.LateFinish, d.LateStart = p.Finish, LastInstant
		d.Drives = d.Finish == p.Finish
	}
	for i := len(p.net.order) - 1; i >= 0; i-- {
		s := p.net.order[i]
		if p.record(s).Finished != 0 {
			p.Stages[s].LateFinish, p.Stages[s].LateStart = 0, 0
			continue
		}
		p.backwardOne(s)
	}
}

// backwardOne turns the limits on one stage into its late dates and passes the
// limits that follow on to the stages it follows.
func (p *Programme) backwardOne(s int32) {
	stage, rec, d := &p.net.stages[s], p.record(s), &p.Stages[s]
	cal := p.net.calendars[stage.Calendar]
	startLimit := d.LateStart
	if rec.Started != 0 {
		startLimit = LastInstant // its start is past moving
	}
	begins, finish := min(d.LateFinish, startLimit), min(d.LateFinish, startLimit)
	if stage.Length > 0 {
		rank := cal.rank(d.LateFinish) - int32(d.run)
		if startLimit < LastInstant {
			rank = min(rank, cal.rank(startLimit+1)-1)
		}
		begins = cal.place(rank)
		finish = cal.advance(begins, d.run)
	}
	p.lateDates(stage, cal, d, begins, finish) // reads the limit on the finish alone
	links := p.net.into(s)
	for i := range links {
		l := &links[i]
		if rec.Started != 0 && l.Type.toStart() &&
			(l.Type == StartStart || stage.runsByItself()) {
			continue // the recorded start stands whatever comes before
		}
		limit := finish
		if l.Type.toStart() {
			limit = begins
		}
		from := &p.Stages[l.From]
		limit = p.net.calendars[l.Calendar].latest(limit, l.Lag)
		if l.Type.fromStart() {
			from.LateStart = min(from.LateStart, limit)
		} else {
			from.LateFinish = min(from.LateFinish, limit)
		}
		if d.Drives && !from.Drives {
			from.Drives = p.holds(l, stage, cal, d)
		}
	}
}

// lateDates writes the late dates and the float of a stage whose run may begin
// at begins and end at finish at the latest.
func (p *Programme) lateDates(stage *Stage, cal *Calendar, d *Dates, begins, finish Instant) {
	switch {
	case d.State == Finished: // a wait that has run out by itself
		d.LateStart, d.LateFinish = 0, 0
	case d.onFinish:
		finish = d.LateFinish
		if stage.Length > 0 {
			finish = cal.place(cal.rank(d.LateFinish)-1) + 1
		}
		d.LateStart, d.LateFinish = d.Start, max(d.Finish, finish)
		d.Float = cal.Count(d.Finish, d.LateFinish)
	default:
		d.LateStart, d.LateFinish = begins, finish
		d.Float = cal.Count(d.Start, begins)
	}
}

// holds says whether the run of a stage begins where it does because of the
// link: the link's bound, once snapped, is where it begins.
func (p *Programme) holds(l *Link, stage *Stage, cal *Calendar, d *Dates) bool {
	return snapped(p.bound(l), l.Type.toStart(), stage, cal, d) == d.begins
}

// snapped is where the run of a stage would begin if one bound were the only
// one.
func snapped(bound Instant, toStart bool, stage *Stage, cal *Calendar, d *Dates) Instant {
	switch {
	case stage.Length == 0:
		return bound
	case toStart:
		return cal.next(bound)
	}
	return startFor(cal, bound, d.run)
}
