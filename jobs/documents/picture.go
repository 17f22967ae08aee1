package documents

import (
	"fmt"
	"strings"

	"putlog/schedule"
)

// The programme as a picture: a strip of dates cut into bands of whole weeks,
// each as wide as a phone; in a band one block for each stage that falls in it,
// its name and dates above its own strip of half-day cells. Everything is drawn
// in whole units of the band's width.

const (
	bandWidth  = 336 // units: about the points of a phone's width
	boldSize   = 14  // letters of a name, 12 high and bold; its lines stand nameStep apart
	nameStep   = 15
	dateSize   = 11 // letters of its dates
	dateStep   = 14
	stripHigh  = 12
	beforeDeep = 17 // the line of the accepted programme, under the cells
	rowGap     = 11
	axisHigh   = 22
	partHigh   = 450 // a drawing is no higher: four of them fill a page of A4

	// gate is the mark of a hold point, from its left post: two posts as high as
	// the strip and a little more, two rails across.
	gate = "-1v14m5-14v14m-7-5h9m-9-5h9"
	post = "-1v14"
)

// drawnBand is a few weeks of the picture, or a part of their stages.
type drawnBand struct {
	ID          string
	Title, Desc string
	Height      int
	Weeks       []weekMark
	Grid        string // path: a tick in each strip where a week begins
	AsAt        int    // where the as-at date stands; -1 when it is not in the band
	Rows        []drawnRow
}

// Width is the width of every band.
func (drawnBand) Width() int { return bandWidth }

// weekMark names the Monday on which a week begins.
type weekMark struct {
	X     int
	Label string
}

// drawnRow is one stage in a band.
type drawnRow struct {
	Y      int // of its top in the band
	High   int
	Lines  []drawnLine
	StripY int    // of the top of its strip, from its own top
	Class  string // of its cells
	Now    string // path of its cells, from the top left of its strip
	Gates  string // path of its hold points
	Then   string // path of the line that shows where it stood
	says   string // all of it in words
}

// drawnLine is a line of text above a strip.
type drawnLine struct {
	Y      int // from the top of its row
	Text   string
	Class  string
	Drives bool
}

// drawing is what goes into a picture.
type drawing struct {
	Picture
	asAt     schedule.Day
	accepted bool
	notes    []string // said behind the dates of each bar; "" for nothing, nil for none
}

// bandWeeks is how many weeks stand in one band.
func (p Picture) bandWeeks() int {
	switch weeks := int(p.To-p.From+1) / 7; {
	case weeks <= 4:
		return max(weeks, 1)
	case weeks <= 26:
		return 4
	}
	return 8
}

// bands draws the picture. Weeks in which nothing falls are left out.
func (d drawing) bands() []drawnBand {
	var all []drawnBand
	weeks := d.bandWeeks()
	step := schedule.Day(7 * weeks)
	for from := d.From; from <= d.To; from += step {
		to := min(from+step-1, d.To)
		rows := d.rows(from, to, bandWidth/(14*weeks))
		parts := d.axis(from, to, bandWidth/(14*weeks)).parts(rows)
		for i := range parts {
			parts[i].ID = fmt.Sprintf("weeks-%d", len(all)+1)
			all = append(all, parts[i])
		}
	}
	return all
}

// axis is a band without rows: its title and the dates above its strips.
func (d drawing) axis(from, to schedule.Day, cell int) drawnBand {
	b := drawnBand{Title: dayOfMonth(from) + " to " + dayOfMonth(to) + " " + to.String()[:4], AsAt: -1}
	if d.asAt >= from && d.asAt <= to {
		b.AsAt = cell * 2 * int(d.asAt-from)
	}
	every := 1
	if 14*cell < 56 { // a date needs so much room
		every = 2
	}
	month := ""
	for week := 0; from+schedule.Day(7*week) <= to; week++ {
		monday := from + schedule.Day(7*week)
		b.Grid += fmt.Sprintf("M%d 0v%d", 14*cell*week, beforeDeep)
		_, of, _ := strings.Cut(dayOfMonth(monday), " ")
		// a month that begins with the last week is named though it is the odd one
		if week%every == 0 || of != month && monday+7 > to {
			b.Weeks = append(b.Weeks, weekMark{14 * cell * week, dayOfMonth(monday)})
			month = of
		}
	}
	return b
}

// dayOfMonth gives "8 Feb".
func dayOfMonth(d schedule.Day) string {
	_, short, _ := strings.Cut(d.Short(), " ")
	return short
}

// parts puts rows into as few drawings with the axis of b as their height lets,
// about as many into each.
func (b drawnBand) parts(rows []drawnRow) []drawnBand {
	var all []drawnBand
	for starts := evenStarts(rows); len(starts) > 1; starts = starts[1:] {
		part := b
		part.Rows, part.Height = rows[starts[0]:starts[1]], axisHigh
		var told []string
		for i := range part.Rows {
			part.Rows[i].Y = part.Height
			part.Height += part.Rows[i].High
			told = append(told, part.Rows[i].says)
		}
		part.Desc = "Each stage on a strip of half-days. " + strings.Join(told, ". ") + "."
		all = append(all, part)
	}
	for i := range all {
		if len(all) > 1 {
			all[i].Title += fmt.Sprintf(" (%d of %d)", i+1, len(all))
		}
	}
	return all
}

// evenStarts says with which row each drawing starts, and where the last ends:
// as many as must be, and as even as can be.
func evenStarts(rows []drawnRow) []int {
	const most = partHigh - axisHigh
	starts := partStarts(rows, most)
	for room := most - dateStep; room > 0; room -= dateStep {
		tighter := partStarts(rows, room)
		if len(tighter) > len(starts) {
			break
		}
		starts = tighter
	}
	return starts
}

// partStarts fills drawings of a height one after the other, a row at least in
// each.
func partStarts(rows []drawnRow, room int) []int {
	var starts []int
	for i, left := 0, 0; i < len(rows); i++ {
		if i == 0 || rows[i].High > left {
			starts, left = append(starts, i), room
		}
		left -= rows[i].High
	}
	return append(starts, len(rows))
}

// rows draws the stages that fall in a stretch of days.
func (d drawing) rows(from, to schedule.Day, cell int) []drawnRow {
	var all []drawnRow
	for i, bar := range d.Bars {
		if !bar.fallsIn(from, to) {
			continue
		}
		row := d.row(i)
		row.draw(bar, cell, int(from-d.From)*2, int(to-d.From+1)*2)
		row.mark(bar, cell, from, to)
		all = append(all, row)
	}
	return all
}

// fallsIn says whether the stage touches a stretch of days. One of no length
// lies in the half-day that ends there.
func (b Bar) fallsIn(from, to schedule.Day) bool {
	start := b.Start
	if start == b.End {
		start--
	}
	return start < to.End() && b.End > from.AM()
}

// row sets the words of a bar and makes room for its strip.
func (d drawing) row(i int) drawnRow {
	bar := d.Bars[i]
	row := drawnRow{Class: "work"}
	switch bar.Kind {
	case schedule.KindWait:
		row.Class = "wait"
	case schedule.KindDelivery:
		row.Class = "delivery"
	}
	y := 0
	for _, text := range wrapText(bar.Name, boldSize, bandWidth) {
		y += nameStep
		row.Lines = append(row.Lines, drawnLine{y - 4, text, "name", bar.Drives})
	}
	now, then := d.nowWords(i), d.thenWords(i)
	for _, words := range [...]string{now, then} {
		for _, text := range wrapText(words, dateSize, bandWidth) {
			y += dateStep
			row.Lines = append(row.Lines, drawnLine{y - 3, text, "dates", false})
		}
	}
	row.StripY, row.High = y+2, y+2+beforeDeep+rowGap
	row.says = bar.Name + ": " + d.dates(i)
	return row
}

// dates says in words what the strip of a bar shows.
func (d drawing) dates(i int) string {
	said := d.nowWords(i)
	if then := d.thenWords(i); then != "" {
		said += "; " + then
	}
	return said
}

// nowWords says when a stage is and how it stands.
func (d drawing) nowWords(i int) string {
	bar := d.Bars[i]
	said := spanWords(bar.Start, bar.End)
	switch bar.State {
	case schedule.Finished:
		said = "done " + said
	case schedule.Started:
		said = "under way, " + said
	}
	if d.accepted && bar.BeforeEnd == 0 {
		said += "; not in the agreed programme"
	}
	if bar.Drives {
		said += "; drives the finish"
	}
	if d.notes != nil && d.notes[i] != "" {
		said += "; " + d.notes[i]
	}
	return said
}

// thenWords says where a stage stood in the accepted programme, when that was
// elsewhere.
func (d drawing) thenWords(i int) string {
	bar := d.Bars[i]
	if bar.BeforeEnd == 0 || bar.BeforeStart == bar.Start && bar.BeforeEnd == bar.End {
		return ""
	}
	return "was " + spanWords(bar.BeforeStart, bar.BeforeEnd)
}

// draw fills the strip with the cells from one half-day of the picture to
// another. Cells too narrow for a joint are drawn without, and a wait or a
// delivery with one dot or dash a day.
func (r *drawnRow) draw(bar Bar, cell, from, to int) {
	gap, step := 1, cell
	narrow := cell < 6
	if narrow {
		gap, step = 0, 2*cell
	}
	var now, gates, then strings.Builder
	const mid = stripHigh / 2
	for at := from; at < to; at++ {
		x, mark := (at-from)*cell, bar.Cells[at]
		afternoon := narrow && at%2 == 1 && at > from && bar.Cells[at-1] == mark
		switch {
		case mark == '#':
			fmt.Fprintf(&now, "M%d 0h%dv%dh-%dz", x, cell-gap, stripHigh, cell-gap)
		case mark == 'H':
			fmt.Fprintf(&gates, "M%d"+gate, x+cell/2-2)
		case afternoon:
		case mark == '.':
			fmt.Fprintf(&now, "M%d %dh.1", x+step/2, mid)
		case mark == '-':
			fmt.Fprintf(&now, "M%d %dh%d", x, mid, step-step/3)
		}
		if bar.Before != "" && bar.Before[at] != ' ' {
			fmt.Fprintf(&then, "M%d %dh%d", x, beforeDeep-1, cell)
		}
	}
	r.Now, r.Gates, r.Then = now.String(), gates.String(), then.String()
}

// mark puts what has no cells into the strip: an upright for a stage of no
// length, and an arrow to where a stage stood before or after these days.
func (r *drawnRow) mark(bar Bar, cell int, from, to schedule.Day) {
	if bar.Start == bar.End {
		r.Gates += fmt.Sprintf("M%d"+post, cell*int(bar.End-from.AM()))
	}
	right := cell * 2 * int(to-from+1)
	switch {
	case bar.BeforeEnd == 0:
	case bar.BeforeEnd <= from.AM():
		r.Then += fmt.Sprintf("M5 %dl-4 3 4 3M1 %dh9", beforeDeep-4, beforeDeep-1)
	case bar.BeforeStart >= to.End():
		r.Then += fmt.Sprintf("M%d %dl4 3-4 3M%d %dh-9", right-5, beforeDeep-4, right-1, beforeDeep-1)
	}
}

// wrapText cuts a text into lines of so many units, at spaces where it can.
func wrapText(text string, size, room int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(strings.Map(unprintable, text)) {
		if line != "" && textWidth(line+" "+word, size) > room {
			lines, line = append(lines, line), ""
		}
		for textWidth(word, size) > room { // a word longer than a line is cut
			head := cutAt(word, size, room)
			lines, word = append(lines, word[:head]), word[head:]
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	if line == "" {
		return lines
	}
	return append(lines, line)
}

// cutAt is the number of bytes of a word that fit the room, one letter at least.
func cutAt(word string, size, room int) int {
	for i := range word {
		if i > 0 && textWidth(word[:i], size) > room-size {
			return i
		}
	}
	return len(word)
}

// textWidth is the room a text may take, in units: what a wide sans-serif takes,
// so that no reader's own letters run out of the picture. Rounded up from DejaVu
// Sans, in hundredths of the size.
func textWidth(text string, size int) int {
	sum := 0
	for _, r := range text {
		switch {
		case strings.ContainsRune(" ijlI.,:;'|!", r):
			sum += 34
		case strings.ContainsRune("ftrJ()[]/-\"", r):
			sum += 42
		case strings.ContainsRune("mwMW%@—…", r):
			sum += 100
		case r >= 'A' && r <= 'Z':
			sum += 76
		case r < 0x250:
			sum += 64
		default:
			sum += 105
		}
	}
	return sum * size / 100
}
