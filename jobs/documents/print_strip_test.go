package documents

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
)

// autumn is a picture from Mon 28 Sep 2026 to Sun 17 Jan 2027 in several pieces,
// of stages that each take all of it.
func autumn(t testing.TB) *Statement {
	t.Helper()
	from, err := schedule.ParseDay("2026-09-28")
	if err != nil {
		t.Fatal(err)
	}
	const weeks = 16
	s := &Statement{AsAt: from + 10, Picture: Picture{From: from, To: from + 7*weeks - 1}}
	for i := range 40 {
		s.Picture.Bars = append(s.Picture.Bars, Bar{Name: "Stage " + strconv.Itoa(i),
			Start: from.AM(), End: s.Picture.To.End(), Cells: strings.Repeat("#", 14*weeks)})
	}
	return s
}

// TestPrintNamesOctober: over the weeks of 28 Sep to 26 Oct stood "Sep 2026" and
// then "Nov 2026", so that a stage of 14 Oct read as one of September.
func TestPrintNamesOctober(t *testing.T) {
	named := regexp.MustCompile(`^(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)( \d{4})?$`)
	pieces := 0
	for i, page := range printed(t, autumn(t)) {
		if !strings.Contains(page.all(), "Stage ") {
			continue
		}
		pieces++
		var names, days []string
		for _, text := range page.texts {
			if named.MatchString(text.text) {
				names = append(names, text.text)
			} else if _, err := strconv.Atoi(text.text); err == nil {
				days = append(days, text.text)
			}
		}
		if got := strings.Join(names, "|"); got != "Sep|Oct 2026|Nov 2026|Dec 2026|Jan 2027" {
			t.Errorf("page %d: over %s stands %s", i+1, days, got)
		}
		if got := strings.Join(days[:6], " "); got != "28 5 12 19 26 2" {
			t.Errorf("page %d: the Mondays begin %s", i+1, got)
		}
	}
	if pieces < 2 {
		t.Errorf("the picture is in %d piece", pieces)
	}
}

// TestPrintSaysTheDashesWhereTheyAre: the date of the upright dashes is said
// over a piece in which they are drawn, and nowhere else.
func TestPrintSaysTheDashesWhereTheyAre(t *testing.T) {
	s := autumn(t)
	for i := range s.Picture.Bars[10:] { // so the second piece begins after the day
		bar := &s.Picture.Bars[10+i]
		bar.Start += 14 * 3
		bar.Cells = strings.Repeat(" ", 14*3) + bar.Cells[14*3:]
	}
	const says = "Upright dashes: Thu 8 Oct 2026"
	pages := printed(t, s)
	if !strings.Contains(pages[0].all(), says) {
		t.Errorf("the first piece does not say %q", says)
	}
	if second := pages[1].all(); !strings.Contains(second, "The programme, continued") ||
		strings.Contains(strings.ToLower(second), "dashes") {
		t.Errorf("the second piece, without dashes, speaks of them: %q", second)
	}
	s.AsAt = s.Picture.To + 30
	if all := strings.ToLower(allPages(printed(t, s))); strings.Contains(all, "dashes") {
		t.Error("dashes are spoken of and none is drawn")
	}
}

// TestEveryMonthIsNamed: over any strip every month that has a Monday on it is
// named, from where it begins; no name stands in another or off the strip; and
// the year can be told. Only where even a letter has no room for a
// month are columns of several months named instead.
func TestEveryMonthIsNamed(t *testing.T) {
	p := newSheet(&Statement{})
	rapid.Check(t, func(t *rapid.T) {
		p.set("", smallSize)
		monday := schedule.Day(rapid.IntRange(1, 2000).Draw(t, "week")*7 + 3) // 2000-01-03 was one
		weeks := rapid.IntRange(1, rapid.SampledFrom([]int{20, 60, 160, 2000}).Draw(t, "most")).
			Draw(t, "weeks")
		pic := Picture{From: monday, To: monday + schedule.Day(7*weeks) - 1}
		from := rapid.IntRange(0, 14*weeks-1).Draw(t, "from")
		to := rapid.IntRange(from+1, 14*weeks).Draw(t, "to")
		row := stageRow{bar: &Bar{Cells: strings.Repeat(" ", from) + strings.Repeat("#", to-from) +
			strings.Repeat(" ", 14*weeks-to)}}
		d := stripOver(pic, []stageRow{row}, rapid.Bool().Draw(t, "whole"))
		cols := p.columns(d)
		if d.months <= 1 {
			checkMonths(t, d, cols)
			if used := monday + schedule.Day((to-1)/2); month(used) > month(cols[len(cols)-1].day) {
				t.Fatalf("a stage runs to %s; the last Monday named or figured is %s", used.Long(),
					cols[len(cols)-1].day.Long())
			}
		}
		checkRoom(t, p, d, cols)
	})
}

// checkMonths looks for the name of every month over its first Monday or, in
// columns of months, its first day.
func checkMonths(t *rapid.T, d dateStrip, cols []stripColumn) {
	last := ""
	step := schedule.Day(7)
	if d.months > 0 {
		step = 1
	}
	for day := d.from; day <= d.to; day += step {
		month := day.Short()[len(day.Short())-len("Jan"):]
		if month == last {
			continue
		}
		last = month
		found := false
		for _, c := range cols {
			found = found || c.day == day && c.name != "" && strings.HasPrefix(month, c.name[:1]) &&
				(len(c.name) < len(month) || strings.HasPrefix(c.name, month))
		}
		if !found {
			t.Fatalf("%s to %s: %s is not named: %+v", d.from.Long(), d.to.Long(), month, cols)
		}
	}
}

// checkRoom holds names and figures apart and on the strip, and looks for a year.
func checkRoom(t *rapid.T, p *sheet, d dateStrip, cols []stripColumn) {
	names, figures, year := d.x, d.x, false
	for _, c := range cols {
		x := d.at(c.day.AM())
		if c.name != "" && x < names-1e-9 || c.figure != "" && x < figures-1e-9 {
			t.Fatalf("%s stands in what is before it: %+v", c.day.Long(), cols)
		}
		if c.name != "" {
			names = x + columnIn + p.pdf.GetStringWidth(c.name)
		}
		if c.figure != "" {
			figures = x + columnIn + p.pdf.GetStringWidth(c.figure)
		}
		year = year || len(c.name) == len("Jan 2027") || len(c.figure) == len("2027")
	}
	if right := d.at(d.to.End()) + 1e-9; names > right || figures > right {
		t.Fatalf("a name or figure runs off the strip: %+v", cols)
	}
	if !year {
		t.Fatalf("%s to %s: no year is told: %+v", d.from.Long(), d.to.Long(), cols)
	}
}
