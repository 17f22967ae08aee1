package documents

import (
	"strings"
	"testing"
	"time"

	ical "github.com/arran4/golang-ical"

	"putlog/jobs"
	"putlog/schedule"
)

// TestCalendarReadByAnother reads a calendar with a reader that is not ours and
// finds every date in it.
func TestCalendarReadByAnother(t *testing.T) {
	c := calendarOf(t, shed(t), "2027-03-02")
	read, err := ical.ParseCalendar(strings.NewReader(ics(t, c)))
	if err != nil {
		t.Fatal(err)
	}
	events := read.Events()
	if len(events) != len(c.Dates) {
		t.Fatalf("%d events of %d dates", len(events), len(c.Dates))
	}
	rings := 0
	for i, d := range c.Dates {
		e := events[i]
		text := func(name ical.ComponentProperty) string {
			p := e.GetProperty(name)
			if p == nil {
				return ""
			}
			return ical.FromText(p.Value)
		}
		if e.Id() != c.UID(d) || text(ical.ComponentPropertySummary) != c.Summary(d) ||
			!strings.HasPrefix(text(ical.ComponentPropertyDescription), sentence(d.Says)) {
			t.Errorf("%s: %q, %q", e.Id(), text(ical.ComponentPropertySummary),
				text(ical.ComponentPropertyDescription))
		}
		start, end := timesOf(t, e, d)
		from := d.From.Day().String() + [...]string{" 08:00", " 13:00"}[d.From.Half()]
		to := d.To.Last().Day().String() + [...]string{" 12:00", " 17:00"}[d.To.Last().Half()]
		if start != from || end != to {
			t.Errorf("%s: %s to %s, want %s to %s", e.Id(), start, end, from, to)
		}
		rings += len(e.Alarms())
	}
	if rings != 2 { // the window to order, notice of completion
		t.Errorf("%d alarms", rings)
	}
}

// timesOf gives when the reader says that an event is.
func timesOf(t *testing.T, e *ical.VEvent, d jobs.Date) (start, end string) {
	t.Helper()
	whole := d.From.Half() == schedule.AM && d.To.Half() == schedule.AM
	from, err := e.GetStartAt()
	to, err2 := e.GetEndAt()
	if whole {
		from, err = e.GetAllDayStartAt()
		to, err2 = e.GetAllDayEndAt()
		to = to.Add(-7 * time.Hour) // the day before, at five in the afternoon
		from = from.Add(8 * time.Hour)
	}
	if err != nil || err2 != nil {
		t.Fatalf("%s: %v, %v", e.Id(), err, err2)
	}
	return from.Format("2006-01-02 15:04"), to.Format("2006-01-02 15:04")
}
