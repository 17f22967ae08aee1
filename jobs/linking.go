package jobs

import (
	"slices"

	"putlog/schedule"
)

// link puts the groups' stages into the job in the template's order and links
// them. The followers of a stage that fell out take over what it followed, as
// finish-start links without lag. It gives for each stage of the job the number
// of the template's stage that it came from.
func (c *conversion) link(j *Job) (origin []int) {
	l := &linker{conversion: c,
		over: make([][]string, len(c.groups)), known: make([]bool, len(c.groups))}
	var taken [][]string // for each stage, what it follows only by taking over
	for i, g := range c.groups {
		starts, ends := g.starts(), g.ends()
		for _, s := range g.stages {
			s.After = slices.Clone(s.After)
			var from []string
			for _, a := range c.t.Stages[i].After {
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
						from = append(from, outer.Stage)
					}
				}
			}
			j.Stages, origin, taken = append(j.Stages, s), append(origin, i), append(taken, from)
		}
	}
	prune(j.Stages, taken)
	return origin
}

// linker follows links past the stages that fell out.
type linker struct {
	*conversion
	over  [][]string // by stage that fell out: the stages of the job before it
	known []bool
}

// links gives the job's links for a link of the template; over says that they
// are taken over from a stage that fell out.
func (l *linker) links(a After) (links []After, over bool) {
	i := slices.Index(l.t.stageIDs(), a.Stage)
	g := l.groups[i]
	if len(g.stages) == 0 {
		for _, id := range l.before(i) {
			links = append(links, After{Stage: id})
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
	for _, a := range l.t.Stages[i].After {
		up := slices.Index(l.t.stageIDs(), a.Stage)
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

// prune takes out links that were taken over and that say nothing new: the
// stage follows the other one already by way of a third.
func prune(stages []Stage, taken [][]string) {
	index := make(map[string]int, len(stages)) // for lookup only
	for i := range stages {
		index[stages[i].ID] = i
	}
	for i := range stages {
		for _, id := range taken[i] {
			at := slices.Index(stages[i].After, After{Stage: id})
			seen := make([]bool, len(stages))
			for k, a := range stages[i].After {
				if k != at && a == (After{Stage: a.Stage}) {
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
func walkBack(stages []Stage, index map[string]int, i int, seen []bool) {
	if seen[i] {
		return
	}
	seen[i] = true
	for _, a := range stages[i].After {
		if a == (After{Stage: a.Stage}) {
			walkBack(stages, index, index[a.Stage], seen)
		}
	}
}
