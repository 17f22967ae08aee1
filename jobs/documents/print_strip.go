package documents

import (
	"slices"
	"strconv"
	"strings"

	"putlog/schedule"
)

// dateStrip is the strip of dates over a block of stages. Its columns are weeks
// or, where these are too narrow for their figures, months.
type dateStrip struct {
	pic      Picture
	from, to schedule.Day // whole weeks, a Monday to a Sunday, or whole months
	x, cell  float64      // where it begins, and the width of half a day
	weeks    int          // in a column; 0 where the columns are months
	months   int          // in a column; 0 where the columns are weeks
}

// Room over a strip, in mm.
const (
	columnIn   = 0.5 // of a name or figure, from where its column begins
	figureRoom = 7.0 // of a day's figure or a year
	nameRoom   = 5.5 // of a month's short name
	letterRoom = 2.7 // of its first letter

	fewestWeeks = 4 // in a month
)

// at is the place of an instant.
func (d dateStrip) at(i schedule.Instant) float64 {
	return d.x + d.cell*float64(i-d.from.AM())
}

// stripOver is the strip for a block of stages: all of the picture's weeks, or
// those that the stages need. Cells are as wide as lets it fit.
func stripOver(pic Picture, rows []stageRow, whole bool) dateStrip {
	d := dateStrip{pic: pic, from: pic.From, to: pic.To, x: sideMargin + namesWidth}
	first, last := usedCells(rows)
	if !whole && last >= 0 {
		const week = 14 // half-days
		d.from = pic.From + schedule.Day(first/week*7)
		d.to = pic.From + schedule.Day(last/week*7) + 6
	}
	// the month in which the last stage ends has a Monday to be named over
	if used := pic.From + schedule.Day(last/2); month(used) > month(d.to-6) &&
		d.to+7 <= schedule.LastDay {
		d.to += 7
	}
	d.fit()
	return d
}

// usedCells are the first and the last half-day on which something is drawn; the
// last is -1 where nothing is.
func usedCells(rows []stageRow) (first, last int) {
	first, last = len(rows[0].bar.Cells), -1
	for _, row := range rows {
		for _, cells := range [...]string{row.bar.Cells, row.bar.Before} {
			end := strings.TrimRight(cells, " ")
			if end == "" {
				continue
			}
			last = max(last, len(end)-1)
			first = min(first, len(cells)-len(strings.TrimLeft(cells, " ")))
		}
	}
	return first, last
}

// fit chooses the columns, and the width of a cell.
func (d *dateStrip) fit() {
	week := d.widen() * 14
	for weeks := 1; weeks <= 2; weeks++ {
		if week*float64(weeks) >= figureRoom {
			d.weeks = weeks
			return
		}
	}
	_, _, n := d.from.Date()
	d.from -= schedule.Day(n - 1)
	for d.to < schedule.LastDay && month(d.to+1) == month(d.to) {
		d.to++
	}
	room := d.widen() * 14 * fewestWeeks
	if d.months = 1; room >= letterRoom {
		return
	}
	for _, d.months = range [...]int{3, 6, 12, 24, 48, 96} {
		if room*float64(d.months) >= figureRoom {
			return
		}
	}
}

// widen makes the cells as wide as lets the strip fit.
func (d *dateStrip) widen() float64 {
	d.cell = min(widestCell, stripWidth/float64(2*(d.to-d.from+1)))
	return d.cell
}

// next is the Monday after a day or, where the columns are months, the first of
// the month after it.
func (d dateStrip) next(day schedule.Day) schedule.Day {
	if d.months == 0 {
		return day + 7 - schedule.Day(day.Weekday())
	}
	_, _, n := day.Date()
	next := day - schedule.Day(n) + 32
	_, _, over := next.Date()
	return next - schedule.Day(over-1)
}

// month numbers the months of all years.
func month(day schedule.Day) int {
	year, month, _ := day.Date()
	return 12*year + int(month) - 1
}

// stripColumn is what stands over a day of a strip.
type stripColumn struct {
	day    schedule.Day
	name   string // of the month that begins with it; "" for none
	figure string // the day of the month or, over columns of months, the year
	lined  bool   // a line leads down from it
}

// columns names every month over its first Monday or its first day, and gives
// the Mondays or the years their figures, in the type set.
func (p *sheet) columns(d dateStrip) []stripColumn {
	var all []stripColumn
	named, week := -1, 0
	for day := d.from; day <= d.to; day = d.next(day) {
		year, _, n := day.Date()
		c := stripColumn{day: day}
		if m := month(day); m != named && (named < 0 || m-named >= d.months) {
			named, c.name = m, day.Short()[len(day.Short())-len("Jan"):]
		}
		switch {
		case d.weeks > 0 && week%d.weeks == 0:
			c.figure, c.lined = strconv.Itoa(n), true
		case d.months > 0 && c.name != "":
			c.figure, c.lined = strconv.Itoa(year), true
		}
		if c.name != "" || c.lined {
			all = append(all, c)
		}
		week++
	}
	p.fitColumns(d, all)
	return all
}

// fitColumns gives each name the form that has room up to the next: with the
// year, short, or its letter; and leaves out the figures that have none.
func (p *sheet) fitColumns(d dateStrip, all []stripColumn) {
	right := d.at(d.to.End())
	name, figure := right, right // where the next one stands
	for i, c := range slices.Backward(all) {
		x := d.at(c.day.AM())
		if c.name != "" {
			year, _, _ := c.day.Date()
			forms := []string{c.name + " " + strconv.Itoa(year), c.name, c.name[:1]}
			all[i].name = p.firstFitting(forms[d.cut():], name-x)
			name = x
		}
		again := d.months > 0 && i > 0 && month(all[i-1].day)/12 == month(c.day)/12
		if again || c.figure != "" && p.firstFitting([]string{c.figure}, figure-x) == "" {
			all[i].figure = ""
		}
		if all[i].figure != "" {
			figure = x
		}
	}
}

// cut is how far the names are cut: the year stands below columns of months,
// and of months too narrow for a name all have their letter.
func (d dateStrip) cut() int {
	switch {
	case d.months == 0:
		return 0
	case d.months == 1 && d.cell*14*fewestWeeks < nameRoom:
		return 2
	}
	return 1
}

// firstFitting is the first of some texts for which there is room in a column.
func (p *sheet) firstFitting(texts []string, room float64) string {
	for _, text := range texts {
		if columnIn+p.pdf.GetStringWidth(text) <= room {
			return text
		}
	}
	return ""
}

// stripHead writes the dates, months over Mondays, and the lines that lead the
// eye down the block.
func (p *sheet) stripHead(d dateStrip, height float64, asAt schedule.Day) {
	p.set("", smallSize)
	right, foot := d.at(d.to.End()), p.y+stripHead+height
	const figures = 3.9 // below the names
	lines := 4.2
	if d.months > 0 { // a year may be wider than its column
		lines = stripHead - 0.8
	}
	for _, c := range p.columns(d) {
		x := d.at(c.day.AM())
		if c.name != "" {
			p.at(x+columnIn, p.y, c.name)
		}
		if c.figure != "" {
			p.at(x+columnIn, p.y+figures, c.figure)
		}
		if c.name != "" && c.day > d.from {
			p.line(x, p.y, x, p.y+figures, 0.1, rule)
		}
		if c.lined {
			p.line(x, p.y+lines, x, foot, 0.1, faint)
		}
	}
	p.line(right, p.y+lines, right, foot, 0.1, faint)
	if asAt >= d.from && asAt <= d.to {
		p.ink(grey)
		p.at(sideMargin, p.y+figures, "Upright dashes: "+asAt.Long())
		p.ink(black)
		p.pdf.SetDashPattern([]float64{0.8, 0.8}, 0)
		p.line(d.at(asAt.AM()), p.y+stripHead-1, d.at(asAt.AM()), foot, 0.25, black)
		p.pdf.SetDashPattern(nil, 0)
	}
	p.y += stripHead
	p.line(sideMargin, p.y, right, p.y, 0.3, black)
}
