package documents

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"putlog/jobs"
	"putlog/schedule"
)

// shedJob is an invented job with every kind of stage and a history; more
// entries can be added.
const shedJob = `job: shed
title: 'Shed, brick; to a studio \ with every sign in its title that must be escaped, ½'
region: england-and-wales
start: 2027-03-01
contract: {sum: 9800.00, vat: 20, retention: 5}
stages:
  - {stage: dig, title: "Dig, trim; and cart away", takes: 1.5d}
  - {stage: see-dig, title: Dig seen, kind: inspection, notice: 2, after: dig}
  - {stage: pour, takes: 1d, after: see-dig}
  - {stage: gains, title: Concrete gains strength, kind: wait, takes: 72h, after: pour}
  - {stage: window, kind: delivery, takes: 10d}
  - {stage: fit, title: Fit the window, takes: 1d, after: [window, gains]}
  - {stage: paint, takes: 2d, after: fit}
  - {stage: see-all, title: Completion, kind: inspection, notice: 1, after: paint}
entries:
  - {on: 2027-02-22, accepted: {}}
  - {on: 2027-02-22, notice: {stage: see-dig}}
  - {on: 2027-03-02, started: {stage: dig, at: 2027-03-01}}
`

func shed(t testing.TB, more ...string) *jobs.Job {
	t.Helper()
	j, err := jobs.ReadJob("shed.yaml", []byte(shedJob+strings.Join(more, "")))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func day(t testing.TB, text string) schedule.Day {
	t.Helper()
	d, err := schedule.ParseDay(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func calendarOf(t testing.TB, j *jobs.Job, asAt string) *Calendar {
	t.Helper()
	p, err := j.Programme(day(t, asAt))
	if err != nil {
		t.Fatal(err)
	}
	c, err := CalendarOf(p)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func ics(t testing.TB, c *Calendar) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteICS(&b, c); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// component is a part of a calendar file as it is read: its properties by name,
// and what is in it.
type component struct {
	name string
	has  map[string]string // the value behind the colon; the name with its parameters
	in   []*component
}

// contentLine is the form of a content line (RFC 5545, 3.1), as far as it is
// used here: no parameter is quoted.
var contentLine = regexp.MustCompile(`^([A-Z]+(?:-[A-Z]+)*)((?:;[A-Z-]+=[^;:,"]+)*):(.*)$`)

// readICS reads a calendar file and fails on anything that RFC 5545 forbids in
// one of this kind.
func readICS(t testing.TB, text string) *component {
	t.Helper()
	if !strings.HasSuffix(text, "\r\n") || strings.Count(text, "\r") != strings.Count(text, "\r\n") ||
		strings.Count(text, "\n") != strings.Count(text, "\r\n") {
		t.Fatal("a line does not end in CR and LF")
	}
	for line := range strings.SplitSeq(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(line) > 75 || line == "" || !utf8.ValidString(line) {
			t.Fatalf("a line of %d octets: %q", len(line), line)
		}
		for _, r := range line {
			if r < ' ' && r != '\t' || r == 0x7f {
				t.Fatalf("a control character stands in %q", line)
			}
		}
	}
	root := &component{has: map[string]string{}}
	open := []*component{root}
	unfolded := strings.NewReplacer("\r\n ", "", "\r\n\t", "").Replace(text)
	for line := range strings.SplitSeq(strings.TrimSuffix(unfolded, "\r\n"), "\r\n") {
		m := contentLine.FindStringSubmatch(line)
		if m == nil {
			t.Fatalf("no content line: %q", line)
		}
		at := open[len(open)-1]
		switch {
		case m[1] == "BEGIN":
			in := &component{name: m[3], has: map[string]string{}}
			at.in = append(at.in, in)
			open = append(open, in)
		case m[1] == "END" && m[3] == at.name:
			open = open[:len(open)-1]
		case m[1] == "END":
			t.Fatalf("%s ends in %s", m[3], at.name)
		case at.has[m[1]] != "" || at == root:
			t.Fatalf("%q comes twice, or stands outside", line)
		default:
			at.has[m[1]] = m[2] + ":" + m[3]
		}
	}
	if len(open) != 1 || len(root.in) != 1 || root.in[0].name != "VCALENDAR" {
		t.Fatal("the calendar is not closed, or is none")
	}
	return root.in[0]
}

// unescape reads a value of type TEXT; it fails on a sign that should have been
// escaped.
func unescape(t testing.TB, value string) string {
	t.Helper()
	var out strings.Builder
	text := strings.TrimPrefix(value, ":")
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == ';' || c == ',':
			t.Fatalf("%q is not escaped", value)
		case c != '\\':
			out.WriteByte(c)
		case i+1 == len(text) || !strings.Contains(`\;,n`, text[i+1:i+2]):
			t.Fatalf("%q escapes nothing", value)
		case text[i+1] == 'n':
			out.WriteByte('\n')
			i++
		default:
			out.WriteByte(text[i+1])
			i++
		}
	}
	return out.String()
}

var (
	wholeDay = regexp.MustCompile(`^;VALUE=DATE:[0-9]{8}$`)
	halfTime = regexp.MustCompile(`^:[0-9]{8}T[0-9]{6}$`)
)

// holdsToRFC5545 looks at what each part of a calendar must have.
func holdsToRFC5545(t testing.TB, c *component) {
	t.Helper()
	if c.has["VERSION"] != ":2.0" || c.has["PRODID"] == "" || len(c.in) == 0 {
		t.Errorf("the calendar has %v", c.has)
	}
	uids := map[string]bool{}
	for _, e := range c.in {
		uid, start, end := e.has["UID"], e.has["DTSTART"], e.has["DTEND"]
		switch {
		case e.name != "VEVENT":
			t.Errorf("a %s stands in the calendar", e.name)
		case uid == "" || uids[uid]:
			t.Errorf("the UID %q is empty or comes twice", uid)
		case !regexp.MustCompile(`^:[0-9]{8}T[0-9]{6}Z$`).MatchString(e.has["DTSTAMP"]):
			t.Errorf("%s: DTSTAMP%s", uid, e.has["DTSTAMP"])
		case !regexp.MustCompile(`^:[0-9]+$`).MatchString(e.has["SEQUENCE"]):
			t.Errorf("%s: SEQUENCE%s", uid, e.has["SEQUENCE"])
		case !(wholeDay.MatchString(start) && wholeDay.MatchString(end) ||
			halfTime.MatchString(start) && halfTime.MatchString(end)) || end <= start:
			t.Errorf("%s: from %s to %s", uid, start, end)
		case e.has["SUMMARY"] == "" || e.has["DESCRIPTION"] == "":
			t.Errorf("%s says nothing", uid)
		}
		uids[uid] = true
		for _, a := range e.in {
			if a.name != "VALARM" || a.has["ACTION"] != ":DISPLAY" || a.has["DESCRIPTION"] == "" ||
				!regexp.MustCompile(`^:-?PT[0-9]+H$`).MatchString(a.has["TRIGGER"]) {
				t.Errorf("%s has the alarm %v", uid, a)
			}
		}
	}
}

// event finds an event by its UID, without the end that all have.
func (c *component) event(t testing.TB, uid string) *component {
	t.Helper()
	i := slices.IndexFunc(c.in, func(e *component) bool { return e.has["UID"] == ":"+uid+"@putlog" })
	if i < 0 {
		t.Fatalf("there is no event %s", uid)
	}
	return c.in[i]
}

// TestCalendar: work out by hand, with a calendar of 2027: 1 March is a Monday,
// Easter from Fri 26 to Mon 29 March.
func TestCalendar(t *testing.T) {
	cal := readICS(t, ics(t, calendarOf(t, shed(t), "2027-03-02")))
	holdsToRFC5545(t, cal)
	for _, want := range []struct{ uid, from, to, transparent, alarm, summary string }{
		{"shed.dig.stage", ":20270301T080000", ":20270302T120000", "", "",
			"Dig, trim; and cart away (shed)"},
		{"shed.see-dig.notice", ";VALUE=DATE:20270222", ";VALUE=DATE:20270223", "yes", "",
			"Notice given: Dig seen (shed)"},
		{"shed.see-dig.stage", ":20270302T130000", ":20270302T170000", "", "", "Dig seen (shed)"},
		{"shed.pour.stage", ";VALUE=DATE:20270303", ";VALUE=DATE:20270304", "", "", "Pour (shed)"},
		{"shed.gains.stage", ";VALUE=DATE:20270304", ";VALUE=DATE:20270307", "yes", "",
			"Concrete gains strength (shed)"},
		{"shed.window.stage", ";VALUE=DATE:20270301", ";VALUE=DATE:20270313", "yes", "", "Window (shed)"},
		// it should have been ordered on the 1st, so today
		{"shed.window.order", ";VALUE=DATE:20270302", ";VALUE=DATE:20270303", "yes", ":PT8H",
			"Order: Window (shed)"},
		{"shed.fit.stage", ";VALUE=DATE:20270315", ";VALUE=DATE:20270316", "", "",
			"Fit the window (shed)"},
		{"shed.see-all.stage", ":20270318T080000", ":20270318T120000", "", "", "Completion (shed)"},
		// one clear day before Thursday the 18th: the Tuesday
		{"shed.see-all.notice", ";VALUE=DATE:20270316", ";VALUE=DATE:20270317", "yes", ":-PT16H",
			"Give notice: Completion (shed)"},
		{"shed.finish", ";VALUE=DATE:20270318", ";VALUE=DATE:20270319", "yes", "", "Finish: " +
			`Shed, brick; to a studio \ with every sign in its title that must be escaped, ½ (shed)`},
	} {
		e := cal.event(t, want.uid)
		got := want
		got.from, got.to, got.summary = e.has["DTSTART"], e.has["DTEND"], unescape(t, e.has["SUMMARY"])
		got.transparent, got.alarm = "", ""
		if e.has["TRANSP"] == ":TRANSPARENT" {
			got.transparent = "yes"
		}
		if len(e.in) > 0 {
			got.alarm = e.in[0].has["TRIGGER"]
		}
		if got != want {
			t.Errorf("got  %v\nwant %v", got, want)
		}
	}
	says := unescape(t, cal.event(t, "shed.see-dig.stage").has["DESCRIPTION"])
	if !strings.Contains(says, "13:00 to 17:00 for the afternoon") ||
		!strings.Contains(says, "As at Tue 2 Mar 2027.") {
		t.Errorf("half a day is not explained: %q", says)
	}
}

// A calendar made later takes the place of an earlier one: same UIDs, a larger
// sequence, whether something was written or only days went by.
func TestCalendarTakesThePlaceOfAnEarlierOne(t *testing.T) {
	const (
		struck = "  - {on: 2027-03-02, finished: {stage: window}}\n" +
			"  - {on: 2027-03-02, correction: {entry: 4}}\n"
		variant = `  - {on: 2027-03-03, variation: {number: V1, title: No paint, asked-by: client,
     cost: client, time: client, changes: [{drop: {stage: paint}},
       {add: {stage: oil, takes: 1d, after: fit, before: see-all}}]}}
  - {on: 2027-03-03, instructed: {variation: V1}}
`
		undone = "  - {on: 2027-03-04, correction: {entry: 7}}\n"
	)
	last := -1
	uids := map[string]bool{}
	for _, c := range []*Calendar{
		calendarOf(t, shed(t), "2027-02-28"), calendarOf(t, shed(t), "2027-03-01"),
		calendarOf(t, shed(t), "2027-03-02"),
		calendarOf(t, shed(t, struck[:strings.Index(struck, "\n")+1]), "2027-03-02"),
		calendarOf(t, shed(t, struck), "2027-03-02"),
		calendarOf(t, shed(t, struck, variant), "2027-03-03"),
		calendarOf(t, shed(t, struck, variant, undone), "2027-03-04"),
	} {
		cal := readICS(t, ics(t, c))
		holdsToRFC5545(t, cal)
		if c.Sequence <= last {
			t.Errorf("as at %s the sequence %d follows %d", c.AsAt, c.Sequence, last)
		}
		last = c.Sequence
		now := map[string]bool{}
		for _, e := range cal.in {
			now[e.has["UID"]] = true
			uids[e.has["UID"]] = true
		}
		for _, e := range c.Dates {
			if !e.Gone {
				delete(now, ":"+c.UID(e))
			}
		}
		for uid := range uids {
			if !slices.ContainsFunc(cal.in, func(e *component) bool { return e.has["UID"] == uid }) {
				t.Errorf("as at %s nothing is said of %s, which stood before", c.AsAt, uid)
			}
		}
		for _, e := range cal.in {
			if cancelled := e.has["STATUS"] == ":CANCELLED"; cancelled != now[e.has["UID"]] {
				t.Errorf("as at %s %s: cancelled %v", c.AsAt, e.has["UID"], cancelled)
			}
		}
	}
	after := readICS(t, ics(t, calendarOf(t, shed(t, struck, variant), "2027-03-03")))
	if after.event(t, "shed.paint.stage").has["STATUS"] != ":CANCELLED" ||
		after.event(t, "shed.oil.stage").has["STATUS"] != "" {
		t.Error("what a variation leaves out is not cancelled, or what it adds is")
	}
	undoneNow := readICS(t, ics(t, calendarOf(t, shed(t, struck, variant, undone), "2027-03-04")))
	if undoneNow.event(t, "shed.paint.stage").has["STATUS"] != "" ||
		undoneNow.event(t, "shed.oil.stage").has["STATUS"] != ":CANCELLED" {
		t.Error("what a struck-out variation added is not cancelled")
	}
}

// What is done shows the days on which it was done, and rings no more.
func TestCalendarOfWhatIsDone(t *testing.T) {
	const story = `  - {on: 2027-03-03, finished: {stage: dig, at: 2027-03-02}}
  - {on: 2027-03-03, inspection: {stage: see-dig, outcome: pass}}
  - {on: 2027-03-03, started: {stage: window}}
  - {on: 2027-03-12, finished: {stage: fit, at: 2027-03-10}}
  - {on: 2027-03-12, inspection: {stage: see-all, outcome: pass, at: 2027-03-11 am}}
`
	cal := readICS(t, ics(t, calendarOf(t, shed(t, story), "2027-03-15")))
	holdsToRFC5545(t, cal)
	for uid, want := range map[string]string{
		"shed.dig.stage":      "Done: Dig, trim; and cart away (shed) ;VALUE=DATE:20270301 ",
		"shed.see-dig.notice": "Notice given: Dig seen (shed) ;VALUE=DATE:20270222 ",
		"shed.window.order":   "Ordered: Window (shed) ;VALUE=DATE:20270303 ",
		// passed without a notice: there is none to give any more
		"shed.see-all.notice": "Give notice: Completion (shed) ;VALUE=DATE:20270311 :CANCELLED",
		"shed.see-all.stage":  "Done: Completion (shed) :20270311T080000 ",
	} {
		e := cal.event(t, uid)
		if got := fmt.Sprint(unescape(t, e.has["SUMMARY"]), " ", e.has["DTSTART"], " ",
			e.has["STATUS"]); got != want {
			t.Errorf("%s: got %q, want %q", uid, got, want)
		}
		if len(e.in) > 0 || e.has["TRANSP"] != ":TRANSPARENT" {
			t.Errorf("%s rings, or takes up time", uid)
		}
	}
}

func TestCalendarTwiceIsTheSame(t *testing.T) {
	once := ics(t, calendarOf(t, shed(t), "2027-03-02"))
	if again := ics(t, calendarOf(t, shed(t), "2027-03-02")); once != again {
		t.Error("the same job as at the same day gives two calendars")
	}
	if err := WriteICS(brokenWriter{}, calendarOf(t, shed(t), "2027-03-02")); err == nil {
		t.Error("a calendar that could not be written is no error")
	}
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

// The last day there is can be the last of a date.
func TestCalendarAtTheEndOfTime(t *testing.T) {
	c := &Calendar{Ref: "end", AsAt: schedule.LastDay}
	c.Dates = []jobs.Date{{Kind: jobs.StageDate, Stage: "last",
		Title: "Last", Says: "work", From: schedule.LastDay.AM(), To: schedule.LastDay.End()}}
	e := readICS(t, ics(t, c)).in[0]
	if e.has["DTSTART"] != ";VALUE=DATE:20991231" || e.has["DTEND"] != ";VALUE=DATE:21000101" {
		t.Errorf("from %s to %s", e.has["DTSTART"], e.has["DTEND"])
	}
}

// shownText is what a calendar may hold of a text.
func shownText(text string) string {
	text = strings.ToValidUTF8(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\ufffd")
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r >= 0x7f && r <= 0x9f {
			return -1
		}
		return r
	}, text)
}

// textComesBack writes a text into a calendar and reads it again.
func textComesBack(t testing.TB, text string) {
	t.Helper()
	var b icsText
	b.line("BEGIN", "VCALENDAR")
	b.text("DESCRIPTION", text)
	b.line("END", "VCALENDAR")
	got := unescape(t, readICS(t, b.String()).has["DESCRIPTION"])
	// each octet of a broken character becomes one sign of replacement
	want := shownText(string([]rune(text)))
	if got != want {
		t.Errorf("%q came back as %q", want, got)
	}
}

func TestTextComesBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) { textComesBack(t, rapid.String().Draw(r, "text")) })
}

// Stages that the program named itself, bay by bay, are cancelled too.
func TestCalendarOfUnderpinningStruckOut(t *testing.T) {
	const raised = `  - {on: 2027-03-03, variation: {number: V1, title: Underpin, asked-by: inspector,
     cost: client, time: client, changes: [{underpin: {stage: pin, wall: 4800mm, notice: 1,
       after: dig, before: pour}}]}}
  - {on: 2027-03-03, instructed: {variation: V1}}
`
	bays := 0
	for _, d := range calendarOf(t, shed(t, raised), "2027-03-03").Dates {
		if strings.HasPrefix(d.Stage, "pin-") && !d.Gone {
			bays++
		}
	}
	gone := 0
	struck := shed(t, raised, "  - {on: 2027-03-04, correction: {entry: 5}}\n")
	for _, d := range calendarOf(t, struck, "2027-03-04").Dates {
		if strings.HasPrefix(d.Stage, "pin-") && d.Gone {
			gone++
		}
	}
	if bays < 10 || gone != bays {
		t.Errorf("%d dates of underpinning, %d of them cancelled once it is struck out", bays, gone)
	}
}

// The demonstration's job holds to the standard too, before it begins and when
// it should be done.
func TestCalendarOfTheDemonstration(t *testing.T) {
	j, err := jobs.Demo()
	if err != nil {
		t.Fatal(err)
	}
	for _, asAt := range []string{"2027-01-25", "2027-05-03", "2027-12-25"} {
		c := calendarOf(t, j, asAt)
		cal := readICS(t, ics(t, c))
		holdsToRFC5545(t, cal)
		if len(cal.in) != len(c.Dates) || len(cal.in) < 40 {
			t.Errorf("%d events of %d dates", len(cal.in), len(c.Dates))
		}
	}
}
