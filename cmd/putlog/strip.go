package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/fatih/color"

	"putlog/jobs"
	"putlog/schedule"
)

// The strip is the programme as a picture: a row a stage, a cell for each
// half-day, or for as many as the screen needs, along a strip of dates. Work is
// solid, waits dotted, deliveries dashed, an inspection a gate; days that the
// stage's calendar does not work stay blank. A line under its name says that a
// stage drives the finish.
type strip struct {
	from   schedule.Instant // a Monday morning
	per    schedule.Instant // half-days to a cell
	cells  int
	label  int // columns for names
	colour bool
}

// cellSizes are the half-days that a cell may stand for.
var cellSizes = []schedule.Instant{1, 2, 4, 7, 14, 28, 56, 112, 224, 448}

var marks = map[schedule.Kind]rune{
	schedule.KindWork: '█', schedule.KindWait: '·', schedule.KindDelivery: '-', schedule.KindInspection: '╫',
}

func (a *app) newStrip(p *jobs.Programme) strip {
	first := p.FirstStart().Day()
	s := strip{from: (first - schedule.Day(first.Weekday())).AM(), colour: a.colour()}
	for _, r := range p.Rows() {
		s.label = max(s.label, len([]rune(r.Name())))
	}
	s.label = min(s.label+1, a.width()/3)
	room := a.width() - s.label - 2
	for _, s.per = range cellSizes {
		if s.cells = int((p.Finish-s.from+s.per-1)/s.per) + 1; s.cells <= room {
			break
		}
	}
	s.cells = min(s.cells, room)
	return s
}

// colour says whether the screen may be asked to underline.
func (a *app) colour() bool {
	_, file := a.file()
	return file && a.screen == 0 && a.width() > 0 && os.Getenv("NO_COLOR") == ""
}

func (a *app) printStrip(p *jobs.Programme) {
	s := a.newStrip(p)
	months, days := s.dates()
	pad := strings.Repeat(" ", s.label+2)
	fmt.Fprintf(a.out, "%s%s\n%s%s\n", pad, months, pad, days)
	underline := color.New(color.Underline)
	if s.colour {
		underline.EnableColor()
	}
	for _, r := range p.Rows() {
		name := fit(clean(r.Name()), s.label)
		gap := strings.Repeat(" ", s.label-len([]rune(name)))
		switch {
		case r.Drives && s.colour:
			name = underline.Sprint(name) + gap
		case r.Drives:
			name += strings.ReplaceAll(gap, " ", "_")
		default:
			name += gap
		}
		fmt.Fprintf(a.out, "%s  %s\n", name, strings.TrimRight(s.row(p, r), " "))
	}
	each := map[schedule.Instant]string{1: "half a day", 2: "a day", 4: "two days", 7: "half a week",
		14: "a week"}[s.per]
	if each == "" {
		each = fmt.Sprintf("%d weeks", s.per/14)
	}
	a.say("", "█ work  · wait  - delivery  ╫ inspection; a line under the name: it drives the finish. "+
		"Each cell is "+each+".")
}

// row draws one stage.
func (s strip) row(p *jobs.Programme, r jobs.Row) string {
	calendar := p.Calendar(r.Keeps)
	var b strings.Builder
	for c := range s.cells {
		from := s.from + schedule.Instant(c)*s.per
		from, to := max(from, r.Start), min(from+s.per, r.Finish)
		switch {
		case to <= from || calendar.Count(from, to) == 0:
			b.WriteByte(' ')
		default:
			b.WriteRune(marks[r.Kind])
		}
	}
	return b.String()
}

// dates draws the two lines above the strip: months, and the day of the month
// of each Monday for which there is room.
func (s strip) dates() (months, days string) {
	line1, line2 := make([]rune, s.cells+8), make([]rune, s.cells+8)
	for i := range line1 {
		line1[i], line2[i] = ' ', ' '
	}
	shown, free1, free2 := 0, 0, 0
	for c := range s.cells {
		day := (s.from + schedule.Instant(c)*s.per).Day()
		y, m, d := day.Date()
		if m != shown && c >= free1 {
			name := strings.Fields(day.Short())[2]
			if shown == 0 || m == 1 {
				name += fmt.Sprintf(" %d", y)
			}
			shown, free1 = m, c+len(copyInto(line1[c:], name))+1
		}
		if at := s.from + schedule.Instant(c)*s.per; day.Weekday() == schedule.Monday &&
			at.Half() == schedule.AM && c >= free2 {
			free2 = c + len(copyInto(line2[c:], fmt.Sprint(d))) + 1
		}
	}
	return strings.TrimRight(string(line1), " "), strings.TrimRight(string(line2), " ")
}

func copyInto(line []rune, text string) string {
	copy(line, []rune(text))
	return text
}

// fit cuts a text to so many columns.
func fit(text string, columns int) string {
	if r := []rune(text); len(r) > columns {
		return string(r[:columns-1]) + "…"
	}
	return text
}
