package documents

import (
	"strings"
	"testing"

	"putlog/schedule"
	"putlog/variations"
)

// TestPlainQuotes: the stories come with straight quotes, so every page, print
// and message writes them so.
func TestPlainQuotes(t *testing.T) {
	s := pageStatement(t)
	n, err := pageJob(t).News(pageDay(t))
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string]string{"statement": page(t, s), "plan": planPage(t), "message": Message(n),
		"print": allPages(printed(t, s)), "ask": askHTML}
	for name, text := range texts {
		if i := strings.IndexAny(text, "‘’“”"); i >= 0 {
			t.Errorf("%s: %q", name, text[max(i-30, 0):min(i+30, len(text))])
		}
	}
}

// TestNothingOffIsDue: a variation that was turned down or withdrawn, its price
// agreed before or not, is said to be so, without a sum.
func TestNothingOffIsDue(t *testing.T) {
	s := pageStatement(t)
	s.Account, s.Ladder = nil, nil
	var sums []string
	for i, state := range []variations.State{variations.Declined, variations.Withdrawn,
		variations.Declined, variations.Withdrawn} {
		s.Variations[i].State, s.Variations[i].Agreed = state, i > 1
		s.Variations[i].Client = variations.Pence(123456 + i)
		sums = append(sums, s.Variations[i].Client.Pounds())
	}
	s.Variations = s.Variations[:4]
	for name, text := range map[string]string{"page": visible(page(t, s)),
		"print": allPages(printed(t, s))} {
		for _, sum := range sums {
			if strings.Contains(text, sum) {
				t.Errorf("%s: %s is named for what is not done", name, sum)
			}
		}
		for _, says := range []string{"Declined nothing", "Withdrawn nothing"} {
			if n := strings.Count(text, says); n != 2 {
				t.Errorf("%s: %q stands %d times, want 2", name, says, n)
			}
		}
	}
}

// TestFirstThingsFirst: before the programme and all detail stand the finish,
// why it moved and what is owed; in the print, on the first page.
func TestFirstThingsFirst(t *testing.T) {
	all := pageSamples(t)
	all["the shed"] = pageStatement(t)
	delete(all, "long words") // its words fill the first page
	for name, s := range all {
		first := []string{"Finish now", "Why the finish moved"}
		if s.Accepted != 0 {
			first = append(first, halvesInWords()(s.Moved))
		}
		if a := s.Account; a != nil {
			first = append(first, "What is owed", a.dueWords(), "Total due", a.TotalDue.Pounds(),
				"Paid so far", a.Paid.Pounds(), "Balance", a.Balance.Pounds())
		}
		html, print := visible(page(t, s)), printed(t, s)[0].all()
		summary, _, _ := strings.Cut(html, "What the builder is waiting for from you")
		for what, text := range map[string]string{"page": summary, "print": print} {
			rest := text
			for _, says := range first {
				_, after, found := strings.Cut(rest, says)
				if !found {
					t.Fatalf("%s, %s: %q does not come first", name, what, says)
				}
				rest = after
			}
		}
		if strings.Contains(summary, "The programme Half-day") {
			t.Errorf("%s: the programme comes before what is owed", name)
		}
	}
}

// TestMainSteps: the steps that moved the finish most, in order of date, and how
// many more there are.
func TestMainSteps(t *testing.T) {
	step := func(what string, worked schedule.Halves) Rung { return Rung{What: what, Worked: worked} }
	s := &Statement{Ladder: []Rung{step("a", 2), step("b", 0), step("c", 5), step("d", -8),
		step("e", 2), step("f", 3)}}
	main, more := s.mainSteps()
	said := ""
	for _, r := range main {
		said += r.What
	}
	if said != "cdf" || more != 2 {
		t.Errorf("%s and %d more, want cdf and 2", said, more)
	}
	if r := (Rung{What: "Dig deeper (V1)", Bearer: variations.Client, Worked: -3}); r.Effect() !=
		"1.5 working days earlier, the client's" {
		t.Errorf("%q", r.Effect())
	}
}
