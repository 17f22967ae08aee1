package variations

import "putlog/schedule"

// Event is one entry of a history as movement sees it.
type Event struct {
	On     schedule.Day     // where its step stands
	Kind   string           // the entry's kind
	Ref    string           // the stage or the variation
	Title  string           // what it is, in words
	Bearer Bearer           // who bears what it moves
	Always bool             // listed even when it moves nothing: a variation
	Alone  *schedule.Halves // what it alone would have moved the accepted programme; nil when not asked
	// AloneWorked is Alone in worked half-days of the site as it was accepted.
	AloneWorked schedule.Halves
}

// View is what a programme says to movement.
type View struct {
	Finish schedule.Instant
	// Held is the stage that the as-at date holds: of the stages that drive the
	// finish, the first by start, then by place in the file; "" where there is none.
	Held      string
	HeldTitle string
	HeldBy    Bearer             // who bears a drift laid to it
	Site      *schedule.Calendar // the site's as it stands there; nil: as on the day asked for
}

// History is what movement is worked out from: the events after the accepted
// programme, and what the programme is when the first n of them have been
// applied and the as-at date is a day.
type History struct {
	Accepted schedule.Day // the day of the accepted programme
	AsAt     schedule.Day // the day asked for
	Events   []Event      // in the order of their steps
	At       func(n int, asAt schedule.Day) (View, error)
	Site     *schedule.Calendar // the site's, as it stands on the day asked for
}

// Step is one step of the movement of the finish.
type Step struct {
	Event
	Before, After schedule.Instant
	Moved, Worked schedule.Halves // calendar time; worked half-days of the site
	Then          schedule.Halves // worked half-days of the site as it stood after the step
}

// Drift is the kind of a step in which only the as-at date moved on.
const Drift = "drift"

// Movement is how the finish came from the accepted programme to the forecast.
type Movement struct {
	Accepted, Forecast, Entitled schedule.Instant
	Steps                        []Step
	Moved, Worked                schedule.Halves
	By                           [3]Borne // by Bearer less one: client, builder, neutral
}

// Borne is what one bearer's steps come to.
type Borne struct{ Moved, Worked schedule.Halves }

// MovementOf works the steps out: each is the finish after it less the finish
// before it, on the programme as it stood on its day, so that they sum exactly
// to the whole. (Time impact analysis: SCL Delay and Disruption Protocol, 2nd
// ed. 2017. Days due are added to the end of the agreed time, net: Balfour
// Beatty v Chestermount, 1993; Carillion v EMCOR, 2017.)
func MovementOf(h History) (*Movement, error) {
	view, err := h.At(0, h.Accepted)
	if err != nil {
		return nil, err
	}
	m := &Movement{Accepted: view.Finish, Forecast: view.Finish}
	day := h.Accepted
	for n := 0; n <= len(h.Events); n++ {
		to := h.AsAt
		if n < len(h.Events) {
			to = h.Events[n].On
		}
		if to > day {
			if err := m.drift(h, n, to); err != nil {
				return nil, err
			}
			day = to
		}
		if n == len(h.Events) {
			break
		}
		if view, err = h.At(n+1, day); err != nil {
			return nil, err
		}
		m.step(h.Site, h.Events[n], view)
	}
	m.Moved = schedule.Halves(m.Forecast - m.Accepted)
	m.Worked = h.Site.Count(m.Accepted, m.Forecast)
	m.Entitled, err = h.entitled(m)
	return m, err
}

// drift moves the as-at date on to a day with nothing else changed.
func (m *Movement) drift(h History, n int, to schedule.Day) error {
	view, err := h.At(n, to)
	if err != nil {
		return err
	}
	e := Event{On: to, Kind: Drift, Ref: view.Held, Title: view.HeldTitle, Bearer: view.HeldBy}
	if e.Bearer == 0 {
		e.Bearer = Builder
	}
	m.step(h.Site, e, view)
	return nil
}

// step adds a step that takes the finish to a view's, unless it moves nothing
// and need not be listed.
func (m *Movement) step(site *schedule.Calendar, e Event, v View) {
	s := Step{Event: e, Before: m.Forecast, After: v.Finish,
		Moved: schedule.Halves(v.Finish - m.Forecast), Worked: site.Count(m.Forecast, v.Finish)}
	s.Then = s.Worked
	if v.Site != nil {
		s.Then = v.Site.Count(m.Forecast, v.Finish)
	}
	m.Forecast = v.Finish
	if s.Moved == 0 && !e.Always {
		return
	}
	m.Steps = append(m.Steps, s)
	by := &m.By[e.Bearer-1]
	by.Moved += s.Moved
	by.Worked += s.Worked
}

// entitled is the accepted finish moved by the client's and the neutral steps'
// worked half-days of the site.
func (h History) entitled(m *Movement) (schedule.Instant, error) {
	due := m.By[Client-1].Worked + m.By[Neutral-1].Worked
	at, err := h.Site.Advance(m.Accepted, due)
	if err != nil || due >= 0 {
		return at, err
	}
	// A finish is the end of a worked half-day: going back over days that are
	// not worked, it is the end of the last one before them.
	last, err := h.Site.Retreat(at, 1)
	if err != nil {
		return at, nil
	}
	return last + 1, nil
}
