package jobs

import (
	"slices"

	"putlog/schedule"
	"putlog/variations"
)

// Answer is something the builder waits for from the client.
type Answer struct {
	What   string
	By     schedule.Day // the last day on which it does not hold the job; 0 when it holds nothing
	Number string       // of the variation it is about; "" for a stage
}

// Answers lists what the builder waits for from the client: stages that are the
// client's to do and variations that want a word, soonest first.
func (p *Programme) Answers() ([]Answer, error) {
	var all []Answer
	for _, r := range p.Rows() {
		if r.Acts() == Client && r.State != schedule.Finished {
			all = append(all, Answer{r.Name(), r.LateFinish.Last().Day(), ""})
		}
	}
	for i, v := range p.standing.ledger.All() {
		switch {
		case v.Off():
		case v.Instructed == 0:
			by, err := p.answerBy(p.standing.changes[i])
			if err != nil {
				return nil, err
			}
			all = append(all, Answer{"A yes or no to " + v.Number + ", " + v.Title, by, v.Number})
		case v.Agreed == 0:
			price, err := v.Price()
			if err != nil {
				return nil, err
			}
			if price.Client == 0 {
				continue // there is no price for the client to agree
			}
			all = append(all, Answer{"Agreement to the price of " + v.Number + ", " + v.Title, 0, v.Number})
		}
	}
	slices.SortStableFunc(all, func(a, b Answer) int { return int(orLast(a.By)) - int(orLast(b.By)) })
	return all, nil
}

func orLast(d schedule.Day) schedule.Day {
	if d == 0 {
		return schedule.LastDay
	}
	return d
}

// answerBy is the last day on which instructing changes would leave the work
// they add or retime its place in the programme: the day before the earliest
// late start of such a stage. It is 0 where they add or retime nothing.
func (p *Programme) answerBy(changes []Change) (schedule.Day, error) {
	changed, err := p.standing.changed(changes)
	if err != nil {
		return 0, nil // they rest on another variation: no day can be told
	}
	then, err := changed.programme(p.AsAt())
	if err != nil {
		return 0, err
	}
	by := schedule.Day(0)
	for _, c := range changes {
		id := ""
		switch {
		case c.Add != nil:
			id = c.Add.ID
		case c.Retime != nil:
			id = c.Retime.Stage
		}
		i, there := changed.index[id]
		if !there || then.Programme.Stages[i].State == schedule.Finished {
			continue
		}
		if day := then.Programme.Stages[i].LateStart.Day() - 1; by == 0 || day < by {
			by = day
		}
	}
	if by != 0 {
		by = max(by, p.AsAt())
	}
	return by, nil
}

// Coming is a stage that comes next.
type Coming struct {
	Name  string
	Kind  schedule.Kind
	Start schedule.Instant
	End   schedule.Instant
	On    bool // it is under way
}

// Next lists the stages under way and those that start within so many days.
func (p *Programme) Next(days schedule.Day) []Coming {
	var all []Coming
	for _, r := range p.Rows() {
		if r.State == schedule.Finished || r.State == schedule.Planned && r.Start.Day() > p.AsAt()+days {
			continue
		}
		all = append(all, Coming{r.Name(), r.Kind, r.Start, r.Finish, r.State == schedule.Started})
	}
	return all
}

// ClientLine is a variation as the client may see it.
type ClientLine struct {
	Number, Title, Because string
	AskedBy                variations.AskedBy
	State                  variations.State
	Agreed                 bool
	Client                 variations.Pence // the client's share, without VAT
}

// ClientLines lists the variations as the client may see them: never lines,
// mark-up or the builder's share.
func (j *Job) ClientLines(asAt schedule.Day) ([]ClientLine, error) {
	lines, err := j.Variations(asAt)
	if err != nil {
		return nil, err
	}
	var all []ClientLine
	for _, l := range lines {
		all = append(all, ClientLine{l.Number, l.Title, l.Because, l.AskedBy, l.State, l.Agreed != 0, l.Price.Client})
	}
	return all, nil
}
