package documents

import (
	"strings"
	"testing"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

func TestSpanWords(t *testing.T) {
	at := func(text string, half schedule.Half) schedule.Instant {
		i, err := schedule.ParseInstant(text, half)
		if err != nil {
			t.Fatal(err)
		}
		return i
	}
	for _, test := range []struct{ from, last, want string }{
		{"2027-02-08 am", "2027-02-11 pm", "Mon 8 Feb to Thu 11 Feb"},
		{"2027-02-08 pm", "2027-02-11 am", "Mon 8 Feb (afternoon) to Thu 11 Feb (morning)"},
		{"2027-02-08 am", "2027-02-08 pm", "Mon 8 Feb"},
		{"2027-02-08 am", "2027-02-08 am", "Mon 8 Feb (morning)"},
		{"2027-02-08 pm", "2027-02-08 pm", "Mon 8 Feb (afternoon)"},
		{"2027-02-08 pm", "2027-02-08 am", "Mon 8 Feb (morning)"}, // no length
		{"2028-02-29 pm", "2028-03-01 pm", "Tue 29 Feb (afternoon) to Wed 1 Mar"},
	} {
		if got := spanWords(at(test.from, 0), at(test.last, 0)+1); got != test.want {
			t.Errorf("%s to %s: %q, want %q", test.from, test.last, got, test.want)
		}
	}
	if got := spanWords(schedule.FirstInstant, schedule.FirstInstant); got == "" {
		t.Error("no words for the first instant there is")
	}
}

func TestHalvesInWords(t *testing.T) {
	prose := halvesInWords()
	for text, want := range map[string]string{
		"from Fri 21 May pm to Thu 3 Jun 2027 am.": "from Fri 21 May (afternoon) to " +
			"Thu 3 Jun 2027 (morning).",
		"Mon 1 Mar amber, 3 pm, Sun 1 Foo am": "Mon 1 Mar amber, 3 pm, Sun 1 Foo am",
	} {
		if got := prose(text); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestStateWords(t *testing.T) {
	for want, v := range map[string]jobs.ClientLine{
		"Proposed: not instructed, price not agreed yet": {State: variations.Raised},
		"Instructed, price not agreed yet":               {State: variations.Instructed},
		"Instructed, price agreed":                       {State: variations.Instructed, Agreed: true},
		"Price agreed":                                   {State: variations.Agreed, Agreed: true},
		"Carried out, price agreed":                      {State: variations.CarriedOut, Agreed: true},
		"Carried out, price not agreed yet":              {State: variations.CarriedOut},
		"Declined":                                       {State: variations.Declined},
		"Withdrawn":                                      {State: variations.Withdrawn, Agreed: true},
	} {
		if got := stateWords(v); got != want {
			t.Errorf("%v: %q, want %q", v.State, got, want)
		}
	}
}

func TestNowWords(t *testing.T) {
	s := &Statement{Picture: Picture{Bars: []Bar{{State: schedule.Finished}, {}}}}
	if got := s.NowWords(); got != "Finish now" {
		t.Errorf("a job that runs: %q", got)
	}
	s.Picture.Bars[1].State = schedule.Finished
	if got := s.NowWords(); got != "Finished" {
		t.Errorf("a job that is over: %q", got)
	}
}

// TestWhatWords: a step is named in a few words; half-day words aside, it is the
// beginning of its story.
func TestWhatWords(t *testing.T) {
	for _, r := range pageStatement(t).Ladder {
		if r.What == "" || !strings.HasPrefix(r.Story, r.What) {
			t.Errorf("%q is not how %q begins", r.What, r.Story)
		}
	}
	idle := variations.Step{Event: variations.Event{Kind: variations.Drift}}
	if got := whatWords(idle); got != "Days went by with nothing recorded" {
		t.Errorf("%q", got)
	}
}

func TestBalanceWords(t *testing.T) {
	for want, a := range map[string]Account{"total due less what was paid": {},
		"total due less what was paid and a retention of £2.50": {Retention: 250}} {
		if got := a.balanceWords(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	for want, more := range map[string]int{"": 0, "One more step moved it; all are set out below.": 1,
		"12 more steps moved it; all are set out below.": 12} {
		if got := moreWords(more); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
