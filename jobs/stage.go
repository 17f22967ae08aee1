package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/schedule"
)

// Stage is one stage as a job file writes it. Its length is given by takes or,
// for a wait, by what it is (concrete, screed and so on).
type Stage struct {
	ID        string        `form:"stage"`
	Title     string        `form:"title,optional"` // the id in words when left out
	Kind      schedule.Kind `form:"kind,optional"`
	Takes     Length        `form:"takes,optional"`
	Trade     string        `form:"trade,optional"`
	By        Party         `form:"by,optional"`       // who must act
	Calendar  string        `form:"calendar,optional"` // the kind's own when left out
	Notice    *int          `form:"notice,optional"`   // clear working days, inspections only
	NotBefore Moment        `form:"not-before,optional"`
	After     []After       `form:"after,optional,lone"`
	Reckoning string        `form:"reckoning,optional"` // how the length was come by, in words
	Cautions  []Caution     `form:"cautions,optional,lone"`

	Air   Air               `form:"air,optional"`   // site: a wait counted day by day at the site's temperatures
	Limit schedule.Humidity `form:"limit,optional"` // at which a drying floor may be covered; 75% when left out

	schedule.WaitSpec // what a wait is: concrete, screed, curing …
}

// After is a link from an earlier stage. A job file writes just the stage when
// the link is finish to start without lag.
type After struct {
	Stage string            `form:"stage"`
	Link  schedule.LinkType `form:"link,optional"`
	Lag   Length            `form:"lag,optional"`
	LagOn string            `form:"lag-on,optional"` // every-day when left out
}

// UnmarshalText reads a stage alone.
func (a *After) UnmarshalText(text []byte) error {
	*a = After{Stage: string(text)}
	return nil
}

// FormScalar gives the stage alone where that says it all.
func (a After) FormScalar() (string, bool) { return a.Stage, a == After{Stage: a.Stage} }

// Party is who must act for a stage to go on; the zero Party is the kind's own.
type Party string

// The parties.
const (
	Builder   Party = "builder"
	Client    Party = "client"
	Inspector Party = "inspector"
	Other     Party = "other"
)

// MarshalText gives the party's name.
func (p Party) MarshalText() ([]byte, error) { return []byte(p), nil }

// UnmarshalText reads a party's name.
func (p *Party) UnmarshalText(text []byte) error {
	switch read := Party(text); read {
	case Builder, Client, Inspector, Other:
		*p = read
		return nil
	}
	return fmt.Errorf("%q is nobody here; write builder, client, inspector or other", text)
}

// Name is the stage's title or, where it has none, its id in words.
func (s *Stage) Name() string {
	if s.Title != "" {
		return s.Title
	}
	words := strings.ReplaceAll(s.ID, "-", " ")
	return strings.ToUpper(words[:1]) + words[1:]
}

// Acts is who must act: the party named, else the inspector for an inspection
// and the builder for all else.
func (s *Stage) Acts() Party {
	switch {
	case s.By != "":
		return s.By
	case s.Kind == schedule.KindInspection:
		return Inspector
	}
	return Builder
}

// defaultCalendars by kind, as indexes of builtIn.
var defaultCalendars = [...]uint16{
	schedule.KindWork: 0, schedule.KindInspection: 1, schedule.KindDelivery: 2, schedule.KindWait: 3,
}

// calendarIndex is the index among names of the calendar the stage keeps; -1
// when it names one that is not there.
func (s *Stage) calendarIndex(names []string) int {
	if s.Calendar == "" {
		return int(defaultCalendars[s.Kind])
	}
	return slices.Index(names, s.Calendar)
}

// ruled says whether the stage's length is given by what it is.
func (s *Stage) ruled() bool { return s.WaitSpec != schedule.WaitSpec{} }

// length is the stage's length in half-days of its calendar, for one that does
// not depend on when it starts; 1 for one that does.
func (s *Stage) Length() (schedule.Halves, error) {
	switch {
	case s.Air == SiteAir:
		return 1, nil
	case s.ruled():
		w, err := s.WaitSpec.Wait()
		return w.Length, err
	case s.Takes.IsZero() && s.Kind == schedule.KindInspection:
		return 1, nil
	}
	return s.Takes.Halves(), nil
}
