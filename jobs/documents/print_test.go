package documents

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
)

// printed writes a print and reads it back.
func printed(t *testing.T, s *Statement) []readPage {
	t.Helper()
	var b bytes.Buffer
	if err := WritePDF(&b, s); err != nil {
		t.Fatal(err)
	}
	pages, err := readPrint(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

func TestPrintIsWhole(t *testing.T) {
	for _, of := range everySample(t) {
		name, pdf, pages := of.name, of.pdf, of.pages
		if !bytes.HasPrefix(pdf, []byte("%PDF-1.")) {
			t.Errorf("%s: begins %q", name, pdf[:20])
		}
		if !bytes.HasSuffix(bytes.TrimSpace(pdf), []byte("%%EOF")) {
			t.Errorf("%s: ends %q", name, pdf[len(pdf)-20:])
		}
		if count := fmt.Sprintf("/Count %d\n", len(pages)); !bytes.Contains(pdf, []byte(count)) {
			t.Errorf("%s: %d pages are written and another number is counted", name, len(pages))
		}
		if !bytes.Contains(pdf, []byte("/MediaBox [0 0 595.28 841.89]")) {
			t.Errorf("%s: not A4", name)
		}
		for i, p := range pages {
			foot := p.texts[len(p.texts)-2:]
			if want := fmt.Sprintf("page %d of %d", i+1, len(pages)); foot[1].text != want {
				t.Errorf("%s: a foot says %q, want %q", name, foot[1].text, want)
			}
			if !strings.HasSuffix(foot[0].text, "(sample-job), as at Mon 1 Mar 2027") {
				t.Errorf("%s: a foot says %q", name, foot[0].text)
			}
		}
	}
}

// TestPrintIsTheSameTwice prints at once from many sides, too: the font's own
// bytes are shared.
func TestPrintIsTheSameTwice(t *testing.T) {
	for _, of := range everySample(t) {
		name, want := of.name, of.pdf
		var wait sync.WaitGroup
		for range 2 {
			wait.Go(func() {
				var b bytes.Buffer
				if err := WritePDF(&b, of.s); err != nil || !bytes.Equal(b.Bytes(), want) {
					t.Errorf("%s: another print came out otherwise (%v)", name, err)
				}
			})
		}
		wait.Wait()
		if !bytes.Contains(want, []byte("/CreationDate (D:20270301000000)")) ||
			!bytes.Contains(want, []byte("/ModDate (D:20270301000000)")) {
			t.Errorf("%s: the print's dates are not the statement's", name)
		}
	}
}

func TestPrintStaysOnThePaper(t *testing.T) {
	measuring := newSheet(&Statement{})
	for _, of := range everySample(t) {
		for i, page := range of.pages {
			for _, stray := range strays(measuring, page) {
				t.Errorf("%s, page %d: off the paper: %.60s", of.name, i+1, stray)
			}
		}
	}
}

// TestPrintHoldsTheStatement reads the words of each part back, in order.
func TestPrintHoldsTheStatement(t *testing.T) {
	for _, of := range everySample(t) {
		if of.s.Account == nil || of.name == "long words" { // those are broken
			continue
		}
		s, all := of.s, allPages(of.pages)
		prose := halvesInWords()
		parts := []string{s.Title, prose(s.Stands), "Finish agreed", "Finish now",
			"Revised completion date", "Why the finish moved", prose(s.Moved)}
		main, _ := s.mainSteps()
		for _, r := range main {
			parts = append(parts, r.What+": "+r.Effect())
		}
		parts = append(parts, "What is owed", s.Account.dueWords(), s.Account.TotalDue.Pounds(),
			s.Account.Paid.Pounds(), s.Account.Balance.Pounds(),
			"What the builder is waiting for from you")
		for _, a := range s.Answers {
			parts = append(parts, a.What, byWords(a.By, s.AsAt))
		}
		parts = append(parts, "How the finish moved, step by step")
		for _, r := range s.Ladder {
			parts = append(parts, prose(r.Story), finishWords(r.From), finishWords(r.To))
		}
		parts = append(parts, "Variations")
		for _, v := range s.Variations {
			parts = append(parts, v.Number+" "+v.Title+" "+v.Because, stateWords(v), priceWords(v))
		}
		parts = append(parts, "The account", s.Account.Contract.Pounds(), s.Account.Agreed.Pounds(),
			s.Account.VAT.Pounds(), s.Account.TotalDue.Pounds(), s.Account.Balance.Pounds(),
			"What comes next")
		for _, c := range s.Next {
			parts = append(parts, c.Name, comingWords(c))
		}
		parts = append(parts, "The programme")
		for i := range s.Picture.Bars {
			parts = append(parts, s.Picture.Bars[i].Name, drawing{Picture: s.Picture, asAt: s.AsAt,
				accepted: true}.dates(i))
		}
		parts = append(append(parts, "Cautions"), s.Cautions...)
		parts = append(parts, s.Method)
		rest := all
		for _, part := range parts {
			_, after, found := strings.Cut(rest, printable(part))
			if !found {
				t.Fatalf("%q does not stand in its place; next comes %.200q", part, rest)
			}
			rest = after
		}
	}
}

// TestPrintHoldsNothingOfTheBuilder looks for the builder's own figures and
// words in every byte of the print, inflated and as text.
func TestPrintHoldsNothingOfTheBuilder(t *testing.T) {
	j, err := longSample.job()
	if err != nil {
		t.Fatal(err)
	}
	of := longJob(t)
	account, err := j.Account(of.s.AsAt)
	if err != nil {
		t.Fatal(err)
	}
	price, err := account.Lines[0].Variation.Price()
	if err != nil {
		t.Fatal(err)
	}
	builders := []string{"319.77", "31977", "3.217", "13.7", price.Lines.Pounds(),
		price.Lines.String(), price.Markup.Pounds(), price.Markup.String(), price.Total.Pounds(),
		price.Total.String(),
		price.Builder.Pounds(), price.Builder.String(), "two men digging", "labour",
		"markup", "mark-up", "40 per cent", "60 per cent"}
	places := map[string]string{"the file": string(of.pdf), "the text": allPages(of.pages)}
	inflated, err := streams(of.pdf)
	if err != nil {
		t.Fatal(err)
	}
	for i, stream := range inflated {
		places[fmt.Sprintf("stream %d", i+1)] = string(stream)
	}
	for place, text := range places {
		text = strings.ToLower(text)
		for _, figure := range builders {
			wide := strings.Join(strings.Split("\x00"+figure, ""), "\x00")[1:] // as UTF-16
			// content is full of places in points: 13.7 may be one
			drawn := strings.Contains(text, " tf et")
			if strings.Contains(text, figure) && !drawn || strings.Contains(text, wide) {
				t.Errorf("%s holds %q", place, figure)
			}
		}
	}
	if !strings.Contains(places["the text"], price.Client.Pounds()) {
		t.Errorf("the client's %s is not found, so the search finds nothing", price.Client.Pounds())
	}
	says := regexp.MustCompile(`/(Title|Subject|Author|Keywords|Creator|Producer) \(`)
	for _, entry := range says.FindAllSubmatch(of.pdf, -1) {
		if key := string(entry[1]); key == "Author" || key == "Keywords" {
			t.Errorf("the print names %s", key)
		}
	}
}

func TestPrintRepeatsItsHeads(t *testing.T) {
	ladder, picture, priced := 0, 0, 0
	for i, p := range longJob(t).pages {
		text := p.all()
		switch {
		case strings.Contains(text, "£701.78"):
			priced++
			if !strings.Contains(text, "No. What and why Asked for by So far Price") {
				t.Errorf("page %d: prices without the head of their table", i+1)
			}
		case strings.Contains(text, "Half-day by half-day") ||
			strings.Contains(text, "The programme, continued"):
			picture++
			if !regexp.MustCompile(`(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) 2027`).
				MatchString(text) {
				t.Errorf("page %d: the strip of dates does not name its months", i+1)
			}
		case strings.Contains(text, "It did not move the finish"):
			ladder++
			if !strings.Contains(text, "On What happened") {
				t.Errorf("page %d: steps without the head of their table", i+1)
			}
		}
	}
	if ladder < 2 || picture < 5 || priced < 2 {
		t.Errorf("%d, %d and %d pages of a long job: nothing was repeated", ladder, picture, priced)
	}
}

func TestPrintKeepsAHeadWithWhatFollows(t *testing.T) {
	for _, of := range everySample(t) {
		for i, p := range of.pages {
			last := p.texts[len(p.texts)-3]
			if last.bold && last.size == headSize {
				t.Errorf("%s: page %d ends with the head %q", of.name, i+1, last.text)
			}
		}
	}
}

func TestPrintOfHostileText(t *testing.T) {
	measuring := newSheet(&Statement{})
	nasty := []string{"{nb}", "a (b", "a) b", `a \ b`, "\x00\x01\x7f", "broken \xff\xfe UTF-8 \xc3",
		"👷🏽\u200d♂\ufe0f builders 🏠", "\U0010ffff", "\uffff", "\u202edesrever",
		"\u05e2\u05d1", "漢字", "e\u0301\u0302\u0303", "<<\nstream\n",
		"ends %%EOF\n%PDF-1.3", "a\r\nb\tc",
		"–½²³€£→ÀÿŵŷŁ", "/../.."}
	for _, text := range []string{"", `\`, ")", strings.Join(nasty, " "), strings.Repeat("W", 1000),
		strings.Repeat("m ", 1000), strings.Repeat("\u0301", 500)} {
		s, err := shortSample.statement()
		if err != nil {
			t.Fatal(err)
		}
		s.Title, s.Ref, s.Stands, s.Moved, s.Method = text, text, text, text, text
		s.Cautions = []string{text}
		for i := range s.Ladder {
			s.Ladder[i].Story, s.Ladder[i].What = text, text
		}
		for i := range s.Picture.Bars {
			s.Picture.Bars[i].Name = text
		}
		for i := range s.Variations {
			v := &s.Variations[i]
			v.Number, v.Title, v.Because = text, text, text
		}
		s.Answers[0].What, s.Next[0].Name = text, text
		pages := printed(t, s)
		want := strings.ReplaceAll(printable(text), " ", "")
		if all := strings.ReplaceAll(allPages(pages), " ", ""); !strings.Contains(all, want) {
			t.Errorf("%.40q is not there", text)
		}
		for i, page := range pages {
			if stray := strays(measuring, page); len(stray) > 0 {
				t.Errorf("%.40q, page %d: off the paper: %.60s", text, i+1, stray[0])
			}
		}
	}
}

// TestPrintOfNothing prints a statement that holds nothing at all.
func TestPrintOfNothing(t *testing.T) {
	if pages := printed(t, &Statement{}); len(pages) != 1 {
		t.Errorf("%d pages", len(pages))
	}
}

var errFull = errors.New("no room")

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestPrintSaysThatItCouldNotBeWritten(t *testing.T) {
	if err := WritePDF(fullDisk{}, &Statement{Title: "Long shed"}); !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
}

func TestPrintReadByOthers(t *testing.T) {
	of := longJob(t)
	s, pdf := of.s, of.pdf
	info := outside(t, pdf, "pdfinfo", "-")
	pages := fmt.Sprintf(`Pages: +%d\n`, len(of.pages))
	for _, want := range []string{pages, `Page size: +595\.28 x 841\.89 pts \(A4\)`,
		`Title: +Byre to two dwellings`, `Producer: +putlog`} {
		if !regexp.MustCompile(want).MatchString(info) {
			t.Errorf("pdfinfo does not say %s:\n%s", want, info)
		}
	}
	text := strings.Join(strings.Fields(outside(t, pdf, "pdftotext", "-raw", "-", "-")), " ")
	for _, want := range []string{s.Title, "Why the finish moved", s.Picture.Bars[0].Name,
		"The account", "Contract sum £41,850.00",
		"Revised sum, without VAT " + s.Account.Revised.Pounds(),
		"Balance " + s.Account.Balance.Pounds(), "What comes next", "Cautions"} {
		_, after, found := strings.Cut(text, want)
		if !found {
			t.Fatalf("pdftotext does not give %q in its place", want)
		}
		text = after
	}
	fonts := outside(t, pdf, "pdffonts", "-")
	if n := strings.Count(fonts, "CID TrueType"); n != 2 || strings.Contains(fonts, "Helvetica") {
		t.Errorf("the fonts are not the two embedded:\n%s", fonts)
	}
}

// TestPictureDrawsHalfDays reads the solid cells of a picture back.
func TestPictureDrawsHalfDays(t *testing.T) {
	const work = "     ##### ##              #"
	monday := schedule.Day(3 + 7*1400)
	s := &Statement{AsAt: monday, Picture: Picture{From: monday, To: monday + 13, Bars: []Bar{
		{Name: "Dig", Start: monday.AM() + 5, End: monday.AM() + 26, Cells: work},
		{Name: "Come", Kind: schedule.KindDelivery, Start: monday.AM(), End: monday.AM() + 4,
			Cells: "----" + strings.Repeat(" ", 24)},
		{Name: "Nothing to do", Start: monday.PM(), End: monday.PM(),
			Cells: strings.Repeat(" ", 28)},
	}}}
	drawn := bytes.Repeat([]byte{' '}, len(work))
	for _, page := range printed(t, s) {
		for _, box := range page.boxes {
			x := box[0]*pointMM - sideMargin - namesWidth
			if high := math.Abs(box[3]) * pointMM; x >= 0 && math.Abs(high-barHeight) < 0.02 {
				drawn[int(x/widestCell)] = '#'
			}
		}
	}
	if string(drawn) != work {
		t.Errorf("drawn %q, want %q", drawn, work)
	}
}

// TestStripHoldsItsBlock: whatever the stages, the strip over them is of whole
// weeks or whole months and all their half-days lie on it.
func TestStripHoldsItsBlock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		monday := schedule.Day(rapid.IntRange(1, 2000).Draw(t, "week")*7 + 3) // 2000-01-03 was one
		weeks := rapid.IntRange(1, 120).Draw(t, "weeks")
		pic := Picture{From: monday, To: monday + schedule.Day(7*weeks) - 1}
		rows := make([]stageRow, rapid.IntRange(1, 5).Draw(t, "rows"))
		for i := range rows {
			from := rapid.IntRange(0, 14*weeks).Draw(t, "from")
			to := rapid.IntRange(from, 14*weeks).Draw(t, "to")
			rows[i].bar = &Bar{Cells: strings.Repeat(" ", from) + strings.Repeat("#", to-from) +
				strings.Repeat(" ", 14*weeks-to)}
		}
		d := stripOver(pic, rows, rapid.Bool().Draw(t, "whole"))
		_, _, first := d.from.Date()
		_, _, next := (d.to + 1).Date()
		whole := first == 1 && next == 1
		if d.months == 0 {
			whole = d.from.Weekday() == schedule.Monday && d.to.Weekday() == schedule.Sunday
		}
		if !whole {
			t.Fatalf("a strip from %s to %s", d.from.Long(), d.to.Long())
		}
		if wide := d.at(d.to.End()) - d.x; wide > stripWidth+1e-9 {
			t.Fatalf("a strip of %v mm", wide)
		}
		for _, row := range rows {
			for _, s := range stretches(row.bar.Cells) {
				from := pic.From.AM() + schedule.Instant(s.from)
				to := pic.From.AM() + schedule.Instant(s.to)
				if from < d.from.AM() || to > d.to.End() {
					t.Fatalf("half-days from %s outside %s to %s", from, d.from, d.to)
				}
			}
		}
	})
}

func TestStretchesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cells := rapid.StringOfN(rapid.SampledFrom([]rune(" #.-H")), 0, 60, -1).Draw(t, "cells")
		back := bytes.Repeat([]byte{' '}, len(cells))
		last := stretch{mark: ' ', to: -1}
		for _, s := range stretches(cells) {
			if s.from >= s.to || s.from < last.to || s.from == last.to && s.mark == last.mark {
				t.Fatalf("%q: run %v after %v", cells, s, last)
			}
			copy(back[s.from:], strings.Repeat(string(s.mark), s.to-s.from))
			last = s
		}
		if string(back) != cells {
			t.Fatalf("%q came back as %q", cells, back)
		}
	})
}

func BenchmarkWritePDF(b *testing.B) {
	for name, of := range map[string]sample{"3 stages": shortSample, "150 stages": longSample} {
		b.Run(name, func(b *testing.B) {
			s, err := of.statement()
			if err != nil {
				b.Fatal(err)
			}
			var pdf bytes.Buffer
			for b.Loop() {
				pdf.Reset()
				if err := WritePDF(&pdf, s); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(pdf.Len()), "bytes/print")
		})
	}
}
