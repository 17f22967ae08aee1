package documents

import (
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// shedStory is what happened on the shed: a stop, a variation that is instructed,
// one that waits for an answer and one that was turned down.
const shedStory = `  - {on: 2027-03-03, finished: {stage: dig, at: 2027-03-02}}
  - {on: 2027-03-03, finished: {stage: window}}
  - {on: 2027-03-03, inspection: {stage: see-dig, outcome: fail, note: go 150 mm deeper}}
  - {on: 2027-03-03, notice: {stage: see-dig}}
  - {on: 2027-03-03, variation: {number: V1, title: Dig deeper and fill with concrete,
     asked-by: inspector, because: soft clay at 600 mm,
     cost: {client: 60, builder: 40}, time: client, markup: 15,
     lines: [{kind: labour, what: two men, quantity: 2, unit: day, rate: 311.11}],
     changes: [{add: {stage: deeper, takes: 5d, after: dig, before: see-dig}}]}}
  - {on: 2027-03-03, instructed: {variation: V1}}
  - {on: 2027-03-03, variation: {number: V2, title: Oak floor,
     asked-by: client, cost: client, time: client,
     lines: [{kind: subcontract, what: oak, quantity: 20, unit: m2, rate: 65}],
     changes: [{add: {stage: oak, title: Lay the oak, takes: 3d, after: paint, before: see-all}}]}}
  - {on: 2027-03-03, variation: {number: V3, title: No paint,
     asked-by: client, cost: client, time: client,
     lines: [{kind: omit, what: paint, quantity: 1, rate: 400}], changes: [{drop: {stage: paint}}]}}
  - {on: 2027-03-04, declined: {variation: V3}}
  - {on: 2027-03-05, closure: {from: 2027-03-04, to: 2027-03-05 am, who: [site], why: storm}}
`

func news(t testing.TB, j *jobs.Job, asAt string) *jobs.News {
	t.Helper()
	n, err := j.News(day(t, asAt))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func newsOf(t testing.TB, j *jobs.Job, number, asAt string) *jobs.VariationNews {
	t.Helper()
	n, err := j.NewsOf(number, day(t, asAt))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// A variation that is not there, or not yet, has no news. (What messages say is
// held word for word by the script of the command.)
func TestNewsOfNoVariation(t *testing.T) {
	j := shed(t, shedStory)
	_, err := j.NewsOf("V9", day(t, "2027-03-05"))
	if err == nil || !strings.Contains(err.Error(), `"V9"`) {
		t.Errorf("a variation that is not there: %v", err)
	}
	if _, err := j.NewsOf("V1", day(t, "2027-03-02")); err == nil {
		t.Error("a variation that is not raised yet has news")
	}
}

// What the builder's work costs, his mark-up and his share are in no message.
func TestMessagesHoldNothingOfTheBuilder(t *testing.T) {
	j := shed(t, shedStory)
	texts := []string{Message(news(t, j, "2027-03-05"))}
	for _, number := range []string{"V1", "V2", "V3"} {
		texts = append(texts, VariationMessage(newsOf(t, j, number, "2027-03-05")))
	}
	// V1: 2 × 311.11 = 622.22; 15 per cent 93.33; 715.55, of which 429.33 the
	// client's and 286.22 the builder's
	for _, secret := range []string{"311.11", "622.22", "93.33", "715.55", "286.22", "15 per cent",
		"two men"} {
		for _, text := range texts {
			if strings.Contains(text, secret) {
				t.Errorf("%q stands in\n%s", secret, text)
			}
		}
	}
	if !strings.Contains(texts[1], "429.33") {
		t.Errorf("the client's share is not in\n%s", texts[1])
	}
}

// drawText draws a title of any length.
func drawText(t *rapid.T, name string) string {
	word := rapid.StringMatching(`[a-zA-Z½é🏠,.;-]{1,30}`)
	if rapid.IntRange(0, 3).Draw(t, name+" is long") == 0 {
		return strings.TrimSpace(strings.Repeat("half a storey ", 400))
	}
	words := rapid.SliceOfN(word, 1, rapid.IntRange(1, 60).Draw(t, name+" words")).Draw(t, name)
	return strings.Join(words, " ")
}

func drawDay(t *rapid.T, name string) schedule.Day {
	return rapid.Map(rapid.IntRange(int(schedule.FirstDay), int(schedule.LastDay)),
		func(d int) schedule.Day { return schedule.Day(d) }).Draw(t, name)
}

func drawPence(t *rapid.T, name string) variations.Pence {
	sum := rapid.OneOf(rapid.Int64(), rapid.Just[int64](math.MinInt64+1))
	return variations.Pence(sum.Draw(t, name))
}

// longestFinish is as long as what is said of the finish can be.
const longestFinish = "Finish moves from Wed 30 Sep pm to Wed 30 Sep 2099 pm: " +
	"12345.5 working days earlier, 12345.5 the client's, 12345.5 the builder's and 12345.5 neutral. " +
	"Revised completion date: Wed 30 Sep 2099 pm."

// numbers of variations; nothing bounds their length.
var numbers = []string{"", "V1", "V123", strings.Repeat("N", 400)}

func drawNews(t *rapid.T) *jobs.News {
	n := &jobs.News{Ref: "job", Title: drawText(t, "title"), AsAt: drawDay(t, "as at"),
		Finish: longestFinish}
	for i := range rapid.IntRange(0, 30).Draw(t, "steps") {
		n.Steps = append(n.Steps, jobs.NewsStep{On: drawDay(t, "on"), Title: drawText(t, "step"),
			Number: rapid.SampledFrom(numbers).Draw(t, "number"),
			For:    "for the inspector", Effect: "12345.5 working days earlier, the builder's",
			Moved: schedule.Halves(i - 15)})
	}
	for range rapid.IntRange(0, 30).Draw(t, "answers") {
		n.Answers = append(n.Answers, jobs.NewsAnswer{
			Offer: "-£1,000,000,000.00 without VAT, 12345.5 working days earlier",
			Answer: jobs.Answer{What: "Agreement to the price of V12, " + drawText(t, "answer"),
				By: rapid.SampledFrom([]schedule.Day{0, n.AsAt, schedule.LastDay}).Draw(t, "by")}})
	}
	if rapid.Bool().Draw(t, "contract") {
		n.Price = &jobs.NewsPrice{Contract: drawPence(t, "sum"), Revised: drawPence(t, "revised"),
			NotAgreed: drawPence(t, "not agreed"), WithVAT: drawPence(t, "with VAT")}
	}
	return n
}

// However long the titles and however much happened, a message is no longer than
// it may be, and what it says of dates and sums is whole.
func TestMessageFits(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := drawNews(r)
		text := Message(n)
		if size := utf8.RuneCountInString(text); size > MostMessage {
			r.Fatalf("%d characters:\n%s", size, text)
		}
		must := []string{n.AsAt.Long(), n.Finish}
		if n.Price != nil {
			must = append(must, sumsLine(*n.Price))
		}
		for _, fact := range must {
			if !strings.Contains(text, fact) {
				r.Fatalf("%q is not in\n%s", fact, text)
			}
		}
		for line := range strings.SplitSeq(text, "\n") {
			if strings.HasPrefix(line, "- Agreement") && !slices.ContainsFunc(n.Answers,
				func(a jobs.NewsAnswer) bool {
					return a.By == 0 || strings.HasSuffix(line, ", by "+answerBy(a.By, n.AsAt))
				}) {
				r.Fatalf("the day has gone from %q", line)
			}
		}
	})
}

func TestVariationMessageFits(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := &jobs.VariationNews{Ref: "job", Job: drawText(r, "job"), AsAt: drawDay(r, "as at"),
			Asked: "asked for by the inspector", WithVAT: drawPence(r, "with VAT"), VAT: 17_500,
			Contract: rapid.Bool().Draw(r, "contract"), Finish: longestFinish, By: drawDay(r, "by")}
		n.Number = rapid.SampledFrom(numbers[1:]).Draw(r, "number")
		n.Title, n.Because = drawText(r, "title"), drawText(r, "because")
		n.Client = drawPence(r, "client")
		switch rapid.IntRange(0, 2).Draw(r, "state") {
		case 1:
			n.Instructed = n.AsAt
		case 2:
			n.Off, n.State = n.AsAt, variations.Withdrawn
		}
		text := VariationMessage(n)
		if size := utf8.RuneCountInString(text); size > MostMessage {
			r.Fatalf("%d characters:\n%s", size, text)
		}
		must := []string{"withdrawn on " + n.Off.Long()}
		if n.Off == 0 {
			must = []string{n.Finish, priceLine(n), answerLine(n)}
		}
		for _, fact := range must {
			if !strings.Contains(text, fact) {
				r.Fatalf("%q is not in\n%s", fact, text)
			}
		}
	})
}

func TestCutOfATitle(t *testing.T) {
	for _, test := range []struct {
		most       int
		text, want string
	}{
		{20, "Underpin the strip", "Underpin the strip"},
		{18, "Underpin the strip", "Underpin the strip"},
		{17, "Underpin the strip", "Underpin the…"},
		{13, "Underpin the strip", "Underpin the…"},
		{12, "Underpin the strip", "Underpin…"},
		{8, "Underpin the strip", "Underpi…"}, // one word alone is cut where it must be
		{16, "Dig out, and trim the side", "Dig out, and…"},
		{9, "Dig out, and trim", "Dig out…"},
		{30, "two\nlines\tand  blanks", "two lines and blanks"},
		{5, "½½½½½½", "½½½½…"},
	} {
		if got := (messageCut{title: test.most}).of(test.text); got != test.want {
			t.Errorf("%d of %q: got %q, want %q", test.most, test.text, got, test.want)
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		text, most := drawText(r, "text"), rapid.IntRange(8, 60).Draw(r, "most")
		got := (messageCut{title: most}).of(text)
		if n := utf8.RuneCountInString(got); n > most {
			r.Fatalf("%d characters of %d: %q", n, most, got)
		}
		if kept, cut := strings.CutSuffix(got, "…"); !strings.HasPrefix(text, kept) ||
			cut == (got == text) {
			r.Fatalf("%q is not the beginning of %q", got, text)
		}
	})
}
