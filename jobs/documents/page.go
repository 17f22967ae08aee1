package documents

import (
	_ "embed" // the pages
	"html/template"
	"io"
	"slices"
	"strings"

	"putlog/schedule"
	"putlog/variations"
)

// pageHTML holds the pages; it is read only when one is written, so that no
// other command waits for it.
//
//go:embed page.html
var pageHTML string

// WriteHTML writes the client's copy as one page for a phone and for paper. It
// needs no network and no script.
func WriteHTML(w io.Writer, s *Statement) error {
	bands := drawing{Picture: s.Picture, asAt: s.AsAt, accepted: s.AcceptedOn != 0}.bands()
	main, more := s.mainSteps()
	return writePage(w, "statement", struct {
		*Statement
		Main  []Rung
		More  int
		Rungs []drawnRung
		Bands []drawnBand
	}{s, main, more, drawLadder(s), bands})
}

// headed is a list under a heading.
type headed struct {
	Head  string
	Lines []string
}

// writePage writes one of the pages.
func writePage(w io.Writer, name string, data any) error {
	pages, err := template.New("page").Funcs(template.FuncMap{
		"list":   func(head string, lines []string) headed { return headed{head, lines} },
		"finish": finishWords,
		"long":   schedule.Day.Long,
		"day":    schedule.Day.Short,
		"prose":  halvesInWords(),
		"party":  func(word string) string { return partyWords[word] },
		"moved":  movedWords,
		"state":  stateWords,
		"price":  priceWords,
		"coming": comingWords,
		"pounds": variations.Pence.Pounds,
		"due":    (*Account).dueWords,
		"held":   (*Account).balanceWords,
		"unsure": (*Account).notAgreedWords,
		"more":   moreWords,
		"flagged": func(bands []drawnBand) bool {
			return slices.ContainsFunc(bands, func(b drawnBand) bool { return b.AsAt >= 0 })
		},
		"less": func(p variations.Pence) string { return (-p).Pounds() },
	}).Parse(pageHTML)
	if err != nil {
		return err
	}
	var page strings.Builder
	if err := pages.ExecuteTemplate(&page, name, data); err != nil {
		return err
	}
	_, err = io.WriteString(w, strings.Map(unprintable, page.String()))
	return err
}
