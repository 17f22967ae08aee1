package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/fatih/color"
	"github.com/olekukonko/tablewriter/pkg/twwidth"

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
	room   int // columns for cells and dates
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
		s.label = max(s.label, twwidth.Width(clean(r.Name())))
	}
	s.label = min(s.label+1, a.width()/3)
	s.room = a.width() - s.label - 2
	for _, s.per = range cellSizes {
		if s.cells = int((p.Finish-s.from+s.per-1)/s.per) + 1; s.cells <= s.room {
			break
		}
	}
	s.cells = min(s.cells, s.room)
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
		name := fit(clean(r.Name()), s.label-1) // a gap shows the line without colour too
		gap := strings.Repeat(" ", s.label-twwidth.Width(name))
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
// of each Monday, where there is room for it.
func (s strip) dates() (months, days string) {
	var line1, line2 strings.Builder
	shown := 0
	for c := range s.cells {
		day := (s.from + schedule.Instant(c)*s.per).Day()
		y, m, d := day.Date()
		if m != shown {
			name := strings.Fields(day.Short())[2]
			if shown == 0 || m == 1 {
				name += fmt.Sprintf(" %d", y)
			}
			if s.mark(&line1, c, name) {
				shown = m
			}
		}
		if at := s.from + schedule.Instant(c)*s.per; day.Weekday() == schedule.Monday &&
			at.Half() == schedule.AM {
			s.mark(&line2, c, fmt.Sprint(d))
		}
	}
	return line1.String(), line2.String()
}

// mark writes a text of ASCII above a cell if there is room for it, behind what
// stands there already and before the edge of the screen.
func (s strip) mark(line *strings.Builder, cell int, text string) bool {
	behind := line.Len()
	if behind > 0 {
		behind++
	}
	if cell < behind || cell+len(text) > s.room {
		return false
	}
	line.WriteString(strings.Repeat(" ", cell-line.Len()) + text)
	return true
}

// fit cuts a text to so many columns.
func fit(text string, columns int) string {
	if twwidth.Width(text) > columns {
		return cutWord(text, columns-1)[0] + "…"
	}
	return text
}
