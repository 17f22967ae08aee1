package templates

import (
	"errors"
	"strings"
	"testing"

	"putlog/jobs"
	"putlog/jobs/form"
	"putlog/schedule"
)

// surveyRefused makes a job that must be refused, and gives what is said.
func surveyRefused(t *testing.T, tm *Template, s Survey) string {
	t.Helper()
	j, _, err := tm.New(s)
	var p *form.Problems
	if !errors.As(err, &p) || j != nil {
		t.Fatalf("want problems and no job, got %v and %v", err, j)
	}
	return err.Error()
}

func TestSurveyRefused(t *testing.T) {
	tm := embedded(t, "attached-garage")
	tests := []struct {
		setting string
		wants   string
	}{
		{"lenght=5m", "measurement lenght: the template attached-garage has no measurement " +
			`"lenght"; try: did you mean length`},
		{"length=long", `measurement length: "long" is not a length: inside from the big door to ` +
			"the back wall; try: write metres or millimetres, as 5.2m or 5200mm; a bare figure is " +
			"in metres"},
		{"length=5200", "5200 m is too much for length, which is 15 m at the most; try: measure again"},
		{"length=0.5m", "500 mm is too small for length, which is 2 m at the least"},
		{"length=5m2", `"5m2" is not a length`},
		{"length=-5m", `"-5m" is not a length`},
		{"length=5,2m", `"5,2m" is not a length`},
		{"length=1e3mm", `"1e3mm" is not a length`},
		{"length=99999999999m", "is not a length"},
		{"slab-to-dpc=140m", "140 m is too much for slab-to-dpc, which is 600 mm at the most"},
		{"crew=2.5", "2.5 is not a count: people of your own on the job; try: write a whole number"},
		{"crew=0", "0 is too small for crew, which is 1 at the least"},
		{"temperature=45", "45 °C is too much for temperature"},
		{"?flor=timber", `choice flor: the template attached-garage has no choice "flor"; ` +
			"try: did you mean floor?"},
		{"?floor=timbre", `choice floor: "timbre" is not an answer for floor: what goes on the ` +
			"floor insulation; try: did you mean timber?"},
		{"#studs=0.5", `output studs: the template attached-garage has no output "studs"; ` +
			"try: did you mean stud?"},
		{"#stud=fast", `output stud: "fast" is not a number of hours (one person, a m2); ` +
			"try: write the hours as 0.5 or 0.5h"},
		{"#stud=0", `"0" is not a number of hours`},
		{"#stud=0.5h/m3", `"0.5h/m3" is not a number of hours`},
		{"#hours-a-day=25", "a day has no 25 hours"},
		{"!studz=done", `stage studz: the template attached-garage has no stage "studz"; ` +
			"try: did you mean studs?"},
		{"!studs=ok", `stage studs: "ok" is not how a stage is found; try: write done, poor`},
		{"!pin=done", "pin is not a stage of this job: it is there with underpin=yes"},
		{"!screed-dries=poor", "screed-dries is a wait: it can't be found poor; try: say done"},
		{"!window-comes=covered", "window-comes is a delivery: it can't be found covered"},
		{"window-width=3m", "new-wall comes to -0.36 m2, less than nothing"},
	}
	for _, tt := range tests {
		s := surveyOf(t, jobs.EnglandAndWales, tt.setting)
		if tt.setting == "window-width=3m" {
			s.Measures = append(s.Measures, Setting{"window-height", "1.66m"})
		}
		if got := surveyRefused(t, tm, s); !strings.Contains(got, tt.wants) {
			t.Errorf("%s: %s\nwant %s", tt.setting, got, tt.wants)
		}
	}
}

// TestSurveyRefusedAtOnce: all faults come together.
func TestSurveyRefusedAtOnce(t *testing.T) {
	got := surveyRefused(t, embedded(t, "attached-garage"), Survey{Ref: "Not a ref",
		Measures: []Setting{{"lenght", "5m"}, {"width", "2.6"}, {"width", "2.7"}},
		Choices:  []Setting{{"roof", "maybe"}}, Found: []Setting{{"strip-out", "half"}}})
	for _, want := range []string{`no measurement "lenght"`, "measurement width is given twice",
		`"maybe" is not an answer for roof`, `"half" is not how a stage is found`,
		"region: ", "start: the job has no start"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in:\n%s", want, got)
		}
	}
	s := surveyOf(t, jobs.EnglandAndWales)
	s.Ref = "Not a ref"
	got = surveyRefused(t, embedded(t, "attached-garage"), s)
	if !strings.Contains(got, `"Not a ref" is not`) {
		t.Errorf("a bad reference: %s", got)
	}
}

// TestSurveyUnits: one length, however it is written.
func TestSurveyUnits(t *testing.T) {
	tm := embedded(t, "attached-garage")
	for _, same := range [][]string{
		{"length=5.4m", "length=5400mm", "length=5.4", "length=5.40 m", "length=5400 mm"},
		{"slab-to-dpc=150", "slab-to-dpc=150mm", "slab-to-dpc=0.15m"},
		{"temperature=7.5", "temperature=7.5C", "temperature=7.5 °C"},
	} {
		var first string
		for _, setting := range same {
			j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, setting))
			if file := string(j.File()); first == "" {
				first = file
			} else if file != first {
				t.Errorf("%s makes another job than %s", setting, same[0])
			}
		}
	}
}

func TestSurveyKeeps(t *testing.T) {
	s := surveyOf(t, jobs.NorthernIreland, "#stud=0.5", "#hours-a-day=6.5 h", "length=6m")
	s.Title = "Garage to a study"
	s.Week = &jobs.Week{Mon: jobs.WorkedDay, Tue: jobs.WorkedDay}
	s.Contract = &jobs.Contract{Sum: 1845000}
	j, _ := convertedJob(t, embedded(t, "attached-garage"), s)
	if j.Title != s.Title || j.Region != jobs.NorthernIreland || j.Start != surveyStart ||
		j.Week != s.Week || j.Contract != s.Contract || j.Ref != "test-job" {
		t.Errorf("the job does not keep what the survey says: %+v", j)
	}
	notes := strings.Join(j.Notes, "\n")
	for _, want := range []string{"Measured: length 6 m.",
		"stud 0.5 h a m2 (the template has 0.65 h), 6.5 h worked a day (the template has 7 h)",
		"floor screed, screed sand-cement", "Notices, Northern Ireland"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no note of %q in:\n%s", want, notes)
		}
	}
	for _, other := range []string{"Notices, Scotland", "Notices, England", "Under a timber floor"} {
		if strings.Contains(notes, other) {
			t.Errorf("a note of %q", other)
		}
	}
	says := strings.Join(j.Cautions(), "\n")
	for _, want := range []string{"asbestos", "CDM", "Party Wall", "Structural work", "Part P",
		"Excavation", "Drains", "Roof and ceiling"} {
		if !strings.Contains(says, want) {
			t.Errorf("no caution about %s", want)
		}
	}
}

// TestSurveyBuildUp holds the build-up to its limits.
func TestSurveyBuildUp(t *testing.T) {
	rows := templateTable(t, "build-up.csv", "source", "floor", "screed", "slab_to_dpc", "insulation",
		"outcome", "says")
	for _, tm := range allTemplates(t) {
		for _, row := range rows {
			s := surveyOf(t, jobs.EnglandAndWales, "?floor="+row[1], "?screed="+row[2],
				"slab-to-dpc="+row[3], "floor-insulation="+row[4])
			j, warnings, err := tm.New(s)
			said := strings.Join(warnings, "\n")
			outcome := "fits"
			if err != nil {
				outcome, said = "refused", err.Error()
			} else if len(warnings) > 0 {
				outcome = "warned"
			}
			if outcome != row[5] || !strings.Contains(said, row[6]) || row[6] == "" && said != "" {
				t.Errorf("%s, %q: %s, %s", tm.Name, row, outcome, said)
			}
			if outcome == "warned" && !strings.Contains(strings.Join(j.Notes, "\n"), said) {
				t.Errorf("%s, %q: the warning is not among the job's notes", tm.Name, row)
			}
		}
	}
}

// TestSurveyScreed: the build-up gives the screed's thickness, and that the wait
// (check value: 65 mm, 7 + 50 + 2 × 15 = 87 days); a timber floor has none.
func TestSurveyScreed(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales))
		w, err := stageNamed(t, j, "screed-dries").Wait()
		if err != nil || w.Length != schedule.Days(87) {
			t.Errorf("%s: the screed takes %s: %s", tm.Name, w.Length, w.Rule)
		}
		j, _ = convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?screed=calcium-sulfate",
			"slab-to-dpc=125"))
		w, _ = stageNamed(t, j, "screed-dries").Wait()
		if w.Length != schedule.Days(3+60) || hasStage(j, "screed-cures") || !hasStage(j, "flow-cures") {
			t.Errorf("%s: 50 mm of calcium sulfate takes %s: %s", tm.Name, w.Length, w.Rule)
		}
		j, _ = convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales, "?floor=timber"))
		for _, id := range []string{"screed", "screed-cures", "screed-dries", "floor-test"} {
			if hasStage(j, id) {
				t.Errorf("%s: a timber floor has the stage %s", tm.Name, id)
			}
		}
		if !hasStage(j, "timber-floor") {
			t.Errorf("%s: no timber floor", tm.Name)
		}
	}
}

// TestSurveyMeanwhile: studs begin when the screed can be walked on, and boards
// and skim are done while it dries.
func TestSurveyMeanwhile(t *testing.T) {
	for _, tm := range allTemplates(t) {
		j, _ := convertedJob(t, tm, surveyOf(t, jobs.EnglandAndWales))
		p, err := j.Programme(schedule.Instant(surveyStart).Day())
		if err != nil {
			t.Fatal(err)
		}
		at := func(id string) schedule.Dates {
			i, err := p.Find(id)
			if err != nil {
				t.Fatal(err)
			}
			return p.Row(i).Dates
		}
		cured, dry := at("screed-cures").Finish, at("screed-dries").Finish
		if at("studs").Start < cured || at("skim-dries").Finish >= dry {
			t.Errorf("%s: studs %s, skim dry %s; screed cured %s, dry %s", tm.Name,
				at("studs").Start, at("skim-dries").Finish, cured, dry)
		}
		if at("covering").Start < dry || at("floor-test").Finish < dry || at("floor-test").Start >= dry {
			t.Errorf("%s: covered %s, tested until %s, dry %s", tm.Name, at("covering").Start,
				at("floor-test").Finish, dry)
		}
	}
}

// TestSurveyUnderpin: a wall too short for four bays of a metre has narrower
// ones, each is seen with notice, and what follows waits for the last dry pack.
func TestSurveyUnderpin(t *testing.T) {
	for _, tm := range allTemplates(t) {
		for _, tt := range []struct {
			wall, bays string
			last       string
		}{{"2.2m", "2200 mm of wall in 4 bays of 550 mm", "pin-pack-4"},
			{"6m", "6000 mm of wall in 6 bays of 1000 mm", "pin-pack-6"}} {
			j, _ := convertedJob(t, tm, surveyOf(t, jobs.NorthernIreland, "?underpin=yes", "pin-length="+tt.wall))
			if notes := strings.Join(j.Notes, "\n"); !strings.Contains(notes, tt.bays) {
				t.Errorf("%s: %s: no note of %q:\n%s", tm.Name, tt.wall, tt.bays, notes)
			}
			if !hasStage(j, tt.last) {
				t.Errorf("%s: %s: no stage %s", tm.Name, tt.wall, tt.last)
			}
			if see := stageNamed(t, j, "pin-see-1"); see.Notice == nil || *see.Notice != 2 {
				t.Errorf("%s: a bay's inspection has notice %v", tm.Name, see.Notice)
			}
			if says := strings.Join(j.Cautions(), "\n"); !strings.Contains(says, "neighbouring bays") {
				t.Errorf("%s: no caution about neighbouring bays", tm.Name)
			}
			ways := precedes(j.Stages)
			for _, s := range j.Stages {
				if strings.HasPrefix(s.ID, "pin-pack-") && !ways[[2]string{s.ID, "brick-up"}] {
					t.Errorf("%s: brick-up does not wait for %s", tm.Name, s.ID)
				}
			}
		}
		got := surveyRefused(t, tm, surveyOf(t, jobs.EnglandAndWales, "?underpin=yes", "pin-length=1.5m"))
		if !strings.Contains(got, "stage pin: a wall of 1500 mm is too short to be underpinned in bays") {
			t.Errorf("%s: %s", tm.Name, got)
		}
	}
}
