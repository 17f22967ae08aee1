package templates

import (
	"fmt"
	"slices"
	"strings"

	"putlog/jobs"
	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
)

// group is what one stage of a template comes to in the job: nothing when it
// falls out, mostly one stage, several for an underpinning or for a stage that
// is laid open. Inside the group the stages' links are those among themselves.
type group struct{ stages []jobs.Stage }

// starts lists the stages that follow none in the group.
func (g group) starts() (ids []string) {
	for _, s := range g.stages {
		if len(s.After) == 0 {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// ends lists the stages that none in the group follows.
func (g group) ends() (ids []string) {
	followed := make(map[string]bool) // for lookup only
	for _, s := range g.stages {
		for _, a := range s.After {
			followed[a.Stage] = true
		}
	}
	for _, s := range g.stages {
		if !followed[s.ID] {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// group makes what a stage of the template comes to.
func (c *conversion) group(i int) group {
	ts := &c.t.Stages[i]
	switch {
	case !c.holds(ts.When):
		return group{}
	case c.found[i] == foundDone:
		c.leaveDone(i)
		return group{}
	case c.found[i] == foundPoor:
		return c.makeGood(i)
	case c.found[i] == foundCovered:
		return c.layOpen(i)
	case ts.Underpin != nil:
		return c.underpin(i)
	}
	s, ok := c.stage(fmt.Sprintf("stages[%d]", i), ts)
	if !ok {
		return group{}
	}
	return group{[]jobs.Stage{s}}
}

// stage makes the one stage that most of the template's stages come to; ok is
// false when there is nothing to do or it can't be made.
func (c *conversion) stage(path string, ts *Stage) (s jobs.Stage, ok bool) {
	s = jobs.Stage{ID: ts.ID, Title: c.fill(ts.Title), Kind: ts.Kind, Takes: ts.Takes, Trade: ts.Trade,
		By: ts.By, Calendar: ts.Calendar, Reckoning: c.fill(ts.Reckoning),
		Cautions: slices.Clone(ts.Cautions), Air: ts.Air, Limit: ts.Limit}
	if ts.Kind == schedule.KindInspection {
		s.Notice = ts.Notice.in(c.region)
	}
	if len(ts.Work) > 0 {
		n, said, err := c.workLength(ts.Work, c.known)
		switch {
		case err != nil:
			c.note(path+".work", err.Error(), "")
			return s, false
		case n == 0:
			c.addNote(fmt.Sprintf("Left out: %s (%s): there is none to do.", s.Title, s.ID))
			return s, false
		}
		s.Takes = jobs.Days(n)
		if s.Reckoning != "" {
			said += ". " + words.Capital(s.Reckoning)
		}
		s.Reckoning = clip(said)
	}
	return s, c.fillRules(path, ts, &s)
}

// fillRules gives the stage the wait that the template's stage has, filled in
// with the survey's figures; false when that can't be.
func (c *conversion) fillRules(path string, ts *Stage, s *jobs.Stage) bool {
	all := form.NewMap()
	for _, r := range ts.rules() {
		if r.rule == nil || r.rule.node == nil {
			continue
		}
		filled := &form.Node{Kind: form.Map, Pos: r.rule.node.Pos}
		for _, pair := range r.rule.node.Pairs {
			value, err := c.ruleValue(pair.Value)
			if err != nil {
				c.note(path+"."+r.key+"."+pair.Key, err.Error(), "")
				return false
			}
			filled.Put(pair.Key, value)
		}
		all.Put(r.key, filled)
	}
	var spec schedule.WaitSpec
	p := &form.Problems{}
	form.Decode(all, &spec, p)
	for _, fault := range p.List {
		c.note(path+"."+fault.Path, fault.What, fault.Do)
	}
	s.WaitSpec = spec
	return len(p.List) == 0
}

// ruleValue fills in a value of a wait rule: the word of a choice, or the
// figure of a measurement, of a quantity or of an expression; anything else
// stands as it is written.
func (c *conversion) ruleValue(n *form.Node) (*form.Node, error) {
	if n.Kind != form.Scalar {
		return n, nil
	}
	filled := *n
	if word, ok := c.word(n.Text); ok {
		filled.Text = word
		return &filled, nil
	}
	named := slices.Contains(c.t.measurementNames(), n.Text) ||
		slices.Contains(c.t.quantityNames(), n.Text)
	if !named && !strings.ContainsAny(n.Text, "+*(") && !strings.Contains(n.Text, " - ") {
		return &filled, nil
	}
	var e Expression
	if err := e.UnmarshalText([]byte(n.Text)); err != nil {
		return nil, err
	}
	a, err := e.value(c.known)
	switch {
	case err != nil:
		return nil, err
	case a.dim == dimLength:
		filled.Text = fmt.Sprintf("%dmm", a.wholeMM())
	default:
		filled.Text = ratText(a.of, maxDecimals)
	}
	return &filled, nil
}

// underpin makes the steps of an underpinning.
func (c *conversion) underpin(i int) group {
	ts := &c.t.Stages[i]
	path := fmt.Sprintf("stages[%d].underpin", i)
	u, reckoning, err := c.underpinning(ts)
	if err != nil {
		c.note(path, err.Error(), "")
		return group{}
	}
	sequence, err := u.Sequence()
	if err != nil {
		c.note(path, err.Error(), "")
		return group{}
	}
	var g group
	for _, step := range sequence.Steps {
		s := jobs.Stage{ID: ts.ID + "-" + step.ID, Title: step.Title, Kind: step.Kind,
			Takes: jobs.Days(step.Length), Trade: ts.Trade}
		if step.Kind == schedule.KindInspection {
			s.Notice = ts.Notice.in(c.region)
		}
		kind, _, _ := strings.Cut(step.ID, "-")
		switch kind {
		case "dig":
			s.Cautions = append(slices.Clone(ts.Cautions), "underpinning")
			s.Reckoning = clip(reckoning[0])
		case "pour":
			s.Reckoning = clip(reckoning[1])
		}
		for _, l := range step.After {
			a := jobs.After{Stage: ts.ID + "-" + sequence.Steps[l.Step].ID}
			if l.Lag != 0 {
				a.Lag = jobs.Days(l.Lag)
			}
			if l.Lag != 0 && l.OnSite {
				a.LagOn = jobs.SiteCalendar
			}
			s.After = append(s.After, a)
		}
		g.stages = append(g.stages, s)
	}
	for _, n := range sequence.Notes {
		c.addNote(c.fill(ts.Title) + ": " + n)
	}
	c.addNote("Underpinning, sources: " + sequence.Source + ".")
	return g
}

// underpinning takes the template's figures, and gives the sums behind the
// lengths of a dig and of a pour.
func (c *conversion) underpinning(ts *Stage) (
	u schedule.Underpinning, said [2]string, err error) {
	wall, err := c.lengthMM(ts.Underpin.Wall)
	if err != nil {
		return u, said, err
	}
	u = schedule.Underpinning{WallMM: wall, Gain: ts.Underpin.Gain.Halves(),
		Neighbour: ts.Underpin.Neighbour.Halves()}
	if n := ts.Notice.in(c.region); n != nil {
		u.NoticeAsked, u.Notice = true, *n
	}
	if ts.Underpin.Bay.IsZero() {
		u.BayMM = usualBay(wall)
	} else if u.BayMM, err = c.lengthMM(ts.Underpin.Bay); err != nil {
		return u, said, err
	}
	known := func(name string) (Amount, error) {
		if name == baySum {
			return parseAmount(fmt.Sprintf("%dmm", u.BayMM))
		}
		return c.known(name)
	}
	for k, part := range []struct {
		work []Work
		into *schedule.Halves
	}{{ts.Underpin.Dig, &u.Dig}, {ts.Underpin.Pour, &u.Pour}} {
		if len(part.work) == 0 {
			continue
		}
		if *part.into, said[k], err = c.workLength(part.work, known); err != nil {
			return u, said, err
		}
	}
	return u, said, nil
}

// usualBay is a metre, or a quarter of a wall too short for four such bays: no
// more than a quarter may be open at once. See schedule.Underpinning.
func usualBay(wall int) int { return max(1, min(1000, (wall+3)/4)) }

// lengthMM works out a length of an underpinning in whole millimetres.
func (c *conversion) lengthMM(e Expression) (int, error) {
	a, err := e.value(c.known)
	switch {
	case err != nil:
		return 0, err
	case a.dim != dimLength:
		return 0, fmt.Errorf("%s is %s where a length is wanted", e, a.dim)
	}
	return int(min(a.wholeMM(), 1_000_000)), nil
}
