package templates

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/testdata/race"
)

// TestMain draws fewer surveys under the race detector; the command line has the
// last word.
func TestMain(m *testing.M) {
	if race.Slows > 1 {
		_ = flag.Set("rapid.checks", "10")
	}
	os.Exit(m.Run())
}

// drawSurvey draws a survey that a template takes.
func drawSurvey(rt *rapid.T, tm *Template) Survey {
	s := Survey{Ref: "drawn", Start: surveyStart,
		Region: rapid.SampledFrom(jobs.Regions()).Draw(rt, "region")}
	for _, c := range tm.Choices {
		if rapid.Bool().Draw(rt, "set "+c.Name) {
			s.Choices = append(s.Choices, Setting{c.Name, rapid.SampledFrom(c.Words).Draw(rt, c.Name)})
		}
	}
	mm := func(name string, from, to int) {
		s.Measures = append(s.Measures, Setting{name,
			fmt.Sprintf("%dmm", rapid.IntRange(from, to).Draw(rt, name))})
	}
	mm("length", 2000, 9000)
	mm("width", 1800, 6000)
	mm("slab", 60, 300)
	mm("slab-to-dpc", 125, 225)
	mm("pin-length", 2000, 9000)
	return s
}

// TestTemplateAnySurvey makes jobs of any choices together, and proves that a
// stage that falls out leaves no gap: what followed another stage, by way of
// whatever stages, still follows it.
func TestTemplateAnySurvey(t *testing.T) {
	templates := allTemplates(t)
	rapid.Check(t, func(rt *rapid.T) {
		tm := templates[rapid.IntRange(0, len(templates)-1).Draw(rt, "template")]
		s := drawSurvey(rt, tm)
		j, _, err := tm.New(s)
		if err != nil {
			rt.Fatal(err)
		}
		checkConversion(t, j)
		var whole []jobs.Stage
		for _, ts := range tm.Stages {
			whole = append(whole, jobs.Stage{ID: ts.ID, After: ts.After})
		}
		ways, found := precedes(whole), precedes(j.Stages)
		for way := range ways {
			if hasStage(j, way[0]) && hasStage(j, way[1]) && !found[way] {
				rt.Fatalf("%s no longer follows %s", way[1], way[0])
			}
		}
	})
}

// precedes gives every pair of stages of which the second follows the first,
// finish to start, by way of whatever others: links joined until no more come.
func precedes(stages []jobs.Stage) map[[2]string]bool {
	ways := map[[2]string]bool{}
	for more := true; more; {
		more = false
		for _, s := range stages {
			for _, a := range s.After {
				if a.Link != schedule.FinishStart {
					continue
				}
				for _, b := range stages {
					from := [2]string{b.ID, s.ID}
					if (b.ID == a.Stage || ways[[2]string{b.ID, a.Stage}]) && !ways[from] {
						ways[from], more = true, true
					}
				}
			}
		}
	}
	return ways
}

// TestTemplateMoreArea: more area never shortens a stage, more people never
// lengthen one.
func TestTemplateMoreArea(t *testing.T) {
	templates := allTemplates(t)
	rapid.Check(t, func(rt *rapid.T) {
		tm := templates[rapid.IntRange(0, len(templates)-1).Draw(rt, "template")]
		s := drawSurvey(rt, tm)
		small, _, err := tm.New(s)
		if err != nil {
			rt.Fatal(err)
		}
		more := s
		more.Measures = slices.Clone(s.Measures)
		i := rapid.IntRange(0, 1).Draw(rt, "longer or wider")
		var was int
		fmt.Sscanf(s.Measures[i].Value, "%dmm", &was)
		more.Measures[i].Value = fmt.Sprintf("%dmm", was+rapid.IntRange(1, 3000).Draw(rt, "more"))
		large, _, err := tm.New(more)
		if err != nil {
			rt.Fatal(err)
		}
		s.Measures = append(slices.Clone(s.Measures), Setting{"crew", "3"})
		manned, _, err := tm.New(s)
		if err != nil {
			rt.Fatal(err)
		}
		if len(large.Stages) != len(small.Stages) || len(manned.Stages) != len(small.Stages) {
			rt.Fatal("the stages are not the same")
		}
		for k := range small.Stages {
			a, _ := small.Stages[k].Length()
			b, _ := large.Stages[k].Length()
			c, _ := manned.Stages[k].Length()
			if b < a || c > a {
				rt.Fatalf("%s takes %s; with more area %s, with more people %s", small.Stages[k].ID, a, b, c)
			}
		}
	})
}
