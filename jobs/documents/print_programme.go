package documents

import (
	"strconv"
	"strings"

	"putlog/schedule"
)

// kindWords says what a stage is, where it is not work.
var kindWords = [...]string{schedule.KindWork: "", schedule.KindWait: "wait",
	schedule.KindDelivery: "delivery", schedule.KindInspection: "inspection"}

// Parts of the programme's picture, in mm.
const (
	namesWidth  = 66.0 // the stages' names, left of the strip
	stripWidth  = measure - namesWidth
	stripHead   = 8.5 // the dates above it
	legendRoom  = 14.0
	mostNames   = 30  // lines of one name; what a job may write takes fewer
	widestCell  = 3.0 // of half a day
	barHeight   = 3.0
	beforeBelow = 4.4 // the line of the accepted programme, below the bar's top
)

// stageRow is one stage of the picture, its words broken into lines.
type stageRow struct {
	bar    *Bar
	name   []string
	says   []string
	height float64
}

// programme writes the programme as a picture, in blocks of stages: each has
// the strip of dates above it and shows the weeks that its stages need.
func (p *sheet) programme(s *Statement) {
	d := drawing{Picture: s.Picture, asAt: s.AsAt, accepted: s.AcceptedOn != 0}
	rows := make([]stageRow, len(s.Picture.Bars))
	whole := legendRoom + stripHead
	for i := range s.Picture.Bars {
		rows[i] = p.stageRow(d, i)
		whole += rows[i].height
	}
	room := legendRoom + stripHead + 30
	if p.left() < 100 && whole < bottomEdge-topMargin-15 {
		room = whole // a page takes all of it
	}
	p.heading("The programme", room)
	p.legend(s)
	for at := 0; at < len(rows); {
		n, height := fitting(rows[at:], p.left()-stripHead)
		if n == 0 {
			p.newPage()
			continue
		}
		strip := stripOver(s.Picture, rows[at:at+n], n == len(rows))
		if at > 0 {
			p.set("B", tableSize)
			p.at(sideMargin, p.y+3.4, "The programme, continued")
		}
		p.stripHead(strip, height, s.AsAt)
		for _, row := range rows[at : at+n] {
			p.stage(strip, row)
		}
		if at += n; at < len(rows) {
			p.newPage()
		}
	}
}

// fitting is how many rows fit into a height, and what they take; one at the
// least on a page of its own.
func fitting(rows []stageRow, room float64) (n int, height float64) {
	for n < len(rows) && height+rows[n].height <= room {
		height += rows[n].height
		n++
	}
	if n == 0 && room >= bottomEdge-topMargin-stripHead {
		return 1, rows[0].height
	}
	return n, height
}

// stageRow breaks a stage's words into lines.
func (p *sheet) stageRow(d drawing, i int) stageRow {
	const width = namesWidth - 3
	row := stageRow{bar: &d.Bars[i]}
	p.set("", tableSize)
	row.name = p.wrap(row.bar.Name, width)
	if len(row.name) > mostNames {
		row.name = append(row.name[:mostNames], "…")
	}
	row.height = float64(len(row.name)) * p.leading()
	p.set("", smallSize)
	kind := ""
	if kindWords[row.bar.Kind] != "" {
		kind = kindWords[row.bar.Kind] + ": "
	}
	row.says = p.wrap(kind+d.dates(i), width)
	row.height += float64(len(row.says))*p.leading() + 2*rowPad
	return row
}

// dateStrip is the strip of dates over a block of stages.
type dateStrip struct {
	pic      Picture
	from, to schedule.Day // whole weeks, a Monday to a Sunday
	x, cell  float64      // where it begins, and the width of half a day
}

// at is the place of an instant.
func (d dateStrip) at(i schedule.Instant) float64 {
	return d.x + d.cell*float64(i-d.from.AM())
}

// stripOver is the strip for a block of stages: all of the picture's weeks, or
// those that the stages need. Cells are as wide as lets it fit.
func stripOver(pic Picture, rows []stageRow, whole bool) dateStrip {
	d := dateStrip{pic: pic, from: pic.From, to: pic.To, x: sideMargin + namesWidth}
	if !whole {
		first, last := len(rows[0].bar.Cells), -1
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
		if last >= 0 {
			const week = 14 // half-days
			d.from = pic.From + schedule.Day(first/week*7)
			d.to = pic.From + schedule.Day(last/week*7) + 6
		}
	}
	d.cell = min(widestCell, stripWidth/float64(2*(d.to-d.from+1)))
	return d
}

// stripHead writes the dates, months over Mondays, and the lines that lead the
// eye down the block.
func (p *sheet) stripHead(d dateStrip, height float64, asAt schedule.Day) {
	p.set("", smallSize)
	right, foot := d.at(d.to.End()), p.y+stripHead+height
	p.months(d, right)
	every := schedule.Day(7)
	for d.cell*float64(2*every) < 6 {
		every *= 2
	}
	for day := d.from; day <= d.to; day += every {
		_, _, n := day.Date()
		p.at(d.at(day.AM())+0.5, p.y+3.9, strconv.Itoa(n))
		p.line(d.at(day.AM()), p.y+4.2, d.at(day.AM()), foot, 0.1, faint)
	}
	p.line(right, p.y+4.2, right, foot, 0.1, faint)
	if asAt >= d.from && asAt <= d.to {
		p.pdf.SetDashPattern([]float64{0.8, 0.8}, 0)
		p.line(d.at(asAt.AM()), p.y+stripHead-1, d.at(asAt.AM()), foot, 0.25, black)
		p.pdf.SetDashPattern(nil, 0)
	}
	p.y += stripHead
	p.line(sideMargin, p.y, right, p.y, 0.3, black)
}

// months writes the months' names, over narrow months only those for which
// there is room.
func (p *sheet) months(d dateStrip, right float64) {
	free := d.x // where the next name may stand
	for day := d.from; day <= d.to; {
		year, _, n := day.Date()
		next := day - schedule.Day(n) + 32
		_, _, over := next.Date()
		next -= schedule.Day(over) - 1 // the first of the next month
		x, end := d.at(day.AM()), min(d.at(next.AM()), right)
		name := day.Short()[len(day.Short())-len("Jan"):]
		full := name + " " + strconv.Itoa(year)
		width := p.pdf.GetStringWidth(full)
		if x >= free {
			if x > d.x {
				p.line(x, p.y, x, p.y+4.2, 0.1, rule)
			}
			switch {
			case x+1+width <= end:
				p.at(x+0.5, p.y, full)
			case x+1+p.pdf.GetStringWidth(name) <= end:
				p.at(x+0.5, p.y, name)
			case x+1+width <= right:
				p.at(x+0.5, p.y, full)
				free = x + 2 + width
			}
		}
		day = next
	}
}

// stage writes one stage: its words, then its half-days, those of the accepted
// programme as a thin line under them.
func (p *sheet) stage(d dateStrip, row stageRow) {
	y := p.y + rowPad
	p.set("", tableSize)
	for _, line := range row.name {
		p.at(sideMargin, y, line)
		if row.bar.Drives {
			under := y + p.baseline() + 0.55
			p.line(sideMargin, under, sideMargin+p.pdf.GetStringWidth(line), under, 0.3, black)
		}
		y += p.leading()
	}
	p.set("", smallSize)
	p.ink(grey)
	for _, line := range row.says {
		p.at(sideMargin, y, line)
		y += p.leading()
	}
	p.ink(black)
	p.bar(d, row.bar)
	p.y += row.height
	p.line(sideMargin, p.y, d.at(d.to.End()), p.y, 0.1, faint)
}
