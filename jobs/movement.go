package jobs

import (
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// Moved is why the finish moved from the accepted programme to the as-at date.
type Moved struct {
	*variations.Movement
	Job        *Job
	AsAt       schedule.Day
	AcceptedOn schedule.Day
	Site       *schedule.Calendar // as it stands on the as-at date
	Then       *Programme         // the accepted programme
	Now        *Programme         // as at that date
}

// Moved works out the movement. It is refused where no programme has been
// accepted up to the as-at date.
func (j *Job) Moved(asAt schedule.Day) (*Moved, error) {
	now, err := j.Programme(asAt)
	if err != nil {
		return nil, err
	}
	r, err := j.replay(asAt, now.standing)
	if err != nil {
		return nil, err
	}
	m, err := variations.MovementOf(variations.History{Accepted: r.accepted, AsAt: asAt,
		Events: r.events, At: r.at, Site: now.Calendar(SiteCalendar)})
	if err != nil {
		return nil, err
	}
	return &Moved{m, j, asAt, r.accepted, now.Calendar(SiteCalendar), r.then, now}, nil
}

// replay goes through the history again, step by step, from the accepted
// programme on.
type replay struct {
	accepted schedule.Day
	baseline *standing  // as accepted
	then     *Programme // of that
	entries  []numbered // after it, in the order of their steps
	events   []variations.Event
	standing *standing // after the first done entries
	done     int
}

// replay begins where the programme was accepted. final is what stands in the
// end.
func (j *Job) replay(asAt schedule.Day, final *standing) (*replay, error) {
	history := j.history(asAt)
	at := slices.IndexFunc(history, func(e numbered) bool { _, ok := e.Event.(*Accepted); return ok })
	if at < 0 {
		return nil, words.Refuse("record it: putlog accept "+j.Ref,
			"no programme of %s was accepted up to %s, so there is nothing to measure from", j.Ref, asAt.Long())
	}
	r := &replay{accepted: history[at].On, baseline: j.newStanding(), entries: slices.Clone(history[at+1:])}
	for _, e := range history[:at+1] {
		if err := r.baseline.take(e); err != nil {
			return nil, err
		}
	}
	var err error
	if r.then, err = r.baseline.programme(r.accepted); err != nil {
		return nil, err
	}
	slices.SortStableFunc(r.entries, func(a, b numbered) int { return int(r.stepDay(a)) - int(r.stepDay(b)) })
	for _, e := range r.entries {
		r.events = append(r.events, r.event(e, final))
	}
	r.standing = r.baseline.clone()
	return r, nil
}

// stepDay is where an entry's step stands: its date, but for a closure the day
// it begins if that is earlier (a week lost to weather and written down on the
// Friday is not first laid to the builder: Henry Boot v Malmaison, 1999).
func (r *replay) stepDay(e numbered) schedule.Day {
	c, ok := e.Event.(*Closed)
	if !ok {
		return e.On
	}
	return max(r.accepted, min(e.On, schedule.Instant(c.From).Day()))
}

// event is an entry as movement sees it; the stages are looked up in what
// stands in the end.
func (r *replay) event(e numbered, final *standing) variations.Event {
	ref, title := e.Event.says(final.nameOf)
	out := variations.Event{On: r.stepDay(e), Kind: e.Event.Kind(), Ref: ref, Title: title,
		Bearer: variations.Builder}
	switch event := e.Event.(type) {
	case *Closed:
		out.Bearer = orElse(event.Bearer, variations.Neutral)
	case *Inspection:
		out.Bearer = final.bearerOf(ref)
		if event.Outcome == Fail {
			out.Bearer = orElse(event.Bearer, variations.Builder)
		}
	case *Started, *Finished, *Progress, *Notice:
		out.Bearer = final.bearerOf(ref)
	case *Ruling:
		if event.To == variations.Instructed {
			v := final.ledger.Find(event.Number)
			out.Title, out.Bearer, out.Always = v.Title, v.Time, true
			out.Alone, out.AloneWorked = r.alone(final, event.Number)
		}
	}
	return out
}

func orElse(b, usual variations.Bearer) variations.Bearer {
	if b == 0 {
		return usual
	}
	return b
}

// alone is what a variation alone would have moved the accepted programme, in
// calendar time and in working time; nil when its changes do not fit that
// programme.
func (r *replay) alone(final *standing, number string) (moved *schedule.Halves, worked schedule.Halves) {
	i := slices.IndexFunc(final.ledger.All(), func(v variations.Variation) bool { return v.Number == number })
	changed, err := r.baseline.changed(final.changes[i])
	if err != nil {
		return nil, 0
	}
	after, err := changed.programme(r.accepted)
	if err != nil {
		return nil, 0
	}
	by := schedule.Halves(after.Finish - r.then.Finish)
	return &by, r.then.Calendar(SiteCalendar).Count(r.then.Finish, after.Finish)
}

// Watch has the job tell how many of all its entries a long reckoning has got
// through.
func (j *Job) Watch(seen func(done, all int)) { j.seen = seen }

// at is the programme when the first n entries after the accepted one have
// been applied. It goes forward only, as movement does.
func (r *replay) at(n int, asAt schedule.Day) (variations.View, error) {
	if seen := r.standing.job.seen; seen != nil {
		seen(n, len(r.entries))
	}
	for ; r.done < n; r.done++ {
		if err := r.standing.take(r.entries[r.done]); err != nil {
			return variations.View{}, err
		}
	}
	p, err := r.standing.programme(asAt)
	if err != nil {
		return variations.View{}, err
	}
	v := variations.View{Finish: p.Finish, Site: p.Calendar(SiteCalendar)}
	if i := p.heldDriver(); i >= 0 {
		v.Held, v.HeldTitle = p.stages[i].ID, p.stages[i].Name()
		v.HeldBy = bearerOf(&p.stages[i])
		if p.Programme.HeldByNotice(i) {
			v.HeldBy = variations.Builder
		}
	}
	return v, nil
}

// heldDriver is, of the stages that drive the finish and that the as-at date
// holds, the first by start, then by place in the file; -1 where there is none.
func (p *Programme) heldDriver() int {
	found := -1
	for i, d := range p.Programme.Stages {
		if d.Drives && p.Programme.HeldByAsAt(i) &&
			(found < 0 || d.Start < p.Programme.Stages[found].Start) {
			found = i
		}
	}
	return found
}

// bearerOf is who bears the delay of a stage: whoever must act for it, but for
// the inspector and others, whose delay is neutral.
func bearerOf(s *Stage) variations.Bearer {
	switch s.Acts() {
	case Builder:
		return variations.Builder
	case Client:
		return variations.Client
	}
	return variations.Neutral
}

func (s *standing) bearerOf(id string) variations.Bearer {
	if i, ok := s.index[id]; ok {
		return bearerOf(&s.stages[i])
	}
	for i := range s.job.Stages { // dropped since
		if s.job.Stages[i].ID == id {
			return bearerOf(&s.job.Stages[i])
		}
	}
	return variations.Builder
}

func (s *standing) nameOf(id string) string {
	if i, ok := s.index[id]; ok {
		return s.stages[i].Name()
	}
	return id
}

// Account draws up the account as at a date. It is refused for a job without a
// contract.
func (j *Job) Account(asAt schedule.Day) (variations.Account, error) {
	s, err := j.standingAt(asAt)
	if err != nil {
		return variations.Account{}, err
	}
	if j.Contract == nil {
		return variations.Account{}, words.Refuse("add contract: {sum: 18450.00, vat: 20, retention: 2.5} to the job file",
			"job %s has no contract, so there is no account", j.Ref)
	}
	return variations.AccountOf(variations.Rates{Sum: j.Contract.Sum, VAT: j.Contract.VAT,
		Retention: j.Contract.Retention}, &s.ledger, s.paid)
}

// Exposure is a variation that may still cost or move something.
type Exposure struct {
	variations.Variation
	Price  variations.Price
	Moves  schedule.Halves // calendar time by which instructing it now would move the finish
	Worked schedule.Halves
	Known  bool // false when its changes do not fit the programme as it stands
}

// Exposures lists what may still come as at a date: variations raised and not
// instructed, or instructed and their price not agreed.
func (j *Job) Exposures(asAt schedule.Day) ([]Exposure, error) {
	s, err := j.standingAt(asAt)
	if err != nil {
		return nil, err
	}
	now, err := s.programme(asAt)
	if err != nil {
		return nil, err
	}
	var all []Exposure
	for i, v := range s.ledger.All() {
		if !v.Exposed() {
			continue
		}
		e := Exposure{Variation: v, Known: true}
		if e.Price, err = v.Price(); err != nil {
			return nil, err
		}
		if v.Instructed == 0 {
			e.Moves, e.Worked, e.Known = s.wouldMove(now, s.changes[i])
		}
		all = append(all, e)
	}
	return all, nil
}

// wouldMove says by how much changes made now would move the finish.
func (s *standing) wouldMove(now *Programme, changes []Change) (moved, worked schedule.Halves, known bool) {
	changed, err := s.changed(changes)
	if err != nil {
		return 0, 0, false
	}
	then, err := changed.programme(now.AsAt())
	if err != nil {
		return 0, 0, false
	}
	return schedule.Halves(then.Finish - now.Finish),
		now.Calendar(SiteCalendar).Count(now.Finish, then.Finish), true
}
