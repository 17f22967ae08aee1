package templates

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"

	"putlog/jobs"
	"putlog/jobs/words"
	"putlog/schedule"
)

// Limits on a template; far above any real one.
const (
	maxStages  = 300
	maxNames   = 200 // of measurements, outputs, quantities, limits or notes
	maxChoices = 40
	maxAnswers = 12 // to one choice
	maxID      = 30 // leaves room for the beginnings of takenover.go
)

var namePattern = regexp.MustCompile(`^[a-z][a-z0-9-]{0,39}$`)

const nameRemedy = "use small letters, digits and hyphens, a letter first, 40 at the most"

// checker looks a template over and notes every fault with its path.
type checker struct {
	t     *Template
	usual *surveyed
	sound bool // nothing noted yet
	note  func(path, what, do string)
}

// check notes every fault of a template. Where all is sound, and try says so, it
// also makes jobs with the usual figures.
func (t *Template) check(note func(path, what, do string), try bool) {
	c := &checker{t: t, sound: true}
	c.note = func(path, what, do string) {
		c.sound = false
		note(path, what, do)
	}
	if !jobs.ValidRef(t.Name) {
		c.note("template", fmt.Sprintf("%q is not a name for a template", t.Name), jobs.RefRemedy)
	}
	if !c.counts() {
		return
	}
	c.positive("hours-a-day", t.HoursADay, 24)
	c.names()
	c.measurements()
	c.choices()
	for _, o := range t.Outputs {
		c.positive("outputs."+o.Name+".hours", o.Hours, 1000)
		if o.Per == WrittenMM || o.Per == DegreesC {
			c.note("outputs."+o.Name+".per", "work is not counted in "+o.Per.String(),
				"write m, m2, m3 or each")
		}
	}
	c.quantities()
	c.limits()
	c.length("taken-over.make-good", t.TakenOver.MakeGood)
	c.length("taken-over.lay-open", t.TakenOver.LayOpen)
	c.length("taken-over.close-up", t.TakenOver.CloseUp)
	for i, n := range t.Notes {
		path := fmt.Sprintf("notes[%d]", i)
		c.when(path, n.When)
		c.text(path, n.Note)
	}
	c.stages()
	c.basis()
	if c.sound && try {
		c.trial()
	}
}

// counts refuses what is too large to look through; false then.
func (c *checker) counts() bool {
	ok := true
	for _, l := range []struct {
		path       string
		n, atLeast int
		most       int
	}{
		{"measurements", len(c.t.Measurements), 0, maxNames},
		{"choices", len(c.t.Choices), 0, maxChoices},
		{"outputs", len(c.t.Outputs), 0, maxNames},
		{"quantities", len(c.t.Quantities), 0, maxNames},
		{"limits", len(c.t.Limits), 0, maxNames},
		{"notes", len(c.t.Notes), 0, maxNames},
		{"basis", len(c.t.Basis), 0, maxNames},
		{"stages", len(c.t.Stages), 1, maxStages},
	} {
		switch {
		case l.n > l.most:
			c.note(l.path, fmt.Sprintf("%d %s are more than the %d a template may have",
				l.n, l.path, l.most), "split the template in two")
			ok = false
		case l.n < l.atLeast:
			c.note(l.path, "the template has no "+l.path, "add at least one: "+
				"- {stage: strip, title: Strip out, takes: 1d}")
		}
	}
	return ok
}

// positive refuses a number that is not over nought and up to a limit.
func (c *checker) positive(path string, a Amount, most int64) {
	if a.IsZero() || a.dim == dimNumber && a.sign() > 0 && a.of.Cmp(big.NewRat(most, 1)) <= 0 {
		return // what is not set has been noted in reading
	}
	c.note(path, fmt.Sprintf("%s is not a number of hours over 0 and up to %d", a, most),
		"write hours as 7 or 0.65")
}

// names refuses names that can't be used or that mean two things.
func (c *checker) names() {
	var taken []string
	for _, list := range []struct {
		path  string
		names []string
	}{{"measurements", c.t.measurementNames()}, {"choices", c.t.choiceNames()},
		{"quantities", c.t.quantityNames()}} {
		for _, name := range list.names {
			path := list.path + "." + name
			switch {
			case !namePattern.MatchString(name):
				c.note(path, fmt.Sprintf("%q is not a name", name), nameRemedy)
			case name == regionChoice || name == baySum:
				c.note(path, fmt.Sprintf("the name %s has a meaning of its own", name), "use another name")
			case slices.Contains(taken, name):
				c.note(path, fmt.Sprintf("the name %s is used twice", name),
					"give measurements, choices and quantities names of their own")
			}
			taken = append(taken, name)
		}
	}
	for _, name := range c.t.outputNames() {
		if !namePattern.MatchString(name) || name == hoursADay {
			c.note("outputs."+name, fmt.Sprintf("%q is not a name for an output", name), nameRemedy)
		}
	}
}

func (c *checker) measurements() {
	for i := range c.t.Measurements {
		m := &c.t.Measurements[i]
		if m.Unit == 0 {
			continue
		}
		path := "measurements." + m.Name
		for _, bound := range []struct {
			key string
			at  Amount
		}{{"from", m.From}, {"to", m.To}} {
			if !bound.at.IsZero() && bound.at.dim != m.Unit.dim() {
				c.note(path+"."+bound.key, fmt.Sprintf("%s is %s, but %s is %s", bound.at, bound.at.dim,
					m.Name, m.Unit.dim()), "write it with its unit: 1m, 75mm, 10C")
				return
			}
		}
		if _, err := m.read(m.Usual); err != nil {
			c.note(path+".usual", err.Error(), "write a usual value that may be measured")
		}
	}
}

func (c *checker) choices() {
	for i := range c.t.Choices {
		choice := &c.t.Choices[i]
		path := "choices." + choice.Name
		if len(choice.Words) > maxAnswers {
			c.note(path+".words", fmt.Sprintf("%d answers are more than the %d a choice may have",
				len(choice.Words), maxAnswers), "make two choices of it")
		}
		for k, word := range choice.Words {
			if !jobs.ValidRef(word) || slices.Contains(choice.Words[:k], word) {
				c.note(fmt.Sprintf("%s.words[%d]", path, k),
					fmt.Sprintf("%q is not an answer of its own", word), jobs.RefRemedy)
			}
		}
		if !slices.Contains(choice.Words, choice.Usual) {
			c.note(path+".usual", fmt.Sprintf("%q is not among the answers", choice.Usual),
				words.Meant(choice.Usual, choice.Words, "answers"))
		}
	}
}

// quantities works the quantities out with the usual figures, both ways.
func (c *checker) quantities() {
	c.usual = &surveyed{t: c.t, region: jobs.EnglandAndWales, day: c.t.HoursADay}
	for i := range c.t.Measurements {
		m := &c.t.Measurements[i]
		a := Amount{of: big.NewRat(1, 1), dim: dimNumber}
		if m.Unit != 0 {
			a.dim = m.Unit.dim()
			if read, err := m.read(m.Usual); err == nil {
				a = read
			}
		}
		c.usual.measures = append(c.usual.measures, a)
	}
	for i := range c.t.Quantities {
		q := &c.t.Quantities[i]
		path := "quantities." + q.Name
		c.when(path+".when", q.When)
		a := c.value(path, q.Is)
		if len(q.When) == 0 != q.Else.IsZero() {
			c.note(path, fmt.Sprintf("%s has only one of when and else", q.Name),
				"give both, or neither")
		} else if !q.Else.IsZero() {
			other := c.value(path+".else", q.Else)
			if !a.IsZero() && !other.IsZero() && a.dim != other.dim {
				c.note(path+".else", fmt.Sprintf("%s is %s there and %s here", q.Name, a.dim, other.dim),
					"make both the same")
			}
		}
		c.usual.quantities = append(c.usual.quantities, a)
	}
}

// value works an expression out with the usual figures; the zero Amount when it
// can't be.
func (c *checker) value(path string, e Expression) Amount {
	return c.valueKnown(path, e, c.usual.known)
}

// valueKnown is value where names stand for more than the usual figures. What
// rests on a faulty quantity is not noted again.
func (c *checker) valueKnown(path string, e Expression,
	known func(string) (Amount, error)) Amount {
	if e.IsZero() {
		return Amount{}
	}
	for _, name := range e.names() {
		i := slices.Index(c.t.quantityNames(), name)
		if i >= 0 && i < len(c.usual.quantities) && c.usual.quantities[i].IsZero() {
			return Amount{}
		}
	}
	a, err := e.value(known)
	if err != nil {
		c.note(path, err.Error(), c.nearNames(e))
	}
	return a
}

// nearNames says what a misspelt name in an expression may have meant.
func (c *checker) nearNames(e Expression) string {
	known := append(c.t.measurementNames(), c.t.quantityNames()...)
	for _, name := range e.names() {
		if !slices.Contains(known, name) {
			return words.Meant(name, known, "names")
		}
	}
	return ""
}

func (c *checker) limits() {
	for i := range c.t.Limits {
		l := &c.t.Limits[i]
		path := "limits." + l.Name
		c.when(path+".when", l.When)
		a := c.value(path+".of", l.Of)
		c.text(path+".too-little", l.TooLittle)
		c.text(path+".too-much", l.TooMuch)
		for _, bound := range []struct {
			key string
			at  Amount
		}{{"least", l.Least}, {"never-under", l.NeverUnder},
			{"most", l.Most}, {"never-over", l.NeverOver}} {
			if !bound.at.IsZero() && !a.IsZero() && bound.at.dim != a.dim {
				c.note(path+"."+bound.key, fmt.Sprintf("%s is %s, but what it limits is %s", bound.at,
					bound.at.dim, a.dim), "write it with its unit: 65mm")
			}
		}
		if l.TooLittle == "" && !(l.Least.IsZero() && l.NeverUnder.IsZero()) {
			c.note(path, "the limit does not say what to do when there is too little", "add too-little")
		}
		if l.TooMuch == "" && !(l.Most.IsZero() && l.NeverOver.IsZero()) {
			c.note(path, "the limit does not say what to do when there is too much", "add too-much")
		}
		if l.Shows != "" {
			c.known(path+".shows", l.Shows, c.t.stageIDs())
		}
	}
}

// when notes conditions on choices or answers that are not there.
func (c *checker) when(path string, when []Condition) {
	for _, cond := range when {
		for _, s := range cond.any {
			answers := []string{string(jobs.EnglandAndWales), string(jobs.Scotland), string(jobs.NorthernIreland)}
			i := slices.Index(c.t.choiceNames(), s.Name)
			switch {
			case i >= 0:
				answers = c.t.Choices[i].Words
			case s.Name != regionChoice:
				c.note(path, fmt.Sprintf("there is no choice %q", s.Name),
					words.Meant(s.Name, append(c.t.choiceNames(), regionChoice), "choices"))
				continue
			}
			if !slices.Contains(answers, s.Value) {
				c.note(path, fmt.Sprintf("%q is not an answer for %s", s.Value, s.Name),
					words.Meant(s.Value, answers, "answers"))
			}
		}
	}
}

// text notes names in braces that stand for nothing.
func (c *checker) text(path, text string) {
	known := slices.Concat(c.t.measurementNames(), c.t.quantityNames(), c.t.choiceNames())
	for _, held := range placeholder.FindAllString(text, -1) {
		name := held[1 : len(held)-1]
		if name != regionChoice && !slices.Contains(known, name) {
			c.note(path, fmt.Sprintf("{%s} stands for nothing that is measured or chosen", name),
				words.Meant(name, known, "names"))
		}
	}
}

// length notes a length that is no length of a stage.
func (c *checker) length(path string, l jobs.Length) {
	if !l.IsZero() && (l.InHours() || l.Halves() < 1) {
		c.note(path, fmt.Sprintf("%s is not how long work takes", l), "write days: 0.5d, 1d")
	}
}

func (c *checker) stages() {
	ids := c.t.stageIDs()
	for i, id := range ids {
		path := fmt.Sprintf("stages[%d]", i)
		c.stageID(path+".stage", id, ids[:i])
		c.stage(path, &c.t.Stages[i], ids)
	}
	if !c.sound {
		return
	}
	after := make([][]jobs.After, len(ids))
	for i := range c.t.Stages {
		after[i] = c.t.Stages[i].After
	}
	if i := ringAt(ids, after); i >= 0 {
		c.note(fmt.Sprintf("stages[%d].after", i), fmt.Sprintf("%s is reached from itself: stages "+
			"follow one another in a ring", ids[i]), "take one of these links out")
	}
}

// stageID notes a name that can't be a stage's, or is another's.
func (c *checker) stageID(path, id string, taken []string) {
	switch {
	case !namePattern.MatchString(id) || len(id) > maxID:
		c.note(path, fmt.Sprintf("%q is not a name for a stage", id),
			fmt.Sprintf("use small letters, digits and hyphens, a letter first, %d at the most",
				maxID))
	case slices.Contains(taken, id):
		c.note(path, fmt.Sprintf("there are two stages %q", id), "give one of them another name")
	}
	for _, prefix := range []string{makeGoodID, layOpenID, seeID, closeUpID} {
		if strings.HasPrefix(id, prefix) {
			c.note(path, fmt.Sprintf("%s is kept for stages that come of work found poor or "+
				"covered", prefix), "begin the name otherwise")
		}
	}
}

// stage notes what is wrong with one stage, which may follow those.
func (c *checker) stage(path string, s *Stage, ids []string) {
	c.when(path+".when", s.When)
	c.text(path+".title", s.Title)
	c.text(path+".reckoning", s.Reckoning)
	c.length(path+".make-good", s.MakeGood)
	for k, a := range s.After {
		c.known(fmt.Sprintf("%s.after[%d]", path, k), a.Stage, ids)
	}
	c.lengths(path, s)
	for k, w := range s.Work {
		c.work(fmt.Sprintf("%s.work[%d]", path, k), w, c.usual.known)
	}
	switch u := s.Underpin; {
	case s.Notice != nil && s.Kind != schedule.KindInspection && u == nil:
		c.note(path+".notice", fmt.Sprintf("%s is not an inspection: notice means nothing here", s.ID),
			"say kind: inspection, or take notice out")
	case u != nil && s.Kind != schedule.KindWork:
		c.note(path+".kind", "an underpinning gives its steps their kinds", "take kind out")
	case u != nil:
		c.underpin(path+".underpin", u)
	}
}

// known notes a stage that is not there, and says whether it is.
func (c *checker) known(path, stage string, ids []string) bool {
	there := slices.Contains(ids, stage)
	if !there {
		c.note(path, fmt.Sprintf("there is no stage %q", stage), words.Meant(stage, ids, "stages"))
	}
	return there
}

// lengths notes a stage whose length is given twice or not at all.
func (c *checker) lengths(path string, s *Stage) {
	var given []string
	for _, way := range []struct {
		key string
		set bool
	}{{"takes", !s.Takes.IsZero()}, {"work", len(s.Work) > 0}, {"underpin", s.Underpin != nil}} {
		if way.set {
			given = append(given, way.key)
		}
	}
	for _, r := range s.rules() {
		if r.rule != nil {
			given = append(given, r.key)
		}
	}
	switch {
	case len(given) > 1:
		c.note(path, fmt.Sprintf("the length of %s is given by %s", s.ID, words.And(given)),
			"keep one of them")
	case len(given) == 0 && s.Kind != schedule.KindInspection:
		c.note(path, fmt.Sprintf("%s does not say how long it takes", s.ID),
			"add takes: 1d, or work: {quantity: floor-area, output: …, people: 2}")
	}
}

// work notes work that can't be reckoned.
func (c *checker) work(path string, w Work, known func(string) (Amount, error)) {
	c.valueKnown(path+".people", w.People, known)
	a := c.valueKnown(path+".quantity", w.Quantity, known)
	i := slices.Index(c.t.outputNames(), w.Output)
	if i < 0 {
		c.note(path+".output", fmt.Sprintf("there is no output %q", w.Output),
			words.Meant(w.Output, c.t.outputNames(), "outputs"))
		return
	}
	if per := c.t.Outputs[i].Per; per != 0 && !a.IsZero() && a.dim != per.dim() {
		c.note(path+".quantity", fmt.Sprintf("%s is %s, but the output %s is for each %s", w.Quantity,
			a.dim, w.Output, per), "use a quantity that is counted so")
	}
}

// underpin notes figures of an underpinning that can't be.
func (c *checker) underpin(path string, u *Underpin) {
	for _, part := range []struct {
		key string
		e   Expression
	}{{"wall", u.Wall}, {"bay", u.Bay}} {
		if a := c.value(path+"."+part.key, part.e); !a.IsZero() && a.dim != dimLength {
			c.note(path+"."+part.key, fmt.Sprintf("%s is %s", part.e, a.dim), "write a length: 1m")
		}
	}
	known := func(name string) (Amount, error) {
		if name == baySum {
			return parseAmount("1m")
		}
		return c.usual.known(name)
	}
	for k, w := range u.Dig {
		c.work(fmt.Sprintf("%s.dig[%d]", path, k), w, known)
	}
	for k, w := range u.Pour {
		c.work(fmt.Sprintf("%s.pour[%d]", path, k), w, known)
	}
}

// trial makes a job of the usual figures in each region, and then with each
// other answer to one choice at a time.
func (c *checker) trial() {
	for _, region := range jobs.Regions() {
		c.try(region, true)
	}
	for _, choice := range c.t.Choices {
		for _, word := range choice.Words {
			if word != choice.Usual {
				c.try(jobs.EnglandAndWales, false, Setting{choice.Name, word})
			}
		}
	}
}

// try makes a job, and schedules it when whole says so.
func (c *checker) try(region jobs.Region, whole bool, choices ...Setting) {
	if c.sound {
		c.t.convert(Survey{Ref: "trial", Region: region, Start: jobs.Moment(schedule.FirstDay.AM()),
			Choices: choices}, c.note, whole)
	}
}
