package templates

import (
	"fmt"
	"slices"

	"putlog/jobs"
	"putlog/jobs/words"
	"putlog/schedule"
)

// A job begun by others: what was found done is left out, what was found poor
// is made good, what was found covered unseen is laid open for the inspector.

// The beginnings of the stages that come of it; a template's own stages begin
// otherwise.
const (
	makeGoodID = "make-good-"
	layOpenID  = "lay-open-"
	seeID      = "see-"
	closeUpID  = "close-up-"
)

// leaveDone says that a stage is left out.
func (c *conversion) leaveDone(i int) {
	s := &c.t.Stages[i]
	proof := "keep what shows it: dates, photographs, delivery notes"
	if s.Kind == schedule.KindInspection {
		proof = "ask building control for its record"
	}
	c.addNote(fmt.Sprintf("Found done: %s (%s); %s.", c.fill(s.Title), s.ID, proof))
}

// warnOfLeft says which waits and hold points stay in although the one stage
// that they follow was found done or covered.
func (c *conversion) warnOfLeft() {
	for i := range c.t.Stages {
		if c.found[i] != foundDone && c.found[i] != foundCovered {
			continue
		}
		id := c.t.Stages[i].ID
		for k := range c.t.Stages {
			next := &c.t.Stages[k]
			if c.found[k] != "" || len(c.groups[k].stages) == 0 || !c.onlyFollows(k, id) {
				continue
			}
			switch {
			case next.Kind == schedule.KindWait:
				c.warn("%s was found %s, but its wait stays in: %s. If that is over, found %s=done.",
					id, c.found[i], c.fill(next.Title), next.ID)
			case next.Kind == schedule.KindInspection && c.found[i] == foundDone:
				c.warn("%s was found done, but its inspection stays in: %s. If that was passed, "+
					"found %s=done; if it was covered unseen, found %s=covered.",
					id, c.fill(next.Title), next.ID, id)
			}
		}
	}
}

// onlyFollows says whether stage k follows that one and, of the stages in the
// job, no other.
func (c *conversion) onlyFollows(k int, id string) bool {
	follows := false
	for _, a := range c.t.Stages[k].After {
		switch up := slices.Index(c.t.stageIDs(), a.Stage); {
		case a == jobs.After{Stage: id}:
			follows = true
		case c.holds(c.t.Stages[up].When):
			return false
		}
	}
	return follows
}

// runsByItself says whether nobody works at the stage.
func (s *Stage) runsByItself() bool {
	return s.Kind == schedule.KindWait || s.Kind == schedule.KindDelivery
}

// makeGood has work found poor made good; an inspection comes after that.
func (c *conversion) makeGood(i int) group {
	ts := &c.t.Stages[i]
	takes := ts.MakeGood
	if takes.IsZero() {
		takes = c.t.TakenOver.MakeGood
	}
	s := c.putRight(ts, makeGoodID, "Make good", takes)
	c.addNote(fmt.Sprintf("Found poor: %s (%s); the stage %s makes it good.",
		c.fill(ts.Title), ts.ID, s.ID))
	g := group{[]jobs.Stage{s}}
	if ts.Kind == schedule.KindInspection {
		g.add(c.inspection(i))
	}
	return g
}

// layOpen has what was covered unseen laid open, seen and closed up.
func (c *conversion) layOpen(i int) group {
	ts := &c.t.Stages[i]
	g := group{[]jobs.Stage{c.putRight(ts, layOpenID, "Lay open for the inspector", c.t.TakenOver.LayOpen)}}
	if ts.Kind == schedule.KindInspection {
		g.add(c.inspection(i))
	} else {
		g.add(jobs.Stage{ID: seeID + ts.ID, Title: "Seen once laid open: " + c.fill(ts.Title),
			Kind: schedule.KindInspection, Notice: c.t.TakenOver.Notice.in(c.region)})
	}
	g.add(c.putRight(ts, closeUpID, "Close up again", c.t.TakenOver.CloseUp))
	c.addNote(fmt.Sprintf("Found covered unseen: %s (%s); it is laid open, seen and closed up again.",
		c.fill(ts.Title), ts.ID))
	return g
}

// putRight makes a stage that deals with what was found.
func (c *conversion) putRight(ts *Stage, prefix, what string, takes jobs.Length) jobs.Stage {
	return jobs.Stage{ID: prefix + ts.ID, Title: what + ": " + c.fill(ts.Title), Takes: takes,
		Trade: ts.Trade, Cautions: slices.Clone(ts.Cautions),
		Reckoning: words.Days(takes.Halves()) + ": " + c.t.TakenOver.Source}
}

// inspection makes stage i, which is one.
func (c *conversion) inspection(i int) jobs.Stage {
	s, _ := c.stage(fmt.Sprintf("stages[%d]", i), &c.t.Stages[i])
	return s
}

// add puts a stage after the last one of the group.
func (g *group) add(s jobs.Stage) {
	s.After = []jobs.After{{Stage: g.stages[len(g.stages)-1].ID}}
	g.stages = append(g.stages, s)
}

// holdsWork says whether any work waits for that hold point; none waits for the
// completion.
func (t *Template) holdsWork(id string) bool {
	return slices.ContainsFunc(t.Stages, func(s Stage) bool {
		return !s.runsByItself() && slices.Contains(s.After, jobs.After{Stage: id})
	})
}

// dropSeen leaves out a hold point that is there for one stage alone, when that
// stage is laid open and seen anyway.
func (c *conversion) dropSeen() {
	for i := range c.t.Stages {
		s := &c.t.Stages[i]
		if c.found[i] != foundCovered || s.Kind == schedule.KindInspection {
			continue
		}
		for k := range c.t.Stages {
			hold := &c.t.Stages[k]
			if hold.Kind == schedule.KindInspection && c.found[k] == "" && len(c.groups[k].stages) > 0 &&
				c.onlyFollows(k, s.ID) && c.t.holdsWork(hold.ID) {
				c.groups[k] = group{}
				c.addNote(fmt.Sprintf("In place of %s (%s) the inspector sees what is laid open (%s).",
					hold.ID, c.fill(hold.Title), seeID+s.ID))
			}
		}
	}
}
