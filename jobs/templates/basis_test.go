package templates

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// basisTopics are what the quote for a conversion usually rests on, and the
// items by which a template brings each: one of them in every job.
var basisTopics = []struct{ topic, items string }{
	{"slab thickness", "slab-thickness new-slab underpinning"},
	{"ground under the strip", "strip-ground old-foundation"},
	{"floor level to the damp-proof course", "floor-level"},
	{"fire between house and room, or near the boundary", "fire-door boundary"},
	{"escape", "escape way-out"},
	{"ventilation", "ventilation"},
	{"insulation", "insulation"},
	{"asbestos", "asbestos"},
	{"drains", "drains hidden-drain"},
}

// TestTemplateBasis holds every item of the usual jobs to change something; that
// every job has its basis is held by TestTemplatesBuild.
func TestTemplateBasis(t *testing.T) {
	for _, tm := range allTemplates(t) {
		for _, floor := range []string{"?floor=screed", "?floor=timber"} {
			j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, floor))
			for _, b := range j.Basis {
				if len(b.IfNot.Changes) == 0 {
					t.Errorf("%s: %s: nothing changes if it fails", tm.Name, b.Item)
				}
			}
		}
	}
}

// checkBasis proves what the basis of every job of a template must keep.
func checkBasis(t rapid.TB, j *jobs.Job) {
	t.Helper()
	for _, want := range basisTopics {
		n := 0
		for _, name := range strings.Fields(want.items) {
			if basisItem(j, name) != nil {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%d items about %s, want 1: %+v", n, want.topic, j.Basis)
		}
	}
	if !slices.ContainsFunc(j.Notes, func(n string) bool {
		return strings.HasPrefix(n, "Rates, mark-up and quantities") &&
			strings.Contains(n, "no published source")
	}) {
		t.Error("no note that the rates are nobody's: the builder must put in his own")
	}
	for _, b := range j.Basis {
		checkItem(t, &b)
	}
	asAt := schedule.Instant(j.Start).Day()
	b, err := j.BasisAt(asAt)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range b.Lines {
		if !l.Known || l.Worked < 0 || b.Worked < l.Worked {
			t.Errorf("%s would move the finish by %d half-days (known: %t), all of them by %d",
				l.Item, l.Worked, l.Known, b.Worked)
		}
	}
}

func checkItem(t rapid.TB, b *jobs.BasisItem) {
	t.Helper()
	said := b.Says + b.Question
	if !strings.HasSuffix(b.Question, "?") || strings.HasSuffix(b.Says, ".") || b.Says == "" ||
		strings.ContainsAny(said, "{}…") {
		t.Errorf("%s: %q, %q", b.Item, b.Says, b.Question)
	}
	if b.IfNot == nil || b.IfNot.Because == "" {
		t.Fatalf("%s: nothing, or no reason, follows if it fails", b.Item)
	}
	p, err := b.IfNot.Price()
	if err != nil || p.Total <= 0 || p.Client != p.Total || b.IfNot.Time != variations.Client {
		t.Errorf("%s: price %+v, time %s: %v", b.Item, p, b.IfNot.Time, err)
	}
	for _, c := range b.IfNot.Changes {
		if c.Add == nil {
			continue
		}
		s := &c.Add.Stage
		if strings.ContainsAny(s.Title+s.Reckoning, "{}") || s.Kind != schedule.KindInspection &&
			s.WaitSpec == (schedule.WaitSpec{}) && s.Reckoning == "" {
			t.Errorf("%s: stage %s: %q, %q", b.Item, s.ID, s.Title, s.Reckoning)
		}
	}
}

// TestTemplateBasisAnySurvey: whatever is chosen, and whatever others left done,
// poor or covered, every change fits, all of them together as well, none lets a
// stage overtake another, and none brings the finish forward.
func TestTemplateBasisAnySurvey(t *testing.T) {
	templates := allTemplates(t)
	rapid.Check(t, func(rt *rapid.T) {
		tm := templates[rapid.IntRange(0, len(templates)-1).Draw(rt, "template")]
		s := drawSurvey(rt, tm)
		v := tm.take(&s, func(path, what, _ string) { rt.Fatal(path, what) })
		for i := range tm.Stages {
			ts := &tm.Stages[i]
			words := []string{"", "", foundDone, foundPoor, foundCovered}
			if ts.runsByItself() {
				words = words[:3]
			}
			if word := rapid.SampledFrom(words).Draw(rt, ts.ID); word != "" && v.holds(ts.When) {
				s.Found = append(s.Found, Setting{ts.ID, word})
			}
		}
		j, _, err := tm.New(s)
		if err != nil && strings.Contains(err.Error(), "the job has no stages") {
			return
		}
		if err != nil {
			rt.Fatal(err)
		}
		checkBasis(rt, j)
		back, err := jobs.ReadJob("test.yaml", j.File())
		if err != nil || !bytes.Equal(back.File(), j.File()) {
			rt.Fatalf("the job file reads back to another job: %v", err)
		}
		found := precedes(afterAll(rt, j))
		for way := range precedes(j.Stages) {
			if !found[way] {
				rt.Fatalf("%s no longer follows %s", way[1], way[0])
			}
		}
	})
}

// afterAll are the stages once every item has failed and what follows from each
// was instructed.
func afterAll(t rapid.TB, j *jobs.Job) (stages []jobs.Stage) {
	on := schedule.Instant(j.Start).Day()
	for _, b := range j.Basis {
		v := *b.IfNot
		v.Number = j.NextNumber()
		all, err := j.With([]jobs.Entry{{On: on, Event: &v},
			{On: on, Event: &jobs.Ruling{Number: v.Number, To: variations.Instructed}}})
		if err != nil {
			t.Fatalf("%s after those above: %v", b.Item, err)
		}
		j = all
	}
	p, err := j.Programme(on)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range p.Rows() {
		stages = append(stages, *r.Stage)
	}
	return stages
}

// basisItem finds an item of a job's basis; nil where there is none.
func basisItem(j *jobs.Job, name string) *jobs.BasisItem {
	i := slices.IndexFunc(j.Basis, func(b jobs.BasisItem) bool { return b.Item == name })
	if i < 0 {
		return nil
	}
	return &j.Basis[i]
}

// ifNotOf gives what follows if an item fails.
func ifNotOf(t testing.TB, j *jobs.Job, item string) *jobs.Variation {
	t.Helper()
	b := basisItem(j, item)
	if b == nil || b.IfNot == nil {
		t.Fatalf("no item %s that anything follows from: %+v", item, j.Basis)
	}
	return b.IfNot
}

// changesText writes changes as a job file does, one a line.
func changesText(t testing.TB, changes []jobs.Change) string {
	t.Helper()
	v := &jobs.Variation{Changes: changes}
	v.AskedBy, v.Time = variations.FoundOnSite, variations.Neutral
	j := &jobs.Job{Ref: "test", Region: jobs.Scotland, Start: surveyStart,
		Basis: []jobs.BasisItem{{Item: "item", IfNot: v}}, Stages: []jobs.Stage{{ID: "only", Takes: jobs.Days(2)}}}
	_, text, _ := strings.Cut(string(j.File()), "changes:\n")
	text, _, _ = strings.Cut(text, "stages:\n  -")
	return text
}

// TestTemplateBasisQuantities: a line's quantity is a sum over the survey's
// figures, by hand: 3 m × 0.6 m × 1.2 m = 2.16 m3; 3.333 m × 2.222 m = 7.405926 m2.
func TestTemplateBasisQuantities(t *testing.T) {
	j, _ := convertedJob(t, embedded(t, "attached-garage"), surveyOf(t, jobs.EnglandAndWales,
		"pin-length=3m", "pin-depth=1.2m", "length=3.333m", "width=2.222m"))
	for _, want := range []struct{ item, what, quantity, unit string }{
		{"slab-thickness", "C25 concrete and dry pack", "2.16", "m3"},
		{"slab-thickness", "two people digging, shoring, concreting and packing", "3", "m"},
		{"asbestos", "taking out", "7.406", "m2"},
		{"fire-door", "hanging it", "0.5", "day"},
	} {
		lines := ifNotOf(t, j, want.item).Lines
		i := slices.IndexFunc(lines, func(l variations.Line) bool { return l.What == want.what })
		if i < 0 || lines[i].Quantity.String() != want.quantity || lines[i].Unit != want.unit {
			t.Errorf("%s: want %q, got %+v", want.item, want, lines)
		}
	}
	// 650 + 3 × 850 + 2.16 × (150 + 60) = 3653.60; 15 per cent of it 548.04
	p, err := ifNotOf(t, j, "slab-thickness").Price()
	if err != nil || p.Lines != 365360 || p.Markup != 54804 || p.Client != 420164 {
		t.Errorf("a thin slab costs %+v: %v", p, err)
	}
}

// TestTemplateBasisPassesBy: where a stage that a change names falls out, links
// pass it by, and there is nothing of it to retime.
func TestTemplateBasisPassesBy(t *testing.T) {
	tm := embedded(t, "attached-garage")
	for _, tt := range []struct {
		settings, item, want string
	}{
		{"", "ventilation", "after: [wiring]"},
		{"?electrics=no", "ventilation", "after: [studs]"},
		{"", "fire-door", "retime: {stage: door-comes, takes: 15d}"},
		{"", "fire-door", "after: [joinery, door-comes]"},
		{"?opening=no", "fire-door", "after: [joinery, fire-door-comes]"},
		{"?opening=no", "fire-door", "stage: fire-door-comes"},
		{"!strip-out=done", "asbestos", "before: [dig, drains, drains-seen, brick-up, lintel, slab]"},
		{"!strip-out=poor", "asbestos", "before: [make-good-strip-out]"},
		{"!strip-out=covered", "asbestos", "before: [lay-open-strip-out]"},
		{"?underpin=yes", "underpinning", "pin-pack-3]"},
		{"?foundation=there ?underpin=yes", "old-foundation", "pin-pack-3]"},
		{"?foundation=there", "old-foundation", "after: [strip-out]"},
		{"!dpm-seen=done", "floor-level", "before: [floor-insulation]"},
	} {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, strings.Fields(tt.settings)...))
		text := changesText(t, ifNotOf(t, j, tt.item).Changes)
		if !strings.Contains(text, tt.want) {
			t.Errorf("%s: %s: no %q in\n%s", tt.settings, tt.item, tt.want, text)
		}
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?opening=no", "!window-comes=done"))
	for _, item := range []string{"fire-door", "escape"} {
		v := ifNotOf(t, j, item)
		if text := changesText(t, v.Changes); strings.Contains(text, "retime") {
			t.Errorf("%s retimes what is not there:\n%s", item, text)
		}
		if slices.ContainsFunc(v.Lines, func(l variations.Line) bool {
			return l.Kind == variations.Omit
		}) {
			t.Errorf("%s takes off what was not there: %+v", item, v.Lines)
		}
	}
}

// TestTemplateBasisShortWall: a wall too short for bays is priced all the same;
// a note says that its days are not counted.
func TestTemplateBasisShortWall(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.NorthernIreland, "pin-length=1.5m"))
		text := changesText(t, ifNotOf(t, j, "slab-thickness").Changes)
		if strings.Contains(text, "underpin:") {
			t.Errorf("%s: bays where there is no room for them:\n%s", tm.Name, text)
		}
		checkBasis(t, j)
		if !noteOf(j, "Basis, slab-thickness: its days are not in the programme of what follows: "+
			"a wall of 1500 mm is too short") {
			t.Errorf("%s: no note of it: %q", tm.Name, j.Notes)
		}
		j, _ = convertedJob(t, tm, surveyOf(t, jobs.NorthernIreland, "pin-length=2.2m"))
		text = changesText(t, ifNotOf(t, j, "slab-thickness").Changes)
		for _, want := range []string{"wall: 2200mm", "bay: 550mm", "notice: 2"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: 2.2 m in Northern Ireland: no %q in\n%s", tm.Name, want, text)
			}
		}
	}
}

// TestTemplateBasisFails: a finding that an item fails raises its variation with
// its price, and the quote rests on one item less.
func TestTemplateBasisFails(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.Scotland, "slab=95mm"))
		day := schedule.Instant(surveyStart).Day()
		before, err := j.BasisAt(day)
		if err != nil {
			t.Fatal(err)
		}
		entries, left := j.Found(&jobs.Finding{Item: "slab-thickness", Outcome: jobs.Fails, Note: "95 mm"}, day)
		if len(entries) != 2 || len(left) > 0 {
			t.Fatalf("%s: %d entries, left out: %q", tm.Name, len(entries), left)
		}
		raised := entries[1].Event.(*jobs.Variation)
		if raised.From != "slab-thickness" || raised.Because != "95 mm" {
			t.Errorf("%s: raised from %q because %q", tm.Name, raised.From, raised.Because)
		}
		raised.Number = j.NextNumber()
		if j, err = j.With(entries); err != nil {
			t.Fatal(err)
		}
		after, err := j.BasisAt(day)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.Index(j.Basis, *basisItem(j, "slab-thickness"))
		was, is := before.Lines[i], after.Lines[i]
		if is.Outcome != jobs.Fails || is.Raised != "V1" || is.Price != was.Price ||
			after.Client != before.Client-was.Price.Client {
			t.Errorf("%s: %+v; untested %d pence, before %d", tm.Name, is, after.Client, before.Client)
		}
		lines, err := j.Variations(day)
		if err != nil || len(lines) != 1 || lines[0].Price != was.Price || len(lines[0].Changes) != 2 {
			t.Errorf("%s: variations %+v: %v", tm.Name, lines, err)
		}
	}
}

// TestTemplateBasisFailsLate: found when a stage that would take longer is
// finished, the variation is raised without that change.
func TestTemplateBasisFailsLate(t *testing.T) {
	j, _ := convertedJob(t, embedded(t, "attached-garage"), surveyOf(t, jobs.EnglandAndWales))
	day := schedule.Instant(surveyStart).Day() + 60
	j, err := j.With([]jobs.Entry{{On: day, Event: &jobs.Finished{Stage: "window-comes"}}})
	if err != nil {
		t.Fatal(err)
	}
	entries, left := j.Found(&jobs.Finding{Item: "escape", Outcome: jobs.Fails}, day)
	if len(left) != 1 || !strings.Contains(left[0], "window-comes now takes 25d") ||
		!strings.Contains(left[0], "window-comes was finished on") {
		t.Errorf("left out: %q", left)
	}
	raised := entries[1].Event.(*jobs.Variation)
	if text := changesText(t, raised.Changes); strings.Contains(text, "retime") ||
		!strings.Contains(text, "sill-lower") {
		t.Errorf("raised with\n%s", text)
	}
	if raised.Number = j.NextNumber(); len(ifNotOf(t, j, "escape").Changes) != 2 {
		t.Error("the basis itself was changed")
	}
	if _, err := j.With(entries); err != nil {
		t.Error(err)
	}
}

// shedBasis is a template with every kind of change.
const shedBasis = `
template: shed
title: A shed
about: made for a test
hours-a-day: 7
measurements:
  length: {unit: m, usual: 5, what: inside}
choices:
  dry: {words: [no, yes], usual: no, what: is it dry}
  door: {words: [yes, no], usual: yes, what: is there a door}
outputs:
  lay: {hours: 0.5, per: m, source: made for a test}
taken-over: {make-good: 1d, lay-open: 0.5d, close-up: 0.5d, notice: 1, source: made for a test}
basis:
  - item: damp
    says: "{length} are dry"
    question: Is it dry?
    if-not:
      title: "Dry {length}"
      asked-by: client
      cost: {client: 60, builder: 40}
      time: neutral
      lines:
        - {kind: daywork, what: drying, quantity: length, rate: 10.00, percent: 50}
        - {kind: material, what: "none at {length}", quantity: length - 5m, rate: 10.00}
      changes:
        - drop: {stage: damp}
        - link: {from: strip, to: door, link: finish-finish, lag: 1d, lag-on: site}
        - unlink: {from: strip, to: paint}
        - retime: {stage: paint, longer: 1.5d}
        - add: {stage: out, title: Out, takes: 1d, after: strip, before: door}
        - add:
            stage: fan
            title: Fan
            work: {quantity: length - 5m, output: lay, people: 1}
            after: door
        - underpin: {stage: edge, wall: length, bay: 1.25m, after: out, before: paint}
        - add: {stage: look, title: Look, takes: 1d, after: edge, before: paint}
stages:
  - {stage: strip, title: Strip, takes: 1d}
  - {stage: damp, title: Dry out, when: dry=no, takes: 2d, after: strip}
  - {stage: door, title: Door, when: door=yes, takes: 1d, after: damp}
  - {stage: paint, title: Paint, takes: 1d, after: [strip, door]}
`

// TestTemplateBasisChanges holds each kind of change to what it comes to when
// stages that it names fall out, are done, or are laid open.
func TestTemplateBasisChanges(t *testing.T) {
	tm, err := Read("shed.yaml", []byte(shedBasis))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ settings, wants, never string }{
		{"", "drop: {stage: damp}", "fan"},
		{"", "{from: strip, to: door, link: finish-finish, lag: 1d, lag-on: site}", "fan"},
		{"", "unlink: {from: strip, to: paint}", "fan"},
		{"", "retime: {stage: paint, takes: 2.5d}", "fan"},
		{"", "{stage: out, title: Out, takes: 1d, after: [strip], before: [door]}", "fan"},
		{"", "{stage: edge, wall: 5000mm, bay: 1250mm, after: [out], before: [paint]}", "fan"},
		{"", "stage: look, title: Look, takes: 1d, after: [edge-pack-3], before: [paint]", "fan"},
		{"length=6m", "stage: fan", "none"},
		{"length=6m", "wall: 6000mm", "none"},
		{"?dry=yes", "to: door, link: finish-finish", "drop"},
		// strip comes before paint by way of what fell out between them as well
		{"?dry=yes ?door=no", "{link: {from: strip, to: paint}", "finish-finish"},
		{"?dry=yes ?door=no", "unlink: {from: strip, to: paint}", "drop"},
		{"?dry=yes ?door=no", "takes: 1d, after: [strip], before: [paint]", "door"},
		{"!strip=done", "stage: out, title: Out, takes: 1d, before: [door]", "link"},
		{"!paint=covered", "unlink: {from: strip, to: lay-open-paint}", "retime"},
		{"!paint=covered", "after: [out], before: [lay-open-paint]", "retime"},
	} {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, strings.Fields(tt.settings)...))
		text := changesText(t, ifNotOf(t, j, "damp").Changes)
		if !strings.Contains(text, tt.wants) || strings.Contains(text, tt.never) {
			t.Errorf("%q: no %q, or %q, in\n%s", tt.settings, tt.wants, tt.never, text)
		}
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales))
	v := ifNotOf(t, j, "damp")
	// 5 × £10 × 1.5 = £75, the client's £45; none of the second line
	if p, err := v.Price(); err != nil || p.Total != 7500 || p.Client != 4500 || len(v.Lines) != 1 ||
		v.Title != "Dry 5 m" || j.Basis[0].Says != "5 m are dry" {
		t.Errorf("%+v, %+v: %v", v.Terms, p, err)
	}
}

// TestTemplateBasisUnlinkBays: bays that follow a stage can be told not to.
func TestTemplateBasisUnlinkBays(t *testing.T) {
	tm, err := Read("shed.yaml", []byte(strings.Replace(shedBasis, "        - add: {stage: look,",
		"        - unlink: {from: out, to: edge}\n        - add: {stage: look,", 1)))
	if err != nil {
		t.Fatal(err)
	}
	j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales))
	text := changesText(t, ifNotOf(t, j, "damp").Changes)
	if want := "{unlink: {from: out, to: edge-dig-2}}"; !strings.Contains(text, want) {
		t.Errorf("no %q in\n%s", want, text)
	}
}

// TestTemplateBasisRing: links that the changes close to a ring are refused in
// the template, whatever falls out of the job.
func TestTemplateBasisRing(t *testing.T) {
	ring := strings.Replace(shedBasis, "after: out, before: paint", "after: fan, before: door", 1)
	const want = "shed.yaml:27:9: with these changes door is reached from itself: stages follow one " +
		"another in a ring"
	if _, err := Read("shed.yaml", []byte(ring)); err == nil ||
		!strings.HasPrefix(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
}
