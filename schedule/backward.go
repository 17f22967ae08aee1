package schedule

// backward finds late dates, float and what drives, each stage after all that
// follow it.
func (p *Programme) backward() {
	for i := range p.Stages {
		p.limits[2*i], p.limits[2*i+1] = LastInstant, p.Finish
	}
	for i := len(p.net.order) - 1; i >= 0; i-- {
		s := p.net.order[i]
		d := &p.Stages[s]
		d.Drives = d.Drives || d.Finish == p.Finish
		if rec := p.record(s); rec.Finished == 0 {
			p.backwardOne(s, rec, d)
		}
	}
}

// backwardOne turns the limits on one stage into its late dates and passes the
// limits that follow on to the stages it follows.
func (p *Programme) backwardOne(s int32, rec *Record, d *Dates) {
	stage, calendars, limits := &p.net.stages[s], p.net.calendars, p.limits
	cal := calendars[stage.Calendar]
	onStart, onFinish := limits[2*s], limits[2*s+1]
	if rec.Started != 0 {
		onStart = LastInstant // its start is past moving
	}
	var late [2]Instant // where the run may begin and end at the latest
	if stage.Length == 0 {
		late[0] = min(onStart, onFinish)
		late[1] = late[0]
		d.Float = cal.Count(d.Start, late[0])
	} else {
		run := int32(d.run)
		rank := min(cal.rank(onFinish)-run, cal.rank(onStart+1)-1)
		late[0], late[1] = cal.place(rank), cal.place(rank+run-1)+1
		d.Float = Halves(rank - cal.rank(d.Start))
	}
	d.LateStart, d.LateFinish = late[0], late[1]
	if d.onFinish || d.State == Finished {
		lateOfBegun(stage, cal, d, onFinish)
	}
	arcs := p.net.into(s)
	for i := range arcs {
		a := &arcs[i]
		if past(a, stage, rec) {
			continue
		}
		limit := calendars[a.calendar].latest(late[a.to&1], a.lag)
		limits[a.from] = min(limits[a.from], limit)
		if d.Drives {
			from := &p.Stages[a.from/2]
			from.Drives = from.Drives || holds(p.bound(a), a.to == 0, stage, rec, cal, d)
		}
	}
}

// lateOfBegun writes the late dates and the float of a stage that can't begin
// elsewhere any more, where limit is what holds its finish.
func lateOfBegun(stage *Stage, cal *Calendar, d *Dates, limit Instant) {
	if d.State == Finished { // a wait that has run out by itself
		d.LateStart, d.LateFinish, d.Float = 0, 0, 0
		return
	}
	if stage.Length > 0 {
		limit = cal.place(cal.rank(limit)-1) + 1
	}
	d.LateStart, d.LateFinish = d.Start, max(d.Finish, limit)
	d.Float = cal.Count(d.Finish, d.LateFinish)
}

// holds says whether the run of a stage begins where it does because of a bound:
// once snapped, the bound is where it begins. A delivery that was begun, and that
// the as-at date holds, is held by nothing else: neither of its ends would be
// earlier.
func holds(bound Instant, toStart bool, stage *Stage, rec *Record, cal *Calendar, d *Dates) bool {
	if stage.Kind == KindDelivery && rec.Started != 0 && cal.advance(d.begins, d.run) < d.Finish {
		return false
	}
	return snapped(bound, toStart, stage, cal, d) == d.begins
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
	return cal.place(cal.rank(bound-1) - int32(d.run) + 1)
}
