package templates

import (
	"fmt"
	"slices"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// basis notes every fault of the basis of the quote.
func (c *checker) basis() {
	var items []string
	taken := c.t.stageIDs() // changes of any two items may both come to pass
	for i := range c.t.Basis {
		b := &c.t.Basis[i]
		path := fmt.Sprintf("basis[%d]", i)
		switch {
		case !jobs.ValidRef(b.Item):
			c.note(path+".item", fmt.Sprintf("%q is not a name for an item", b.Item), jobs.RefRemedy)
		case slices.Contains(items, b.Item):
			c.note(path+".item", fmt.Sprintf("there are two items %q", b.Item),
				"give one of them another name")
		}
		items = append(items, b.Item)
		c.when(path+".when", b.When)
		c.text(path+".says", b.Says)
		c.text(path+".question", b.Question)
		if b.IfNot != nil {
			taken = c.ifNot(path+".if-not", b.IfNot, taken)
		}
	}
}

// ifNot notes what is wrong with a variation that follows, and gives the names
// of stages taken from then on.
func (c *checker) ifNot(path string, v *Variation, taken []string) []string {
	c.text(path+".title", v.Title)
	c.text(path+".because", v.Because)
	if err := v.Cost.Fault(); err != nil {
		c.note(path+".cost", err.Error(), "write client, builder or {client: 60, builder: 40}")
	}
	if n := max(len(v.Lines), len(v.Changes)); n > maxStages {
		c.note(path, fmt.Sprintf("%d lines or changes are more than the %d a variation may have here", n,
			maxStages), "make two items of it")
		return taken
	}
	if len(v.Lines) == 0 && len(v.Changes) == 0 {
		c.note(path, "nothing follows: there are no lines and no changes",
			"give what it would cost, or take if-not out")
	}
	for k := range v.Lines {
		c.line(fmt.Sprintf("%s.lines[%d]", path, k), &v.Lines[k])
	}
	n := &changeChecker{checker: c, taken: taken, ids: c.t.stageIDs()}
	n.order = slices.Clone(n.ids)
	for i := range c.t.Stages {
		n.after = append(n.after, slices.Clone(c.t.Stages[i].After))
	}
	for k := range v.Changes {
		n.change(fmt.Sprintf("%s.changes[%d]", path, k), &v.Changes[k])
	}
	if !c.sound {
		return n.taken
	}
	if i := ringAt(n.order, n.after); i >= 0 {
		c.note(path+".changes", fmt.Sprintf("with these changes %s is reached from itself: stages "+
			"follow one another in a ring", n.order[i]), "take one of these links out")
	}
	return n.taken
}

// line notes what is wrong with a line of a price.
func (c *checker) line(path string, l *Line) {
	c.when(path+".when", l.When)
	c.text(path+".what", l.What)
	switch {
	case l.Rate < 0:
		c.note(path+".rate", "the rate is below nothing",
			"work taken off is a line of kind omit")
	case l.Percent != 0 && l.Kind != variations.Daywork:
		c.note(path+".percent", "a percentage addition is for daywork", "use markup for the whole")
	}
	a := c.value(path+".quantity", l.Quantity)
	if a.IsZero() {
		return
	}
	want := countedIn(a.dim)
	counted := slices.Contains([]string{"m", "m2", "m3"}, l.Unit)
	switch {
	case a.dim == dimDegrees:
		c.note(path+".quantity", "a temperature is nothing that can be paid for",
			"write a quantity: floor-area, 1.5m3 or 2")
	case a.sign() <= 0 && len(l.Quantity.names()) == 0:
		c.note(path+".quantity", fmt.Sprintf("the quantity %s is not more than nothing", a),
			"take the line out")
	case want == "" && counted:
		c.note(path+".unit", fmt.Sprintf("%s is %s, but the unit is %s", l.Quantity, a.dim, l.Unit),
			"give the figures in the quantity their units: 3m2")
	case want != "" && l.Unit != "" && l.Unit != want:
		c.note(path+".unit", fmt.Sprintf("%s is %s, but the unit is %s", l.Quantity, a.dim, l.Unit),
			"take unit out, or use a quantity that is counted so")
	}
}

// changeChecker looks over the changes of one variation, one after another.
type changeChecker struct {
	*checker
	taken []string       // names of stages that no new one may have
	ids   []string       // stages that a change may name here
	order []string       // every stage that was there, and for each
	after [][]jobs.After // what it follows
}

// change notes what is wrong with one change.
func (n *changeChecker) change(path string, t *Change) {
	set := 0
	for _, there := range []bool{t.Add != nil, t.Retime != nil, t.Drop != nil, t.Link != nil,
		t.Unlink != nil, t.Underpin != nil} {
		if there {
			set++
		}
	}
	switch {
	case set != 1:
		n.note(path, fmt.Sprintf("a change does one thing, not %d", set),
			"write one of add, retime, drop, link, unlink or underpin in each")
	case t.Add != nil:
		n.add(path+".add", t.Add)
	case t.Retime != nil:
		n.retime(path+".retime", t.Retime)
	case t.Drop != nil && n.known(path+".drop.stage", t.Drop.Stage, n.ids):
		n.ids = slices.DeleteFunc(n.ids, func(id string) bool { return id == t.Drop.Stage })
	case t.Link != nil:
		n.link(path+".link", t.Link)
	case t.Unlink != nil:
		n.unlink(path+".unlink", t.Unlink)
	case t.Underpin != nil:
		n.underpinned(path+".underpin", t.Underpin)
	}
}

func (n *changeChecker) add(path string, t *Added) {
	n.stageID(path+".stage", t.ID, n.taken)
	n.stage(path, &t.Stage, n.ids)
	if t.Underpin != nil {
		n.note(path+".underpin", "an underpinning is a change of its own, not a stage to add",
			"write {underpin: {stage: …, wall: …}} in place of add")
	}
	if !t.MakeGood.IsZero() {
		n.note(path+".make-good", "a stage added later is not found poor", "take make-good out")
	}
	n.put(path, t.ID, t.After, t.Before)
}

// put has a new stage stand among the others.
func (n *changeChecker) put(path, id string, after []jobs.After, before []string) {
	for k, stage := range before {
		if !n.known(fmt.Sprintf("%s.before[%d]", path, k), stage, n.ids) {
			continue
		}
		i := slices.Index(n.order, stage)
		n.after[i] = append(n.after[i], jobs.After{Stage: id})
	}
	n.taken, n.ids = append(n.taken, id), append(n.ids, id)
	n.order, n.after = append(n.order, id), append(n.after, after)
}

func (n *changeChecker) retime(path string, t *Retimed) {
	n.length(path+".longer", t.Longer)
	if !n.known(path+".stage", t.Stage, n.ids) {
		return
	}
	i := slices.Index(n.t.stageIDs(), t.Stage)
	switch {
	case i < 0:
		n.note(path+".stage", fmt.Sprintf("%s is added by this variation", t.Stage),
			"give it its length there")
	case n.t.Stages[i].Underpin != nil:
		n.note(path+".stage", fmt.Sprintf("%s is underpinned bay by bay and has no length of its own",
			t.Stage), "add a stage for what takes longer")
	case n.t.Stages[i].Air != "":
		n.note(path+".stage", fmt.Sprintf("%s is counted by the temperatures of the site", t.Stage),
			"add a stage for what takes longer")
	}
}

func (n *changeChecker) link(path string, t *jobs.Linked) {
	from, to := n.known(path+".from", t.From, n.ids), n.known(path+".to", t.To, n.ids)
	if from && to {
		i := slices.Index(n.order, t.To)
		n.after[i] = append(n.after[i], jobs.After{Stage: t.From})
	}
}

func (n *changeChecker) unlink(path string, t *jobs.Unlinked) {
	from, to := n.known(path+".from", t.From, n.ids), n.known(path+".to", t.To, n.ids)
	if !from || !to {
		return
	}
	follows := func(a jobs.After) bool { return a.Stage == t.From }
	if !slices.ContainsFunc(n.after[slices.Index(n.order, t.To)], follows) {
		n.note(path+".to", fmt.Sprintf("%s does not follow %s", t.To, t.From), "take this out")
	}
}

func (n *changeChecker) underpinned(path string, t *Underpinned) {
	n.stageID(path+".stage", t.Stage, n.taken)
	n.underpin(path, &Underpin{Wall: t.Wall, Bay: t.Bay})
	for k, a := range t.After {
		n.known(fmt.Sprintf("%s.after[%d]", path, k), a.Stage, n.ids)
		if a.Link != schedule.FinishStart {
			n.note(fmt.Sprintf("%s.after[%d].link", path, k), "bays follow what is finished",
				"take link out")
		}
	}
	n.put(path, t.Stage, t.After, t.Before)
}
