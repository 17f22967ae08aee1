package jobs

import (
	"fmt"
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// TimeCost is what the job costs for each working day that it lasts, however
// much gets done: hire, welfare, supervision.
type TimeCost struct {
	What string              `form:"what"`
	Kind variations.LineKind `form:"kind,optional"` // of its lines; plant when left out
	Rate variations.Pence    `form:"rate"`          // a working day, without VAT
}

// maxTimeCosts is far above what any job has.
const maxTimeCosts = 50

// timeCosts notes what is wrong with the time-related costs.
func (c *checker) timeCosts() {
	for i, t := range c.job.TimeCosts {
		path := fmt.Sprintf("time-costs[%d]", i)
		c.text(path+".what", t.What)
		if t.What == "" {
			c.note(path+".what", "the cost does not say what it is for", "write what: Welfare unit hire")
		}
		if t.Rate < 0 {
			c.note(path+".rate", "the rate is below nothing", "write pounds a working day: 18.50")
		}
		if t.Kind == variations.Omit || t.Kind == variations.Daywork {
			c.note(path+".kind", fmt.Sprintf("a cost of time is not of kind %s", t.Kind),
				"write labour, plant, material or subcontract")
		}
	}
}

// DelayCosts are the job's time-related costs for the working days by which a
// variation whose time and cost are the client's moves the finish. They are
// offered and never added unasked: not every cost goes on while the work stands.
type DelayCosts struct {
	Worked schedule.Halves   // working days moved
	Lines  []variations.Line // one for each cost; none where nothing is due
	Sum    variations.Pence  // of the lines, without mark-up
	Why    string            // why nothing is due; "" when something is
}

// delayCosts prices the working days by which a variation moves the finish:
// days × the rate a working day, each line rounded to the penny. The variation is
// measured by itself on the programme as it stands, so days that the builder's
// own delay takes anyway are not among them.
func (j *Job) delayCosts(v *Variation, worked schedule.Halves) (DelayCosts, error) {
	d := DelayCosts{Worked: worked}
	switch {
	case len(j.TimeCosts) == 0:
		d.Why = "the job file has no time-costs"
	case v.Time != variations.Client:
		d.Why = "the delay is not the client's"
	case v.Cost.Client == 0:
		d.Why = "the client bears none of the cost"
	case worked <= 0:
		d.Why = "the finish would not move"
	}
	if d.Why != "" {
		return d, nil
	}
	for _, t := range j.TimeCosts {
		l := t.line(worked)
		amount, err := l.Amount()
		if err == nil {
			d.Sum, err = d.Sum.Add(amount)
		}
		if err != nil {
			return d, err
		}
		d.Lines = append(d.Lines, l)
	}
	return d, nil
}

// line prices so many half-days.
func (t TimeCost) line(worked schedule.Halves) variations.Line {
	const halfDay = 500 // in the thousandths of a Quantity of days
	l := variations.Line{Kind: t.Kind, What: t.What, Quantity: halfDay * variations.Quantity(worked),
		Unit: "day", Rate: t.Rate}
	if l.Kind == 0 {
		l.Kind = variations.Plant
	}
	return l
}

// WithDelayCosts gives the variation with the delay costs that TryVariation
// offers for it among its lines, and those costs. It is refused where nothing
// is due.
func (j *Job) WithDelayCosts(v *Variation, on schedule.Day) (*Variation, DelayCosts, error) {
	t, err := j.TryVariation(v, on)
	if err != nil {
		return nil, DelayCosts{}, err
	}
	if t.Delay.Why != "" {
		return nil, t.Delay, words.Refuse("leave --with-delay-costs out",
			"there are no delay costs to add: %s", t.Delay.Why)
	}
	with := *v
	with.Lines = slices.Concat(v.Lines, t.Delay.Lines)
	return &with, t.Delay, nil
}

// Days says how many working days the costs are for.
func (d DelayCosts) Days() string { return words.WorkingDays(d.Worked) }
