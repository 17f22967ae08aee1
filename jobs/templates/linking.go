package templates

import (
	"slices"

	"putlog/jobs"
	"putlog/schedule"
)

// link puts the groups' stages into the job in the template's order and links
// them. The followers of a stage that fell out take over what it followed, as
// finish-start links without lag. It gives for each stage of the job the number
// of the template's stage that it came from.
func (c *conversion) link(j *jobs.Job) (origin []int) {
	l := c.linker()
	var taken [][]string // for each stage, what it follows only by taking over
	for i, g := range c.groups {
		for _, s := range g.stages {
			s, from := l.join(i, s)
			j.Stages, origin, taken = append(j.Stages, s), append(origin, i), append(taken, from)
		}
	}
	prune(j.Stages, taken)
	return origin
}

// linker follows links past the stages that fell out. Its lists go by stage.
type linker struct {
	ids    []string
	after  [][]jobs.After
	groups []group
	over   [][]string // of one that fell out: the stages of the job before it
	known  []bool     // whether over is worked out
}

// linker makes one of the template's stages.
func (c *conversion) linker() *linker {
	l := &linker{}
	for i := range c.t.Stages {
		l.grow(&c.t.Stages[i], c.groups[i])
	}
	return l
}

// grow puts a stage in, and what it comes to.
func (l *linker) grow(s *Stage, g group) {
	l.ids, l.after, l.groups = append(l.ids, s.ID), append(l.after, s.After), append(l.groups, g)
	l.over, l.known = append(l.over, nil), append(l.known, false)
}

// precede puts stage i before others, too.
func (l *linker) precede(i int, before []string) {
	for _, id := range before {
		k := slices.Index(l.ids, id)
		l.after[k] = append(slices.Clone(l.after[k]), jobs.After{Stage: l.ids[i]})
	}
	l.forget()
}

// forget has what stands before those that fell out worked out anew.
func (l *linker) forget() {
	l.over, l.known = make([][]string, len(l.ids)), make([]bool, len(l.ids))
}

// join gives a stage of group i the links from outside the group too; taken
// lists what it follows only by taking over.
func (l *linker) join(i int, s jobs.Stage) (joined jobs.Stage, taken []string) {
	starts, ends := l.groups[i].starts(), l.groups[i].ends()
	s.After = slices.Clone(s.After)
	for _, a := range l.after[i] {
		links, over := l.links(a)
		for _, outer := range links {
			at := starts
			if outer.Link == schedule.FinishFinish || outer.Link == schedule.StartFinish {
				at = ends
			}
			if !slices.Contains(at, s.ID) || slices.Contains(s.After, outer) {
				continue
			}
			s.After = append(s.After, outer)
			if over {
				taken = append(taken, outer.Stage)
			}
		}
	}
	return s, taken
}

// links gives the job's links for a link of the template; over says that they
// are taken over from a stage that fell out.
func (l *linker) links(a jobs.After) (links []jobs.After, over bool) {
	i := slices.Index(l.ids, a.Stage)
	g := l.groups[i]
	if len(g.stages) == 0 {
		for _, id := range l.before(i) {
			links = append(links, jobs.After{Stage: id})
		}
		return links, true
	}
	ids := g.ends()
	if a.Link == schedule.StartStart || a.Link == schedule.StartFinish {
		ids = g.starts()
	}
	for _, id := range ids {
		a.Stage = id
		links = append(links, a)
	}
	return links, false
}

// before lists the stages of the job that stand before a stage that fell out,
// however many others before it fell out too. The template has no rings.
func (l *linker) before(i int) []string {
	if l.known[i] {
		return l.over[i]
	}
	for _, a := range l.after[i] {
		up := slices.Index(l.ids, a.Stage)
		ids := l.groups[up].ends()
		if len(ids) == 0 {
			ids = l.before(up)
		}
		for _, id := range ids {
			if !slices.Contains(l.over[i], id) {
				l.over[i] = append(l.over[i], id)
			}
		}
	}
	l.known[i] = true
	return l.over[i]
}

// next lists the stages of the job that what comes before stage i comes before:
// the stage itself or, where it fell out, those that follow it.
func (l *linker) next(i int) (ids []string) {
	seen := make([]bool, len(l.ids))
	l.walkOn(i, seen)
	for k, g := range l.groups {
		if seen[k] {
			ids = append(ids, g.starts()...)
		}
	}
	return ids
}

// walkOn marks a stage and, while they fell out, those that follow it.
func (l *linker) walkOn(i int, seen []bool) {
	seen[i] = true
	if len(l.groups[i].stages) > 0 {
		return
	}
	follows := func(a jobs.After) bool { return a.Stage == l.ids[i] }
	for k := range l.ids {
		if !seen[k] && slices.ContainsFunc(l.after[k], follows) {
			l.walkOn(k, seen)
		}
	}
}

// prune takes out links that were taken over and that say nothing new: the
// stage follows the other one already by way of a third.
func prune(stages []jobs.Stage, taken [][]string) {
	index := make(map[string]int, len(stages)) // for lookup only
	for i := range stages {
		index[stages[i].ID] = i
	}
	for i := range stages {
		for _, id := range taken[i] {
			at := slices.Index(stages[i].After, jobs.After{Stage: id})
			seen := make([]bool, len(stages))
			for k, a := range stages[i].After {
				if k != at && a == (jobs.After{Stage: a.Stage}) {
					walkBack(stages, index, index[a.Stage], seen)
				}
			}
			if at >= 0 && seen[index[id]] {
				stages[i].After = slices.Delete(stages[i].After, at, at+1)
			}
		}
	}
}

// walkBack marks a stage and all that it follows by plain links.
func walkBack(stages []jobs.Stage, index map[string]int, i int, seen []bool) {
	if seen[i] {
		return
	}
	seen[i] = true
	for _, a := range stages[i].After {
		if a == (jobs.After{Stage: a.Stage}) {
			walkBack(stages, index, index[a.Stage], seen)
		}
	}
}

// ringAt gives the number of a stage that is reached from itself, -1 for none;
// after lists for each what it follows, all of them stages.
func ringAt(ids []string, after [][]jobs.After) int {
	const unseen, open, done = 0, 1, 2
	state := make([]int, len(ids))
	var visit func(i int) bool
	visit = func(i int) bool {
		state[i] = open
		for _, a := range after[i] {
			up := slices.Index(ids, a.Stage)
			if state[up] == open || state[up] == unseen && !visit(up) {
				return false
			}
		}
		state[i] = done
		return true
	}
	for i := range ids {
		if state[i] == unseen && !visit(i) {
			return i
		}
	}
	return -1
}
