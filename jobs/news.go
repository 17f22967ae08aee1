package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// News is what a client is told of a job in a few lines. It holds nothing of
// the builder's own figures.
type News struct {
	Ref, Title string
	AsAt       schedule.Day
	Finish     string // where the finish stands and how it moved; one or two sentences
	Steps      []NewsStep
	Price      *NewsPrice // nil for a job without a contract
	Answers    []NewsAnswer
}

// NewsAnswer is an answer that is needed, and what it is about.
type NewsAnswer struct {
	Answer
	Offer string // of a variation: "£340.00 without VAT, 2 working days later"; else ""
}

// NewsStep is something that happened and moved the finish.
type NewsStep struct {
	On     schedule.Day
	Title  string
	Number string          // of the variation; "" for anything else
	For    string          // who asked for the variation: "for the inspector"
	Effect string          // "3 working days later, the client's"
	Moved  schedule.Halves // calendar time
}

// NewsPrice is what the job comes to. Sums are without VAT unless they say so.
type NewsPrice struct {
	Contract, Revised, NotAgreed, WithVAT variations.Pence
}

// News gathers what a client is told as at a date.
func (j *Job) News(asAt schedule.Day) (*News, error) {
	p, err := j.Programme(asAt)
	if err != nil {
		return nil, err
	}
	n := &News{Ref: j.Ref, Title: orRef(j.Title, j.Ref), AsAt: asAt}
	n.Finish = "The finish is planned for " + longHalf(p.Finish.Last()) + "."
	if p.done() {
		n.Finish = "The job was finished on " + longHalf(p.Finish.Last()) + "."
	}
	if p.AcceptedOn() != 0 {
		m, err := j.Moved(asAt)
		if err != nil {
			return nil, err
		}
		n.Finish, n.Steps = m.finishNews(), m.newsSteps()
	}
	if n.Answers, err = p.newsAnswers(); err != nil {
		return nil, err
	}
	if j.Contract == nil {
		return n, nil
	}
	a, err := j.Account(asAt)
	if err != nil {
		return nil, err
	}
	n.Price = &NewsPrice{a.Contract, a.Revised, a.NotAgreed, a.TotalDue}
	return n, nil
}

// newsAnswers lists what is to be answered, with the client's price of a
// variation and, before it is instructed, what it would do to the finish.
func (p *Programme) newsAnswers() ([]NewsAnswer, error) {
	answers, err := p.Answers()
	if err != nil {
		return nil, err
	}
	var all []NewsAnswer
	for _, a := range answers {
		news := NewsAnswer{Answer: a}
		for i, v := range p.standing.ledger.All() {
			if v.Number != a.Number {
				continue
			}
			price, err := v.Price()
			if err != nil {
				return nil, err
			}
			news.Offer = price.Client.Pounds() + " without VAT"
			if v.Instructed != 0 {
				continue
			}
			if moves, worked, known := p.standing.wouldMove(p, p.standing.changes[i]); known {
				news.Offer += ", " + movedWords(moves, worked)
			}
		}
		all = append(all, news)
	}
	return all, nil
}

func orRef(title, ref string) string {
	if title == "" {
		return ref
	}
	return title
}

// finishNews says how the finish moved, and the revised completion date where it
// is neither the date accepted nor the forecast.
func (m *Moved) finishNews() string {
	said := m.Headline()
	if m.Entitled != m.Accepted && m.Entitled != m.Forecast {
		said += fmt.Sprintf(" Revised completion date: %s.", longHalf(m.Entitled.Last()))
	}
	return said
}

// newsSteps lists the steps that moved the finish and the variations.
func (m *Moved) newsSteps() []NewsStep {
	var steps []NewsStep
	for _, s := range m.Steps {
		if s.Moved == 0 && !s.Always {
			continue
		}
		step := NewsStep{On: s.On, Title: s.Title, Moved: s.Moved,
			Effect: effectWords(s.Moved, s.Worked, s.Bearer)}
		switch {
		case s.Always:
			step.Number, step.For = s.Ref, askedFor[m.Now.standing.ledger.Find(s.Ref).AskedBy]
		case s.Kind == variations.Drift && s.Ref == "":
			step.Title = "days went by with nothing recorded"
		case s.Kind == variations.Drift:
			step.Title += " not done yet"
		case s.Kind == (&Closed{}).Kind():
			// its days and whom it shut out are too long to tell
			_, why, _ := strings.Cut(s.Title, ": ")
			step.Title = strings.TrimSuffix("work stopped: "+why, ": ")
		}
		steps = append(steps, step)
	}
	return steps
}

// askedBy says who asked for a variation.
var askedBy = [...]string{"", variations.AskedByInspector: "asked for by the inspector",
	variations.AskedByClient:  "asked for by the client",
	variations.AskedByBuilder: "proposed by the builder", variations.FoundOnSite: "found on site"}

// askedFor says the same in a word or two.
var askedFor = [...]string{"", variations.AskedByInspector: "for the inspector",
	variations.AskedByClient: "for the client", variations.AskedByBuilder: "the builder's idea",
	variations.FoundOnSite: "found on site"}

// movedWords says what a movement comes to.
func movedWords(moved, worked schedule.Halves) string {
	switch {
	case moved == 0:
		return "the finish stays"
	case worked == 0:
		return "over days on which nobody works"
	}
	return words.Later(worked)
}

// effectWords says what a movement comes to and who bears it.
func effectWords(moved, worked schedule.Halves, bearer variations.Bearer) string {
	if worked == 0 {
		return movedWords(moved, worked)
	}
	return words.Later(worked) + ", " + bearer.Whose()
}

// VariationNews is what a client is told of one variation.
type VariationNews struct {
	ClientLine
	Ref, Job   string
	AsAt       schedule.Day
	Asked      string           // who asked: "asked for by the inspector"
	WithVAT    variations.Pence // the client's share with VAT
	VAT        variations.Percent
	Contract   bool         // there is one, and so a rate of VAT
	Finish     string       // what it did to the finish, or would do; a sentence
	By         schedule.Day // answer by this day, so that no work waits; 0 where none does
	Instructed schedule.Day
	Off        schedule.Day // declined or withdrawn; 0 when neither
}

// NewsOf gathers what a client is told of one variation as at a date.
func (j *Job) NewsOf(number string, asAt schedule.Day) (*VariationNews, error) {
	lines, err := j.ClientLines(asAt)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(lines, func(l ClientLine) bool { return l.Number == number })
	if i < 0 {
		return nil, j.noVariation(number, lines)
	}
	p, err := j.Programme(asAt)
	if err != nil {
		return nil, err
	}
	v := p.standing.ledger.Find(number)
	n := &VariationNews{ClientLine: lines[i], Ref: j.Ref, Job: orRef(j.Title, j.Ref), AsAt: asAt,
		Asked: askedBy[v.AskedBy], Instructed: v.Instructed, Off: max(v.Declined, v.Withdrawn)}
	if j.Contract != nil {
		n.Contract, n.VAT = true, j.Contract.VAT
		vat, err := n.VAT.Of(n.Client)
		if err != nil {
			return nil, err
		}
		if n.WithVAT, err = n.Client.Add(vat); err != nil {
			return nil, err
		}
	}
	switch {
	case n.Off != 0:
		return n, nil
	case v.Instructed != 0:
		n.Finish, err = p.didMove(number)
		return n, err
	}
	n.Finish = p.mightMove(i, v.Time)
	n.By, err = p.answerBy(p.standing.changes[i])
	return n, err
}

func (j *Job) noVariation(number string, lines []ClientLine) error {
	if len(lines) == 0 {
		return words.Refuse("raise one: putlog variation raise "+j.Ref, "job %s has no variation yet", j.Ref)
	}
	var numbers []string
	for _, l := range lines {
		numbers = append(numbers, l.Number)
	}
	return words.Refuse(words.Meant(number, numbers, "variations"), "there is no variation %q", number)
}

// didMove says what a variation that is instructed did to the finish.
func (p *Programme) didMove(number string) (string, error) {
	in := "It is in the programme, which finishes on " + longHalf(p.Finish.Last()) + "."
	if p.AcceptedOn() == 0 {
		return in, nil
	}
	m, err := p.Job.Moved(p.AsAt())
	if err != nil {
		return "", err
	}
	for _, s := range m.Steps {
		switch {
		case !s.Always || s.Ref != number:
		case s.Moved == 0:
			return "It did not move the finish.", nil
		default:
			return fmt.Sprintf("It moved the finish from %s to %s: %s.", s.Before.Last().Short(),
				longHalf(s.After.Last()), effectWords(s.Moved, s.Worked, s.Bearer)), nil
		}
	}
	return in, nil
}

// mightMove says what variation i would do to the finish if it were instructed
// now, and who bears its time.
func (p *Programme) mightMove(i int, time variations.Bearer) string {
	moves, worked, known := p.standing.wouldMove(p, p.standing.changes[i])
	switch {
	case !known:
		return "What it does to the finish can't be said yet: it rests on another variation."
	case moves == 0:
		return "It would not move the finish."
	}
	to := p.Finish + schedule.Instant(moves)
	return fmt.Sprintf("It would move the finish from %s to %s: %s.", p.Finish.Last().Short(),
		longHalf(to.Last()), effectWords(moves, worked, time))
}
