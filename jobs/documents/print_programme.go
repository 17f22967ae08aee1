package documents

import "putlog/schedule"

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
			p.at(sideMargin, p.y, "The programme, continued")
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
