package jobs

import (
	"putlog/jobs/words"
	"putlog/schedule"
)

// The facts of the day book: what was accepted, begun, done, seen and paid.

func (*Accepted) apply(s *standing, on schedule.Day) error {
	if s.accepted != 0 {
		return words.Refuse("leave it: what has changed since is shown by moved",
			"the programme was already accepted on %s", s.accepted.Long())
	}
	s.accepted = on
	return nil
}

func (n *Notice) apply(s *standing, on schedule.Day) error {
	i, err := s.find(n.Stage)
	if err != nil {
		return err
	}
	stage, rec := &s.stages[i], &s.records[i]
	switch {
	case stage.Kind != schedule.KindInspection:
		return words.Refuse("name the inspection that the notice is for",
			"%s is not an inspection: nobody waits for notice of it", stage.ID)
	case rec.Finished != 0:
		return words.Refuse("nothing more is needed", "%s has already passed", stage.ID)
	case stage.Notice == nil:
		s.warn("%s asks for no notice; it is written down all the same", stage.ID)
	}
	rec.NoticeOn = on
	return nil
}

func (e *Started) apply(s *standing, on schedule.Day) error {
	i, err := s.find(e.Stage)
	if err != nil {
		return err
	}
	at := schedule.Instant(e.At)
	if at == 0 {
		at = on.AM()
	}
	stage, rec := &s.stages[i], &s.records[i]
	switch {
	case at.Day() > on:
		return words.Refuse("record it on the day it starts",
			"%s can't have started on %s, later than the entry of %s", stage.ID, at.Day().Long(), on.Long())
	case rec.Finished != 0:
		return words.Refuse("strike the other entry out first, if it is the wrong one",
			"%s was already finished on %s", stage.ID, rec.Finished.Last().Day().Long())
	case rec.Started != 0:
		return words.Refuse("strike the other entry out first, if it is the wrong one",
			"%s was already started on %s", stage.ID, rec.Started.Day().Long())
	}
	s.warnIfEarly(i, at)
	s.warnIfBefore(at.Day())
	rec.Started = at
	return nil
}

// warnIfBefore says that something happened before the job begins.
func (s *standing) warnIfBefore(day schedule.Day) {
	if start := schedule.Instant(s.job.Start).Day(); day < start {
		s.warn("%s is before the job's start, %s: look at the year", day.Long(), start.Long())
	}
}

// warnIfEarly says which stages should have been finished before this began:
// sites are like that, but a hold point passed over may have to be opened up.
func (s *standing) warnIfEarly(i int, at schedule.Instant) {
	for _, a := range s.stages[i].After {
		before, ok := s.index[a.Stage]
		if !ok || a.Link != schedule.FinishStart {
			continue
		}
		first, rec := &s.stages[before], &s.records[before]
		switch {
		case rec.Finished != 0 && rec.Finished <= at, first.Kind == schedule.KindWait:
		case rec.Finished != 0 && rec.Finished.Last().Day() == at.Day(): // the usual halves may cross
			s.warn("%s was begun %s, before %s was finished %s", s.stages[i].ID, at.Short(), first.ID,
				rec.Finished.Last().Short())
		case first.Kind == schedule.KindInspection:
			s.warn("%s was begun before %s had passed: the inspector may ask for it to be laid open",
				s.stages[i].ID, first.ID)
		default:
			s.warn("%s was begun before %s was recorded as finished", s.stages[i].ID, first.ID)
		}
	}
}

func (e *Finished) apply(s *standing, on schedule.Day) error {
	i, err := s.find(e.Stage)
	if err != nil {
		return err
	}
	if s.stages[i].Kind == schedule.KindInspection {
		s.warn("%s is an inspection: it is taken as passed; record inspected to keep what was said", e.Stage)
	}
	return s.finish(i, e.At, on)
}

// finish records that stage i ended with the half-day at (the pm of on when it
// is not set).
func (s *standing) finish(i int, at Until, on schedule.Day) error {
	if at == 0 {
		at = Until(on.PM())
	}
	stage, rec := &s.stages[i], &s.records[i]
	switch {
	case schedule.Instant(at).Day() > on:
		return words.Refuse("record it on the day it is done",
			"%s can't have finished on %s, later than the entry of %s",
			stage.ID, schedule.Instant(at).Day().Long(), on.Long())
	case rec.Finished != 0:
		return words.Refuse("strike the other entry out first, if it is the wrong one",
			"%s was already finished on %s", stage.ID, rec.Finished.Last().Day().Long())
	case rec.Started != 0 && at.End() <= rec.Started:
		return words.Refuse("look at both dates: one of them is wrong",
			"%s can't have finished on %s: it was started on %s",
			stage.ID, schedule.Instant(at).Short(), rec.Started.Short())
	}
	if rec.Started == 0 {
		s.warnIfEarly(i, at.End())
		s.warnIfBefore(schedule.Instant(at).Day())
	}
	rec.Finished = at.End()
	return nil
}

func (e *Progress) apply(s *standing, on schedule.Day) error {
	i, err := s.find(e.Stage)
	if err != nil {
		return err
	}
	stage, rec := &s.stages[i], &s.records[i]
	switch {
	case stage.Kind == schedule.KindWait || stage.Kind == schedule.KindDelivery:
		return words.Refuse("record its finish when it is over",
			"%s is a %s: it runs by itself, nobody works it off", stage.ID, stage.Kind)
	case rec.Finished != 0:
		return words.Refuse("strike the finish out first, if it is the wrong one",
			"%s was already finished on %s", stage.ID, rec.Finished.Last().Day().Long())
	case rec.Started == 0:
		return words.Refuse("record its start first", "%s was never recorded as started", stage.ID)
	case on < rec.Started.Day():
		return words.Refuse("look at both dates: one of them is wrong",
			"%s was started on %s, after this", stage.ID, rec.Started.Day().Long())
	case e.Left.InHours() || e.Left.Halves() < 1:
		return words.Refuse("write what is left in days, 0.5d at the least; when nothing is left, record it as finished",
			"%s is not what can be left of a stage", e.Left)
	}
	rec.Left, rec.LeftOn = e.Left.Halves(), on
	return nil
}

func (e *Inspection) apply(s *standing, on schedule.Day) error {
	i, err := s.find(e.Stage)
	if err != nil {
		return err
	}
	stage, rec := &s.stages[i], &s.records[i]
	if stage.Kind != schedule.KindInspection {
		return words.Refuse("name the inspection; for work, record started or finished",
			"%s is not an inspection", stage.ID)
	}
	if stage.Notice != nil && rec.NoticeOn == 0 {
		s.warn("no notice of %s was recorded", stage.ID)
	}
	if e.Outcome == Pass {
		if err := s.finish(i, e.At, on); err != nil {
			return err
		}
		s.recorded[i].failed = 0
		return nil
	}
	switch {
	case rec.Finished != 0:
		return words.Refuse("strike the other entry out first, if it is the wrong one",
			"%s has already passed, on %s", stage.ID, rec.Finished.Last().Day().Long())
	case schedule.Instant(e.At).Day() > on:
		return words.Refuse("record it on the day", "%s can't have failed on %s, later than the entry of %s",
			stage.ID, schedule.Instant(e.At).Day().Long(), on.Long())
	}
	*rec = schedule.Record{}
	s.recorded[i] = recordedBy{failed: on, failedNote: e.Note, failedSeen: e.Seen}
	return nil
}

func (e *Closed) apply(s *standing, _ schedule.Day) error {
	c := Closure{From: e.From, To: e.To, Who: e.Who, Why: e.Why}
	if what, do := s.job.closureFault(c); what != "" {
		return words.Refuse(do, "%s", what)
	}
	if len(s.closures) >= maxClosures {
		return words.Refuse("write neighbouring days down as one closure", "%d closures are all that a job may have", maxClosures)
	}
	s.closures, s.net = append(s.closures, c), nil
	if s.made != nil {
		s.made = s.job.shut(s.made, c)
	}
	return nil
}

func (e *Payment) apply(s *standing, _ schedule.Day) (err error) {
	if e.Amount <= 0 {
		return words.Refuse("write what was received in pounds, 2500.00",
			"a payment of %s is not money received", e.Amount.Pounds())
	}
	s.paid, err = s.paid.Add(e.Amount)
	return err
}

func (e *Note) apply(s *standing, _ schedule.Day) error {
	if e.Stage == "" {
		return nil
	}
	_, err := s.find(e.Stage)
	return err
}

func (e *Correction) apply(*standing, schedule.Day) error { return nil }
