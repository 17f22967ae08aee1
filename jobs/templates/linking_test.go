package templates

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/jobs"
	"putlog/schedule"
)

const linkingTemplate = `template: links
title: Links of every kind
about: made for a test
hours-a-day: 7
choices: {b: {words: [in, out], usual: in, what: is there a stage b}}
taken-over: {make-good: 1d, lay-open: 0.5d, close-up: 0.5d, notice: 1, source: made for a test}
stages:
  - {stage: a, title: A, takes: 1d}
  - {stage: b, title: B, takes: 1d, when: b=in, after: {stage: a, link: start-start, lag: 3d}}
  - {stage: c, title: C, takes: 1d, after: {stage: b, link: finish-finish, lag: 2d, lag-on: site}}
  - {stage: d, title: D, takes: 1d, after: {stage: c, link: start-start, lag: 1d}}
  - {stage: e, title: E, takes: 1d, after: {stage: d, link: finish-finish, lag: 1d}}
  - {stage: f, title: F, takes: 1d, after: [a, c]}
`

// linksOf lists every link into a stage as it is written in words.
func linksOf(t *testing.T, j *jobs.Job, id string) (links []jobs.After) {
	t.Helper()
	return stageNamed(t, j, id).After
}

// TestLinkingTakenOver: the followers of a stage that fell out take over what it
// followed as finish-start links without lag (contract, section 4, drop).
func TestLinkingTakenOver(t *testing.T) {
	tm, err := Read("links.yaml", []byte(linkingTemplate))
	if err != nil {
		t.Fatal(err)
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales))
	want := []jobs.After{{Stage: "b", Link: schedule.FinishFinish, Lag: jobs.Days(4), LagOn: jobs.SiteCalendar}}
	if diff := cmp.Diff(want, linksOf(t, j, "c"), cmp.AllowUnexported(jobs.Length{})); diff != "" {
		t.Errorf("with b, c follows\n%s", diff)
	}
	j, _ = convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?b=out"))
	if diff := cmp.Diff([]jobs.After{{Stage: "a"}}, linksOf(t, j, "c"),
		cmp.AllowUnexported(jobs.Length{})); diff != "" {
		t.Errorf("without b, c follows\n%s", diff)
	}
	// f names a itself: what the template writes stays, implied or not
	if diff := cmp.Diff([]jobs.After{{Stage: "a"}, {Stage: "c"}}, linksOf(t, j, "f"),
		cmp.AllowUnexported(jobs.Length{})); diff != "" {
		t.Errorf("f follows\n%s", diff)
	}
}

// TestLinkingGroups: a link to the start of a stage that became several is to the
// first of them, one to its finish to the last, at either end of the link.
func TestLinkingGroups(t *testing.T) {
	tm, err := Read("links.yaml", []byte(linkingTemplate))
	if err != nil {
		t.Fatal(err)
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "!c=covered", "!e=covered"))
	for id, want := range map[string][]jobs.After{
		"lay-open-c": nil,
		"see-c":      {{Stage: "lay-open-c"}},
		"close-up-c": {{Stage: "see-c"},
			{Stage: "b", Link: schedule.FinishFinish, Lag: jobs.Days(4), LagOn: jobs.SiteCalendar}},
		"d":          {{Stage: "lay-open-c", Link: schedule.StartStart, Lag: jobs.Days(2)}},
		"f":          {{Stage: "a"}, {Stage: "close-up-c"}},
		"lay-open-e": nil,
		"close-up-e": {{Stage: "see-e"}, {Stage: "d", Link: schedule.FinishFinish, Lag: jobs.Days(2)}},
	} {
		if diff := cmp.Diff(want, linksOf(t, j, id), cmp.AllowUnexported(jobs.Length{})); diff != "" {
			t.Errorf("%s follows\n%s", id, diff)
		}
	}
}

// TestLinkingUnderpinning: the job's steps are those of the sequence, each with
// its length and its links.
func TestLinkingUnderpinning(t *testing.T) {
	j, _ := convertedJob(t, embedded(t, "attached-garage"), surveyOf(t, jobs.EnglandAndWales,
		"?underpin=yes", "pin-length=6m"))
	sequence, err := schedule.Underpinning{WallMM: 6000, BayMM: 1000, Dig: 1, Pour: 1,
		NoticeAsked: true, Notice: 1}.Sequence()
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range sequence.Steps {
		s := stageNamed(t, j, "pin-"+step.ID)
		var want []jobs.After
		for _, l := range step.After {
			a := jobs.After{Stage: "pin-" + sequence.Steps[l.Step].ID}
			if l.Lag != 0 {
				a.Lag = jobs.Days(l.Lag)
				if l.OnSite {
					a.LagOn = jobs.SiteCalendar
				}
			}
			want = append(want, a)
		}
		if want == nil { // the first dig
			want = []jobs.After{{Stage: "strip-out"}, {Stage: "pin-design"}}
		}
		if diff := cmp.Diff(want, s.After, cmp.AllowUnexported(jobs.Length{})); diff != "" {
			t.Errorf("%s follows\n%s", s.ID, diff)
		}
		if s.Kind != step.Kind || s.Takes != jobs.Days(step.Length) ||
			(step.Notice >= 0) != (s.Notice != nil) {
			t.Errorf("%s: %+v, want %+v", s.ID, s, step)
		}
	}
}
