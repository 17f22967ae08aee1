package templates

import (
	"fmt"
	"slices"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// Basis is an item of the basis of the quote as a template brings it:
// what is taken to be so, the question to put before anybody prices the work,
// and the variation that follows if it is not so. It falls out when its
// conditions do not hold.
type Basis struct {
	Item     string      `form:"item" eg:"strip-ground"`
	Says     string      `form:"says"`
	Question string      `form:"question"`
	When     []Condition `form:"when,optional,lone"` // all must hold
	IfNot    *Variation  `form:"if-not,optional"`
}

// Variation is a variation of a job file whose quantities may be sums
// over the survey's figures and whose changes name stages of the template.
type Variation struct {
	Title   string             `form:"title"`
	AskedBy variations.AskedBy `form:"asked-by" eg:"inspector"`
	Because string             `form:"because,optional"`
	Cost    variations.Share   `form:"cost" eg:"client"`
	Time    variations.Bearer  `form:"time" eg:"client"`
	Markup  variations.Percent `form:"markup,optional" eg:"15"`
	Lines   []Line             `form:"lines,optional"`
	Changes []Change           `form:"changes,optional"`
}

// Line is a line of a price. One whose quantity comes to nothing falls
// out, as does one whose conditions do not hold.
type Line struct {
	Kind     variations.LineKind `form:"kind" eg:"material"`
	What     string              `form:"what"`
	Quantity Expression          `form:"quantity" eg:"floor-area * 0.1m"`
	Unit     string              `form:"unit,optional"` // the quantity's own when left out
	Rate     variations.Pence    `form:"rate" eg:"150.00"`
	Percent  variations.Percent  `form:"percent,optional"`
	When     []Condition         `form:"when,optional,lone"`
}

// Change is one change to the programme: just one of its parts is set.
// Where a stage that it names falls out, links pass it by as they do between
// stages; there is nothing of it to retime, to drop or to unlink.
type Change struct {
	Add      *Added         `form:"add,optional"`
	Retime   *Retimed       `form:"retime,optional"`
	Drop     *jobs.Dropped  `form:"drop,optional"`
	Link     *jobs.Linked   `form:"link,optional"`
	Unlink   *jobs.Unlinked `form:"unlink,optional"`
	Underpin *Underpinned   `form:"underpin,optional"`
}

// Added is a new stage; before names stages that follow it.
type Added struct {
	Stage
	Before []string `form:"before,optional,lone"`
}

// Retimed lets a stage take longer than it otherwise does.
type Retimed struct {
	Stage  string      `form:"stage"`
	Longer jobs.Length `form:"longer" eg:"0.5d"`
}

// Underpinned adds the underpinning of a wall, bay by bay. Bays left out
// are no wider than a metre, and narrower where a short wall asks for it. A wall
// too short for bays adds none, and a note of the job says so.
type Underpinned struct {
	Stage  string       `form:"stage" eg:"edge"` // the word that the stages' ids begin with
	Wall   Expression   `form:"wall" eg:"pin-length"`
	Bay    Expression   `form:"bay,optional" eg:"1m"`
	Notice *Notices     `form:"notice,optional"`
	After  []jobs.After `form:"after,optional,lone"`
	Before []string     `form:"before,optional,lone"`
}

// basis puts the basis of the quote into a job whose stages are linked. It gives
// for each item the number of the template's item that it came from.
func (c *conversion) basis(j *jobs.Job) (origin []int) {
	for i := range c.t.Basis {
		b := &c.t.Basis[i]
		if !c.holds(b.When) {
			continue
		}
		item := jobs.BasisItem{Item: b.Item, Says: clip(c.fill(b.Says)), Question: clip(c.fill(b.Question))}
		if b.IfNot != nil {
			item.IfNot = c.ifNot(fmt.Sprintf("basis[%d].if-not", i), b, j.Stages)
		}
		j.Basis, origin = append(j.Basis, item), append(origin, i)
	}
	return origin
}

// ifNot makes the variation that follows if an item fails; nil when nothing is
// left of it.
func (c *conversion) ifNot(path string, b *Basis, stages []jobs.Stage) *jobs.Variation {
	t := b.IfNot
	v := &jobs.Variation{Terms: variations.Terms{Title: clip(c.fill(t.Title)), AskedBy: t.AskedBy,
		Because: clip(c.fill(t.Because)), Cost: t.Cost, Time: t.Time, Markup: t.Markup}}
	for k := range t.Lines {
		if l, ok := c.line(fmt.Sprintf("%s.lines[%d]", path, k), &t.Lines[k]); ok {
			v.Lines = append(v.Lines, l)
		}
	}
	m := &changeMaker{conversion: c, net: c.linker(), item: b.Item, stages: slices.Clone(stages)}
	for k := range t.Changes {
		changes := m.change(fmt.Sprintf("%s.changes[%d]", path, k), &t.Changes[k])
		v.Changes = append(v.Changes, changes...)
	}
	if len(v.Lines) == 0 && len(v.Changes) == 0 {
		return nil
	}
	return v
}

// line makes a line of a price; ok is false when there is none of it or it can't
// be made.
func (c *conversion) line(path string, l *Line) (made variations.Line, ok bool) {
	if !c.holds(l.When) {
		return made, false
	}
	made = variations.Line{Kind: l.Kind, What: clip(c.fill(l.What)), Unit: l.Unit, Rate: l.Rate,
		Percent: l.Percent}
	a, err := l.Quantity.value(c.known)
	if err == nil {
		err = made.Quantity.UnmarshalText([]byte(a.of.FloatString(3)))
	}
	if err != nil {
		c.note(path+".quantity", err.Error(), "look at the measurements it is made of")
		return made, false
	}
	if made.Unit == "" {
		made.Unit = countedIn(a.dim)
	}
	return made, made.Quantity > 0
}

// countedIn is the unit in which a line counts what is measured; "" for a number.
func countedIn(d dimension) string {
	return [...]string{dimNumber: "", dimLength: "m", dimArea: "m2", dimVolume: "m3",
		dimDegrees: ""}[d]
}

// changeMaker makes the changes of one variation. It links as the job is linked,
// with the stages that the changes add put in.
type changeMaker struct {
	*conversion
	net    *linker
	item   string
	stages []jobs.Stage // of the job, those dropped included; then those added
}

// change makes what one change of the template comes to: nothing, one change, or
// several where it names a stage that comes to several.
func (m *changeMaker) change(path string, t *Change) []jobs.Change {
	switch {
	case t.Add != nil:
		return m.add(path+".add", t.Add)
	case t.Retime != nil:
		return m.retime(t.Retime)
	case t.Drop != nil:
		return m.drop(t.Drop.Stage)
	case t.Link != nil:
		return m.linkUp(t.Link)
	case t.Unlink != nil:
		return m.unlink(t.Unlink)
	case t.Underpin != nil:
		return m.underpin(path+".underpin", t.Underpin)
	}
	return nil
}

func (m *changeMaker) group(stage string) group {
	return m.net.groups[slices.Index(m.net.ids, stage)]
}

func (m *changeMaker) add(path string, t *Added) []jobs.Change {
	i := len(m.net.ids)
	m.net.grow(&t.Stage, group{})
	m.net.precede(i, t.Before)
	if !m.holds(t.When) {
		return nil
	}
	s, ok := m.stage(path, &t.Stage)
	if !ok {
		return nil
	}
	m.net.groups[i] = group{[]jobs.Stage{s}}
	s, over := m.net.join(i, s)
	m.stages = append(m.stages, s)
	taken := make([][]string, len(m.stages))
	taken[len(taken)-1] = over
	prune(m.stages, taken)
	return []jobs.Change{{Add: &jobs.Added{Stage: m.stages[len(m.stages)-1], Before: m.followers(t.Before)}}}
}

// followers gives the stages of the job that come after what comes before those.
func (m *changeMaker) followers(before []string) (ids []string) {
	for _, stage := range before {
		for _, id := range m.net.next(slices.Index(m.net.ids, stage)) {
			if !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	return ids
}

// retime has a stage take longer; one that is not there as itself (it fell out,
// is made good or is laid open) stays as it is.
func (m *changeMaker) retime(t *Retimed) []jobs.Change {
	for _, s := range m.group(t.Stage).stages {
		if s.ID != t.Stage {
			continue
		}
		n, err := s.Length()
		if err != nil { // the stage's own fault
			return nil
		}
		return []jobs.Change{{Retime: &jobs.Retimed{Stage: s.ID, Takes: jobs.Days(n + t.Longer.Halves())}}}
	}
	return nil
}

func (m *changeMaker) drop(stage string) (changes []jobs.Change) {
	for _, s := range m.group(stage).stages {
		changes = append(changes, jobs.Change{Drop: &jobs.Dropped{Stage: s.ID}})
	}
	m.net.groups[slices.Index(m.net.ids, stage)] = group{}
	m.net.forget()
	return changes
}

func (m *changeMaker) linkUp(t *jobs.Linked) (changes []jobs.Change) {
	links, over := m.net.links(jobs.After{Stage: t.From, Link: t.Link, Lag: t.Lag, LagOn: t.LagOn})
	to := m.group(t.To)
	at := m.net.next(slices.Index(m.net.ids, t.To))
	if len(to.stages) > 0 && (t.Link == schedule.FinishFinish || t.Link == schedule.StartFinish) {
		at = to.ends()
	}
	for _, a := range links {
		if over || len(to.stages) == 0 {
			a = jobs.After{Stage: a.Stage}
		}
		for _, id := range at {
			changes = append(changes, jobs.Change{Link: &jobs.Linked{From: a.Stage, To: id,
				Link: a.Link, Lag: a.Lag, LagOn: a.LagOn}})
		}
	}
	return changes
}

// unlink takes out the links there are from the stages of one group to those of
// another.
func (m *changeMaker) unlink(t *jobs.Unlinked) (changes []jobs.Change) {
	for _, from := range m.group(t.From).stages {
		follows := func(a jobs.After) bool { return a.Stage == from.ID }
		for _, to := range m.group(t.To).stages {
			i := slices.IndexFunc(m.stages, func(s jobs.Stage) bool { return s.ID == to.ID })
			if !slices.ContainsFunc(m.stages[i].After, follows) {
				continue
			}
			m.stages[i].After = slices.DeleteFunc(slices.Clone(m.stages[i].After), follows)
			changes = append(changes, jobs.Change{Unlink: &jobs.Unlinked{From: from.ID, To: to.ID}})
		}
	}
	return changes
}

func (m *changeMaker) underpin(path string, t *Underpinned) []jobs.Change {
	i := len(m.net.ids)
	m.net.grow(&Stage{ID: t.Stage, After: t.After}, group{})
	m.net.precede(i, t.Before)
	wall, err := m.lengthMM(t.Wall)
	bay := usualBay(wall)
	if err == nil && !t.Bay.IsZero() {
		bay, err = m.lengthMM(t.Bay)
	}
	if err != nil {
		m.note(path, err.Error(), "")
		return nil
	}
	u := &jobs.Underpinned{Stage: t.Stage, Wall: schedule.Millimetres(wall),
		Bay: schedule.Millimetres(bay), Notice: t.Notice.in(m.region), Before: m.followers(t.Before)}
	stages, _, err := u.Stages()
	if err != nil {
		m.addNote(fmt.Sprintf("Basis, %s: its days are not in the programme of what follows: %s.",
			m.item, err))
		return nil
	}
	one := jobs.Stage{ID: t.Stage}
	m.net.groups[i] = group{[]jobs.Stage{one}}
	one, _ = m.net.join(i, one)
	u.After, m.net.groups[i] = one.After, group{stages}
	for _, s := range stages {
		if len(s.After) == 0 {
			s.After = u.After
		}
		m.stages = append(m.stages, s)
	}
	return []jobs.Change{{Underpin: u}}
}
