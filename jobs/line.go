package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Line is an entry as the day book shows it.
type Line struct {
	Entry
	Number   int    // in the day book, counted from 1
	Ref      string // the stage or the variation it is about; "" for none
	Says     string // what happened, in words, without a full stop
	StruckBy int    // the number of the correction that struck it out; 0 when it counts
}

// Lines lists the day book up to a day, in order of date, those of one date in
// the order written, entries struck out included.
func (j *Job) Lines(asAt schedule.Day) []Line {
	names := make(map[string]string, len(j.Stages)) // for lookup only
	for i := range j.Stages {
		names[j.Stages[i].ID] = j.Stages[i].Name()
	}
	for _, e := range j.Entries {
		if v, ok := e.Event.(*Variation); ok && e.On <= asAt {
			v.nameAdded(names)
		}
	}
	struck := j.struck(asAt)
	var lines []Line
	for i, e := range j.Entries {
		if e.On > asAt {
			continue
		}
		ref, says := e.Event.says(func(id string) string {
			if name, ok := names[id]; ok {
				return name
			}
			return id
		})
		lines = append(lines, Line{Entry: e, Number: i + 1, Ref: ref, Says: says, StruckBy: struck[i]})
	}
	slices.SortStableFunc(lines, func(a, b Line) int { return int(a.On) - int(b.On) })
	return lines
}

// nameAdded puts the names of the stages that a variation brings to the others.
func (v *Variation) nameAdded(names map[string]string) {
	for _, c := range v.Changes {
		if c.Add != nil {
			names[c.Add.ID] = c.Add.Name()
		}
	}
}

// What each kind of event is about, and what it says; name gives a stage's name.

func (*Accepted) says(func(string) string) (ref, says string) {
	return "", "the client accepted the programme as it stood"
}

func (e *Notice) says(name func(string) string) (ref, says string) {
	return e.Stage, "notice given of " + name(e.Stage)
}

func (e *Started) says(name func(string) string) (ref, says string) {
	return e.Stage, name(e.Stage) + " started" + atWords(schedule.Instant(e.At))
}

func (e *Finished) says(name func(string) string) (ref, says string) {
	return e.Stage, name(e.Stage) + " finished" + atWords(schedule.Instant(e.At))
}

func (e *Progress) says(name func(string) string) (ref, says string) {
	return e.Stage, fmt.Sprintf("%s: %s left", name(e.Stage), words.WorkingDays(e.Left.Halves()))
}

func (e *Inspection) says(name func(string) string) (ref, says string) {
	says = name(e.Stage) + " passed"
	if e.Outcome == Fail {
		says = name(e.Stage) + " failed"
	}
	says += atWords(schedule.Instant(e.At))
	if e.Seen != "" {
		says += ", seen by " + e.Seen
	}
	return e.Stage, says + noteWords(e.Note)
}

func (e *Closed) says(func(string) string) (ref, says string) {
	says = fmt.Sprintf("closed from %s to %s", schedule.Instant(e.From).Short(), schedule.Instant(e.To).Short())
	if len(e.Who) > 0 {
		says += " (" + strings.Join(e.Who, ", ") + ")"
	}
	return "", says + noteWords(e.Why)
}

func (e *Payment) says(func(string) string) (ref, says string) {
	return "", e.Amount.Pounds() + " received" + noteWords(e.Note)
}

func (e *Note) says(name func(string) string) (ref, says string) {
	if e.Stage == "" {
		return "", e.Says
	}
	return e.Stage, name(e.Stage) + noteWords(e.Says)
}

func (e *Correction) says(func(string) string) (ref, says string) {
	return "", fmt.Sprintf("entry %d struck out", e.Entry) + noteWords(e.Because)
}

func atWords(at schedule.Instant) string {
	if at == 0 {
		return ""
	}
	return " " + at.Short()
}

func noteWords(note string) string {
	if note == "" {
		return ""
	}
	return ": " + note
}
