package schedule

// Cause is what can hold a stage where it falls.
type Cause uint8

// The causes, in the order in which Reasons gives them.
const (
	CauseRecorded  Cause = iota // it was recorded so
	CauseJobStart               // the job starts no earlier
	CauseNotBefore              // the stage's own earliest date
	CauseAsAt                   // the as-at date: the past can't be worked in
	CauseNotice                 // notice and its clear days
	CauseLink                   // a stage that it follows
)

// Reason is one bound on a stage.
type Reason struct {
	Cause  Cause
	Link   int     // for CauseLink the link's index as given, else -1
	At     Instant // where the bound lies
	Begins Instant // where the stage's run would begin were this the only bound
	Holds  bool    // the run begins there because of it
}

// Reasons gives every bound on where stage s (or what is left of it) begins.
func (p *Programme) Reasons(s int) []Reason {
	stage, rec, d := &p.net.stages[s], p.record(int32(s)), &p.Stages[s]
	cal := p.net.calendars[stage.Calendar]
	if rec.Finished != 0 {
		return []Reason{{CauseRecorded, -1, d.Start, d.Start, true}}
	}
	var all []Reason
	add := func(cause Cause, link int, at Instant, toStart bool) {
		begins := snapped(at, toStart, stage, cal, d)
		all = append(all, Reason{cause, link, at, begins, begins == d.begins})
	}
	asAt := p.asAt.AM()
	if rec.Started != 0 {
		add(CauseRecorded, -1, rec.Started, true)
	} else {
		add(CauseJobStart, -1, p.net.start, true)
		if stage.NotBefore != 0 {
			add(CauseNotBefore, -1, stage.NotBefore, true)
		}
	}
	if !stage.runsByItself() {
		add(CauseAsAt, -1, asAt, true)
		if at := p.noticeBound(int32(s)); at != 0 && rec.Started == 0 {
			add(CauseNotice, -1, at, true)
		}
	}
	arcs := p.net.into(int32(s))
	for i := range arcs {
		if a := &arcs[i]; !past(a, stage, rec) {
			add(CauseLink, int(a.given), p.bound(a), a.to == 0)
		}
	}
	return all
}

// HeldByAsAt says whether the start of stage s, or what is left of it, or a
// delivery's finish falls where it does because of the as-at date or of a
// notice not yet given.
func (p *Programme) HeldByAsAt(s int) bool {
	stage, rec, d := &p.net.stages[s], p.record(int32(s)), &p.Stages[s]
	cal := p.net.calendars[stage.Calendar]
	asAt := p.asAt.AM()
	switch {
	case rec.Finished != 0 || stage.Kind == KindWait:
		return false
	case stage.Kind == KindDelivery:
		return cal.advance(d.begins, d.run) < p.asAt.End()
	case p.HeldByNotice(s):
		return true
	}
	return asAt >= rec.Started && snapped(asAt, true, stage, cal, d) == d.begins
}

// HeldByNotice says whether an inspection falls where it does because its
// notice has not been given.
func (p *Programme) HeldByNotice(s int) bool {
	stage, rec, d := &p.net.stages[s], p.record(int32(s)), &p.Stages[s]
	if stage.Kind != KindInspection || !stage.NeedsNotice || *rec != (Record{}) {
		return false
	}
	cal := p.net.calendars[stage.Calendar]
	return snapped(p.noticeBound(int32(s)), true, stage, cal, d) == d.begins
}
