package documents

import (
	"math"
)

// stretch is a run of equal half-days.
type stretch struct {
	mark     byte
	from, to int // cells, to not included
}

// stretches breaks a row of cells into its runs, blanks left out.
func stretches(cells string) []stretch {
	var all []stretch
	for i := 0; i < len(cells); i++ {
		last := len(all) - 1
		switch {
		case cells[i] == ' ':
		case last >= 0 && all[last].to == i && all[last].mark == cells[i]:
			all[last].to++
		default:
			all = append(all, stretch{cells[i], i, i + 1})
		}
	}
	return all
}

// bar draws a stage's half-days and, thin under them, those it had in the
// accepted programme.
func (p *sheet) bar(d dateStrip, b *Bar) {
	top := p.y + rowPad + 0.3
	first := int(d.from-d.pic.From) * 2
	for _, s := range stretches(b.Cells) {
		s.from, s.to = s.from-first, s.to-first
		p.stretch(d, s, top)
	}
	if at := d.at(b.End); b.Start == b.End { // no length: an upright where it stands
		p.line(at, top-0.3, at, top+barHeight+0.3, 0.45, black)
	}
	for _, s := range stretches(b.Before) {
		x, width := d.x+d.cell*float64(s.from-first), thickEnough(d.cell*float64(s.to-s.from))
		p.line(x, top+beforeBelow, x+width, top+beforeBelow, 0.4, grey)
	}
}

// thickEnough keeps a mark wide enough to be seen.
func thickEnough(width float64) float64 { return max(width, 0.35) }

// stretch draws one run of half-days.
func (p *sheet) stretch(d dateStrip, s stretch, top float64) {
	x, width := d.x+d.cell*float64(s.from), d.cell*float64(s.to-s.from)
	middle := top + barHeight/2
	switch s.mark {
	case '#':
		p.solid(x, top, d.cell, s.to-s.from)
	case '.':
		p.dotted(x, middle, width, d.cell)
	case '-':
		p.dashed(x, middle, width)
	case 'H':
		width = max(width, 1.6)
		right := d.at(d.to.End()) - width/2 // at the end of the strip it stands inside
		p.gate(min(x+d.cell*float64(s.to-s.from)/2, right), top, width)
	}
}

// solid draws work: cells set apart where they are wide enough, else one bar.
func (p *sheet) solid(x, top, cell float64, n int) {
	const apart, gap = 1.2, 0.15
	if cell < apart {
		p.pdf.Rect(x, top, thickEnough(cell*float64(n)), barHeight, "F")
		return
	}
	for i := range n {
		p.pdf.Rect(x+cell*float64(i)+gap/2, top, cell-gap, barHeight, "F")
	}
}

// dotted draws a wait: a dot in the middle of each half-day, or of every few
// where they would run together. The dots are dashes of no length with round
// ends.
func (p *sheet) dotted(x, y, width, cell float64) {
	const across, nearest = 0.75, 1.3
	pitch := cell * math.Ceil(nearest/cell)
	start := x + min(pitch, width)/2
	p.pdf.SetLineCapStyle("round")
	p.pdf.SetDashPattern([]float64{0.001, pitch - 0.001}, 0)
	p.line(start, y, max(start+0.002, x+width-pitch/4), y, across, black)
	p.pdf.SetDashPattern(nil, 0)
	p.pdf.SetLineCapStyle("butt")
}

// dashed draws a delivery.
func (p *sheet) dashed(x, y, width float64) {
	const dash, gap = 1.5, 0.8
	p.pdf.SetDashPattern([]float64{dash, gap}, 0)
	p.line(x, y, x+thickEnough(width), y, 1.0, black)
	p.pdf.SetDashPattern(nil, 0)
}

// gate draws a hold point: two posts and two rails.
func (p *sheet) gate(middle, top, width float64) {
	const post = 0.45
	left, right := middle-width/2, middle+width/2
	for _, x := range [...]float64{left + post/2, right - post/2} {
		p.line(x, top-0.3, x, top+barHeight+0.3, post, black)
	}
	for _, y := range [...]float64{top + barHeight*0.3, top + barHeight*0.75} {
		p.line(left, y, right, y, 0.3, black)
	}
}

// legend says what the marks mean, each drawn beside its words.
func (p *sheet) legend(s *Statement) {
	p.set("", smallSize)
	x := float64(sideMargin)
	strip := dateStrip{cell: 1.5}
	for _, of := range [...]struct{ cells, says string }{
		{"####", "work"}, {"....", "wait that nobody can hurry"}, {"----", "delivery on its way"},
		{"HH", "hold point: an inspection"},
	} {
		strip.x = x
		p.stretch(strip, stretch{of.cells[0], 0, len(of.cells)}, p.y)
		x += strip.cell*float64(len(of.cells)) + 1.2
		p.at(x, p.y+0.1, of.says)
		x += p.pdf.GetStringWidth(of.says) + 5
	}
	if s.Accepted != 0 {
		p.line(x, p.y+barHeight/2, x+6, p.y+barHeight/2, 0.4, grey)
		p.at(x+7.2, p.y+0.1, "as agreed")
	}
	p.y += p.leading() + 1
	p.note("Half-day by half-day. Where nothing is drawn nobody works on that stage: weekends, " +
		"bank holidays, closures. The lines down the strip are Mondays or, over many weeks, the " +
		"first of each month. Stages underlined drive the finish.")
}
