package jobs

import (
	"flag"
	"fmt"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
	"putlog/testdata/race"
	"putlog/variations"
)

// fewer runs a property on fewer drawn histories than rapid's usual number: one
// in share, and fewer still under the race detector. A history costs dozens of
// programmes.
func fewer(t *testing.T, share int, property func(*rapid.T)) {
	t.Helper()
	checks := flag.Lookup("rapid.checks")
	usual := checks.Value.String()
	n, err := strconv.Atoi(usual)
	if err != nil {
		t.Fatal(err)
	}
	if err := checks.Value.Set(fmt.Sprint(max(2, n/(share*race.Slows)))); err != nil {
		t.Fatal(err)
	}
	defer checks.Value.Set(usual)
	rapid.Check(t, property)
}

// reaching runs a property as fewer does, and again until what it is about has
// come up among the histories drawn; twenty rounds without it are a fault.
func reaching(t *testing.T, share int, reached func() bool, property func(*rapid.T)) {
	t.Helper()
	for range 20 {
		fewer(t, share, property)
		if t.Failed() || reached() {
			return
		}
	}
	t.Error("what this test is about came up in no drawn history")
}

// evenly draws one of a list, each as often as the next (rapid itself leans
// towards the first).
func evenly[T any](t *rapid.T, list []T, label string) T {
	at := 0
	for most := len(list) - 1; most > 0; most /= 2 {
		at *= 2
		if rapid.Bool().Draw(t, label) {
			at++
		}
	}
	return list[at%len(list)]
}

// drawLength is a length of up to so many half-days.
func drawLength(t *rapid.T, most int) Length {
	return Days(schedule.Halves(rapid.IntRange(1, most).Draw(t, "half-days")))
}

// drawAfter is a link from one of the stages.
func drawAfter(t *rapid.T, ids []string) After {
	a := After{Stage: rapid.SampledFrom(ids).Draw(t, "after")}
	if rapid.IntRange(0, 2).Draw(t, "plain link") == 0 {
		a.Link = schedule.LinkType(rapid.IntRange(0, 3).Draw(t, "link"))
		a.Lag = Days(schedule.Halves(rapid.IntRange(-3, 6).Draw(t, "lag")))
		a.LagOn = rapid.SampledFrom([]string{"", "site", "inspector", "sparks"}).Draw(t, "lag on")
	}
	return a
}

// drawStage is a stage of any kind that follows some of those before it.
func drawStage(t *rapid.T, id string, before []string) Stage {
	s := Stage{ID: id, Kind: schedule.Kind(rapid.IntRange(0, 3).Draw(t, "kind")), Takes: drawLength(t, 10),
		By: rapid.SampledFrom([]Party{"", "", Builder, Client, Inspector, Other}).Draw(t, "by")}
	switch s.Kind {
	case schedule.KindWork:
		s.Calendar = rapid.SampledFrom([]string{"", "", "sparks", "every-day"}).Draw(t, "calendar")
	case schedule.KindWait:
		switch rapid.IntRange(0, 2).Draw(t, "length by") {
		case 0:
			_ = s.Takes.UnmarshalText([]byte("60h"))
		case 1:
			s.Takes, s.Skim = Length{}, &schedule.Skim{Background: schedule.OnBoard}
		}
	case schedule.KindInspection:
		if rapid.Bool().Draw(t, "usual length") {
			s.Takes = Length{}
		}
		if n := rapid.IntRange(-1, 2).Draw(t, "notice"); n >= 0 {
			s.Notice = &n
		}
	}
	if len(before) > 0 {
		for range rapid.IntRange(0, 2).Draw(t, "links") {
			s.After = append(s.After, drawAfter(t, before))
		}
	}
	return s
}

// drawJob is a job of three to eight stages of all kinds, tied by links of all
// types, with a calendar of its own and closures.
func drawJob(t *rapid.T) *Job {
	start := schedule.Day(9922 + rapid.IntRange(0, 320).Draw(t, "start")) // from Mon 1 Mar 2027
	j := &Job{Ref: "drawn", Region: rapid.SampledFrom(Regions()).Draw(t, "region"), Start: Moment(start.AM())}
	if rapid.Bool().Draw(t, "own week") {
		j.Week = &Week{Mon: WorkedDay, Tue: WorkedDay, Wed: WorkedDay, Thu: WorkedDay, Fri: WorkedAM, Sat: WorkedAM}
	}
	if rapid.IntRange(0, 5).Draw(t, "no contract") > 0 {
		j.Contract = &Contract{Sum: variations.Pence(rapid.IntRange(0, 5_000_000).Draw(t, "sum")),
			VAT: 20_000, Retention: variations.Percent(rapid.IntRange(0, 10_000).Draw(t, "retention"))}
	}
	j.Calendars = []Calendar{{Name: "sparks", Week: Week{Thu: WorkedDay, Fri: WorkedAM}}}
	for range rapid.IntRange(0, 2).Draw(t, "closures") {
		j.Closures = append(j.Closures, drawClosure(t, start))
	}
	var ids []string
	for i := range rapid.IntRange(3, 8).Draw(t, "stages") {
		id := fmt.Sprintf("s%d", i)
		j.Stages = append(j.Stages, drawStage(t, id, ids))
		ids = append(ids, id)
	}
	if rapid.IntRange(0, 3).Draw(t, "not before") == 0 {
		j.Stages[0].NotBefore = Moment(start.AM() + schedule.Instant(rapid.IntRange(0, 20).Draw(t, "later")))
	}
	j.Check(func(path, what, do string) { t.Fatalf("drawn a bad job: %s: %s; %s", path, what, do) }, true)
	return j
}

func drawClosure(t *rapid.T, near schedule.Day) Closure {
	from := near.AM() + schedule.Instant(rapid.IntRange(-6, 30).Draw(t, "closed from"))
	to := from + schedule.Instant(rapid.IntRange(0, 9).Draw(t, "closed for"))
	return Closure{From: Moment(from), To: Until(to),
		Who: rapid.SampledFrom([][]string{nil, {"site"}, {"inspector", "sparks"}, {"all"}}).Draw(t, "who")}
}

// drawHistory is a drawn job with the entries, of those drawn, that its day
// book takes.
func drawHistory(t *rapid.T) *Job {
	j := drawJob(t)
	day := schedule.Instant(j.Start).Day() + schedule.Day(rapid.IntRange(-8, 3).Draw(t, "first day"))
	if rapid.IntRange(0, 4).Draw(t, "not accepted at first") > 0 {
		j = j.taking(t, Entry{On: day, Event: &Accepted{}})
	}
	for range evenly(t, []int{1, 3, 5, 8, 10, 12, 15, 18}, "entries") {
		day += evenly(t, []schedule.Day{0, 0, 1, 1, 1, 2, 3, 5}, "days on")
		j = j.taking(t, drawEntry(t, j, day))
	}
	return j
}

// taking is the job with an entry more, if its day book takes it.
func (j *Job) taking(t *rapid.T, e Entry) *Job {
	after, err := j.With([]Entry{e})
	if err == nil {
		return after
	}
	if _, ok := err.(*EntryError); !ok {
		t.Fatalf("%v", err)
	}
	return j
}

// drawEntry is an entry for the day, or for one some days back, that may or may
// not fit what stands.
func drawEntry(t *rapid.T, j *Job, day schedule.Day) Entry {
	if rapid.IntRange(0, 6).Draw(t, "written late") == 0 {
		day -= schedule.Day(rapid.IntRange(1, 6).Draw(t, "days late"))
	}
	return Entry{On: day, Event: drawEvent(t, j, day)}
}

// eventsDrawn lists what may happen, the usual more often.
var eventsDrawn = slices.Concat(slices.Repeat([]string{"ruling"}, 7),
	slices.Repeat([]string{"started", "finished", "variation"}, 4),
	slices.Repeat([]string{"notice", "inspection"}, 3), slices.Repeat([]string{"progress", "closure"}, 2),
	[]string{"payment", "accepted", "correction"})

func drawEvent(t *rapid.T, j *Job, on schedule.Day) Event {
	now, err := j.standingAt(schedule.LastDay)
	if err != nil {
		t.Fatal(err)
	}
	pick := func(fits func(int) bool) string { return drawStageID(t, now, fits) }
	back := schedule.Instant(rapid.IntRange(0, 3).Draw(t, "half-days back"))
	kind := func(k schedule.Kind) func(int) bool { return func(i int) bool { return now.stages[i].Kind == k } }
	open := func(i int) bool { return now.records[i].Finished == 0 }
	begun := func(i int) bool { return open(i) && now.records[i].Started != 0 }
	switch evenly(t, eventsDrawn, "event") {
	case "started":
		return &Started{Stage: pick(func(i int) bool { return open(i) && !begun(i) }), At: Moment(on.AM() - back)}
	case "finished":
		return &Finished{Stage: pick(open), At: Until(on.PM() - back)}
	case "progress":
		return &Progress{Stage: pick(begun), Left: drawLength(t, 12)}
	case "notice":
		return &Notice{Stage: pick(kind(schedule.KindInspection))}
	case "inspection":
		return &Inspection{Stage: pick(kind(schedule.KindInspection)), Note: "lap it",
			Outcome: Outcome(rapid.IntRange(int(Pass), int(Fail)).Draw(t, "outcome")),
			Bearer:  variations.Bearer(rapid.IntRange(0, 3).Draw(t, "bearer"))}
	case "closure":
		c := drawClosure(t, on-3)
		return &Closed{From: c.From, To: c.To, Who: c.Who, Why: "snow",
			Bearer: variations.Bearer(rapid.IntRange(0, 3).Draw(t, "bearer"))}
	case "variation":
		return drawVariation(t, j, now)
	case "ruling":
		if len(now.ledger.All()) == 0 {
			return drawVariation(t, j, now)
		}
		return drawRuling(t, now.ledger.All())
	case "payment":
		return &Payment{Amount: variations.Pence(rapid.IntRange(1, 900_000).Draw(t, "amount"))}
	case "accepted":
		return &Accepted{}
	}
	return &Correction{Entry: rapid.IntRange(1, len(j.Entries)+1).Draw(t, "struck"), Because: "a slip"}
}

// drawRuling takes one of the variations further, the usual way more often.
func drawRuling(t *rapid.T, all []variations.Variation) *Ruling {
	v := evenly(t, all, "number")
	next := []variations.State{variations.Instructed, variations.Instructed, variations.Agreed,
		variations.Declined, variations.Instructed, variations.Withdrawn}
	if v.Instructed != 0 {
		next = []variations.State{variations.Agreed, variations.CarriedOut, variations.Declined}
	}
	return &Ruling{Number: v.Number, To: evenly(t, next, "ruling")}
}

// drawStageID is one of the stages that fit, or of all where none does.
func drawStageID(t *rapid.T, s *standing, fits func(int) bool) string {
	var ids, all []string
	for i := range s.stages {
		all = append(all, s.stages[i].ID)
		if fits(i) {
			ids = append(ids, s.stages[i].ID)
		}
	}
	if len(ids) == 0 {
		ids = all
	}
	return evenly(t, ids, "stage")
}

func drawVariation(t *rapid.T, j *Job, now *standing) *Variation {
	client := variations.Percent(rapid.IntRange(0, 100).Draw(t, "client's")) * 1000
	v := &Variation{Terms: variations.Terms{Number: j.NextNumber(), Title: "some change",
		AskedBy: variations.AskedBy(rapid.IntRange(1, 4).Draw(t, "asked by")),
		Cost:    variations.Share{Client: client, Builder: variations.Hundred - client},
		Time:    variations.Bearer(rapid.IntRange(1, 3).Draw(t, "time")),
		Markup:  variations.Percent(rapid.IntRange(0, 20).Draw(t, "markup")) * 1000}}
	for range rapid.IntRange(0, 2).Draw(t, "lines") {
		v.Lines = append(v.Lines, variations.Line{What: "work", Unit: "day",
			Kind:     variations.LineKind(rapid.IntRange(1, 5).Draw(t, "line")),
			Quantity: variations.Quantity(rapid.IntRange(1, 9_999).Draw(t, "quantity")),
			Rate:     variations.Pence(rapid.IntRange(0, 99_999).Draw(t, "rate"))})
	}
	for i := range evenly(t, []int{0, 1, 1, 2}, "changes") {
		v.Changes = append(v.Changes, drawChange(t, now, fmt.Sprintf("%s-%d", "x"+v.Number[1:], i)))
	}
	return v
}

func drawChange(t *rapid.T, now *standing, id string) Change {
	any := func() string { return drawStageID(t, now, func(int) bool { return true }) }
	switch evenly(t, []string{"add", "add", "retime", "drop", "drop", "link", "unlink", "retime"}, "change") {
	case "add":
		add := &Added{Stage: drawStage(t, id, []string{any()})}
		if rapid.Bool().Draw(t, "before another") {
			add.Before = []string{any()}
		}
		return Change{Add: add}
	case "retime":
		return Change{Retime: &Retimed{Stage: any(), Takes: drawLength(t, 16)}}
	case "drop":
		return Change{Drop: &Dropped{Stage: any()}}
	case "link":
		return Change{Link: &Linked{From: any(), To: any()}}
	}
	to := drawStageID(t, now, func(i int) bool { return len(now.stages[i].After) > 0 })
	from := to
	for _, a := range now.stages[now.index[to]].After {
		from = a.Stage
	}
	return Change{Unlink: &Unlinked{From: from, To: to}}
}

// Every kind of entry and of change comes up among the histories drawn, so that
// what holds for them is said of something.
func TestDrawnHistories(t *testing.T) {
	seen := map[string]int{}
	for seed := range max(8, 100/race.Slows) {
		for _, e := range rapid.Custom(drawHistory).Example(seed).Entries {
			seen[e.Event.Kind()]++
			if v, ok := e.Event.(*Variation); ok {
				for _, c := range v.Changes {
					seen[fmt.Sprintf("change %v %v %v %v %v", c.Add != nil, c.Retime != nil, c.Drop != nil,
						c.Link != nil, c.Unlink != nil)]++
				}
			}
		}
	}
	kinds := []string{"accepted", "notice", "started", "finished", "progress", "inspection", "closure",
		"variation", "instructed", "agreed", "declined", "withdrawn", "carried-out", "payment", "correction"}
	if race.Slows == 1 && len(seen) != len(kinds)+5 {
		t.Errorf("%d kinds are drawn and %d seen: %v", len(kinds), len(seen), seen)
	}
	for what, n := range seen {
		if n < 3 && race.Slows == 1 {
			t.Errorf("%s comes up %d times only", what, n)
		}
	}
}
