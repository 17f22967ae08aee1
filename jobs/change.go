package jobs

import (
	"fmt"
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Change is one change that a variation makes to the programme: just one of
// its parts is set.
type Change struct {
	Add      *Added       `form:"add,optional"`
	Retime   *Retimed     `form:"retime,optional"`
	Drop     *Dropped     `form:"drop,optional"`
	Link     *Linked      `form:"link,optional"`
	Unlink   *Unlinked    `form:"unlink,optional"`
	Underpin *Underpinned `form:"underpin,optional"`
}

// Added is a new stage; before names stages that follow it, finish to start.
type Added struct {
	Stage
	Before []string `form:"before,optional,lone"`
}

// Retimed gives a stage another length.
type Retimed struct {
	Stage string `form:"stage"`
	Takes Length `form:"takes"`
}

// Dropped takes a stage out; its followers take over its predecessors as
// finish-start links without lag.
type Dropped struct {
	Stage string `form:"stage"`
}

// Linked adds a link.
type Linked struct {
	From  string            `form:"from"`
	To    string            `form:"to"`
	Link  schedule.LinkType `form:"link,optional"`
	Lag   Length            `form:"lag,optional"`
	LagOn string            `form:"lag-on,optional"`
}

// Unlinked takes every link from one stage to another out.
type Unlinked struct {
	From string `form:"from"`
	To   string `form:"to"`
}

// Underpinned adds the underpinning of a wall, bay by bay: the stages are named
// after it, "pin-dig-1", and the last of each bay comes before those named.
type Underpinned struct {
	Stage  string               `form:"stage"` // the word that the stages' ids begin with
	Wall   schedule.Millimetres `form:"wall"`
	Bay    schedule.Millimetres `form:"bay,optional"`
	Order  []int                `form:"order,optional"`
	Notice *int                 `form:"notice,optional"` // clear days of notice of each bay's inspection
	After  []After              `form:"after,optional,lone"`
	Before []string             `form:"before,optional,lone"`
}

// apply makes the change to what stands. The loops it may close show when the
// network is built.
func (c Change) apply(s *standing) error {
	if n := c.parts(); n != 1 {
		return words.Refuse("write one of add, retime, drop, link, unlink or underpin in each",
			"a change does one thing, not %d", n)
	}
	switch {
	case c.Add != nil:
		return s.add(c.Add.Stage, c.Add.Before)
	case c.Retime != nil:
		return s.retime(c.Retime)
	case c.Drop != nil:
		return s.drop(c.Drop.Stage)
	case c.Link != nil:
		return s.linkUp(c.Link)
	case c.Unlink != nil:
		return s.unlink(c.Unlink)
	}
	return s.underpin(c.Underpin)
}

func (c Change) parts() int {
	n := 0
	for _, set := range []bool{c.Add != nil, c.Retime != nil, c.Drop != nil, c.Link != nil,
		c.Unlink != nil, c.Underpin != nil} {
		if set {
			n++
		}
	}
	return n
}

// add puts a new stage in, and links from it to those that follow.
func (s *standing) add(stage Stage, before []string) error {
	if len(s.stages) >= maxStages {
		return words.Refuse("split the job in two", "more than %d stages", maxStages)
	}
	if _, there := s.index[stage.ID]; there {
		return words.Refuse("give the new stage another name", "there already is a stage %q", stage.ID)
	}
	if err := s.fault(stage); err != nil {
		return err
	}
	for _, a := range stage.After {
		if _, err := s.find(a.Stage); err != nil {
			return err
		}
	}
	s.index[stage.ID] = len(s.stages)
	s.stages = append(s.stages, stage)
	s.records = append(s.records, schedule.Record{})
	s.recorded = append(s.recorded, recordedBy{})
	for _, id := range before {
		i, err := s.find(id)
		if err != nil {
			return err
		}
		s.follow(i, After{Stage: stage.ID})
	}
	return nil
}

// fault checks a stage as a job file's is checked.
func (s *standing) fault(stage Stage) error {
	var found error
	c := &checker{job: s.job, names: s.job.calendarNames(), note: func(_, what, do string) {
		if found == nil {
			found = words.Refuse(do, "%s", what)
		}
	}}
	if !ValidRef(stage.ID) {
		return words.Refuse(RefRemedy, "%q is not a name for a stage", stage.ID)
	}
	c.stage("", &stage)
	for _, a := range stage.After {
		c.after("", a)
	}
	return found
}

// follow adds a link into stage i.
func (s *standing) follow(i int, a After) {
	if !slices.Contains(s.stages[i].After, a) {
		s.stages[i].After = append(slices.Clone(s.stages[i].After), a)
	}
}

func (s *standing) retime(r *Retimed) error {
	i, err := s.find(r.Stage)
	if err != nil {
		return err
	}
	if done := s.records[i].Finished; done != 0 {
		return words.Refuse("add a stage for what is still to be done",
			"%s was finished on %s: its length can't change any more", r.Stage, done.Last().Day().Long())
	}
	stage := s.stages[i]
	stage.Takes, stage.WaitSpec = r.Takes, schedule.WaitSpec{}
	if err := s.fault(stage); err != nil {
		return err
	}
	s.stages[i] = stage
	return nil
}

// drop takes a stage out and lets its followers take over its predecessors.
func (s *standing) drop(id string) error {
	i, err := s.find(id)
	if err != nil {
		return err
	}
	if err := s.untouched(i, "can't be dropped any more"); err != nil {
		return err
	}
	if len(s.stages) == 1 {
		return words.Refuse("keep it, or add another first", "%s is the last stage of the job", id)
	}
	if *s.tried += len(s.stages); *s.tried > maxTried {
		return errTried
	}
	before := s.stages[i].After
	s.stages = slices.Delete(s.stages, i, i+1)
	s.records = slices.Delete(s.records, i, i+1)
	s.recorded = slices.Delete(s.recorded, i, i+1)
	delete(s.index, id)
	for k := i; k < len(s.stages); k++ {
		s.index[s.stages[k].ID] = k
	}
	gone := func(a After) bool { return a.Stage == id }
	for k := range s.stages {
		links := s.stages[k].After
		if !slices.ContainsFunc(links, gone) {
			continue
		}
		s.stages[k].After = slices.DeleteFunc(slices.Clone(links), gone)
		for _, b := range before {
			s.follow(k, After{Stage: b.Stage})
		}
	}
	return nil
}

// untouched refuses what can't be done to a stage once it is started.
func (s *standing) untouched(i int, what string) error {
	rec, id := s.records[i], s.stages[i].ID
	switch {
	case rec.Finished != 0:
		return words.Refuse("omit what is not wanted in a later variation",
			"%s %s: it was finished on %s", id, what, rec.Finished.Last().Day().Long())
	case rec.Started != 0:
		return words.Refuse("retime it, or omit what is not wanted in a later variation",
			"%s %s: it was started on %s", id, what, rec.Started.Day().Long())
	}
	return nil
}

func (s *standing) linkUp(l *Linked) error {
	if _, err := s.find(l.From); err != nil {
		return err
	}
	i, err := s.find(l.To)
	if err != nil {
		return err
	}
	a := After{Stage: l.From, Link: l.Link, Lag: l.Lag, LagOn: l.LagOn}
	stage := s.stages[i]
	stage.After = []After{a}
	if err := s.fault(stage); err != nil {
		return err
	}
	s.follow(i, a)
	return nil
}

func (s *standing) unlink(u *Unlinked) error {
	if _, err := s.find(u.From); err != nil {
		return err
	}
	i, err := s.find(u.To)
	if err != nil {
		return err
	}
	if err := s.untouched(i, "can't be unlinked any more"); err != nil {
		return err
	}
	kept := slices.DeleteFunc(slices.Clone(s.stages[i].After), func(a After) bool { return a.Stage == u.From })
	if len(kept) == len(s.stages[i].After) {
		return words.Refuse("see putlog why "+s.job.Ref+" "+u.To, "%s does not follow %s", u.To, u.From)
	}
	s.stages[i].After = kept
	return nil
}

// underpin adds the stages of an underpinning sequence.
func (s *standing) underpin(u *Underpinned) error {
	stages, sequence, err := u.Stages()
	if err != nil {
		return words.Refuse("see the engineer's sequence", "%s", err)
	}
	for i, stage := range stages {
		if len(stage.After) == 0 {
			stage.After = u.After
		}
		var before []string
		if !sequence.Continues(i) {
			before = u.Before
		}
		if err := s.add(stage, before); err != nil {
			return err
		}
	}
	return nil
}

// stages works the underpinning out, bay by bay, linked among themselves.
func (u *Underpinned) Stages() (stages []Stage, sequence schedule.UnderpinSequence, err error) {
	plan := schedule.Underpinning{WallMM: int(u.Wall), BayMM: int(u.Bay), Order: u.Order}
	if u.Notice != nil {
		plan.NoticeAsked, plan.Notice = true, *u.Notice
	}
	if sequence, err = plan.Sequence(); err != nil {
		return nil, sequence, err
	}
	id := func(step int) string { return u.Stage + "-" + sequence.Steps[step].ID }
	for i, step := range sequence.Steps {
		stage := Stage{ID: id(i), Title: step.Title, Kind: step.Kind, Takes: Days(step.Length),
			Trade: "groundwork", Cautions: []Caution{"underpinning"}}
		if step.Notice >= 0 {
			stage.Notice = &step.Notice
		}
		for _, l := range step.After {
			stage.After = append(stage.After, stepLink(id(l.Step), l))
		}
		stages = append(stages, stage)
	}
	return stages, sequence, nil
}

func stepLink(id string, l schedule.UnderpinLink) After {
	a := After{Stage: id}
	if l.Lag != 0 {
		a.Lag = Days(l.Lag)
		if l.OnSite {
			a.LagOn = SiteCalendar
		}
	}
	return a
}

// says tells what the change does, in words.
func (c Change) says() string {
	switch {
	case c.Add != nil:
		return "adds " + c.Add.Name()
	case c.Retime != nil:
		return fmt.Sprintf("%s now takes %s", c.Retime.Stage, c.Retime.Takes)
	case c.Drop != nil:
		return "leaves out " + c.Drop.Stage
	case c.Link != nil:
		return fmt.Sprintf("%s now follows %s", c.Link.To, c.Link.From)
	case c.Unlink != nil:
		return fmt.Sprintf("%s no longer follows %s", c.Unlink.To, c.Unlink.From)
	case c.Underpin != nil:
		return fmt.Sprintf("adds underpinning of %s, bay by bay", c.Underpin.Wall)
	}
	return ""
}
