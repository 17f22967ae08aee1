package templates

import (
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/jobs"
	"putlog/schedule"
)

// TestWorkDurations holds the duration rule to its fixtures, by way of a
// template and a survey.
func TestWorkDurations(t *testing.T) {
	src := `template: shed
title: A shed
about: made for a test
hours-a-day: 7
measurements: {area: {unit: m2, usual: 30, what: wall}, crew: {unit: each, usual: 2, what: people}}
outputs: {stud: {hours: 0.6, per: m2, source: made for a test}}
taken-over: {make-good: 1d, lay-open: 0.5d, close-up: 0.5d, notice: 1, source: made for a test}
stages: [{stage: studs, title: Studs, work: {quantity: area, output: stud, people: crew}}]
`
	tm, err := Read("shed.yaml", []byte(src))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range templateTable(t, "durations.csv", "source", "quantity", "hours", "people",
		"hours_a_day", "exact", "takes") {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "area="+row[1], "#stud="+row[2],
			"crew="+row[3], "#hours-a-day="+row[4]))
		s := j.Stages[0]
		if s.Takes.String() != row[6] || !strings.Contains(s.Reckoning, " = "+row[5]+", so ") {
			t.Errorf("%q: takes %s: %s", row, s.Takes, s.Reckoning)
		}
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "area=32", "#stud=0.65"))
	want := "32 m2 × 0.65 h ÷ (2 people × 7 h) = 1.49 days, so 2 days (stud: your own figure)"
	if got := j.Stages[0].Reckoning; got != want {
		t.Errorf("reckoning %q, want %q", got, want)
	}
	_, _, err = tm.New(surveyOf(t, jobs.EnglandAndWales, "area=900000m2", "#stud=900"))
	if err == nil || !strings.Contains(err.Error(), "stage studs: it comes to") {
		t.Errorf("work for a lifetime: %v", err)
	}
	_, _, err = tm.New(surveyOf(t, jobs.EnglandAndWales, "area=0m2"))
	if err == nil || !strings.Contains(err.Error(), "the job has no stages") {
		t.Errorf("nothing to do: %v", err)
	}
}

// TestWorkAir: a template's wait may be counted at the site's temperatures.
func TestWorkAir(t *testing.T) {
	src := `template: slab
title: A slab
about: made for a test
hours-a-day: 7
taken-over: {make-good: 1d, lay-open: 0.5d, close-up: 0.5d, notice: 1, source: made for a test}
stages:
  - {stage: pour, title: Pour, takes: 1d}
  - stage: cures
    title: Cures
    kind: wait
    concrete: {class: N, fraction: 0.7}
    air: site
    after: pour
`
	tm, err := Read("slab.yaml", []byte(src))
	if err != nil {
		t.Fatal(err)
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales))
	if s := stageNamed(t, j, "cures"); s.Air != jobs.SiteAir || s.Concrete == nil {
		t.Errorf("the wait is not counted on site: %+v", s)
	}
}

// TestWorkNothing: where the window fills the opening there is no wall to build.
func TestWorkNothing(t *testing.T) {
	j, _ := convertedJob(t, embedded(t, "attached-garage"), surveyOf(t, jobs.EnglandAndWales,
		"door-width=2.4m", "window-width=2.4m", "door-height=2.1m", "window-height=2.1m"))
	if hasStage(j, "brick-up") {
		t.Error("a wall of nothing is built")
	}
	notes := strings.Join(j.Notes, "\n")
	if !strings.Contains(notes, "(brick-up): there is none to do") {
		t.Errorf("no note of it:\n%s", notes)
	}
	if !precedes(j.Stages)[[2]string{"foundation-cures", "window"}] {
		t.Error("the window no longer waits for the foundation")
	}
}

// TestWholeDays holds the rounding to the plain definition: the fewest whole
// days that are enough, or half a day.
func TestWholeDays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		days := big.NewRat(rapid.Int64Range(0, 10_000).Draw(rt, "num"),
			rapid.Int64Range(1, 997).Draw(rt, "den"))
		var want schedule.Halves
		if days.Sign() > 0 {
			want = 1
		}
		for big.NewRat(int64(want), 2).Cmp(days) < 0 {
			want = want/2*2 + 2 // half a day, then 1, 2, 3 …
		}
		if got := wholeDays(days); got != want {
			rt.Fatalf("%s days: %s, want %s", days, got, want)
		}
		shown, _ := new(big.Rat).SetString(strings.Fields(upText(days))[0])
		if over := new(big.Rat).Sub(shown, days); over.Sign() < 0 || over.Cmp(big.NewRat(1, 100)) >= 0 {
			rt.Fatalf("%s days are shown as %s", days, upText(days))
		}
	})
}
