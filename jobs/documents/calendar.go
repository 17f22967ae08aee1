package documents

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"putlog/jobs"
	"putlog/schedule"
)

// Calendar is the dates of a job for a calendar file.
type Calendar struct {
	Ref   string
	AsAt  schedule.Day
	Dates []jobs.Date
	// Sequence grows with every entry written and every day gone by, so that a
	// later calendar takes the place of an earlier one (RFC 5545, 3.8.7.4).
	Sequence int
}

// CalendarOf makes the calendar of a programme.
func CalendarOf(p *jobs.Programme) (*Calendar, error) {
	c := &Calendar{Ref: p.Job.Ref, AsAt: p.AsAt(), Sequence: int(p.AsAt())}
	for _, e := range p.Job.Entries {
		if e.On <= p.AsAt() {
			c.Sequence++ // one struck out too: striking out may not take the number back
		}
	}
	var err error
	c.Dates, err = p.Dates()
	return c, err
}

// UID names a date for good: job, stage and kind, with dots between, which
// neither a job nor a stage has in its name.
func (c *Calendar) UID(d jobs.Date) string {
	if d.Kind == jobs.FinishDate {
		return c.Ref + ".finish@putlog"
	}
	return c.Ref + "." + d.Stage + "." + d.Kind.String() + "@putlog"
}

// Summary is what a calendar shows of a date, with the job's reference, as one
// calendar holds several jobs.
func (c *Calendar) Summary(d jobs.Date) string {
	done := d.State == schedule.Finished
	says := d.Title
	switch {
	case d.Kind == jobs.NoticeDate && done:
		says = "Notice given: " + says
	case d.Kind == jobs.NoticeDate:
		says = "Give notice: " + says
	case d.Kind == jobs.OrderDate && done:
		says = "Ordered: " + says
	case d.Kind == jobs.OrderDate:
		says = "Order: " + says
	case d.Kind == jobs.FinishDate && done:
		says = "Finished: " + says
	case d.Kind == jobs.FinishDate:
		says = "Finish: " + says
	case done:
		says = "Done: " + says
	}
	return says + " (" + c.Ref + ")"
}

// WriteICS writes a calendar as RFC 5545 has it. It names no method and no time
// zone: it is a snapshot as at its date, in the time of the place.
func WriteICS(w io.Writer, c *Calendar) error {
	var b icsText
	b.line("BEGIN", "VCALENDAR")
	b.line("VERSION", "2.0")
	b.line("PRODID", "-//putlog//dates//EN")
	b.line("CALSCALE", "GREGORIAN")
	for _, d := range c.Dates {
		b.event(c, d)
	}
	b.line("END", "VCALENDAR")
	_, err := w.Write(b.Bytes())
	return err
}

// icsText is the text of a calendar file.
type icsText struct{ bytes.Buffer }

// fullLine is the most octets that a line may have, its end apart (RFC 5545,
// 3.1).
const fullLine = 75

// line writes one content line, cut between characters where it is too long; a
// further line begins with a blank that is not part of it.
func (b *icsText) line(name, value string) {
	room := fullLine
	for _, r := range name + ":" + value {
		size := utf8.RuneLen(r)
		if size > room {
			b.WriteString("\r\n ")
			room = fullLine - 1
		}
		b.WriteRune(r)
		room -= size
	}
	b.WriteString("\r\n")
}

// text writes a line whose value is a text.
func (b *icsText) text(name, value string) { b.line(name, icsEscape(value)) }

// icsEscape writes a text as a value of type TEXT (RFC 5545, 3.3.11). Control
// characters, which no calendar may hold, are left out.
func icsEscape(text string) string {
	var out strings.Builder
	for _, r := range strings.ReplaceAll(text, "\r\n", "\n") {
		switch {
		case r == '\\' || r == ';' || r == ',':
			out.WriteByte('\\')
			out.WriteRune(r)
		case r == '\n' || r == '\r':
			out.WriteString(`\n`)
		case r < ' ' && r != '\t', r >= 0x7f && r <= 0x9f:
		default:
			out.WriteRune(r)
		}
	}
	return out.String()
}

// event writes one date.
func (b *icsText) event(c *Calendar, d jobs.Date) {
	b.line("BEGIN", "VEVENT")
	b.line("UID", c.UID(d))
	b.line("DTSTAMP", icsDay(c.AsAt)+"T000000Z")
	b.line("SEQUENCE", fmt.Sprint(c.Sequence))
	says := sentence(d.Says)
	if d.From.Half() == schedule.AM && d.To.Half() == schedule.AM { // whole days
		b.line("DTSTART;VALUE=DATE", icsDay(d.From.Day()))
		b.line("DTEND;VALUE=DATE", icsDay(d.To.Day())) // the day after the last
	} else {
		b.line("DTSTART", icsDay(d.From.Day())+halfStarts[d.From.Half()])
		b.line("DTEND", icsDay(d.To.Last().Day())+halfEnds[d.To.Last().Half()])
		says += " Counted in half-days: 08:00 to 12:00 stands for the morning, " +
			"13:00 to 17:00 for the afternoon."
	}
	b.text("SUMMARY", c.Summary(d))
	b.text("DESCRIPTION", says+" As at "+c.AsAt.Long()+".")
	b.line("CATEGORIES", category(d))
	if d.Gone {
		b.line("STATUS", "CANCELLED")
	}
	if !busy(d) {
		b.line("TRANSP", "TRANSPARENT")
	}
	if d.Due() {
		b.alarm(c.Summary(d), d.From.Day() == c.AsAt)
	}
	b.line("END", "VEVENT")
}

// alarm rings at eight in the morning of the day before or, where that has gone
// by, of the day itself: a date begins at midnight.
func (b *icsText) alarm(says string, today bool) {
	at, when := "-PT16H", "Tomorrow at the latest. "
	if today {
		at, when = "PT8H", "Today. "
	}
	b.line("BEGIN", "VALARM")
	b.line("ACTION", "DISPLAY")
	b.line("TRIGGER", at)
	b.text("DESCRIPTION", when+says)
	b.line("END", "VALARM")
}

// sentence makes a sentence of words.
func sentence(words string) string {
	first, size := utf8.DecodeRuneInString(words)
	return strings.ToUpper(string(first)) + strings.TrimRight(words[size:], ".") + "."
}

// Half-days as times of the place: no zone, so the same on every clock.
var (
	halfStarts = [...]string{schedule.AM: "T080000", schedule.PM: "T130000"}
	halfEnds   = [...]string{schedule.AM: "T120000", schedule.PM: "T170000"}
)

// icsDay gives a date as 20270301.
func icsDay(d schedule.Day) string { return strings.ReplaceAll(d.String(), "-", "") }

func category(d jobs.Date) string {
	if d.Kind == jobs.StageDate {
		return strings.ToUpper(d.Of.String())
	}
	return strings.ToUpper(d.Kind.String())
}

// busy says whether somebody is needed on site: for work and inspections that
// are still to come.
func busy(d jobs.Date) bool {
	return d.Kind == jobs.StageDate && !d.Gone && d.State != schedule.Finished &&
		(d.Of == schedule.KindWork || d.Of == schedule.KindInspection)
}
