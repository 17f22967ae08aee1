package templates

import (
	"fmt"
	"math/big"
	"putlog/jobs"
	"putlog/jobs/words"
	"regexp"
	"slices"
	"strings"
)

// Survey is what is known of one job: what was measured and chosen, outputs of
// the builder's own, and what was found done by others. A template makes a job
// of it.
type Survey struct {
	Ref      string
	Title    string // the template's when left out
	Region   jobs.Region
	Start    jobs.Moment
	Week     *jobs.Week     // Monday to Friday when left out
	Contract *jobs.Contract // may be left out
	Measures []Setting      // a measurement and its figure: {"length", "5.2m"}
	Choices  []Setting      // a choice and its word: {"floor", "timber"}
	Outputs  []Setting      // an output and its hours a unit, {"stud", "0.5"}; or hours-a-day
	Found    []Setting      // a stage and how it was found: done, poor or covered
}

// hoursADay is the name by which a survey sets the hours worked in a day.
const hoursADay = "hours-a-day"

// regionChoice is the name by which conditions ask for the region.
const regionChoice = "region"

// baySum is the name of a bay's width in the work of an underpinning.
const baySum = "bay"

// surveyed is a template with a survey's figures put in; each list goes by the
// template's.
type surveyed struct {
	t          *Template
	region     jobs.Region
	note       func(path, what, do string) // takes what is wrong with the survey
	measures   []Amount
	measured   []bool // by the survey
	words      []string
	chosen     []bool
	hours      []Amount
	own        []bool // outputs of the builder's own
	day        Amount
	quantities []Amount
	found      []string // by stage; "" when nothing is said
}

// take puts the survey's figures into the template and notes every fault.
func (t *Template) take(s *Survey, note func(path, what, do string)) *surveyed {
	v := &surveyed{t: t, region: s.Region, note: note, day: t.HoursADay,
		measures: make([]Amount, len(t.Measurements)), measured: make([]bool, len(t.Measurements)),
		words: make([]string, len(t.Choices)), chosen: make([]bool, len(t.Choices)),
		hours: make([]Amount, len(t.Outputs)), own: make([]bool, len(t.Outputs)),
		found: make([]string, len(t.Stages))}
	for i := range t.Measurements {
		v.measures[i], _ = t.Measurements[i].read(t.Measurements[i].Usual)
	}
	for i, c := range t.Choices {
		v.words[i] = c.Usual
	}
	for i, o := range t.Outputs {
		v.hours[i] = o.Hours
	}
	v.settle("measurement", s.Measures, t.measurementNames(), v.setMeasure)
	v.settle("choice", s.Choices, t.choiceNames(), v.setChoice)
	v.settle("output", s.Outputs, append(t.outputNames(), hoursADay), v.setOutput)
	v.settle("stage", s.Found, t.stageIDs(), v.setFound)
	for i := range t.Quantities {
		v.addQuantity(i)
	}
	return v
}

// settle looks each setting up among the names there are and has it taken.
func (v *surveyed) settle(what string, settings []Setting, names []string,
	take func(i int, value string) error) {
	seen := make([]bool, len(names))
	for _, s := range settings {
		path := what + " " + s.Name
		i := slices.Index(names, s.Name)
		switch {
		case i < 0:
			v.note(path, fmt.Sprintf("the template %s has no %s %q", v.t.Name, what, s.Name),
				words.Meant(s.Name, names, what+"s"))
			continue
		case seen[i]:
			v.note(path, fmt.Sprintf("the %s %s is given twice", what, s.Name), "keep one of the two")
			continue
		}
		seen[i] = true
		if err := take(i, s.Value); err != nil {
			v.note(path, err.Error(), words.Advice(err))
		}
	}
}

func (v *surveyed) setMeasure(i int, value string) (err error) {
	a, err := v.t.Measurements[i].read(value)
	if err == nil { // the usual figure stays in place of a bad one
		v.measures[i], v.measured[i] = a, true
	}
	return err
}

// read reads a figure of a measurement, a bare one in its unit, and refuses
// what can't be right.
func (m *Measurement) read(text string) (Amount, error) {
	a, err := parseAmount(text)
	if err == nil && a.dim == dimNumber {
		a.dim = m.Unit.dim()
		if m.Unit == WrittenMM {
			a.of = new(big.Rat).Quo(a.of, big.NewRat(1000, 1))
		}
	}
	bare := fmt.Sprintf("a bare figure is in %s", unitWords[m.Unit])
	switch {
	case err != nil || a.dim != m.Unit.dim():
		return Amount{}, words.Refuse("write "+unitExamples[m.Unit]+"; "+bare,
			"%q is not %s: %s", text, m.Unit.dim(), m.What)
	case m.Unit == Each && !a.of.IsInt():
		return Amount{}, words.Refuse("write a whole number", "%s is not a count: %s", a, m.What)
	case !m.From.IsZero() && a.Cmp(m.From) < 0:
		return Amount{}, words.Refuse("measure again: "+m.What+"; "+bare,
			"%s is too small for %s, which is %s at the least", a, m.Name, m.From)
	case !m.To.IsZero() && a.Cmp(m.To) > 0:
		return Amount{}, words.Refuse("measure again: "+m.What+"; "+bare,
			"%s is too much for %s, which is %s at the most", a, m.Name, m.To)
	}
	return a, nil
}

var unitWords = [...]string{"", "metres", "millimetres", "square metres", "cubic metres",
	"numbers", "degrees C"}

var unitExamples = [...]string{"", "metres or millimetres, as 5.2m or 5200mm",
	"millimetres or metres, as 75mm or 0.075m", "square metres, as 16.5m2",
	"cubic metres, as 1.5m3", "a whole number, as 12", "degrees C, as 10 or 7.5"}

func (v *surveyed) setChoice(i int, value string) error {
	c := v.t.Choices[i]
	if !slices.Contains(c.Words, value) {
		return words.Refuse(words.Meant(value, c.Words, "answers"), "%q is not an answer for %s: %s",
			value, c.Name, c.What)
	}
	v.words[i], v.chosen[i] = value, true
	return nil
}

// setOutput reads hours a unit: "0.5", "0.5h" or "0.5 h/m2".
func (v *surveyed) setOutput(i int, value string) error {
	unit := "day"
	if i < len(v.t.Outputs) {
		unit = v.t.Outputs[i].Per.String()
	}
	number, per, _ := strings.Cut(value, "h")
	per = strings.TrimSpace(per)
	of, ok := parseDecimal(strings.TrimSpace(number))
	switch {
	case !ok || of.Sign() <= 0 || of.Cmp(big.NewRat(1000, 1)) > 0 || per != "" && per != "/"+unit:
		return words.Refuse("write the hours as 0.5 or 0.5h", "%q is not a number of hours (one person, %s)",
			value, perUnit(unit))
	case i < len(v.t.Outputs):
		v.hours[i], v.own[i] = Amount{of: of}, true
	case of.Cmp(big.NewRat(24, 1)) > 0:
		return words.Refuse("write the hours that are worked, as 7", "a day has no %s hours", ratText(of, 3))
	default:
		v.day = Amount{of: of}
	}
	return nil
}

func perUnit(unit string) string {
	if unit == "each" {
		return "for each"
	}
	return "a " + unit
}

// How a stage was found.
const (
	foundDone    = "done"
	foundPoor    = "poor"
	foundCovered = "covered"
)

func (v *surveyed) setFound(i int, value string) error {
	states := []string{foundDone, foundPoor, foundCovered}
	s := &v.t.Stages[i]
	switch {
	case !slices.Contains(states, value):
		return words.Refuse("write done, poor (its making good becomes a stage) or covered (it is laid "+
			"open for the inspector)", "%q is not how a stage is found", value)
	case !v.holds(s.When):
		return words.Refuse("change the choice, or leave this out",
			"%s is not a stage of this job: it is there with %s", s.ID, conditionText(s.When))
	case value != foundDone && s.runsByItself():
		return words.Refuse("say done, or leave it in; poor and covered are for the work itself",
			"%s is a %s: it can't be found %s", s.ID, s.Kind, value)
	}
	v.found[i] = value
	return nil
}

// addQuantity works out a quantity from what stands above it.
func (v *surveyed) addQuantity(i int) {
	q := &v.t.Quantities[i]
	e := q.Is
	if !v.holds(q.When) {
		e = q.Else
	}
	a, err := e.value(v.known)
	if err != nil {
		v.note("quantities."+q.Name, err.Error(), "look at the measurements it is made of")
	}
	v.quantities = append(v.quantities, a)
}

// known gives what a name in an expression stands for.
func (v *surveyed) known(name string) (Amount, error) {
	if i := slices.Index(v.t.measurementNames(), name); i >= 0 {
		return v.measures[i], nil
	}
	if i := slices.Index(v.t.quantityNames(), name); i >= 0 && i < len(v.quantities) {
		if v.quantities[i].IsZero() { // its own fault is noted already
			return Amount{}, fmt.Errorf("%s could not be worked out", name)
		}
		return v.quantities[i], nil
	}
	return Amount{}, fmt.Errorf("there is no measurement or quantity %q above this; "+
		"names are small letters, digits and hyphens, and a minus has blanks round it", name)
}

// word gives the answer to a choice, the region's included.
func (v *surveyed) word(choice string) (string, bool) {
	if choice == regionChoice {
		return string(v.region), true
	}
	i := slices.Index(v.t.choiceNames(), choice)
	if i < 0 {
		return "", false
	}
	return v.words[i], true
}

// holds says whether all conditions hold.
func (v *surveyed) holds(when []Condition) bool {
	for _, c := range when {
		if !slices.ContainsFunc(c.any, func(s Setting) bool {
			word, _ := v.word(s.Name)
			return word == s.Value
		}) {
			return false
		}
	}
	return true
}

// conditionText says conditions: "floor=screed and opening=yes or underpin=yes".
func conditionText(when []Condition) string {
	all := make([]string, len(when))
	for i, c := range when {
		any := make([]string, len(c.any))
		for k, s := range c.any {
			any[k] = s.Name + "=" + s.Value
		}
		all[i] = strings.Join(any, " or ")
	}
	return strings.Join(all, " and ")
}

// placeholder is a name in a text that the survey fills in: "{edge-strip}".
var placeholder = regexp.MustCompile(`\{[^{}]*\}`)

// fill puts the survey's figures and words into a text of the template.
func (v *surveyed) fill(text string) string {
	return placeholder.ReplaceAllStringFunc(text, func(held string) string {
		name := held[1 : len(held)-1]
		if word, ok := v.word(name); ok {
			return word
		}
		a, err := v.known(name)
		if err != nil {
			return held
		}
		return a.String()
	})
}

func (t *Template) measurementNames() []string {
	names := make([]string, len(t.Measurements))
	for i, m := range t.Measurements {
		names[i] = m.Name
	}
	return names
}

func (t *Template) choiceNames() []string {
	names := make([]string, len(t.Choices))
	for i, c := range t.Choices {
		names[i] = c.Name
	}
	return names
}

func (t *Template) outputNames() []string {
	names := make([]string, len(t.Outputs))
	for i, o := range t.Outputs {
		names[i] = o.Name
	}
	return names
}

func (t *Template) quantityNames() []string {
	names := make([]string, len(t.Quantities))
	for i, q := range t.Quantities {
		names[i] = q.Name
	}
	return names
}

func (t *Template) stageIDs() []string {
	ids := make([]string, len(t.Stages))
	for i := range t.Stages {
		ids[i] = t.Stages[i].ID
	}
	return ids
}
