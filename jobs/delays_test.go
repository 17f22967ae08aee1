package jobs

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"putlog/jobs/form"
	"putlog/schedule"
	"putlog/variations"
)

// delayFile is a published or constructed case of delay; see ../testdata/delays.
type delayFile struct {
	Source string      `form:"source"`
	Sure   string      `form:"how-sure"`
	Says   string      `form:"says"`
	Job    Job         `form:"job"`
	Cases  []delayCase `form:"cases"`
}

// delayCase is a history on the job of its file, and what must come of it.
type delayCase struct {
	ID       string       `form:"case"`
	Says     string       `form:"says"`
	Entries  []Entry      `form:"entries"`
	AsAt     schedule.Day `form:"as-at"`
	Accepted Until        `form:"accepted"`
	Forecast Until        `form:"forecast"`
	Entitled Until        `form:"entitled"`
	Worked   delayBorne   `form:"worked"`
	Steps    []delayStep  `form:"steps,optional"`
	Floats   []delayFloat `form:"floats,optional"`
}

// delayBorne is who bears how many working days.
type delayBorne struct {
	Client  Length `form:"client"`
	Builder Length `form:"builder"`
	Neutral Length `form:"neutral"`
}

// delayStep is a step that must be listed: of a variation, or of a kind.
type delayStep struct {
	Ref   string       `form:"ref,optional"`
	Kind  string       `form:"kind,optional"`
	On    schedule.Day `form:"on,optional"`
	Moved Length       `form:"moved"`
	Alone Length       `form:"alone,optional"`
	Story string       `form:"story,optional"` // how what is told of it ends
}

type delayFloat struct {
	Stage string `form:"stage"`
	Days  Length `form:"days"`
}

// readDelays reads a file of cases. A file that does not name its source first,
// and how sure it is, fails.
func readDelays(file string, into any) error {
	src, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if !bytes.HasPrefix(src, []byte("source: \"")) {
		return fmt.Errorf("%s: the first line names no source", file)
	}
	return form.Read(file, src, into, nil)
}

// TestDelays holds movement and entitlement to the cases.
func TestDelays(t *testing.T) {
	files, err := filepath.Glob("../testdata/delays/*.yaml")
	if err != nil || len(files) != 7 {
		t.Fatalf("%d files of cases, want 7 (%v)", len(files), err)
	}
	for _, file := range files {
		if filepath.Base(file) == "chestermount.yaml" {
			continue // TestDelayNet
		}
		var f delayFile
		if err := readDelays(file, &f); err != nil {
			t.Fatal(err)
		}
		if f.Source == "" || f.Sure == "" || len(f.Cases) == 0 {
			t.Errorf("%s: no source, no word how sure, or no case", file)
		}
		for _, c := range f.Cases {
			t.Run(filepath.Base(file)+" "+c.ID, func(t *testing.T) { c.check(t, &f.Job) })
		}
	}
}

// check holds one case to what it must come to.
func (c delayCase) check(t *testing.T, j *Job) {
	told := *j
	told.Entries = c.Entries
	j, err := ReadJob(c.ID, told.File())
	if err != nil {
		t.Fatal(err)
	}
	m, err := j.Moved(c.AsAt)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []struct {
		what string
		got  schedule.Instant
		want Until
	}{
		{"accepted", m.Accepted, c.Accepted}, {"forecast", m.Forecast, c.Forecast},
		{"entitled", m.Entitled, c.Entitled},
	} {
		if d.got != d.want.End() {
			t.Errorf("%s %v, want %v", d.what, d.got.Last(), schedule.Instant(d.want))
		}
	}
	for i, want := range []Length{c.Worked.Client, c.Worked.Builder, c.Worked.Neutral} {
		if got := m.By[i].Worked; got != want.Halves() {
			t.Errorf("the %v bears %v, want %v", variations.Bearer(i+1), got, want)
		}
	}
	for _, want := range c.Steps {
		want.check(t, m)
	}
	p, err := j.Programme(c.AsAt)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range c.Floats {
		i, err := p.Find(want.Stage)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Row(i).Float; got != want.Days.Halves() {
			t.Errorf("%s has %v of float, want %v", want.Stage, got, want.Days)
		}
	}
}

// check finds the step that is meant and holds it to what it must say.
func (want delayStep) check(t *testing.T, m *Moved) {
	t.Helper()
	for _, s := range m.Steps {
		if want.Ref != "" && s.Ref != want.Ref || want.Kind != "" && s.Kind != want.Kind {
			continue
		}
		if s.Moved != want.Moved.Halves() || want.On != 0 && s.On != want.On {
			t.Errorf("%s %s on %s moved %v, want %v", s.Kind, s.Ref, s.On, s.Moved, want.Moved)
		}
		if !want.Alone.IsZero() && (s.Alone == nil || *s.Alone != want.Alone.Halves()) {
			t.Errorf("%s alone moves %v, want %v", s.Ref, s.Alone, want.Alone)
		}
		if story := m.Story(s); !strings.HasSuffix(story, want.Story) {
			t.Errorf("%s: %s\nwant %s", s.Ref, story, want.Story)
		}
		return
	}
	t.Errorf("there is no step %s%s", want.Kind, want.Ref)
}

// TestDelaysNeedASource: a file of cases without its source is refused.
func TestDelaysNeedASource(t *testing.T) {
	src, err := os.ReadFile("../testdata/delays/carillion.yaml")
	if err != nil {
		t.Fatal(err)
	}
	line := bytes.IndexByte(src, '\n')
	file := filepath.Join(t.TempDir(), "none.yaml")
	for _, first := range []string{"", "source:\n", "says: \"first\"\nsource: \"second\"\n"} {
		if err := os.WriteFile(file, append([]byte(first), src[line+1:]...), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := readDelays(file, &delayFile{}); err == nil {
			t.Errorf("%q is taken", first)
		}
	}
}

// TestDelayNet: days due are added net to the end of the agreed time, however
// late the builder was when they fell due (Chestermount).
func TestDelayNet(t *testing.T) {
	var f struct {
		Source    string `form:"source"`
		Sure      string `form:"how-sure"`
		Says      string `form:"says"`
		Shift     int    `form:"shift-years"`
		Agreed    string `form:"agreed"`
		Net       string `form:"net"`
		Completed string `form:"completed"`
		Due       int    `form:"days-due"`
		Late      int    `form:"days-late"`
	}
	if err := readDelays("../testdata/delays/chestermount.yaml", &f); err != nil {
		t.Fatal(err)
	}
	day := func(text string) schedule.Day {
		var year, month, date int
		if _, err := fmt.Sscanf(text, "%d-%d-%d", &year, &month, &date); err != nil {
			t.Fatal(err)
		}
		d, err := schedule.NewDay(year+f.Shift, month, date)
		if err != nil || f.Shift%28 != 0 {
			t.Fatalf("%s shifted by %d years: %v", text, f.Shift, err)
		}
		return d
	}
	agreed, net, completed := day(f.Agreed), day(f.Net), day(f.Completed)
	if got := agreed.Weekday(); got != schedule.Tuesday { // 9 May 1989 was a Tuesday
		t.Errorf("the shift makes a %v of it", got)
	}
	finish := []schedule.Day{agreed, agreed + schedule.Day(f.Late), agreed + schedule.Day(f.Late+f.Due)}
	if finish[2] != completed {
		t.Fatalf("%d and %d days lead to %s", f.Late, f.Due, finish[2])
	}
	m, err := variations.MovementOf(variations.History{Accepted: agreed - 400, AsAt: completed,
		Site: schedule.EveryDay(),
		Events: []variations.Event{{On: agreed - 10, Kind: "progress", Bearer: variations.Builder},
			{On: agreed + 300, Kind: "instructed", Ref: "V1", Bearer: variations.Client, Always: true}},
		At: func(n int, _ schedule.Day) (variations.View, error) {
			return variations.View{Finish: finish[n].End()}, nil
		}})
	if err != nil {
		t.Fatal(err)
	}
	late, due := schedule.Days(f.Late), schedule.Days(f.Due)
	if m.Entitled != net.End() || m.By[1].Worked != late || m.By[0].Worked != due {
		t.Errorf("entitled to %v, borne %v; want %s", m.Entitled.Last(), m.By, net)
	}
}
