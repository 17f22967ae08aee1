package documents

import (
	"bytes"
	"fmt"
	"io"

	"codeberg.org/go-pdf/fpdf"

	"putlog/schedule"
	"putlog/variations"
)

// WritePDF writes the client's copy as a print: A4 (ISO 216), drawn in lines and
// embedded type, its text there to be searched and copied. The same statement
// gives the same bytes.
func WritePDF(w io.Writer, s *Statement) error {
	p := newSheet(s)
	p.opening(s)
	p.why(s)
	p.owed(s.Account, s.AsAt)
	p.answers(s)
	p.movement(s)
	p.variations(s)
	p.account(s)
	p.coming(s)
	p.programme(s)
	p.photos(s)
	p.cautions(s)
	p.closing(s)
	p.feet(s)
	return p.writeTo(w)
}

// opening writes the title, where the job stands and the three finishes.
func (p *sheet) opening(s *Statement) {
	p.set("", smallSize)
	p.ink(grey)
	p.at(sideMargin, p.y, "Client's copy")
	p.atRight(paperWidth-sideMargin, p.y, "As at "+s.AsAt.Long())
	p.ink(black)
	p.y += p.leading() + 2
	p.set("B", titleSize)
	if len(p.wrap(s.Title, measure)) > 3 {
		p.set("B", headSize)
	}
	p.paragraph(s.Title)
	p.y += 1.5
	p.set("", textSize)
	p.paragraph(halvesInWords()(s.Stands))
	p.y += 4
	p.finishes(s)
}

// boxed is a date or a sum that stands by itself: what it is, the thing itself,
// a word behind it in small type, and a note.
type boxed struct{ name, says, small, note string }

// finishes writes the three finishes.
func (p *sheet) finishes(s *Statement) {
	agreed, revised := "no programme was accepted yet", "none without an accepted programme"
	if s.Accepted != 0 {
		agreed = "in the programme accepted on " + s.AcceptedOn.Long()
		revised = "the finish agreed, moved by what the builder does not bear"
	}
	p.boxes([3]boxed{finishBox("Finish agreed", s.Accepted, agreed),
		finishBox(s.NowWords(), s.Now, "as the job stands on "+s.AsAt.Long()),
		finishBox("Revised completion date", s.Revised, revised)})
}

// finishBox is a finish by the half-day that ends there.
func finishBox(name string, at schedule.Instant, note string) boxed {
	if at == 0 {
		return boxed{name, "None", "", note}
	}
	return boxed{name, at.Last().Day().Long(), halfWords[at.Last().Half()], note}
}

// boxes writes three of them side by side.
func (p *sheet) boxes(all [3]boxed) {
	const gap, height = 4.0, 19.0
	width := (measure - 2*gap) / 3
	p.need(height)
	for i, f := range all {
		x := sideMargin + float64(i)*(width+gap)
		p.line(x, p.y, x+width, p.y, 0.5, black)
		p.set("", tableSize)
		p.at(x, p.y+1.2, f.name)
		p.set("B", headSize)
		p.at(x, p.y+5.2, f.says)
		behind, line := x+p.pdf.GetStringWidth(f.says+" "), p.y+5.2+p.baseline()
		p.set("", smallSize)
		p.at(behind, line-p.baseline(), f.small)
		p.ink(grey)
		for n, line := range p.wrap(f.note, width) {
			p.at(x, p.y+11.6+float64(n)*p.leading(), line)
		}
		p.ink(black)
	}
	p.y += height
	p.set("", textSize)
}

// why writes why the finish moved, in short: the sentence and the steps that
// moved it most.
func (p *sheet) why(s *Statement) {
	if s.Accepted == 0 {
		p.heading("Why the finish moved", 10)
		p.paragraph("No programme has been accepted yet, so there is nothing to measure a " +
			"movement from.")
		return
	}
	const in = 3.5
	p.heading("Why the finish moved", 20)
	prose := halvesInWords()
	p.paragraph(prose(s.Moved))
	main, more := s.mainSteps()
	for _, r := range main {
		p.y += 0.5
		p.need(p.leading())
		p.at(sideMargin, p.y, "•")
		p.indented(r.On.Short()+": "+prose(r.What)+": "+r.Effect()+".", in)
	}
	p.paragraph(moreWords(more))
}

// owed writes what is owed, in short.
func (p *sheet) owed(a *Account, asAt schedule.Day) {
	if a == nil {
		return
	}
	const room = 35 // the whole of it
	p.heading("What is owed", room)
	p.paragraph(a.dueWords())
	p.y += 2
	p.boxes([3]boxed{
		{"Total due", a.TotalDue.Pounds(), "", "contract and variations agreed, VAT included"},
		{"Paid so far", a.Paid.Pounds(), "", "as the job stands on " + asAt.Long()},
		{"Balance", a.Balance.Pounds(), "", a.balanceWords()},
	})
	p.paragraph(a.notAgreedWords())
}

// movement writes how the finish moved, step by step.
func (p *sheet) movement(s *Statement) {
	if len(s.Ladder) == 0 {
		return
	}
	p.heading("How the finish moved, step by step", 40)
	p.note("In order of date. Neutral: nobody's doing; it gives time to finish and no money. " +
		"At the right the steps to scale: filled the client's, hollow the builder's, dashed neutral.")
	p.ladder(s)
}

// ladder writes the steps, and beside them the stair they make.
func (p *sheet) ladder(s *Statement) {
	t := printTable{columns: []printColumn{{"On", 18, false}, {"What happened", 58, false},
		{"Asked for by", 17, false}, {"Borne by", 15, false}, {"Finish before", 20, false},
		{"Finish after", 20, false}, {"Working days", 14, false}, {"", 16, false}}}
	prose := halvesInWords()
	for _, r := range s.Ladder {
		t.rows = append(t.rows, []printCell{{r.On.Long()}, {prose(r.Story)}, {partyWords[r.Asked]},
			{partyWords[r.Bearer.String()]}, {finishWords(r.From)}, {finishWords(r.To)},
			{movedWords(r.Worked)}, nil})
	}
	t.beside = p.stair(s)
	p.table(t)
}

// stair draws the ladder's steps to scale, each from where the last one ended:
// filled the client's, hollow the builder's, dashed the neutral.
func (p *sheet) stair(s *Statement) func(row int, x, y, height float64) {
	first, last := s.Accepted, s.Accepted
	for _, r := range s.Ladder {
		first, last = min(first, r.From, r.To), max(last, r.From, r.To)
	}
	const width, deep = 14.0, 2.2
	return func(row int, x, y, height float64) {
		place := func(at schedule.Instant) float64 {
			return x + 1 + width*float64(at-first)/float64(max(last-first, 1))
		}
		r := s.Ladder[row]
		from, to, middle := place(r.From), place(r.To), y+rowPad+deep/2+0.4
		if row > 0 {
			p.line(from, y, from, middle, 0.2, grey)
		}
		if row < len(s.Ladder)-1 {
			p.line(to, middle, to, y+height, 0.2, grey)
		}
		p.pdf.SetDrawColor(black, black, black)
		p.pdf.SetLineWidth(0.2)
		switch {
		case r.From == r.To:
			p.line(from-0.7, middle, from+0.7, middle, 0.4, black)
			return
		case r.Bearer == variations.Builder:
			p.pdf.SetFillColor(paper, paper, paper)
		case r.Bearer == variations.Neutral:
			p.pdf.SetFillColor(paper, paper, paper)
			p.pdf.SetDashPattern([]float64{0.5, 0.4}, 0)
		}
		wide := max(to-from, from-to, 0.6)
		p.pdf.Rect(min(from, to), middle-deep/2, wide, deep, "FD")
		p.pdf.SetFillColor(black, black, black)
		p.pdf.SetDashPattern(nil, 0)
	}
}

// variations writes the variations with the client's price of each.
func (p *sheet) variations(s *Statement) {
	if len(s.Variations) == 0 {
		p.heading("Variations", 10)
		p.paragraph("There are none.")
		return
	}
	t := printTable{columns: []printColumn{{"No.", 14, false}, {"What and why", 80, false},
		{"Asked for by", 24, false}, {"So far", 34, false}, {"Price", 26, true}}}
	for _, v := range s.Variations {
		t.rows = append(t.rows, []printCell{{v.Number}, {v.Title, v.Because},
			{partyWords[v.AskedBy.String()]}, {stateWords(v)}, {priceWords(v)}})
	}
	p.heading("Variations", noteRoom+p.opens(t))
	p.note("What was changed in the job, and its price to the client without VAT.")
	p.table(t)
}

// account writes what is owed.
func (p *sheet) account(s *Statement) {
	if s.Account == nil {
		return
	}
	a := s.Account
	room := 47.0 // the whole of it
	if a.NotAgreed != 0 {
		room += 5
	}
	p.heading("The account", room)
	rows := []struct {
		says string
		sum  variations.Pence
		bold bool
	}{
		{"Contract sum", a.Contract, false},
		{"Variations agreed", a.Agreed, false},
		{"Revised sum, without VAT", a.Revised, true},
		{"VAT at " + a.VATRate.String() + " per cent", a.VAT, false},
		{"Total due", a.TotalDue, true},
		{"Less retention at " + a.RetentionRate.String() + " per cent", -a.Retention, false},
		{"Less paid so far", -a.Paid, false},
		{"Balance", a.Balance, true},
	}
	t := printTable{columns: []printColumn{{"", 80, false}, {"", 32, true}}}
	for _, r := range rows {
		t.rows = append(t.rows, []printCell{{r.says}, {r.sum.Pounds()}})
		t.bold = append(t.bold, r.bold)
	}
	p.table(t)
	p.paragraph(a.notAgreedWords())
}

// answers writes what the builder waits for from the client.
func (p *sheet) answers(s *Statement) {
	const head = "What the builder is waiting for from you"
	if len(s.Answers) == 0 {
		p.heading(head, 10)
		p.paragraph("Nothing at present.")
		return
	}
	t := printTable{columns: []printColumn{{"What", 118, false}, {"By", 60, false}}}
	for _, a := range s.Answers {
		t.rows = append(t.rows, []printCell{{a.What}, {byWords(a.By, s.AsAt)}})
	}
	p.heading(head, noteRoom+p.opens(t))
	p.note("An answer by the day named holds nothing up.")
	p.table(t)
}

// byWords says by when an answer does not hold the job.
func byWords(by, asAt schedule.Day) string {
	switch {
	case by == 0:
		return "no work waits for it"
	case by < asAt:
		return by.Long() + ": past, so it holds the job now"
	case by == asAt:
		return by.Long() + ": today"
	}
	return by.Long()
}

// coming writes what comes next.
func (p *sheet) coming(s *Statement) {
	if len(s.Next) == 0 {
		p.heading("What comes next", 10)
		p.paragraph("Nothing in the next two weeks.")
		return
	}
	t := printTable{columns: []printColumn{{"Stage", 84, false}, {"", 20, false},
		{"When", 74, false}}}
	for _, c := range s.Next {
		t.rows = append(t.rows, []printCell{{c.Name}, {kindWords[c.Kind]}, {comingWords(c)}})
	}
	p.heading("What comes next", noteRoom+p.opens(t))
	p.note("In the two weeks from " + s.AsAt.Long() + ".")
	p.table(t)
}

// photos draws the photos marked for the client, two to a page at the most, and
// names the papers.
func (p *sheet) photos(s *Statement) {
	const mostHeight, caption = 100.0, 8.0
	for i, photo := range s.Photos {
		width, height := measure, 0.0
		if photo.JPEG != nil {
			height = width * float64(photo.Height) / float64(photo.Width)
			if height > mostHeight {
				width, height = width*mostHeight/height, mostHeight
			}
		}
		if i == 0 {
			p.heading("Photos and papers", height+caption)
		}
		p.need(height + caption)
		if photo.JPEG != nil {
			name := fmt.Sprintf("photo%d", i)
			options := fpdf.ImageOptions{ImageType: "JPEG"}
			p.pdf.RegisterImageOptionsReader(name, options, bytes.NewReader(photo.JPEG))
			p.pdf.ImageOptions(name, sideMargin, p.y, width, height, false, options, 0, "")
			p.y += height + 1
		}
		says := photo.On.Long() + ": " + photo.Says + "."
		if photo.JPEG == nil {
			says += " " + photo.Name + ", to be had from the builder."
		}
		p.paragraph(says)
		p.y += 2
	}
}

// cautions writes the cautions.
func (p *sheet) cautions(s *Statement) {
	const in = 3.5
	p.heading("Cautions", 12)
	p.set("", tableSize)
	for i, c := range s.Cautions {
		p.need(p.leading())
		if i == len(s.Cautions)-1 {
			p.need(float64(len(p.wrap(c, measure-in)))*p.leading() + closingRoom)
		}
		p.at(sideMargin, p.y, "•")
		p.indented(c, in)
		p.y += 0.5
	}
}

// closing says how it all was worked out.
func (p *sheet) closing(s *Statement) {
	p.y += 3
	p.need(closingRoom - 4)
	p.note(s.Method + " Every figure follows from the job file and the dated entries of the " +
		"day book of job " + s.Ref + ", as at " + s.AsAt.Long() + ".")
}

// Room in mm: of a note of one line, and of the closing, which stands together
// under the last caution.
const (
	noteRoom    = 6.0
	closingRoom = 18.0
)

// note writes a text of second rank.
func (p *sheet) note(text string) {
	p.set("", smallSize)
	p.ink(grey)
	p.paragraph(text)
	p.ink(black)
	p.set("", textSize)
	p.y += 1.5
}
