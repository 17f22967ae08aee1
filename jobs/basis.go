package jobs

import (
	"fmt"
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// BasisItem is something that the price of a job rests on: what was taken to be
// so, the question to put to the inspector before anybody prices it, and the
// variation that follows if it is not so.
type BasisItem struct {
	Item     string     `form:"item"`
	Says     string     `form:"says"`
	Question string     `form:"question"`
	IfNot    *Variation `form:"if-not,optional"`
}

// Finding records whether an item of the basis holds.
type Finding struct {
	Item    string         `form:"item"`
	Outcome FindingOutcome `form:"outcome"`
	Note    string         `form:"note,optional"`
}

// FindingOutcome is what was found of an item: untested until something is.
type FindingOutcome uint8

// The outcomes.
const (
	Untested FindingOutcome = iota
	Holds
	Fails
)

var findingNames = [...]string{"untested", "holds", "fails"}

// String gives the outcome's word.
func (o FindingOutcome) String() string { return findingNames[o] }

// MarshalText gives the outcome's word.
func (o FindingOutcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads "holds" or "fails".
func (o *FindingOutcome) UnmarshalText(text []byte) error {
	return words.Choose(o, "a finding", findingNames[1:], text)
}

// Kind names the kind of entry.
func (*Finding) Kind() string { return "finding" }

func (e *Finding) says(func(string) string) (ref, says string) {
	return e.Item, fmt.Sprintf("basis %s: %s", e.Item, e.Outcome) + noteWords(e.Note)
}

func (e *Finding) apply(s *standing, on schedule.Day) error {
	if s.job.basisItem(e.Item) == nil {
		return words.Refuse(words.Meant(e.Item, s.job.basisNames(), "items"),
			"the basis of %s has no item %q", s.job.Ref, e.Item)
	}
	for _, f := range s.findings {
		if f.Item == e.Item {
			return words.Refuse("strike the other finding out first, if it is the wrong one",
				"%s was already found on %s: it %s", e.Item, f.on.Long(), f.Outcome)
		}
	}
	s.findings = append(s.findings[:len(s.findings):len(s.findings)], finding{*e, on})
	return nil
}

// finding is a finding and its day.
type finding struct {
	Finding
	on schedule.Day
}

// basisItem is an item of the basis by name; nil when there is none.
func (j *Job) basisItem(name string) *BasisItem {
	for i := range j.Basis {
		if j.Basis[i].Item == name {
			return &j.Basis[i]
		}
	}
	return nil
}

func (j *Job) basisNames() []string {
	var names []string
	for _, b := range j.Basis {
		names = append(names, b.Item)
	}
	return names
}

// Found makes the entries that record a finding: the finding itself and, where
// the item fails, the variation that follows. Changes that no longer fit the
// programme of that day (the stage is finished) are left out of it; left says
// why of each.
func (j *Job) Found(e *Finding, on schedule.Day) (entries []Entry, left []string) {
	entries = []Entry{{On: on, Event: e}}
	b := j.basisItem(e.Item)
	if e.Outcome != Fails || b == nil || b.IfNot == nil {
		return entries, nil
	}
	v := *b.IfNot
	v.From = b.Item
	if e.Note != "" {
		v.Because = e.Note
	}
	if s, err := j.standingAt(on); err == nil { // else recording it says what is wrong
		v.Changes, left = s.fitting(v.Changes)
	}
	return append(entries, Entry{On: on, Event: &v}), left
}

// fitting picks the changes that can be made, one after another, and says of
// each other why it can't.
func (s *standing) fitting(changes []Change) (fit []Change, left []string) {
	try := s.clone()
	for _, c := range changes {
		next := try.clone()
		if err := c.apply(next); err != nil {
			left = append(left, fmt.Sprintf("left out of the programme, as it no longer fits (%s): %s",
				c.says(), err))
			continue
		}
		try, fit = next, append(fit, c)
	}
	return fit, left
}

// BasisLine is an item of the basis as it stands.
type BasisLine struct {
	BasisItem
	Outcome FindingOutcome
	On      schedule.Day // of the finding; 0 while untested
	Note    string
	Raised  string           // the number of the variation it raised; "" for none
	Price   variations.Price // of the variation that follows if it fails
	Worked  schedule.Halves  // working days by which that alone would move the finish
	Known   bool             // false when its changes do not fit the programme
}

// Basis is what the quote rests on, and the most it can still move.
type Basis struct {
	Lines  []BasisLine
	Client variations.Pence // the client's share if every untested item fails
	Worked schedule.Halves  // working days by which the finish would move then
	Finish schedule.Instant // and to where
}

// BasisAt lists the basis as at a date.
func (j *Job) BasisAt(asAt schedule.Day) (*Basis, error) {
	s, err := j.standingAt(asAt)
	if err != nil {
		return nil, err
	}
	now, err := s.programme(asAt)
	if err != nil {
		return nil, err
	}
	b := &Basis{}
	all := s
	for i := range j.Basis {
		line, err := s.basisLine(&j.Basis[i], now)
		if err != nil {
			return nil, err
		}
		b.Lines = append(b.Lines, line)
		if line.Outcome != Untested || line.IfNot == nil {
			continue
		}
		if b.Client, err = b.Client.Add(line.Price.Client); err != nil {
			return nil, err
		}
		if next, err := all.changed(line.IfNot.Changes); err == nil {
			all = next
		}
	}
	then, err := all.programme(asAt)
	if err != nil {
		return nil, err
	}
	b.Finish, b.Worked = then.Finish, now.Calendar(SiteCalendar).Count(now.Finish, then.Finish)
	return b, nil
}

func (s *standing) basisLine(b *BasisItem, now *Programme) (BasisLine, error) {
	line := BasisLine{BasisItem: *b, Known: true}
	for _, f := range s.findings {
		if f.Item == b.Item {
			line.Outcome, line.On, line.Note = f.Outcome, f.on, f.Note
		}
	}
	for _, v := range s.ledger.All() {
		if v.From == b.Item {
			line.Raised = v.Number
		}
	}
	if b.IfNot == nil {
		return line, nil
	}
	var err error
	if line.Price, err = b.IfNot.Price(); err != nil {
		return line, err
	}
	if line.Outcome == Untested {
		_, line.Worked, line.Known = s.wouldMove(now, b.IfNot.Changes)
	}
	return line, nil
}

// basis notes what is wrong with the basis of the quote.
func (c *checker) basis() {
	var seen []string
	for i, b := range c.job.Basis {
		path := fmt.Sprintf("basis[%d]", i)
		switch {
		case !ValidRef(b.Item):
			c.note(path+".item", fmt.Sprintf("%q is not a name for an item", b.Item), RefRemedy)
		case slices.Contains(seen, b.Item):
			c.note(path+".item", fmt.Sprintf("there are two items %q", b.Item), "give one of them another name")
		}
		seen = append(seen, b.Item)
		c.text(path+".says", b.Says)
		c.text(path+".question", b.Question)
		if b.IfNot != nil {
			if err := b.IfNot.Fault(); err != nil {
				c.note(path+".if-not", err.Error(), "look at its lines and its split")
			}
		}
	}
}

// basisChanges tries the changes that would follow, once the stages are sound.
func (c *checker) basisChanges(s *standing) {
	for i, b := range c.job.Basis {
		if b.IfNot == nil {
			continue
		}
		if _, err := s.attempt(b.IfNot.Changes); err != nil {
			c.note(fmt.Sprintf("basis[%d].if-not.changes", i), err.Error(), words.Advice(err))
		}
	}
}
