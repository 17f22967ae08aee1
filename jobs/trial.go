package jobs

import (
	"fmt"

	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// ReadVariation reads one variation from a file.
func ReadVariation(file string, src []byte) (*Variation, error) {
	var v Variation
	if err := form.Read(file, src, &v, nil); err != nil {
		return nil, err
	}
	return &v, nil
}

// NextNumber is the number that a variation raised now would get.
func (j *Job) NextNumber() string { return j.raised().NextNumber() }

// raised is a ledger of the numbers used so far, and no more.
func (j *Job) raised() *variations.Ledger {
	var ledger variations.Ledger
	for _, e := range j.Entries {
		if v, ok := e.Event.(*Variation); ok {
			raise(&ledger, v, e.On)
		}
	}
	return &ledger
}

// raise uses a number up; one that is used already is refused later on.
func raise(numbers *variations.Ledger, v *Variation, on schedule.Day) {
	_ = numbers.Raise(variations.Terms{Number: v.Number, Cost: variations.Share{Client: variations.Hundred}}, on)
}

// Trial is what instructing a variation now would do.
type Trial struct {
	Variation     *Variation
	Price         variations.Price
	ClientVAT     variations.Pence // on the client's share, at the contract's rate
	Before, After *Programme
	Worked        schedule.Halves // working days by which the finish would move
	Delay         DelayCosts      // that could be added; not in the price
	UsedUp        []FloatUse
}

// FloatUse is a stage whose float a change takes.
type FloatUse struct {
	Name         string
	Before, Left schedule.Halves
}

// TryVariation says what a variation would cost and move if it were raised and
// instructed on a day, and records nothing. It is refused as that would be.
func (j *Job) TryVariation(v *Variation, on schedule.Day) (*Trial, error) {
	if v.Number == "" {
		named := *v
		named.Number = j.NextNumber()
		v = &named
	}
	t := &Trial{Variation: v}
	var err error
	if t.Before, err = j.Programme(on); err != nil {
		return nil, err
	}
	after, err := j.With([]Entry{{On: on, Event: v},
		{On: on, Event: &Ruling{Number: v.Number, To: variations.Instructed}}})
	if err != nil {
		return nil, err
	}
	if t.After, err = after.Programme(on); err != nil {
		return nil, err
	}
	if t.Price, err = v.Price(); err != nil {
		return nil, err
	}
	if j.Contract != nil {
		if t.ClientVAT, err = j.Contract.VAT.Of(t.Price.Client); err != nil {
			return nil, err
		}
	}
	t.Worked = t.After.Calendar(SiteCalendar).Count(t.Before.Finish, t.After.Finish)
	t.UsedUp = floatUsed(t.Before, t.After)
	t.Delay, err = j.delayCosts(v, t.Worked)
	return t, err
}

// floatUsed lists the stages that have less float after a change, those with
// none left first.
func floatUsed(before, after *Programme) []FloatUse {
	var none, less []FloatUse
	for _, r := range before.Rows() {
		i, err := after.Find(r.ID)
		if err != nil || r.State == schedule.Finished || r.Drives {
			continue
		}
		now := after.Row(i)
		use := FloatUse{r.Name(), r.Float, now.Float}
		switch {
		case now.Drives:
			use.Left = 0
			none = append(none, use)
		case now.Float < r.Float:
			less = append(less, use)
		}
	}
	return append(none, less...)
}

// Chain names the stages that drive the finish, in order of start.
func (p *Programme) Chain() []string {
	var names []string
	for _, r := range p.Rows() {
		if r.Drives {
			names = append(names, r.Name())
		}
	}
	return names
}

// Sentence says what the variation would do to the finish.
func (t *Trial) Sentence() string {
	from, to := t.Before.Finish.Last(), t.After.Finish.Last()
	if from == to {
		return fmt.Sprintf("The finish would stay on %s.", longHalf(to))
	}
	return fmt.Sprintf("The finish would move from %s to %s: %s.", from.Short(), longHalf(to), words.Later(t.Worked))
}

// VariationLine is a variation with its price and what it changes, in words.
type VariationLine struct {
	variations.Variation
	Price   variations.Price
	Changes []string
}

// Variations lists the variations raised up to a day.
func (j *Job) Variations(asAt schedule.Day) ([]VariationLine, error) {
	s, err := j.standingAt(asAt)
	if err != nil {
		return nil, err
	}
	var lines []VariationLine
	for i, v := range s.ledger.All() {
		l := VariationLine{Variation: v}
		if l.Price, err = v.Price(); err != nil {
			return nil, err
		}
		for _, c := range s.changes[i] {
			l.Changes = append(l.Changes, c.says())
		}
		lines = append(lines, l)
	}
	return lines, nil
}
