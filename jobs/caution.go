package jobs

import (
	"fmt"
	"slices"
	"strings"
)

// Caution is a danger that a job or a stage carries, by its word in a job file.
type Caution string

// The cautions, and what each says. Each is the usual duty in short; local
// building control and the licensed or chartered person have the last word.
var cautions = [...]struct{ word, says string }{
	{"structure", "Structural work: to a structural engineer's design and building control's approval; " +
		"prop before cutting, and keep the props until the engineer says otherwise."},
	{"underpinning", "Underpinning: to a structural engineer's design and building control's approval. " +
		"Shore or batter every excavation; never have two neighbouring bays open."},
	{"excavation", "Excavation: shore or batter the sides, find the services first, keep people clear of the edge."},
	{"asbestos", "Old black damp-proof courses, boards, tiles and roof sheets may hold asbestos: " +
		"have them surveyed before anything is disturbed (Control of Asbestos Regulations 2012)."},
	{"party-wall", "Digging within 3 m of a neighbour's building, or 6 m where it goes deep: notice under the " +
		"Party Wall etc. Act 1996 (England and Wales), a month or more ahead."},
	{"electrics", "Electrics: Part P applies in England and Wales (elsewhere the local rules); " +
		"a registered electrician tests and certifies."},
	{"gas", "Gas and oil appliances: a registered engineer only; keep every flue and air supply open."},
	{"drains", "Drains: find and test what runs under the floor before it is covered or loaded."},
	{"height", "Roof and ceiling work: edge protection, a sound platform, and nobody on a fragile roof."},
	{"cdm", "The CDM Regulations 2015 apply to every job, a householder's too: a construction phase plan first."},
}

// UnmarshalText reads a caution's word.
func (c *Caution) UnmarshalText(text []byte) error {
	var words []string
	for _, k := range cautions {
		words = append(words, k.word)
	}
	if !slices.Contains(words, string(text)) {
		return fmt.Errorf("%q is not a caution; write one of %s", text, strings.Join(words, ", "))
	}
	*c = Caution(text)
	return nil
}

// MarshalText gives the caution's word.
func (c Caution) MarshalText() ([]byte, error) { return []byte(c), nil }

// PlanningFigures is the caution that every programme carries.
const PlanningFigures = "Waits and rules are planning figures: the test on site (hygrometer, cube, the " +
	"engineer) decides, and local building control has the last word."

// Cautions lists what the job's programme must say, each once: what the job
// and its stages name, then the duties and the limits that every job has.
func (j *Job) Cautions() []string {
	named := slices.Clone(j.Careful)
	for _, s := range j.Stages {
		named = append(named, s.Cautions...)
	}
	named = append(named, "cdm")
	var says []string
	for _, k := range cautions {
		if slices.Contains(named, Caution(k.word)) {
			says = append(says, k.says)
		}
	}
	return append(says, PlanningFigures)
}
