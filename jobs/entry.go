package jobs

import (
	"fmt"

	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// Entry is one line of the day book: on a date, one thing that happened, and
// the photos and papers that show it.
type Entry struct {
	On       schedule.Day
	Event    Event
	Evidence []Evidence
}

// Event is what an entry records: one of a closed set of kinds, listed in
// newEvent. Adding a kind is adding its type here with its apply, its name to
// newEvent, and its command.
type Event interface {
	// Kind names the kind as a job file writes it.
	Kind() string
	// apply takes the event into account, or says why it can't be so. It may
	// add warnings to what stands.
	apply(s *standing, on schedule.Day) error
	// says gives the stage or variation it is about, and what happened in words;
	// name gives a stage's name.
	says(name func(string) string) (ref, says string)
}

// newEvent makes an empty event of a kind; nil when there is no such kind.
func newEvent(kind string) Event {
	switch kind {
	case "accepted":
		return &Accepted{}
	case "notice":
		return &Notice{}
	case "started":
		return &Started{}
	case "finished":
		return &Finished{}
	case "progress":
		return &Progress{}
	case "inspection":
		return &Inspection{}
	case "closure":
		return &Closed{}
	case "payment":
		return &Payment{}
	case "note":
		return &Note{}
	case "finding":
		return &Finding{}
	case "reading":
		return &Reading{}
	case "temperature":
		return &Temperature{}
	case "correction":
		return &Correction{}
	case "variation":
		return &Variation{}
	case "instructed":
		return &Ruling{To: variations.Instructed}
	case "agreed":
		return &Ruling{To: variations.Agreed}
	case "declined":
		return &Ruling{To: variations.Declined}
	case "withdrawn":
		return &Ruling{To: variations.Withdrawn}
	case "carried-out":
		return &Ruling{To: variations.CarriedOut}
	}
	return nil
}

// eventKinds lists the kinds in the order in which they are shown.
var eventKinds = [...]string{"accepted", "notice", "started", "finished", "progress",
	"inspection", "reading", "temperature", "finding", "note", "closure", "variation", "instructed", "agreed", "declined", "withdrawn",
	"carried-out", "payment", "correction"}

// DecodeForm reads an entry: {on: DATE, KIND: {...}, evidence: [...]}.
func (e *Entry) DecodeForm(n *form.Node, d *form.Decoder) {
	if !d.IsMap(n) {
		return
	}
	d.Only(n, append([]string{"on", "evidence"}, eventKinds[:]...)...)
	d.Need(n, "on", &e.On)
	d.Child(n, "evidence", &e.Evidence)
	if what, do := evidenceFault(e.Evidence); what != "" {
		d.Refuse(n.Get("evidence").Pos, what, do)
	}
	for _, pair := range n.Pairs {
		event := newEvent(pair.Key)
		switch {
		case event == nil:
		case e.Event != nil:
			d.Refuse(pair.KeyPos, fmt.Sprintf("one entry records one thing, not both %s and %s",
				e.Event.Kind(), pair.Key), "make two entries of it")
		default:
			e.Event = event
			if pair.Value.Kind == form.Null && pair.Key == "accepted" {
				continue // accepted says it all
			}
			d.Pair(pair, event)
		}
	}
	if e.Event == nil {
		d.Refuse(n.Pos, "the entry records nothing", "add what happened: started: {stage: probe}")
	}
}

// EncodeForm writes an entry as DecodeForm reads it.
func (e Entry) EncodeForm() *form.Node {
	n := form.NewMap().Put("on", form.NewScalar(e.On.String())).
		Put(e.Event.Kind(), form.Encode(e.Event))
	if len(e.Evidence) > 0 {
		n.Put("evidence", form.Encode(e.Evidence))
	}
	return n
}

// Accepted makes the programme as at its date the accepted programme.
type Accepted struct{}

// Notice says that notice of an inspection was given.
type Notice struct {
	Stage string `form:"stage"`
}

// Started records a stage's start.
type Started struct {
	Stage string `form:"stage"`
	At    Moment `form:"at,optional"` // the am of the entry's date when left out
}

// Finished records a stage's finish: work done, a delivery in, a wait tested
// early.
type Finished struct {
	Stage string `form:"stage"`
	At    Until  `form:"at,optional"` // the pm of the entry's date when left out
}

// Progress records what is left of a started stage from its date on.
type Progress struct {
	Stage string `form:"stage"`
	Left  Length `form:"left"`
}

// Inspection records what the inspector said.
type Inspection struct {
	Stage   string            `form:"stage"`
	Outcome Outcome           `form:"outcome"`
	At      Until             `form:"at,optional"` // the pm of the entry's date when left out
	Note    string            `form:"note,optional"`
	Seen    string            `form:"seen-by,optional"`
	Bearer  variations.Bearer `form:"bearer,optional"` // of a fail's delay; the builder when left out
}

// Closed records a stretch in which nobody could work.
type Closed struct {
	From   Moment            `form:"from"`
	To     Until             `form:"to"`
	Who    []string          `form:"who,optional,lone"`
	Why    string            `form:"why,optional"`
	Bearer variations.Bearer `form:"bearer,optional"` // neutral when left out
}

// Payment records money received from the client.
type Payment struct {
	Amount variations.Pence `form:"amount"`
	Note   string           `form:"note,optional"`
}

// Note records something seen or said that moves nothing.
type Note struct {
	Says  string `form:"says"`
	Stage string `form:"stage,optional"` // what it is about
}

// Correction strikes out an earlier entry, by its number in the day book: it
// stays to be read and no longer counts. Striking out a correction restores
// what it had struck out.
type Correction struct {
	Entry   int    `form:"entry"`
	Because string `form:"because,optional"`
}

// Kind names the kind of entry.
func (*Accepted) Kind() string   { return "accepted" }
func (*Notice) Kind() string     { return "notice" }
func (*Started) Kind() string    { return "started" }
func (*Finished) Kind() string   { return "finished" }
func (*Progress) Kind() string   { return "progress" }
func (*Inspection) Kind() string { return "inspection" }
func (*Closed) Kind() string     { return "closure" }
func (*Payment) Kind() string    { return "payment" }
func (*Note) Kind() string       { return "note" }
func (*Correction) Kind() string { return "correction" }

// Outcome is what an inspection came to.
type Outcome uint8

// The outcomes.
const (
	Pass Outcome = iota + 1
	Fail
)

var outcomeNames = [...]string{"", "pass", "fail"}

// String gives "pass" or "fail".
func (o Outcome) String() string { return outcomeNames[o] }

// MarshalText gives "pass" or "fail".
func (o Outcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads "pass" or "fail".
func (o *Outcome) UnmarshalText(text []byte) error {
	return words.Choose(o, "an outcome", outcomeNames[1:], text)
}
