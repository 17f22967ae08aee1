package documents

import (
	"bytes"
	"flag"
	"fmt"
	"html"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/testdata/race"
	"putlog/variations"
)

var updatePages = flag.Bool("update-pages", false, "write the pages that tests expect; read them")

// pageJob reads the invented job with its invented history.
func pageJob(t testing.TB) *jobs.Job {
	t.Helper()
	src, err := os.ReadFile("testdata/page/shed.yaml")
	if err != nil {
		t.Fatal(err)
	}
	j, err := jobs.ReadJob("shed.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// pageDay is the day on which the history of the job stands.
func pageDay(t testing.TB) schedule.Day {
	t.Helper()
	asAt, err := schedule.ParseDay("2027-03-03")
	if err != nil {
		t.Fatal(err)
	}
	return asAt
}

func pageStatement(t testing.TB) *Statement {
	t.Helper()
	s, err := StatementOf(pageJob(t), pageDay(t))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// pageSamples are the statements that every check of the pages goes through,
// beside that of the job with a history.
func pageSamples(t testing.TB) map[string]*Statement {
	t.Helper()
	all, err := samples()
	if err != nil {
		t.Fatal(err)
	}
	statements := make(map[string]*Statement)
	for _, one := range all {
		statements[one.name] = one.s
	}
	return statements
}

// page writes a statement as a page.
func page(t testing.TB, s *Statement) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteHTML(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// planPage writes the builder's page of the job.
func planPage(t testing.TB) string {
	t.Helper()
	p, err := PlanOf(pageJob(t), pageDay(t))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WritePlanHTML(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// hostileTexts are what a person may type to break a page, or to make one that
// is not what it seems.
var hostileTexts = []string{
	`<script>alert(1)</script>`,
	`"><img src=x onerror=alert(1)>`,
	`' onmouseover='alert(1)`,
	`</title></desc></svg></style><style>*{display:none}</style>`,
	`]]><!-- --><![CDATA[ & &amp; &#60; &lt;script&gt;`,
	`{{.Account}} {{template "statement"}} ${1+1} javascript:alert(1)`,
	"turned \u202e about \u2066 and \u200f back \u202c\u2069, nought\x00, " +
		" bell\x07, esc\x1b[2J, \u0085",
	strings.Repeat("Donaudampfschifffahrtsgesellschaft", 14),
	strings.Repeat("mm ", 160),
	"שלום 漢字 🏠🏚️ Ⅷ",
}

// hostileStatement puts hostile texts wherever a person may type.
func hostileStatement(t testing.TB, text string) *Statement {
	s := pageStatement(t)
	s.Title, s.Stands, s.Moved = text, text+" finishes on Fri 4 Jun 2027 pm.", text
	for i := range s.Ladder {
		s.Ladder[i].Story, s.Ladder[i].What = text, text
	}
	for i := range s.Picture.Bars {
		s.Picture.Bars[i].Name = text
	}
	for i := range s.Variations {
		s.Variations[i].Title, s.Variations[i].Because, s.Variations[i].Number = text, text, text
	}
	for i := range s.Answers {
		s.Answers[i].What = text
	}
	for i := range s.Next {
		s.Next[i].Name = text
	}
	s.Cautions, s.Ref, s.Method = []string{text}, text, text
	return s
}

func TestPageGolden(t *testing.T) {
	pages := map[string]string{"statement": page(t, pageStatement(t)), "plan": planPage(t)}
	for name, got := range pages {
		file := "testdata/page/" + name + ".html"
		if *updatePages {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			gotLines, wantLines := strings.Split(got, "\n"), strings.Split(string(want), "\n")
			for i := range min(len(gotLines), len(wantLines)) {
				if gotLines[i] != wantLines[i] {
					t.Errorf("%s line %d:\n%s\nwant\n%s", file, i+1, gotLines[i], wantLines[i])
					break
				}
			}
			t.Errorf("%s: %d lines, want %d; if it is meant: go test ./jobs/documents -update-pages",
				file, len(gotLines), len(wantLines))
		}
	}
}

func TestPageIsTheSameTwice(t *testing.T) {
	twice := func(name string, draw func() string) {
		if first, second := draw(), draw(); first != second {
			t.Errorf("%s: another page came out otherwise", name)
		}
	}
	for name, s := range pageSamples(t) {
		twice(name, func() string { return page(t, s) })
	}
	twice("statement", func() string { return page(t, pageStatement(t)) })
	twice("plan", func() string { return planPage(t) })
}

// TestPageSaysItAll looks for what both readers need.
func TestPageSaysItAll(t *testing.T) {
	s := pageStatement(t)
	text := visible(page(t, s))
	for _, want := range []string{
		"Fri 14 May 2027 (morning)",   // finish agreed
		"Fri 4 Jun 2027 (afternoon)",  // finish now
		"Thu 27 May 2027 (afternoon)", // revised completion date
		"Pin the corner pier before the front wall goes up (V1). The inspector asked for this",
		"£3,489.87", "Price agreed", "£777.59", "Instructed, price not agreed yet",
		"Proposed: not instructed, price not agreed yet", "Declined",
		"£45,274.34 is still to be paid", "VAT at 20 per cent", "-£8,000.00",
		"Client chooses the floor", "A yes or no to V3", "By Mon 31 May 2027",
		"Slab gains strength", "The CDM Regulations 2015", "time impact analysis", "Builder", "Neutral",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	for _, bar := range s.Picture.Bars {
		if !strings.Contains(text, bar.Name) {
			t.Errorf("the page does not name %q", bar.Name)
		}
	}
	half := regexp.MustCompile(`[0-9]{1,2} [A-Z][a-z]{2}( [0-9]{4})? [ap]m\b`)
	if at := half.FindString(text); at != "" {
		t.Errorf("a householder reads %q", at)
	}
}

// TestPageSpeaksOfItsMarks: the key names the mark of the as-at date where one
// is drawn, and not else.
func TestPageSpeaksOfItsMarks(t *testing.T) {
	s := pageStatement(t)
	const mark = `<path class="as-at"`
	if n := strings.Count(page(t, s), mark); n < 2 {
		t.Errorf("the mark stands %d times, in the key and a drawing at least", n)
	}
	s.AsAt = s.Picture.To + 30
	if n := strings.Count(page(t, s), mark); n != 0 {
		t.Errorf("the mark stands %d times and no drawing has the day", n)
	}
}

// visible is the text of a page without its tags.
func visible(page string) string {
	_, body, _ := strings.Cut(page, "<body>")
	body = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, " ")
	return strings.Join(strings.Fields(html.UnescapeString(body)), " ")
}

// forms are the ways in which an amount may be written.
func forms(p variations.Pence) []string {
	pounds := strings.TrimPrefix(p.Pounds(), "-")
	plain := strings.ReplaceAll(strings.TrimPrefix(pounds, "£"), ",", "")
	return []string{pounds[len("£"):], plain, strings.ReplaceAll(plain, ".", ","),
		strings.ReplaceAll(plain, ".", "")}
}

// builderFigures are what a client's copy may not hold, each in the forms in
// which it may be written: rates, quantities times rates, sums of lines, rates
// and sums of mark-up, the builder's share, and totals that are not the client's.
func builderFigures(t testing.TB, j *jobs.Job) (hidden, shown []string) {
	t.Helper()
	lines, err := j.Variations(pageDay(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		sums := []variations.Pence{l.Price.Lines, l.Price.Markup, l.Price.Builder, l.Price.Total}
		for _, line := range l.Lines {
			sum, err := line.Quantity.Times(line.Rate)
			if err != nil {
				t.Fatal(err)
			}
			sums = append(sums, line.Rate, sum)
			hidden = append(hidden, line.What)
			if line.Percent != 0 {
				hidden = append(hidden, line.Percent.String()+"%", line.Percent.String()+" per")
			}
		}
		for _, sum := range sums {
			if sum != 0 && sum != l.Price.Client {
				hidden = append(hidden, forms(sum)...)
			}
		}
		if l.Markup != 0 {
			hidden = append(hidden, l.Markup.String())
		}
		shown = append(shown, l.Price.Client.Pounds())
	}
	return hidden, shown
}

func TestPageHoldsNothingOfTheBuilder(t *testing.T) {
	j := pageJob(t)
	hidden, shown := builderFigures(t, j)
	hidden = append(hidden, "markup", "mark-up", "Mark-up", "rate of",
		"317.93", "31793", "343.19", "13.7")
	if len(hidden) < 60 {
		t.Fatalf("only %d figures to look for", len(hidden))
	}
	text := page(t, pageStatement(t))
	for _, figure := range hidden {
		if at := strings.Index(text, figure); at >= 0 {
			t.Errorf("the page holds %q: %q", figure, text[max(at-40, 0):min(at+40, len(text))])
		}
	}
	for _, price := range shown[:3] { // the fourth was declined
		if !strings.Contains(text, price) {
			t.Errorf("the page does not hold the client's price %s", price)
		}
	}
	// The search finds what is there.
	s := pageStatement(t)
	s.Cautions = []string{"Two men at 317.93 a day."}
	found := page(t, s)
	if !slices.ContainsFunc(hidden, func(f string) bool { return strings.Contains(found, f) }) {
		t.Error("a figure of the builder went unseen")
	}
}

// pageTags are the tags of the pages with the attributes each may have.
var pageTags = map[string]string{
	"html": "lang", "head": "", "meta": "charset name content http-equiv", "title": "id", "style": "",
	"body": "", "header": "", "main": "", "footer": "", "section": "class aria-labelledby",
	"h1": "", "h2": "id", "p": "class", "br": "", "strong": "", "span": "class",
	"dl": "class", "div": "class", "dt": "", "dd": "", "ul": "class aria-label", "li": "",
	"table": "class", "caption": "", "thead": "", "tbody": "", "tr": "class", "th": "scope class",
	"td": "class data-head", "figure": "class", "figcaption": "",
	"svg": "viewBox role aria-labelledby aria-describedby aria-hidden", "desc": "id", "g": "transform",
	"path": "class d", "text": "class x y", "img": "src width height alt",
}

var (
	anyTag  = regexp.MustCompile(`<(/?)([a-zA-Z!][^\s/>]*)([^>]*)>`)
	anyAttr = regexp.MustCompile(`([^\s=]+)="[^"]*"`)
)

// withPhotos adds a photo and a paper to a statement.
func withPhotos(t *testing.T, s *Statement, says string) *Statement {
	made, w, h := shrink(cornered(t, 1))
	s.Photos = []Photo{{s.AsAt, says, "strip.jpg", made, w, h},
		{s.AsAt, says, says + ".pdf", nil, 0, 0}}
	return s
}

// foreign lists what a page holds that its template does not: tags, attributes,
// and whatever else a browser could fetch, run or be led astray by.
func foreign(page string) []string {
	var found []string
	if !strings.HasPrefix(page, "<!doctype html>\n") {
		found = append(found, page[:20])
	}
	for _, m := range anyTag.FindAllStringSubmatch(strings.TrimPrefix(page, "<!doctype html>"), -1) {
		allowed, known := pageTags[m[2]]
		if !known {
			found = append(found, m[0])
			continue
		}
		attributes := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(m[3]), "/"))
		for _, a := range anyAttr.FindAllStringSubmatch(attributes, -1) {
			if !slices.Contains(strings.Fields(allowed), a[1]) {
				found = append(found, m[0])
			}
		}
		if m[2] == "img" && !strings.HasPrefix(attributes, `src="data:image/jpeg;base64,`) {
			found = append(found, m[0])
		}
		if rest := strings.TrimSpace(anyAttr.ReplaceAllString(attributes, "")); rest != "" {
			found = append(found, m[0])
		}
	}
	if n := strings.Count(page, "<"); n != len(anyTag.FindAllString(page, -1)) {
		found = append(found, "a < that opens no tag")
	}
	head, body, _ := strings.Cut(page, "</style>")
	for _, fetch := range []string{"url(", "@import"} {
		if strings.Contains(head, fetch) {
			found = append(found, fetch)
		}
	}
	if strings.Contains(body, "<style") {
		found = append(found, "a second style")
	}
	if i := strings.IndexFunc(page, func(r rune) bool { return unprintable(r) < 0 }); i >= 0 {
		found = append(found, fmt.Sprintf("%+q", page[i:i+4]))
	}
	return found
}

func TestPageHoldsNothingForeign(t *testing.T) {
	race.Skip(t)
	shown := withPhotos(t, pageStatement(t), "Step finished")
	pages := map[string]string{"the shed": page(t, shown), "its plan": planPage(t)}
	for name, s := range pageSamples(t) {
		pages[name] = page(t, s)
	}
	for _, text := range hostileTexts {
		pages[text] = page(t, withPhotos(t, hostileStatement(t, text), text))
	}
	for name, page := range pages {
		if found := foreign(page); len(found) > 0 {
			t.Errorf("%s: %q", name, found[:min(3, len(found))])
		}
	}
	// The search finds what is there.
	whole := pages["the shed"]
	for _, bad := range []string{`<img src="x">`, `<p onclick="x">`, `<p style="x">`, `<p class=x>`,
		"<!-- x -->", "\u202e"} {
		if len(foreign(strings.Replace(whole, "<main>", "<main>"+bad, 1))) == 0 {
			t.Errorf("%q went unseen", bad)
		}
	}
}

// TestPageKeepsWhatWasTyped: escaping loses nothing that can be seen.
func TestPageKeepsWhatWasTyped(t *testing.T) {
	for _, text := range hostileTexts {
		want := strings.Join(strings.Fields(strings.Map(unprintable, text)), " ")
		got := visible(page(t, hostileStatement(t, text)))
		if n := strings.Count(got, want); n < 40 {
			t.Errorf("%q stands %d times on the page", want, n)
		}
	}
}

func TestPageSaysThatItCouldNotBeWritten(t *testing.T) {
	if err := WriteHTML(fullDisk{}, pageStatement(t)); err == nil {
		t.Error("a page was written to a full disk")
	}
}

func BenchmarkWriteHTML(b *testing.B) {
	s := pageSamples(b)["a long job"]
	b.ReportAllocs()
	for b.Loop() {
		if err := WriteHTML(io.Discard, s); err != nil {
			b.Fatal(err)
		}
	}
}
