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

// conversion is a job in the making.
type conversion struct {
	*surveyed
	groups   []group // by stage of the template
	notes    []string
	warnings []string
}

// New makes a job of the template and a survey. The warnings say what is odd
// about it (a build-up that is too thin); they stand in the job's notes too.
// The error is *form.Problems and names every fault of the survey at once.
func (t *Template) New(s Survey) (*jobs.Job, []string, error) {
	p := &form.Problems{}
	j, warnings := t.convert(s, func(path, what, do string) {
		p.Add(form.Pos{}, t.spokenPath(path), what, do)
	}, true)
	if err := p.Err(); err != nil {
		return nil, nil, err
	}
	return j, warnings, nil
}

// convert makes the job and notes every fault: one of the survey by what it is
// ("measurement length"), one of the template by its path in the file. whole has
// the job scheduled too, to prove that it can be.
func (t *Template) convert(s Survey, note func(path, what, do string), whole bool) (
	*jobs.Job, []string) {
	faults := 0
	c := &conversion{}
	c.surveyed = t.take(&s, func(path, what, do string) {
		faults++
		note(path, what, do)
	})
	c.checkSurvey(&s)
	c.limits()
	if faults > 0 { // what follows would only repeat them
		return nil, nil
	}
	c.settingNotes()
	c.groups = make([]group, len(t.Stages))
	for i := range t.Stages {
		c.groups[i] = c.group(i)
	}
	c.dropSeen()
	c.warnOfLeft()
	for _, n := range t.Notes {
		if c.holds(n.When) {
			c.addNote(c.fill(n.Note))
		}
	}
	if faults > 0 {
		return nil, nil
	}
	j := &jobs.Job{Ref: s.Ref, Title: s.Title, Region: s.Region, Start: s.Start, Week: s.Week,
		Contract: s.Contract, Careful: slices.Clone(t.Cautions)}
	if j.Title == "" {
		j.Title = t.Title
	}
	stages := c.link(j)
	items := c.basis(j)
	j.Notes = c.notes
	if faults > 0 {
		return nil, nil
	}
	j.Check(func(path, what, do string) {
		c.note(sourcePath(sourcePath(path, "stages", stages), "basis", items), what, do)
	}, whole)
	return j, c.warnings
}

// spokenPath turns a path of the template into words: the stage or the item of
// the basis in place of its number, a limit or a quantity by its name.
func (t *Template) spokenPath(path string) string {
	var i int
	if _, err := fmt.Sscanf(path, "stages[%d]", &i); err == nil && i < len(t.Stages) {
		return "stage " + t.Stages[i].ID
	}
	if _, err := fmt.Sscanf(path, "basis[%d]", &i); err == nil && i < len(t.Basis) {
		return "basis " + t.Basis[i].Item
	}
	if name, ok := strings.CutPrefix(path, "limits."); ok {
		return "limit " + name
	}
	if name, ok := strings.CutPrefix(path, "quantities."); ok {
		return "quantity " + name
	}
	return path
}

// checkSurvey notes what a survey must have and lacks.
func (c *conversion) checkSurvey(s *Survey) {
	if !s.Region.Valid() {
		_, err := jobs.ParseRegion(string(s.Region))
		c.note("region", err.Error(), "")
	}
	if !schedule.Instant(s.Start).Valid() || s.Start == 0 {
		c.note("start", "the job has no start", "give the date on which it starts, as 2027-03-01")
	}
}

// sourcePath turns the path of something in a list of the job into that of
// what it came from in the template's; origin gives the number there of each.
func sourcePath(path, list string, origin []int) string {
	var i int
	if _, err := fmt.Sscanf(path, list+"[%d]", &i); err != nil || i >= len(origin) {
		return path
	}
	_, rest, _ := strings.Cut(path, "]")
	return fmt.Sprintf("%s[%d]%s", list, origin[i], rest)
}

func (c *conversion) addNote(text string) { c.notes = append(c.notes, clip(text)) }

// clip cuts a text that came out longer than a job may hold.
func clip(text string) string {
	if r := []rune(text); len(r) > jobs.MaxText {
		return string(r[:jobs.MaxText-1]) + "…"
	}
	return text
}

// warn says something aloud and keeps it with the job.
func (c *conversion) warn(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	c.warnings = append(c.warnings, text)
	c.addNote(text)
}

// settingNotes writes down what the plan rests on.
func (c *conversion) settingNotes() {
	var measured, usual, chosen, own []string
	for i, m := range c.t.Measurements {
		said := m.Name + " " + c.measures[i].String()
		if c.measured[i] {
			measured = append(measured, said)
		} else {
			usual = append(usual, said)
		}
	}
	for i, choice := range c.t.Choices {
		chosen = append(chosen, choice.Name+" "+c.words[i])
	}
	for i, o := range c.t.Outputs {
		if c.own[i] {
			own = append(own, fmt.Sprintf("%s %s h %s (the template has %s h)", o.Name, c.hours[i],
				perUnit(o.Per.String()), o.Hours))
		}
	}
	if c.day.Cmp(c.t.HoursADay) != 0 {
		own = append(own, fmt.Sprintf("%s h worked a day (the template has %s h)", c.day, c.t.HoursADay))
	}
	c.addNote("From the template " + c.t.Name +
		": quantities, outputs and lengths are planning figures.")
	c.addList("Measured", measured)
	c.addList("Not measured, taken as usual", usual)
	c.addList("Chosen", chosen)
	c.addList("Your own outputs", own)
}

// addList writes a list as notes, as many as it takes to keep each short.
func (c *conversion) addList(head string, items []string) {
	const most = jobs.MaxText - 60
	line := ""
	for _, item := range items {
		if line != "" && len(line)+len(item) > most {
			c.addNote(head + ": " + line + ".")
			line = ""
		}
		if line != "" {
			line += ", "
		}
		line += item
	}
	if line != "" {
		c.addNote(head + ": " + line + ".")
	}
}

// limits holds the survey to the template's limits.
func (c *conversion) limits() {
	for i := range c.t.Limits {
		l := &c.t.Limits[i]
		if !c.holds(l.When) {
			continue
		}
		a, err := l.Of.value(c.known)
		if err != nil {
			c.note("limits."+l.Name, err.Error(), "look at the measurements it is made of")
			continue
		}
		switch little, much := c.fill(l.TooLittle), c.fill(l.TooMuch); {
		case !l.NeverUnder.IsZero() && a.Cmp(l.NeverUnder) < 0:
			c.note("limits."+l.Name, c.short(l, a, l.NeverUnder), little)
		case !l.NeverOver.IsZero() && a.Cmp(l.NeverOver) > 0:
			c.note("limits."+l.Name, c.over(l, a, l.NeverOver), much)
		case !l.Least.IsZero() && a.Cmp(l.Least) < 0:
			c.warn("%s: %s.", words.Capital(c.short(l, a, l.Least)), little)
		case !l.Most.IsZero() && a.Cmp(l.Most) > 0:
			c.warn("%s%s: %s.", words.Capital(c.over(l, a, l.Most)), c.waitSum(l.Shows), much)
		}
	}
}

func (c *conversion) short(l *Limit, a, least Amount) string {
	if a.sign() <= 0 {
		return fmt.Sprintf("there is no room for %s: %s comes to %s", l.Called, l.Of.explain(c.known), a)
	}
	short, _ := least.apply('-', a)
	return fmt.Sprintf("%s comes to %s (%s), %s less than the %s it wants", l.Called, a,
		l.Of.explain(c.known), short, least)
}

func (c *conversion) over(l *Limit, a, most Amount) string {
	over, _ := a.apply('-', most)
	return fmt.Sprintf("%s comes to %s (%s), %s more than %s", l.Called, a, l.Of.explain(c.known),
		over, most)
}

// waitSum gives the sum of a wait of the template, for a warning; "" for none.
func (c *conversion) waitSum(stage string) string {
	i := slices.Index(c.t.stageIDs(), stage)
	if i < 0 {
		return ""
	}
	made := jobs.Stage{Kind: schedule.KindWait}
	if !c.fillRules(fmt.Sprintf("stages[%d]", i), &c.t.Stages[i], &made) {
		return ""
	}
	w, err := made.WaitSpec.Wait()
	if err != nil {
		return ""
	}
	return "; " + w.Rule
}
