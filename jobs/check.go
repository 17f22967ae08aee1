package jobs

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
)

// Limits on what one job may hold; far above any real one.
const (
	maxStages     = 10_000
	maxEntries    = 100_000
	maxAfter      = 10_000 // links into one stage
	maxClosures   = 2_000  // of the job file and recorded
	maxCalendars  = 20
	maxBasis      = 200
	maxReadings   = 500 // of one floor
	maxChanges    = 500 // of one variation; and lines
	maxVariations = 1_000
	maxNotice     = 365 // clear working days
)

// MaxText is how many characters a title, a note or any other line of text may
// have.
const MaxText = 500

// RefRemedy says how a job's reference or a stage's id is to be written.
const RefRemedy = "use small letters, digits and hyphens, 40 at the most"

// ValidRef says whether a text can be a job's reference or a stage's id.
func ValidRef(text string) bool {
	for _, c := range []byte(text) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return text != "" && len(text) <= 40
}

// checker looks a whole job over and notes every fault with its path in the
// form: "stages[3].after[0].stage".
type checker struct {
	job   *Job
	names []string // calendars
	ids   []string // stages
	note  func(path, what, do string)
	clean bool // nothing noted yet
	hints int  // words looked up among others so far
}

// check notes every fault of a job. note takes the path of what is wrong; whole
// says that nothing was wrong before: a network and a day book can only be
// tried on sound stages.
func (j *Job) Check(note func(path, what, do string), whole bool) {
	c := &checker{job: j, names: j.calendarNames(), clean: whole}
	c.note = func(path, what, do string) {
		c.clean = false
		note(path, what, do)
	}
	if !ValidRef(j.Ref) {
		c.note("job", fmt.Sprintf("%q is not a reference for a job", j.Ref), RefRemedy)
	}
	c.counts()
	c.calendars()
	for i, closure := range j.Closures {
		if what, do := j.closureFault(closure); what != "" {
			c.note(fmt.Sprintf("closures[%d]", i), what, do)
		}
	}
	c.contract()
	c.timeCosts()
	c.stages()
	c.basis()
	if c.clean {
		c.network()
	}
}

func (c *checker) counts() {
	for _, limit := range []struct {
		path, what  string
		count, most int
	}{
		{"stages", "stages", len(c.job.Stages), maxStages},
		{"entries", "entries", len(c.job.Entries), maxEntries},
		{"closures", "closures", len(c.job.Closures), maxClosures},
		{"calendars", "calendars", len(c.job.Calendars), maxCalendars},
		{"time-costs", "time-costs", len(c.job.TimeCosts), maxTimeCosts},
		{"basis", "items of the basis", len(c.job.Basis), maxBasis},
	} {
		if limit.count > limit.most {
			c.note(limit.path, fmt.Sprintf("%d %s are more than the %d a job may have",
				limit.count, limit.what, limit.most), "split the job in two")
		}
	}
	if len(c.job.Stages) == 0 {
		c.note("stages", "the job has no stages", "add at least one: - {stage: survey, takes: 0.5d}")
	}
	c.text("title", c.job.Title)
	for i, n := range c.job.Notes {
		c.text(fmt.Sprintf("notes[%d]", i), n)
	}
}

// text notes a line that is too long to print.
func (c *checker) text(path, text string) {
	if n := len([]rune(text)); n > MaxText {
		c.note(path, fmt.Sprintf("the text is %d characters long", n), fmt.Sprintf("keep it under %d", MaxText))
	}
}

func (c *checker) calendars() {
	if c.job.Week != nil && c.job.Week.Pattern() == 0 {
		c.note("week", "no half-day of the week is worked", "write week: mon-fri")
	}
	seen := builtIn[:]
	for _, own := range c.job.Calendars {
		path := "calendars." + own.Name
		switch {
		case slices.Contains(seen, own.Name) || own.Name == all:
			c.note(path, fmt.Sprintf("there already is a calendar %q", own.Name), "give it another name")
		case !ValidRef(own.Name):
			c.note(path, fmt.Sprintf("%q is not a name for a calendar", own.Name), RefRemedy)
		case own.Week.Pattern() == 0:
			c.note(path, fmt.Sprintf("the calendar %s works no half-day of the week", own.Name),
				"write the days that are worked: {thu: day, fri: am}")
		}
		seen = append(seen[:len(seen):len(seen)], own.Name)
	}
}

// closureFault says what is wrong with a closure and what to do; "" when
// nothing is.
func (j *Job) closureFault(c Closure) (what, do string) {
	names := j.calendarNames()
	if c.To.End() <= schedule.Instant(c.From) {
		return fmt.Sprintf("the closure ends (%s) before it begins (%s)",
			schedule.Instant(c.To), schedule.Instant(c.From)), "look at both dates"
	}
	for _, who := range c.Who {
		switch {
		case who == EveryDayCalendar:
			return "no closure touches the every-day calendar: concrete does not take holidays",
				"name site, inspector, supplier, a calendar of the job's own, or all"
		case who != all && !slices.Contains(names, who):
			return fmt.Sprintf("there is no calendar %q", who),
				words.Meant(who, append(names[:len(names):len(names)], all), "calendars")
		}
	}
	return "", ""
}

func (c *checker) contract() {
	k := c.job.Contract
	if k == nil {
		return
	}
	if k.Sum < 0 {
		c.note("contract.sum", "the contract sum is below nothing", "write pounds without VAT: 18450.00")
	}
	if k.VAT > 100_000 {
		c.note("contract.vat", "VAT is over 100 per cent", "write 20, 5 or 0")
	}
	if k.Retention > 100_000 {
		c.note("contract.retention", "the retention is over 100 per cent", "write 5 or 2.5")
	}
}

func (c *checker) stages() {
	seen := make(map[string]bool, len(c.job.Stages))
	for i := range c.job.Stages {
		id := c.job.Stages[i].ID
		path := fmt.Sprintf("stages[%d].stage", i)
		switch {
		case !ValidRef(id):
			c.note(path, fmt.Sprintf("%q is not a name for a stage", id), RefRemedy)
		case seen[id]:
			c.note(path, fmt.Sprintf("there are two stages %q", id), "give one of them another name")
		}
		if !seen[id] && ValidRef(id) {
			c.ids = append(c.ids, id)
		}
		seen[id] = true
	}
	for i := range c.job.Stages {
		c.stage(fmt.Sprintf("stages[%d]", i), &c.job.Stages[i])
		for k, a := range c.job.Stages[i].After {
			if !seen[a.Stage] {
				c.note(fmt.Sprintf("stages[%d].after[%d]", i, k), fmt.Sprintf("there is no stage %q", a.Stage),
					c.near(a.Stage, c.ids, "stages"))
			}
			c.after(fmt.Sprintf("stages[%d].after[%d]", i, k), a)
		}
	}
}

// near is words.Meant, as long as its answers are of use: a file of nothing but
// misspelt words would have each compared with every other.
func (c *checker) near(word string, among []string, what string) string {
	const most = 20
	if c.hints++; c.hints > most {
		return "look at the first of them"
	}
	return words.Meant(word, among, what)
}

// stage notes what is wrong with one stage, its links apart.
func (c *checker) stage(path string, s *Stage) {
	if n := len(s.After); n > maxAfter {
		c.note(path+".after", fmt.Sprintf("%s follows %d others, more than the %d a stage may follow", s.ID, n, maxAfter),
			"put a stage between")
	}
	c.text(path+".title", s.Title)
	c.text(path+".trade", s.Trade)
	c.text(path+".reckoning", s.Reckoning)
	c.length(path, s)
	if s.calendarIndex(c.names) < 0 {
		c.note(path+".calendar", fmt.Sprintf("there is no calendar %q", s.Calendar),
			c.near(s.Calendar, c.names, "calendars"))
	}
	if s.Limit != 0 && s.Kind != schedule.KindWait {
		c.note(path+".limit", fmt.Sprintf("%s is not a wait: no floor dries in it", s.ID), "take limit out")
	}
	switch {
	case s.Notice == nil:
	case s.Kind != schedule.KindInspection:
		c.note(path+".notice", fmt.Sprintf("%s is not an inspection: notice means nothing here", s.ID),
			"say kind: inspection, or take notice out")
	case *s.Notice < 0 || *s.Notice > maxNotice:
		c.note(path+".notice", fmt.Sprintf("%d clear days of notice are out of range", *s.Notice),
			fmt.Sprintf("write a number from 0 to %d", maxNotice))
	}
}

// length notes what is wrong with how long a stage takes.
func (c *checker) length(path string, s *Stage) {
	ruled := s.ruled()
	switch {
	case s.Air != "" && s.Concrete == nil && s.Screed == nil:
		c.note(path+".air", fmt.Sprintf("%s is neither concrete nor screed: it is not counted by temperature", s.ID),
			"take air out")
	case s.Air != "" && s.Kind == schedule.KindWait && s.Takes.IsZero():
		if err := c.counted(s); err != nil {
			c.note(path, err.Error(), "see putlog wait --help")
		}
	case ruled && s.Kind != schedule.KindWait:
		c.note(path, fmt.Sprintf("%s is given by what it is (concrete, screed …) but is not a wait", s.ID),
			"say kind: wait")
	case ruled && !s.Takes.IsZero():
		c.note(path+".takes", fmt.Sprintf("%s is given both by a length and by what it is", s.ID),
			"keep one of the two")
	case ruled:
		if w, err := s.WaitSpec.Wait(); err != nil {
			c.note(path, err.Error(), "see putlog wait --help")
		} else if w.Length < 1 {
			c.note(path, fmt.Sprintf("%s takes no time", s.ID), "leave the stage out")
		}
	case s.Takes.IsZero() && s.Kind == schedule.KindInspection:
	case s.Takes.IsZero():
		c.note(path, fmt.Sprintf("%s does not say how long it takes", s.ID), "add takes: 1d")
	case s.Takes.InHours() && s.Kind != schedule.KindWait:
		c.note(path+".takes", fmt.Sprintf("%s: hours are for waits only", s.Takes),
			"write days: takes: "+Days(s.Takes.Halves()).String())
	case s.Takes.Halves() < 1:
		c.note(path+".takes", fmt.Sprintf("%s is too short for a stage", s.Takes), "0.5d is the shortest")
	}
}

// counted tries a wait that is counted day by day, from the start of the job.
func (c *checker) counted(s *Stage) error {
	try := standing{job: c.job, stages: []Stage{*s}, recorded: make([]recordedBy, 1)}
	_, _, err := try.ruled(0, schedule.Instant(c.job.Start))
	return err
}

// after notes what is wrong with one link, the stage it names apart.
func (c *checker) after(path string, a After) {
	if a.Lag.InHours() {
		c.note(path+".lag", fmt.Sprintf("%s: a lag is in days", a.Lag), "write lag: "+Days(a.Lag.Halves()).String())
	}
	if a.LagOn != "" && !slices.Contains(c.names, a.LagOn) {
		c.note(path+".lag-on", fmt.Sprintf("there is no calendar %q", a.LagOn),
			c.near(a.LagOn, c.names, "calendars"))
	}
}

// network tries the passes, and then the day book, entry by entry.
func (c *checker) network() {
	s := c.job.newStanding()
	_, err := s.programme(schedule.Instant(c.job.Start).Day())
	var loop *LoopError
	switch {
	case errors.As(err, &loop):
		at := s.index[loop.Stages[0]]
		c.note(fmt.Sprintf("stages[%d].after", at), loop.Error(), "take one of these links out")
		return
	case err != nil:
		c.note("stages", err.Error(), words.Advice(err))
		return
	}
	c.basisChanges(s)
	if err := cmp.Or(c.job.checkTexts(0), c.job.checkHistory()); err != nil {
		c.note(fmt.Sprintf("entries[%d]", err.Number-1), err.What, err.Try)
	}
}

// checkTexts refuses an entry, after the first so many, that holds a text too
// long to print.
func (j *Job) checkTexts(known int) *EntryError {
	for i, e := range j.Entries[known:] {
		if n := longest(form.Encode(e.Event)); n > MaxText {
			return &EntryError{Number: known + i + 1, What: fmt.Sprintf("the text is %d characters long", n),
				Try: fmt.Sprintf("keep it under %d", MaxText)}
		}
	}
	return nil
}

// checkClear refuses an entry, after the first so many, that says nothing, or what
// could not be told from something else. A day book that holds one already is read
// as it is.
func (j *Job) checkClear(known int) *EntryError {
	for i, e := range j.Entries[known:] {
		fault := EntryError{Number: known + i + 1}
		switch e := e.Event.(type) {
		case *Note:
			if strings.TrimSpace(e.Says) == "" {
				fault.What, fault.Try = "the note is empty", "say what is to be kept"
			}
		case *Variation:
			if err := e.Unclear(); err != nil && e.Number != "" { // a number is given later
				fault.What, fault.Try = err.Error(), "say it so that the client can tell it apart"
			}
		}
		if fault.What != "" {
			return &fault
		}
	}
	return nil
}

// longest is the number of characters of the longest text in a form.
func longest(n *form.Node) (most int) {
	for text := range n.Texts() {
		most = max(most, utf8.RuneCountInString(text))
	}
	return most
}

// maxProof bounds what it takes to prove a day book: the entries applied, all
// told, for each date at which a correction changes which of them count. A
// hundred corrections among a thousand entries take a twentieth of it.
const maxProof = 4_000_000

// checkHistory proves the day book: it must stand at each date at which
// something is written, corrections read only from their own date on.
func (j *Job) checkHistory() *EntryError {
	if err := j.checkCorrections(); err != nil {
		return err
	}
	dates := []schedule.Day{}
	for i, e := range j.Entries {
		if _, corrects := e.Event.(*Correction); corrects || i == len(j.Entries)-1 {
			dates = append(dates, e.On-1, e.On)
		}
	}
	dates = append(dates, schedule.LastDay)
	slices.Sort(dates)
	dates = slices.Compact(dates)
	if len(dates)*len(j.Entries) > maxProof {
		return &EntryError{Number: len(j.Entries), What: fmt.Sprintf(
			"%d entries with corrections on some %d days are more than can be proved", len(j.Entries), len(dates)/2),
			Try: "begin a new job for what is still to be done"}
	}
	for _, d := range dates {
		_, err := j.standingAt(d)
		var fault *EntryError
		if errors.As(err, &fault) {
			return fault
		}
	}
	return nil
}

// checkCorrections refuses a correction of an entry that is not there, that
// comes later, or that bears a later date.
func (j *Job) checkCorrections() *EntryError {
	for i, e := range j.Entries {
		c, ok := e.Event.(*Correction)
		switch {
		case !ok:
		case c.Entry < 1 || c.Entry > i:
			return &EntryError{Number: i + 1,
				What: fmt.Sprintf("there is no earlier entry %d to strike out", c.Entry),
				Try:  "the numbers stand in the day book: putlog daybook " + j.Ref}
		case j.Entries[c.Entry-1].On > e.On:
			return &EntryError{Number: i + 1,
				What: fmt.Sprintf("entry %d is dated %s, after this", c.Entry, j.Entries[c.Entry-1].On.Long()),
				Try:  fmt.Sprintf("date the correction %s or later", j.Entries[c.Entry-1].On)}
		}
	}
	return nil
}
