package jobs

import (
	"fmt"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// Headline says how the finish moved and who bears it, as a builder would.
func (m *Moved) Headline() string {
	from, to := m.Accepted.Last(), m.Forecast.Last()
	stands, moves := "The finish stands where it was", "Finish moves"
	if m.Now.done() {
		stands, moves = "The job finished as", "Finish moved"
	}
	if from == to {
		return fmt.Sprintf("%s accepted on %s: %s.", stands, m.AcceptedOn.Long(), longHalf(to))
	}
	return fmt.Sprintf("%s from %s to %s: %s, %s.", moves, from.Short(), longHalf(to),
		words.Later(m.Worked), m.shares())
}

// shares says who bears how much of the movement, in working days.
func (m *Moved) shares() string {
	var parts []string
	for i, b := range m.By {
		days, whose := b.Worked, variations.Bearer(i+1).Whose()
		if days < 0 {
			days, whose = -days, [...]string{"won back by the client", "won back by the builder", "won back"}[i]
		}
		switch {
		case days == 0:
			continue
		case b.Worked == m.Worked && m.only(i):
			return "all " + whose
		}
		parts = append(parts, days.Decimal()+" "+whose)
	}
	if len(parts) == 0 {
		return "in which no working day falls"
	}
	return words.And(parts)
}

// only says whether one bearer alone bears anything.
func (m *Moved) only(i int) bool {
	for k, b := range m.By {
		if k != i && b != (variations.Borne{}) {
			return false
		}
	}
	return true
}

// EntitlementWords says what completion date the client's and the neutral
// steps give.
func (m *Moved) EntitlementWords() string {
	due := m.By[variations.Client-1].Worked + m.By[variations.Neutral-1].Worked
	if due == 0 {
		return fmt.Sprintf("Revised completion date: %s, as accepted.", longHalf(m.Entitled.Last()))
	}
	return fmt.Sprintf("Revised completion date: %s, the accepted finish and %s of the client's and neutral.",
		longHalf(m.Entitled.Last()), words.Later(due))
}

// askedWords begin the story of a variation.
var askedWords = [...]string{"", "The inspector asked for this", "The client asked for this",
	"The builder proposed this", "This was found on site"}

// Story tells one step to a householder.
func (m *Moved) Story(s variations.Step) string {
	switch {
	case s.Kind == variations.Drift && s.Ref == "":
		return "Days went by with nothing recorded. " + m.moveWords(s)
	case s.Kind == variations.Drift:
		return fmt.Sprintf("%s was not done yet while days went by. %s", s.Title, m.moveWords(s))
	case !s.Always:
		return words.Capital(s.Title) + ". " + m.moveWords(s)
	}
	v := m.Now.standing.ledger.Find(s.Ref)
	said := fmt.Sprintf("%s (%s). %s", s.Title, s.Ref, askedWords[v.AskedBy])
	if v.Because != "" {
		said += ": " + v.Because
	}
	return said + ". " + m.spareWords(s) + m.moveWords(s) + m.aloneWords(s)
}

// spareWords says how much work a variation adds and how much of that was
// spare, where it adds one stage of work and moves the finish by less.
func (m *Moved) spareWords(s variations.Step) string {
	var added *Stage
	for i, v := range m.Now.standing.ledger.All() {
		if v.Number != s.Ref {
			continue
		}
		for _, c := range m.Now.standing.changes[i] {
			if c.Add == nil || added != nil || c.Add.Kind != schedule.KindWork {
				return ""
			}
			added = &c.Add.Stage
		}
	}
	if added == nil || s.Worked <= 0 || added.Takes.Halves() <= s.Worked {
		return ""
	}
	return fmt.Sprintf("It adds %s to the work, of which %s were spare. ",
		words.WorkingDays(added.Takes.Halves()), (added.Takes.Halves() - s.Worked).Decimal())
}

// moveWords says what a step did to the finish.
func (m *Moved) moveWords(s variations.Step) string {
	if s.Moved == 0 {
		return "It did not move the finish."
	}
	way, from, to, worked := "later", s.Before, s.After, s.Worked
	if s.Moved < 0 {
		way, from, to, worked = "earlier", to, from, -worked
	}
	said := fmt.Sprintf("The finish moved %s %s, from %s to %s", words.WorkingDays(worked), way,
		s.Before.Last().Short(), s.After.Last().Short())
	if worked == 0 {
		said = fmt.Sprintf("The finish moved from %s to %s, over days on which nobody works",
			s.Before.Last().Short(), s.After.Last().Short())
	}
	if crossed := m.crossed(from, to); crossed != "" {
		said += " (" + crossed + ")"
	}
	return said + "."
}

// crossed names what lies between two finishes and is not worked: weekends,
// holidays and closures.
func (m *Moved) crossed(from, to schedule.Instant) string {
	var named []string
	weekends := 0
	for d := from.Day(); d.AM() < to; d++ {
		a, b := max(from, d.AM()), min(to, d.End())
		if b <= a || m.Site.Count(a, b) > 0 {
			continue
		}
		title := m.Now.restName(d)
		switch {
		case title != "":
			if len(named) < 6 {
				named = append(named, d.Short()+", "+title)
			}
		case d.Weekday() == schedule.Sunday:
			weekends++
		}
	}
	if weekends == 1 {
		named = append(named, "a weekend")
	} else if weekends > 1 {
		named = append(named, fmt.Sprintf("%d weekends", weekends))
	}
	switch {
	case len(named) == 0:
		return ""
	case len(named) == 1 && weekends < 2:
		return strings.Replace(named[0], ", ", ", the ", 1) + " falls in it"
	}
	return strings.Join(named, "; ") + " fall in it"
}

// restName names the holiday or the closure that keeps the site shut on a day;
// "" for neither.
func (p *Programme) restName(d schedule.Day) string {
	year, _, _ := d.Date()
	holidays, _ := Holidays(p.Job.Region, year)
	for _, h := range holidays {
		if h.Day == d {
			return h.Title
		}
	}
	return p.closedFor(d, SiteCalendar)
}

// aloneWords says where a variation alone would have moved the accepted
// programme otherwise, and why. It sets working days against working days, each
// as the site stood: weekends and closures fall differently.
func (m *Moved) aloneWords(s variations.Step) string {
	alone := s.AloneWorked
	switch {
	case s.Alone == nil:
		return " By itself it can't be set against the accepted programme: it rests on another variation."
	case alone == s.Then && *s.Alone != s.Moved:
		return " Alone it would have moved the accepted finish by as many working days."
	case alone == s.Then && s.Moved == 0 && m.changesDates(s.Ref):
		return " Float took it up."
	case alone == s.Then:
		return ""
	case alone < 0:
		return fmt.Sprintf(" On the accepted programme it would have moved the finish %s: "+
			"what drives it has changed since.", words.Later(alone))
	case s.Then < 0:
		return " On the accepted programme it would have saved nothing: what drives the finish has changed since."
	case alone > s.Then && s.Then == 0:
		return fmt.Sprintf(" Alone it would have moved the accepted finish %s: a delay that was there already, "+
			"or float won since, took that up.", words.WorkingDays(alone))
	case alone > s.Then:
		return fmt.Sprintf(" Alone it would have moved the accepted finish %s: part of that lay in a delay "+
			"that was there already, or in float won since.", words.WorkingDays(alone))
	case alone == 0:
		return " On the accepted programme float would have taken it up; by then there was not enough of it."
	}
	return fmt.Sprintf(" On the accepted programme it would have moved the finish %s only: it had more float "+
		"there than when it was instructed.", words.WorkingDays(alone))
}

// changesDates says whether a variation changes the programme at all.
func (m *Moved) changesDates(number string) bool {
	for i, v := range m.Now.standing.ledger.All() {
		if v.Number == number {
			return len(m.Now.standing.changes[i]) > 0
		}
	}
	return false
}

// Method names how the movement was worked out, for a surveyor.
const Method = "Method: time impact analysis, each change measured on the programme as it stood on its day " +
	"(SCL Delay and Disruption Protocol, 2nd ed. 2017); days due added to the end of the agreed time, net " +
	"(Balfour Beatty v Chestermount, 1993; Carillion v EMCOR, 2017)."

// AskedBy says who asked for the variation of a step; "" for any other step.
func (m *Moved) AskedBy(s variations.Step) string {
	if !s.Always {
		return ""
	}
	return m.Now.standing.ledger.Find(s.Ref).AskedBy.String()
}
