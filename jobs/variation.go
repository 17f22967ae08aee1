package jobs

import (
	"fmt"
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// Variation raises a variation: its terms, and what it changes in the
// programme once it is instructed.
type Variation struct {
	variations.Terms
	Changes []Change `form:"changes,optional"`
}

// Ruling takes a variation a step further: instructed, agreed and so on.
type Ruling struct {
	Number string           `form:"variation"`
	Note   string           `form:"note,optional"`
	To     variations.State // from the entry's kind
}

// Kind names the kind of entry.
func (*Variation) Kind() string { return "variation" }
func (r *Ruling) Kind() string  { return r.To.String() }

func (v *Variation) apply(s *standing, on schedule.Day) error {
	if v.Number == "" {
		return words.Refuse("write number: "+s.ledger.NextNumber(), "the variation has no number")
	}
	if len(s.changes) == maxVariations {
		return words.Refuse("begin a new job for what is still to be done",
			"%d variations are all that a job may have", maxVariations)
	}
	if n := max(len(v.Changes), len(v.Lines)); n > maxChanges {
		return words.Refuse("make two variations of it", "%d changes or lines are more than the %d a variation may have",
			n, maxChanges)
	}
	if err := v.Fault(); err != nil {
		return words.Refuse("look at its lines, its markup and who bears its cost", "%s", err)
	}
	if err := s.ledger.Raise(v.Terms, on); err != nil {
		return words.Refuse("the next free number is "+s.ledger.NextNumber(), "%s", err)
	}
	s.changes = append(slices.Clone(s.changes), v.Changes)
	if len(v.Changes) == 0 {
		return nil
	}
	if _, err := s.attempt(v.Changes); err != nil {
		return s.changedByAll(err)
	}
	return nil
}

// changedByAll is for changes that do not fit the programme as it stands: they
// may rest on those of variations raised before and not instructed yet. It
// gives err when they do not fit even so.
func (s *standing) changedByAll(err error) error {
	try, all := s, s.ledger.All()
	for i := range all {
		last := i == len(all)-1
		if !last && (all[i].Off() || all[i].Instructed != 0) {
			continue
		}
		next, fault := try.attempt(s.changes[i])
		switch {
		case *s.tried > maxTried:
			return errTried
		case fault == nil:
			try = next
		case last:
			return err
		}
	}
	return nil
}

// maxTried bounds the stages copied to try changes on in one reading of a day
// book: a job of two thousand stages takes several hundred variations.
const maxTried = 3_000_000

// attempt is changed, for a day book that is read: what it takes is bounded,
// whoever wrote it.
func (s *standing) attempt(changes []Change) (*standing, error) {
	if *s.tried > maxTried {
		return nil, errTried
	}
	try, err := s.changedWithin(changes, s.tried)
	*s.tried += len(s.stages)
	if err == nil {
		*s.tried += len(try.stages)
	}
	return try, err
}

var errTried = words.Refuse("begin a new job for what is still to be done",
	"the variations of this job change more stages than can be tried")

// changed is what stands with changes made to it, tried as a whole.
func (s *standing) changed(changes []Change) (*standing, error) {
	return s.changedWithin(changes, new(int))
}

func (s *standing) changedWithin(changes []Change, tried *int) (*standing, error) {
	try := s.copied()
	try.tried = tried
	for _, c := range changes {
		if err := c.apply(try); err != nil {
			return nil, err
		}
	}
	if err := try.sound(); err != nil {
		if loop, ok := err.(*LoopError); ok {
			return nil, words.Refuse("take the link that closes the ring out", "%s", loop)
		}
		return nil, err
	}
	return try, nil
}

func (r *Ruling) apply(s *standing, on schedule.Day) error {
	numbers := []string{}
	for _, v := range s.ledger.All() {
		numbers = append(numbers, v.Number)
	}
	i := slices.Index(numbers, r.Number)
	if i < 0 {
		if len(numbers) == 0 {
			return words.Refuse("raise it first", "there is no variation %q", r.Number)
		}
		return words.Refuse(words.Meant(r.Number, numbers, "variations"), "there is no variation %q", r.Number)
	}
	if err := s.ledger.Move(r.Number, r.To, on); err != nil {
		return words.Refuse("see putlog variation list "+s.job.Ref, "%s", err)
	}
	if r.To != variations.Instructed || len(s.changes[i]) == 0 {
		return nil
	}
	after, err := s.attempt(s.changes[i])
	if err != nil {
		return err
	}
	after.warnings = s.warnings
	*s = *after
	return nil
}

func (v *Variation) says(func(string) string) (ref, says string) {
	return v.Number, fmt.Sprintf("variation %s raised: %s", v.Number, v.Title)
}

func (r *Ruling) says(func(string) string) (ref, says string) {
	words := map[variations.State]string{variations.Instructed: "instructed",
		variations.Agreed: "price agreed", variations.Declined: "declined",
		variations.Withdrawn: "withdrawn", variations.CarriedOut: "carried out"}
	return r.Number, fmt.Sprintf("variation %s: %s", r.Number, words[r.To]) + noteWords(r.Note)
}
