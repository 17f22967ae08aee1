package templates

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/jobs"
	"putlog/schedule"
)

// noteOf says whether a note begins so.
func noteOf(j *jobs.Job, beginning string) bool {
	return slices.ContainsFunc(j.Notes, func(n string) bool { return strings.HasPrefix(n, beginning) })
}

func afterIDs(s *jobs.Stage) (ids []string) {
	for _, a := range s.After {
		ids = append(ids, a.Stage)
	}
	return ids
}

func TestFoundDone(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, warnings := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "!strip-out=done", "!dig=done",
			"!dig-seen=done"))
		if hasStage(j, "strip-out") || hasStage(j, "dig") || hasStage(j, "dig-seen") {
			t.Errorf("%s: what was found done is still to be done", tm.Name)
		}
		if got := afterIDs(stageNamed(t, j, "pour")); !slices.Equal(got, []string{"start"}) {
			t.Errorf("%s: pour follows %q", tm.Name, got)
		}
		if !noteOf(j, "Found done: Strip out") ||
			!noteOf(j, "Found done: Hold point: excavation (dig-seen); ask building control") {
			t.Errorf("%s: notes %q", tm.Name, j.Notes)
		}
		if len(warnings) != 0 {
			t.Errorf("%s: %q", tm.Name, warnings)
		}
		_, warnings = convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "!pour=done"))
		if len(warnings) != 2 || !strings.Contains(warnings[0], "its inspection stays in") ||
			!strings.Contains(warnings[1], "found foundation-cures=done") {
			t.Errorf("%s: pour found done: %q", tm.Name, warnings)
		}
	}
}

func TestFoundPoor(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "!slab=poor", "!drains-seen=poor"))
		s := stageNamed(t, j, "make-good-slab")
		if s.Title != "Make good: Clean and level the slab" || s.Takes != jobs.Days(2) ||
			!strings.HasPrefix(s.Reckoning, "1 day: common practice, no published source") {
			t.Errorf("%s: %+v", tm.Name, s)
		}
		if hasStage(j, "slab") || !slices.Contains(afterIDs(stageNamed(t, j, "dpm")), s.ID) {
			t.Errorf("%s: the membrane follows %q", tm.Name, afterIDs(stageNamed(t, j, "dpm")))
		}
		if !slices.Contains(afterIDs(s), "drains-seen") {
			t.Errorf("%s: making good follows %q", tm.Name, afterIDs(s))
		}
		seen := stageNamed(t, j, "drains-seen")
		if seen.Kind != schedule.KindInspection ||
			!slices.Equal(afterIDs(seen), []string{"make-good-drains-seen"}) {
			t.Errorf("%s: an inspection found poor: %+v", tm.Name, seen)
		}
		if !noteOf(j, "Found poor: Clean and level the slab") {
			t.Errorf("%s: notes %q", tm.Name, j.Notes)
		}
	}
}

func TestFoundCovered(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.NorthernIreland, "!dpm=covered",
			"!insulation-seen=covered"))
		lay, see := stageNamed(t, j, "lay-open-dpm"), stageNamed(t, j, "see-dpm")
		closed := stageNamed(t, j, "close-up-dpm")
		if !strings.HasPrefix(lay.Title, "Lay open for the inspector: Lay the damp-proof membrane") {
			t.Errorf("%s: %q", tm.Name, lay.Title)
		}
		if see.Kind != schedule.KindInspection || see.Notice == nil || *see.Notice != 2 ||
			!slices.Equal(afterIDs(see), []string{lay.ID}) ||
			!slices.Equal(afterIDs(closed), []string{see.ID}) {
			t.Errorf("%s: %+v, then %+v", tm.Name, see, closed)
		}
		if hasStage(j, "dpm") || hasStage(j, "dpm-seen") {
			t.Errorf("%s: it is seen twice", tm.Name)
		}
		got := afterIDs(stageNamed(t, j, "floor-insulation"))
		if !slices.Equal(got, []string{closed.ID, "boards-come"}) {
			t.Errorf("%s: the floor insulation follows %q", tm.Name, got)
		}
		if !noteOf(j, "Found covered unseen: Lay the damp-proof membrane") ||
			!noteOf(j, "In place of dpm-seen") {
			t.Errorf("%s: notes %q", tm.Name, j.Notes)
		}
		got = afterIDs(stageNamed(t, j, "insulation-seen"))
		if !slices.Equal(got, []string{"lay-open-insulation-seen"}) {
			t.Errorf("%s: a hold point covered unseen follows %q", tm.Name, got)
		}
		if !slices.Equal(afterIDs(stageNamed(t, j, "boards")), []string{"close-up-insulation-seen"}) {
			t.Errorf("%s: boards follow %q", tm.Name, afterIDs(stageNamed(t, j, "boards")))
		}
		// With a wait between, the hold point sees more than the one stage: it stays.
		j, _ = convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "!dpm=covered", "?membrane=liquid"))
		if !hasStage(j, "dpm-seen") || !hasStage(j, "dpm-sets") {
			t.Errorf("%s: a liquid membrane loses its hold point", tm.Name)
		}
	}
}

func TestFoundUnderpinning(t *testing.T) {
	tm := embedded(t, "attached-garage")
	for state, want := range map[string]string{foundDone: "", foundPoor: "make-good-pin",
		foundCovered: "close-up-pin"} {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?underpin=yes", "!pin="+state))
		if hasStage(j, "pin-dig-1") {
			t.Errorf("%s: it is dug again", state)
		}
		if want != "" && !slices.Contains(afterIDs(stageNamed(t, j, "dig")), want) {
			t.Errorf("%s: dig follows %q", state, afterIDs(stageNamed(t, j, "dig")))
		}
	}
}

// TestFoundAny: whatever is found, the job checks and schedules, every finding
// leaves a note, and nothing that follows loses what stood before.
func TestFoundAny(t *testing.T) {
	templates := allTemplates(t)
	rapid.Check(t, func(rt *rapid.T) {
		tm := templates[rapid.IntRange(0, len(templates)-1).Draw(rt, "template")]
		s := surveyOf(t, jobs.Scotland, "?plumbing=yes", "?opening=yes", "?roof=yes")
		usual, _ := convertedJob(t, tm, s)
		ids := make([]string, len(usual.Stages))
		for i := range usual.Stages {
			ids[i] = usual.Stages[i].ID
		}
		for i := range tm.Stages {
			ts := &tm.Stages[i]
			states := []string{"", foundDone, foundPoor, foundCovered}
			if ts.runsByItself() {
				states = states[:2]
			}
			if !slices.Contains(ids, ts.ID) || ts.ID == "completion" || ts.ID == "certificate" {
				continue // not in this job, or its end
			}
			if state := rapid.SampledFrom(states).Draw(rt, ts.ID); state != "" {
				s.Found = append(s.Found, Setting{ts.ID, state})
			}
		}
		j, _, err := tm.New(s)
		if err != nil {
			rt.Fatal(err)
		}
		checkConversion(t, j)
		found := 0
		for _, n := range j.Notes {
			if strings.HasPrefix(n, "Found ") {
				found++
			}
		}
		if found != len(s.Found) {
			rt.Fatalf("%d findings leave %d notes", len(s.Found), found)
		}
		ways := precedes(j.Stages)
		for _, stage := range j.Stages {
			if end := stage.ID == "certificate" || stage.ID == "completion"; !end &&
				!ways[[2]string{stage.ID, "completion"}] {
				rt.Fatalf("the completion does not wait for %s", stage.ID)
			}
		}
	})
}
