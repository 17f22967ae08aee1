package jobs

import (
	"slices"

	"putlog/schedule"
	"putlog/variations"
)

// Job is a job file: the job as it was planned and its day book. The struct
// tags name the keys of the file; see form.
type Job struct {
	Ref          string        `form:"job"`                 // [a-z0-9-]{1,40}, unique in the book
	Title        string        `form:"title,optional"`      // what is being done, in words
	Region       Region        `form:"region"`              // whose bank holidays it keeps
	Start        Moment        `form:"start"`               // no stage starts earlier
	Week         *Week         `form:"week,optional"`       // the site's; Monday to Friday when left out
	Contract     *Contract     `form:"contract,optional"`   // none: there is no account
	TimeCosts    []TimeCost    `form:"time-costs,optional"` // what each working day costs by itself
	Calendars    []Calendar    `form:"calendars,optional,keyed"`
	Closures     []Closure     `form:"closures,optional"`
	Temperatures *Temperatures `form:"temperatures,optional"` // monthly means; the nation's when left out
	Careful      []Caution     `form:"cautions,optional"`     // shown with the programme
	Notes        []string      `form:"notes,optional"`        // what the plan rests on, in words
	Basis        []BasisItem   `form:"basis,optional"`        // what the price rests on
	Stages       []Stage       `form:"stages"`
	Entries      []Entry       `form:"entries,optional"` // the day book, in the order written

	seen func(done, all int) // see Watch; may be nil
}

// Contract is what was agreed with the client: sums without VAT.
type Contract struct {
	Sum       variations.Pence   `form:"sum"`
	VAT       variations.Percent `form:"vat,optional"`
	Retention variations.Percent `form:"retention,optional"`
	Promised  schedule.Day       `form:"promised,optional"` // the finish that was promised
}

// Calendar is a calendar of the job's own: a week, less the region's bank
// holidays and the closures that name it.
type Calendar struct {
	Name string `form:"name,key"`
	Week Week   `form:"week"`
}

// Closure is a stretch in which nobody works who keeps one of the calendars
// named; all of them when none is named.
type Closure struct {
	From Moment   `form:"from"`
	To   Until    `form:"to"`
	Who  []string `form:"who,optional,lone"`
	Why  string   `form:"why,optional"`
}

// Span gives the closure as a calendar takes it.
func (c Closure) Span() schedule.Span {
	return schedule.Span{From: schedule.Instant(c.From), To: c.To.End()}
}

// all is the word for every calendar in a closure's who.
const all = "all"

// shuts says whether the closure bears on a calendar.
func (c Closure) shuts(calendar string) bool {
	if len(c.Who) == 0 {
		return true
	}
	for _, who := range c.Who {
		if who == all || who == calendar {
			return true
		}
	}
	return false
}

// The built-in calendars, in the order of their index in a network.
const (
	SiteCalendar      = "site"
	InspectorCalendar = "inspector"
	SupplierCalendar  = "supplier"
	EveryDayCalendar  = "every-day"
)

// builtIn lists the built-in calendars by index; the job's own follow.
var builtIn = [...]string{SiteCalendar, InspectorCalendar, SupplierCalendar, EveryDayCalendar}

// calendarNames lists every calendar of the job, by index.
func (j *Job) calendarNames() []string {
	names := builtIn[:]
	for _, c := range j.Calendars {
		names = append(names, c.Name)
	}
	return names
}

// siteWeek is the site's ordinary week.
func (j *Job) siteWeek() schedule.Week {
	if j.Week == nil {
		return schedule.MonToFri
	}
	return j.Week.Pattern()
}

// calendars makes every calendar of the job, by index, with the closures of
// the job file and those recorded since. Those that keep Monday to Friday are
// the region's own, made once, less the closures.
func (j *Job) calendars(closures []Closure) []*schedule.Calendar {
	made := make([]*schedule.Calendar, 0, len(builtIn)+len(j.Calendars))
	for i, name := range j.calendarNames() {
		week := schedule.MonToFri
		switch {
		case name == EveryDayCalendar:
			made = append(made, schedule.EveryDay())
			continue
		case name == SiteCalendar:
			week = j.siteWeek()
		case i >= len(builtIn):
			week = j.Calendars[i-len(builtIn)].Week.Pattern()
		}
		var shut []schedule.Span
		for _, c := range closures {
			if c.shuts(name) {
				shut = append(shut, c.Span())
			}
		}
		switch {
		case week != schedule.MonToFri:
			made = append(made, schedule.NewCalendar(name, week, DaysOff(j.Region), shut))
		case shut == nil:
			made = append(made, RegionCalendar(j.Region))
		default:
			made = append(made, RegionCalendar(j.Region).Without(name, shut...))
		}
	}
	return made
}

// shut gives calendars that were made before with one more closure.
func (j *Job) shut(made []*schedule.Calendar, c Closure) []*schedule.Calendar {
	after, names := slices.Clone(made), j.calendarNames()
	for i, name := range names {
		if name == EveryDayCalendar || !c.shuts(name) {
			continue
		}
		same := slices.Index(made[:i], made[i]) // the inspector's and the supplier's often are
		if same >= 0 && c.shuts(names[same]) {
			after[i] = after[same]
			continue
		}
		after[i] = made[i].Without(name, c.Span())
	}
	return after
}

// regionCalendars hold Monday to Friday less the bank holidays of each region.
var regionCalendars = perRegion(func(r Region) *schedule.Calendar {
	return schedule.NewCalendar(string(r), schedule.MonToFri, DaysOff(r), nil)
})

// RegionCalendar is Monday to Friday less the region's bank holidays; every day
// of the week, Monday to Friday, for a region that is not one.
func RegionCalendar(r Region) *schedule.Calendar {
	if made, ok := regionCalendars[r]; ok {
		return made()
	}
	return schedule.NewCalendar(string(r), schedule.MonToFri, nil, nil)
}

// LastPublishedYear is the last year of the government's list of bank holidays
// that this program was held to; past it they are worked out by rule.
const LastPublishedYear = 2028
