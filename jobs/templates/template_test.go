package templates

import (
	"bytes"
	"encoding"
	"encoding/csv"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"putlog/jobs"
	"putlog/jobs/words"
	"putlog/schedule"
)

// templateTable reads a table of testdata/templates whose first column is the
// source; a row without one fails it.
func templateTable(t *testing.T, name string, columns ...string) [][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "templates", name))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(rows) < 2 || !slices.Equal(rows[0], columns) || columns[0] != "source" {
		t.Fatalf("%s: columns %q, want %q", name, rows[0], columns)
	}
	for _, row := range rows[1:] {
		if row[0] == "" {
			t.Fatalf("%s: a row has no source: %q", name, row)
		}
	}
	return rows[1:]
}

var surveyStart = mustMoment("2027-03-01")

func mustMoment(text string) jobs.Moment {
	at, err := schedule.ParseInstant(text, schedule.AM)
	if err != nil {
		panic(err)
	}
	return jobs.Moment(at)
}

// embedded reads an embedded template.
func embedded(t testing.TB, name string) *Template {
	t.Helper()
	tm, err := Embedded(name)
	if err != nil {
		t.Fatal(err)
	}
	return tm
}

func allTemplates(t testing.TB) (list []*Template) {
	for _, name := range embeddedNames() {
		list = append(list, embedded(t, name))
	}
	return list
}

// surveyOf makes a survey of settings "length=5m"; those of choices, outputs and
// stages begin with a mark: "?floor=timber", "#stud=0.5", "!dpm=covered".
func surveyOf(t testing.TB, region jobs.Region, settings ...string) Survey {
	t.Helper()
	s := Survey{Ref: "test-job", Region: region, Start: surveyStart}
	for _, text := range settings {
		into := &s.Measures
		switch text[0] {
		case '?':
			into = &s.Choices
		case '#':
			into = &s.Outputs
		case '!':
			into = &s.Found
		}
		set, err := ParseSetting(strings.TrimLeft(text, "?#!"))
		if err != nil {
			t.Fatal(err)
		}
		*into = append(*into, set)
	}
	return s
}

func convertedJob(t testing.TB, tm *Template, s Survey) (*jobs.Job, []string) {
	t.Helper()
	j, warnings, err := tm.New(s)
	if err != nil {
		t.Fatal(err)
	}
	return j, warnings
}

func stageNamed(t testing.TB, j *jobs.Job, id string) *jobs.Stage {
	t.Helper()
	i := slices.IndexFunc(j.Stages, func(s jobs.Stage) bool { return s.ID == id })
	if i < 0 {
		t.Fatalf("the job has no stage %q", id)
	}
	return &j.Stages[i]
}

func hasStage(j *jobs.Job, id string) bool {
	return slices.ContainsFunc(j.Stages, func(s jobs.Stage) bool { return s.ID == id })
}

func TestTemplatesListed(t *testing.T) {
	var names []string
	for _, info := range All() {
		names = append(names, info.Name)
		if info.Title == "" || info.About == "" {
			t.Errorf("%s says nothing of itself", info.Name)
		}
		src, err := Source(info.Name)
		if err != nil {
			t.Fatal(err)
		}
		if tm, err := Read("copy.yaml", src); err != nil || tm.Name != info.Name {
			t.Errorf("%s: a copy does not load: %v", info.Name, err)
		}
	}
	want := []string{"attached-garage", "detached-outbuilding", "integral-garage"}
	if !slices.Equal(names, want) || !slices.Equal(embeddedNames(), want) {
		t.Errorf("templates %q, want %q", names, want)
	}
	_, err := Source("atached-garage")
	if err == nil || words.Advice(err) != "did you mean attached-garage?" {
		t.Errorf("a misspelt template: %v", err)
	}
}

// holdPoints are those of a conversion, by their stages, as testdata has them.
func holdPoints(t *testing.T) [][]string {
	return templateTable(t, "notices.csv", "source", "hold", string(jobs.EnglandAndWales),
		string(jobs.Scotland), string(jobs.NorthernIreland))
}

// TestTemplatesBuild makes every job of one choice at a time, in every region
// and on both floors: it must check, schedule and read back.
func TestTemplatesBuild(t *testing.T) {
	holds := holdPoints(t)
	for _, name := range embeddedNames() {
		tm := embedded(t, name)
		for r, region := range jobs.Regions() {
			for _, floor := range []string{"?floor=screed", "?floor=timber"} {
				sets := [][]string{{floor}}
				for _, c := range tm.Choices {
					for _, word := range c.Words {
						if c.Name != "floor" && word != c.Usual {
							sets = append(sets, []string{floor, "?" + c.Name + "=" + word})
						}
					}
				}
				for _, set := range sets {
					t.Run(fmt.Sprint(name, " ", region, " ", set), func(t *testing.T) {
						j, _ := convertedJob(t, tm, surveyOf(t, region, set...))
						checkConversion(t, j)
						for _, row := range holds {
							checkHold(t, j, row[1], row[2+r])
						}
					})
				}
			}
		}
	}
}

// checkConversion proves what every job of a template must keep.
func checkConversion(t testing.TB, j *jobs.Job) {
	t.Helper()
	file := j.File()
	back, err := jobs.ReadJob("test.yaml", file)
	if err != nil {
		t.Fatalf("the job file does not read back: %v", err)
	}
	if !bytes.Equal(back.File(), file) {
		t.Fatal("the job file reads back to another job")
	}
	checkBasis(t, j)
	p, err := j.Programme(schedule.Instant(j.Start).Day())
	if err != nil {
		t.Fatal(err)
	}
	rows := p.Rows()
	if last := rows[len(rows)-1]; !slices.Contains([]string{"completion", "certificate"}, last.ID) {
		t.Errorf("the last stage to start is %s, not the completion", last.ID)
	}
	for _, s := range j.Stages {
		if s.Title == "" || strings.ContainsAny(s.Title+s.Reckoning+strings.Join(j.Notes, ""), "{}") {
			t.Errorf("stage %s: a text was not filled in: %q, %q", s.ID, s.Title, s.Reckoning)
		}
		ruled := s.WaitSpec != schedule.WaitSpec{}
		if s.Kind != schedule.KindInspection && !ruled && s.Reckoning == "" &&
			!strings.HasPrefix(s.ID, "pin-") {
			t.Errorf("stage %s does not say how its length was come by", s.ID)
		}
	}
}

// checkHold proves that a hold point is there, with the notice of the region.
// Those of the ground may fall out with what they are there for.
func checkHold(t *testing.T, j *jobs.Job, id, notice string) {
	t.Helper()
	wanted := true
	switch id {
	case "dig-seen", "pour-seen":
		wanted = hasStage(j, "dig")
	case "drains-seen":
		wanted = hasStage(j, "drains") || hasStage(j, "branch")
	}
	if hasStage(j, id) != wanted {
		t.Errorf("the hold point %s is there: %t, want %t", id, !wanted, wanted)
	}
	if !hasStage(j, id) {
		return
	}
	s := stageNamed(t, j, id)
	if s.Kind != schedule.KindInspection || s.Notice == nil || fmt.Sprint(*s.Notice) != notice {
		t.Errorf("%s is no inspection with notice %s: %v", id, notice, s.Notice)
	}
	if !strings.HasPrefix(s.Title, "Hold point: ") {
		t.Errorf("%s does not say that it is a hold point: %q", id, s.Title)
	}
}

// TestTemplatesUsual holds every hold point to be there when nothing is chosen.
func TestTemplatesUsual(t *testing.T) {
	for _, name := range embeddedNames() {
		j, warnings := convertedJob(t, embedded(t, name), surveyOf(t, jobs.EnglandAndWales))
		for _, row := range holdPoints(t) {
			if !hasStage(j, row[1]) {
				t.Errorf("%s: the hold point %s is not there", name, row[1])
			}
		}
		if len(warnings) > 0 {
			t.Errorf("%s: the usual figures are warned of: %q", name, warnings)
		}
		if !slices.ContainsFunc(j.Notes, func(n string) bool {
			return strings.Contains(n, "Local building control decides")
		}) {
			t.Errorf("%s: no note that local building control decides", name)
		}
	}
}

// TestTemplateNewAgain: the same survey gives the same bytes.
func TestTemplateNewAgain(t *testing.T) {
	for _, name := range embeddedNames() {
		s := surveyOf(t, jobs.Scotland, "?underpin=yes", "?plumbing=yes", "!strip-out=poor", "length=5200mm")
		first, _ := convertedJob(t, embedded(t, name), s)
		again, _ := convertedJob(t, embedded(t, name), s)
		if !bytes.Equal(first.File(), again.File()) {
			t.Errorf("%s: the same survey gives two jobs", name)
		}
	}
}

// TestTemplateOutputs holds the outputs to the reference ranges.
func TestTemplateOutputs(t *testing.T) {
	rows := templateTable(t, "outputs.csv", "source", "outputs", "per", "least", "most", "how")
	for _, row := range rows {
		least, _ := new(big.Rat).SetString(row[3])
		most, _ := new(big.Rat).SetString(row[4])
		for _, name := range embeddedNames() {
			tm := embedded(t, name)
			sum := new(big.Rat)
			for _, output := range strings.Split(row[1], "+") {
				i := slices.Index(tm.outputNames(), output)
				if i < 0 || tm.Outputs[i].Per.String() != row[2] {
					t.Fatalf("%s has no output %s a %s", name, output, row[2])
				}
				sum.Add(sum, tm.Outputs[i].Hours.of)
				if !strings.Contains(tm.Outputs[i].Source, "common practice") {
					t.Errorf("%s: output %s is not marked as common practice", name, output)
				}
			}
			if sum.Cmp(least) < 0 || sum.Cmp(most) > 0 {
				t.Errorf("%s: %s is %s h a %s, not %s (%s)", name, row[1], sum.FloatString(3), row[2],
					row[5], row[0])
			}
		}
	}
}

// TestTemplatePractice holds the usual build-up, all common practice without a
// published source.
func TestTemplatePractice(t *testing.T) {
	for _, name := range embeddedNames() {
		tm := embedded(t, name)
		for _, usual := range [][2]string{{"floor-insulation", "75 mm"}, {"edge-strip", "25 mm"},
			{"stud-insulation", "50 mm"}, {"wall-board", "37.5 mm"}, {"loft-insulation", "270 mm"},
			{"slab", "150 mm"}} {
			m := tm.Measurements[slices.Index(tm.measurementNames(), usual[0])]
			if a, err := m.read(m.Usual); err != nil || a.String() != usual[1] {
				t.Errorf("%s: %s is usually %v (%v), want %s", name, usual[0], a, err, usual[1])
			}
		}
		_, warnings := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?foundation=there", "slab=95mm"))
		want := "The slab under the new wall comes to 95 mm (slab 95 mm), 55 mm less than the 150 mm"
		if len(warnings) != 1 || !strings.HasPrefix(warnings[0], want) {
			t.Errorf("%s: a slab of 95 mm under the new wall: %q", name, warnings)
		}
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?roof=yes"))
		notes := strings.Join(j.Notes, "\n")
		for _, want := range []string{"75 mm insulation, 25 mm strips", "270 mm of insulation",
			"so that no masonry skin loads the slab", "37.5 mm insulated board"} {
			if !strings.Contains(notes, want) {
				t.Errorf("%s: no note of %q", name, want)
			}
		}
		if got := stageNamed(t, j, "studs").Title; got != "Stand the stud walls free of the old walls" {
			t.Errorf("%s: studs are titled %q", name, got)
		}
	}
}

// TestTemplateBad holds the faults of templates to their places.
func TestTemplateBad(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "templates", "bad", "*.yaml"))
	if err != nil || len(files) < 25 {
		t.Fatalf("%d bad templates: %v", len(files), err)
	}
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			src, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.HasPrefix(src, []byte("# source: ")) {
				t.Fatal("the file names no source")
			}
			_, err = Read(name, src)
			if err == nil {
				t.Fatal("it is not refused")
			}
			wants := 0
			for _, line := range strings.Split(string(src), "\n") {
				want, ok := strings.CutPrefix(line, "# want ")
				if !ok {
					continue
				}
				wants++
				if want[0] >= '0' && want[0] <= '9' {
					want = name + ":" + want
				}
				if !strings.Contains(err.Error(), want) {
					t.Errorf("no fault %q in:\n%v", want, err)
				}
			}
			if wants == 0 || strings.Count(err.Error(), "\n") > wants {
				t.Errorf("%d wanted, but:\n%v", wants, err)
			}
		})
	}
}

// FuzzTemplate: no text makes the loader panic, and what it takes makes a job.
func FuzzTemplate(f *testing.F) {
	files, _ := filepath.Glob(filepath.Join("..", "..", "testdata", "templates", "bad", "*.yaml"))
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Add([]byte(shedBasis))
	f.Fuzz(func(t *testing.T, src []byte) {
		tm, err := Read("fuzz.yaml", src)
		if err != nil {
			return
		}
		if _, _, err := tm.New(surveyOf(t, jobs.EnglandAndWales)); err != nil {
			t.Errorf("a template that loads makes no job of its usual figures: %v", err)
		}
	})
}

// FuzzFigures: no amount, sum, condition or unit that is read panics, runs away or
// is refused without a word.
func FuzzFigures(f *testing.F) {
	for _, text := range []string{"", "5.2m", "75 mm", "32m2", "10 °C", "0.00004m", "m2", "2", "floor=screed or a=b",
		"2 * length + 2.6m", "(1m - 2mm) * 3", "a- b", "((((", "1²", "9*9*9"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fuzzAmount(t, text)
		fuzzExpression(t, text)
		for _, into := range []encoding.TextUnmarshaler{new(Unit), new(Notices), new(Condition), new(Sum), new(Note)} {
			if err := into.UnmarshalText([]byte(text)); err != nil && err.Error() == "" {
				t.Fatalf("%T %q was refused without a word", into, text)
			}
		}
	})
}

// fuzzAmount: an amount is printed rounded, so that it settles once printed.
func fuzzAmount(t *testing.T, text string) {
	t.Helper()
	a, err := parseAmount(text)
	if err != nil {
		return
	}
	if _, err := ParseSetting("x=" + a.String()); err != nil {
		t.Fatal(err)
	}
	b, err := parseAmount(a.String())
	if err != nil || b.String() != a.String() || b.dim != a.dim {
		t.Fatalf("%q prints as %q, and that as %q: %v", text, a, b, err)
	}
}

// fuzzExpression: no text makes the sum run away.
func fuzzExpression(t *testing.T, text string) {
	t.Helper()
	var e Expression
	if e.UnmarshalText([]byte(text)) != nil {
		return
	}
	if a, err := e.value(knownTo); err == nil {
		_ = a.String()
		if a.of.Num().BitLen() > maxBits {
			t.Errorf("%s comes to %s", text, a)
		}
	}
	_ = e.explain(knownTo)
}

func ExampleTemplate_New() {
	t, _ := Embedded("attached-garage")
	start, _ := schedule.ParseInstant("2027-03-01", schedule.AM)
	j, warnings, _ := t.New(Survey{Ref: "orchard-row", Region: jobs.EnglandAndWales, Start: jobs.Moment(start),
		Measures: []Setting{{"length", "5.4m"}, {"slab-to-dpc", "130"}}})
	for _, s := range j.Stages {
		if s.ID == "studs" {
			fmt.Println(s.Title, "takes", s.Takes)
			fmt.Println(s.Reckoning)
		}
	}
	fmt.Println(warnings[0])
	// Output:
	// Stand the stud walls free of the old walls takes 2d
	// 32.16 m2 × 0.65 h ÷ (2 people × 7 h) = 1.5 days, so 2 days (stud: 0.5 to 0.8 h a m2, common practice, fairly sure). No masonry skin loads the slab
	// The screed comes to 55 mm (slab-to-dpc 130 mm - floor-insulation 75 mm), 10 mm less than the 65 mm it wants: lay thinner or better floor insulation, or a screed that may be thinner (screed=calcium-sulfate: 35 mm), or a timber floor (floor=timber); ask the inspector before you order.
}
