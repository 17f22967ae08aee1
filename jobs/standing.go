package jobs

import (
	"fmt"
	"maps"
	"slices"

	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// standing is what the day book comes to at some point: the fold of the entries
// up to there. Stages and closures start as the job file gives them.
type standing struct {
	job      *Job
	stages   []Stage
	index    map[string]int // stage id to its place in stages; for lookup only
	records  []schedule.Record
	recorded []recordedBy // which entries stand behind each stage's record
	closures []Closure
	made     []*schedule.Calendar // the calendars with those closures; nil until asked for
	net      *schedule.Network    // of the stages as they stand; nil until asked for
	accepted schedule.Day         // the day the programme was accepted; 0 when not
	ledger   variations.Ledger
	changes  [][]Change // of each variation in the ledger
	paid     variations.Pence
	findings []finding
	logged   map[schedule.Day]schedule.Celsius // mean temperatures of days; for lookup only
	warnings []string                          // what is odd about the last entry applied
	tried    *int                              // stages copied to try changes on, all told; see attempt
}

// recordedBy holds, for one stage, what inspections and readings left behind.
type recordedBy struct {
	failed     schedule.Day // the day of the last fail that still stands
	failedNote string
	failedSeen string
	readings   []schedule.HumidityReading
}

// newStanding is the job before its first entry.
func (j *Job) newStanding() *standing {
	s := &standing{job: j, stages: slices.Clone(j.Stages), closures: slices.Clone(j.Closures),
		index: make(map[string]int, len(j.Stages)), tried: new(int)}
	for i, stage := range s.stages {
		s.index[stage.ID] = i
	}
	s.logged = map[schedule.Day]schedule.Celsius{}
	s.records = make([]schedule.Record, len(s.stages))
	s.recorded = make([]recordedBy, len(s.stages))
	return s
}

// calendars are the job's as they stand, by index. They cost more than all the
// rest of a programme, so they are made once until a closure is recorded.
func (s *standing) calendars() []*schedule.Calendar {
	if s.made == nil {
		s.made = s.job.calendars(s.closures)
	}
	return s.made
}

// clone is a standing of its own, to try changes on.
func (s *standing) clone() *standing {
	s.calendars() // so that both have them
	try := s.copied()
	try.closures, try.ledger, try.logged = slices.Clone(s.closures), s.ledger.Clone(), maps.Clone(s.logged)
	return try
}

// copied is a standing of which the stages may be changed; it shares the rest.
func (s *standing) copied() *standing {
	try := *s
	try.net = nil
	try.stages, try.records = slices.Clone(s.stages), slices.Clone(s.records)
	try.recorded, try.index = slices.Clone(s.recorded), maps.Clone(s.index)
	return &try
}

// numbered is an entry with its number in the day book, counted from 1.
type numbered struct {
	Entry
	number int
}

// history lists the entries dated up to a day that count, in order of date,
// those of one date in the order written. Entries struck out by a correction
// dated up to that day do not count.
func (j *Job) history(asAt schedule.Day) []numbered {
	struck := j.struck(asAt)
	var all []numbered
	for i, e := range j.Entries {
		if e.On <= asAt && struck[i] == 0 {
			all = append(all, numbered{e, i + 1})
		}
	}
	slices.SortStableFunc(all, func(a, b numbered) int { return int(a.On) - int(b.On) })
	return all
}

// struck gives, for each entry, the number of the correction dated up to a day
// that strikes it out, or 0. A correction names an earlier entry, so going
// backwards settles each correction before the ones it could strike out.
func (j *Job) struck(asAt schedule.Day) []int {
	struck := make([]int, len(j.Entries))
	for i := len(j.Entries) - 1; i >= 0; i-- {
		c, ok := j.Entries[i].Event.(*Correction)
		if ok && j.Entries[i].On <= asAt && struck[i] == 0 && c.Entry >= 1 && c.Entry <= i {
			struck[c.Entry-1] = i + 1
		}
	}
	return struck
}

// standingAt folds the day book up to a day. It fails on the first entry that
// can't be so.
func (j *Job) standingAt(asAt schedule.Day) (*standing, error) {
	s := j.newStanding()
	for _, e := range j.history(asAt) {
		if err := s.take(e); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// EntryError says which entry of the day book can't be so, and why.
type EntryError struct {
	Number int    // in the day book, counted from 1
	What   string // what is wrong
	Try    string // what to do
	Given  int    // its place among the entries that were to be recorded; 0 for an older one
	Among  int    // how many were to be recorded; 0 when none were
}

func (e *EntryError) Error() string {
	switch {
	case e.Among > 0 && e.Given == 0:
		return fmt.Sprintf("with this, entry %d of the day book could not be so: %s", e.Number, e.What)
	case e.Among > 1:
		return fmt.Sprintf("entry %d of %d: %s", e.Given, e.Among, e.What)
	}
	return e.What
}

// Do says what to do.
func (e *EntryError) Do() string { return e.Try }

// take applies one entry.
func (s *standing) take(e numbered) error {
	s.warnings = s.warnings[:0]
	if err := e.Event.apply(s, e.On); err != nil {
		return &EntryError{Number: e.number, What: err.Error(), Try: words.Advice(err)}
	}
	return nil
}

func (s *standing) warn(what string, args ...any) {
	s.warnings = append(s.warnings, fmt.Sprintf(what, args...))
}

// find gives the place of a stage, or refuses with near matches.
func (s *standing) find(id string) (int, error) {
	if i, ok := s.index[id]; ok {
		return i, nil
	}
	return 0, words.Refuse(s.nearStages(id), "there is no stage %q", id)
}

// nearStages says which stages a misspelt id may have meant.
func (s *standing) nearStages(id string) string {
	ids := make([]string, len(s.stages))
	for i := range s.stages {
		ids[i] = s.stages[i].ID
	}
	return words.Meant(id, ids, "stages")
}

// programme passes over the network as it stands. Where a wait's length depends
// on when it starts (counted at the site's temperatures, or read with a
// hygrometer), the passes are repeated until starts and lengths agree.
func (s *standing) programme(asAt schedule.Day) (*Programme, error) {
	var lengths []schedule.Halves
	for round := 0; ; round++ {
		net, names, err := s.network(lengths)
		if err != nil {
			return nil, err
		}
		pass, err := net.Programme(asAt, s.records)
		if err != nil {
			return nil, s.named(err)
		}
		p := &Programme{Job: s.job, Programme: pass, stages: s.stages, calendars: names, standing: s}
		next, err := s.lengths(p, lengths)
		if err != nil {
			return nil, err
		}
		if next == nil || round == maxRounds {
			return p, nil
		}
		lengths = next
	}
}

// maxRounds bounds the passes made for waits that depend on their start: each
// round settles at least the first such wait that is not settled yet, and a
// chain of more is no real job.
const maxRounds = 50

// lengths gives the lengths that the stages which vary have at the starts of a
// programme, 0 for all others; nil when they are those it was made with.
func (s *standing) lengths(p *Programme, made []schedule.Halves) ([]schedule.Halves, error) {
	var next []schedule.Halves
	for i := range s.stages {
		if !s.varies(i) || s.records[i].Finished != 0 {
			continue
		}
		if next == nil {
			next = make([]schedule.Halves, len(s.stages))
		}
		start := p.Programme.Stages[i].Start
		length, err := s.lengthFrom(i, start, p.Calendar(p.Row(i).Keeps), p.AsAt())
		if err != nil {
			return nil, words.Refuse("look at the wait's temperatures and readings", "%s: %s", s.stages[i].ID, err)
		}
		next[i] = length
	}
	if slices.Equal(next, made) {
		return nil, nil
	}
	return next, nil
}
