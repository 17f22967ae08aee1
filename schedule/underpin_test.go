package schedule

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// underpinCase is a published or constructed example; see testdata.
type underpinCase struct {
	Source       string `json:"source"`
	HowKnown     string `json:"how_known"`
	Counting     string `json:"counting"`
	WallMM       int    `json:"wall_mm"`
	BayMM        int    `json:"bay_mm"`
	Share        int    `json:"share"`
	SeenOnTheDay bool   `json:"seen_on_the_day"`
	Order        []int  `json:"order"`
	Bays         int    `json:"bays"`
	WidthMM      int    `json:"width_mm"`
	DigDays      []int  `json:"dig_days"`
	PackDays     []int  `json:"pack_days"`
	FinishDay    int    `json:"finish_day"`
}

// readUnderpinCase fails a case whose first field is not its source.
func readUnderpinCase(text []byte) (c underpinCase, err error) {
	if !regexp.MustCompile(`^\{\s*"source": "[^"]`).Match(text) {
		return c, fmt.Errorf("its first field must be its source")
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	return c, d.Decode(&c)
}

// days gives the day, from 1, on which that step of each bay ends, in order.
func (r *underpinRun) days(id string) (days []int) {
	for _, bay := range r.Order {
		days = append(days, int(r.finish[r.step(id, bay)].Last().Day()-r.start[0].Day())+1)
	}
	return days
}

func mustSequence(t testing.TB, u Underpinning) UnderpinSequence {
	t.Helper()
	s, err := u.Sequence()
	if err != nil {
		t.Fatalf("%+v: %v", u, err)
	}
	return s
}

func TestUnderpinCases(t *testing.T) {
	files, err := filepath.Glob("../testdata/underpinning/*.json")
	if err != nil || len(files) < 4 {
		t.Fatalf("%d cases, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			c, err := readUnderpinCase(text)
			if err != nil {
				t.Fatal(err)
			}
			checkUnderpinCase(t, c)
		})
	}
}

func checkUnderpinCase(t *testing.T, c underpinCase) {
	s := mustSequence(t, Underpinning{WallMM: c.WallMM, BayMM: c.BayMM, Share: c.Share,
		SeenOnTheDay: c.SeenOnTheDay, Order: c.Order})
	if s.Bays != c.Bays || s.WidthMM != c.WidthMM {
		t.Errorf("%d bays of %d mm, want %d of %d", s.Bays, s.WidthMM, c.Bays, c.WidthMM)
	}
	if c.Order == nil {
		return
	}
	if !slices.Equal(s.Order, c.Order) {
		t.Errorf("order %v, want %v", s.Order, c.Order)
	}
	r := slowUnderpin(s, EveryDay(), EveryDay(), day(t, "2027-03-01").AM(), nil)
	dug, poured, packed := r.days("dig"), r.days("pour"), r.days("pack")
	if !slices.Equal(dug, c.DigDays) || !slices.Equal(poured, c.DigDays) {
		t.Errorf("dug on days %v, concreted on %v, want %v", dug, poured, c.DigDays)
	}
	if !slices.Equal(packed, c.PackDays) || slices.Max(packed) != c.FinishDay {
		t.Errorf("packed on days %v, want %v", packed, c.PackDays)
	}
	end := slices.Max(r.finish)
	if end.Half() != AM || int(end.Day()-r.start[0].Day()) != c.FinishDay {
		t.Errorf("finished at %v, want the end of day %d", end, c.FinishDay)
	}
}

func TestUnderpinCaseNeedsSource(t *testing.T) {
	for _, text := range []string{
		`{"wall_mm": 1, "source": "x"}`, `{"source": ""}`, `{}`, `{"source": "x", "wal": 1}`,
	} {
		if _, err := readUnderpinCase([]byte(text)); err == nil {
			t.Errorf("%s was taken", text)
		}
	}
}

func TestUnderpinGroups(t *testing.T) {
	for _, c := range []struct {
		wall  int
		order []int
		want  string
	}{
		{4000, nil, "[[2] [4] [1] [3]]"}, // odd bays first would set 3 before 2: a wait
		{5000, nil, "[[1] [3] [5] [2] [4]]"},
		{6000, nil, "[[1] [3] [5] [2] [4] [6]]"},
		{9000, nil, "[[1 6] [3 8] [5] [2 7] [4 9]]"},
		{12000, nil, "[[1 5 9] [3 7 11] [2 6 10] [4 8 12]]"},
		{8000, []int{1, 3, 5, 7, 2, 4, 6, 8}, "[[1 3] [5 7] [2 4] [6 8]]"},
		{8000, []int{1, 2, 3, 4, 5, 6, 7, 8}, "[[1] [2] [3] [4] [5] [6] [7] [8]]"},
		{8000, []int{1, 8, 7, 3, 2, 5, 4, 6}, "[[1 8] [7 3] [2 5] [4 6]]"},
	} {
		s := mustSequence(t, Underpinning{WallMM: c.wall, Order: c.order})
		if got := fmt.Sprint(s.Groups); got != c.want {
			t.Errorf("%d mm, order %v: %s, want %s", c.wall, c.order, got, c.want)
		}
	}
}

// The usual sequence of one bay takes three days: dug on the first, seen in the
// morning of the second and concreted after noon, packed by the end of the third.
func TestUnderpinUsualBay(t *testing.T) {
	s := mustSequence(t, Underpinning{WallMM: 4000, NoticeAsked: true, Notice: 1})
	r := slowUnderpin(s, EveryDay(), EveryDay(), day(t, "2027-03-01").AM(), nil)
	var got []string
	for i, step := range s.Steps[:6] {
		got = append(got, fmt.Sprintf("%s %d %s %d %s to %s, %s", step.ID, step.Kind,
			step.Length, step.Notice, r.start[i].Short(), r.finish[i].Last().Short(), step.Title))
	}
	want := []string{
		"dig-2 0 1d -1 Mon 1 Mar am to Mon 1 Mar pm, Dig bay 2",
		"see-2 3 0.5d 1 Tue 2 Mar am to Tue 2 Mar am, Engineer and building control see bay 2",
		"pour-2 0 0.5d -1 Tue 2 Mar pm to Tue 2 Mar pm, Concrete bay 2",
		"gain-2 1 1d -1 Tue 2 Mar pm to Wed 3 Mar am, Bay 2 gains strength for the dry pack",
		"pack-2 0 0.5d -1 Wed 3 Mar pm to Wed 3 Mar pm, Dry-pack bay 2",
		"dig-4 0 1d -1 Thu 4 Mar am to Thu 4 Mar pm, Dig bay 4",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestUnderpinTwelveMetresOpensThree(t *testing.T) {
	for _, abreast := range []bool{false, true} {
		s := mustSequence(t, Underpinning{WallMM: 12000, Abreast: abreast})
		r := slowUnderpin(s, EveryDay(), EveryDay(), day(t, "2027-03-01").AM(), nil)
		most := 0
		for k := r.start[0]; k < slices.Max(r.finish); k++ {
			most = max(most, len(r.open(k)))
		}
		if most != 3 {
			t.Errorf("abreast %v: %d open at once, want 3", abreast, most)
		}
		digs := []int{1, 2, 3}
		if abreast {
			digs = []int{1, 1, 1}
		}
		if got := r.days("dig")[:3]; !slices.Equal(got, digs) {
			t.Errorf("abreast %v: first digs on days %v, want %v", abreast, got, digs)
		}
	}
}

// No order of one bay at a time finishes before the one that is chosen.
func TestUnderpinOrderIsShortest(t *testing.T) {
	from := day(t, "2027-03-01").AM()
	for bays := 4; bays <= 6; bays++ {
		for _, u := range []Underpinning{{SeenOnTheDay: true}, {}} {
			u.WallMM = 1000 * bays
			end := func(order []int) Instant {
				u.Order = order
				s := mustSequence(t, u)
				return slices.Max(slowUnderpin(s, EveryDay(), EveryDay(), from, nil).finish)
			}
			chosen := end(nil)
			for _, order := range permutations(bays) {
				if e := end(order); e < chosen {
					t.Fatalf("order %v ends at %v, the chosen one at %v", order, e, chosen)
				}
			}
		}
	}
}

func permutations(n int) (all [][]int) {
	if n == 0 {
		return [][]int{nil}
	}
	for _, rest := range permutations(n - 1) {
		for at := range n {
			all = append(all, slices.Insert(slices.Clone(rest), at, n))
		}
	}
	return all
}

func TestUnderpinRefusals(t *testing.T) {
	for _, c := range []struct {
		u    Underpinning
		want []string
	}{
		{Underpinning{}, []string{"0 mm", "give the length"}},
		{Underpinning{WallMM: -1}, []string{"-1 mm", "give the length"}},
		{Underpinning{WallMM: 100001}, []string{"too long", "split"}},
		{Underpinning{WallMM: 6000, BayMM: -5}, []string{"-5 mm", "usually 1000"}},
		{Underpinning{WallMM: 6000, BayMM: 1401}, []string{"above 1400", "LABC", "1000 mm or less"}},
		{Underpinning{WallMM: 6000, Share: 26}, []string{"above 25", "handbooks", "give 1 to 25"}},
		{Underpinning{WallMM: 6000, Share: -1}, []string{"-1 per cent", "give 1 to 25"}},
		{Underpinning{WallMM: 3000}, []string{"one bay in 3", "25 per cent", "up to 750 mm"}},
		{Underpinning{WallMM: 2000}, []string{"one bay in 2", "up to 500 mm"}},
		{Underpinning{WallMM: 2001, BayMM: 700}, []string{"one bay in 3", "up to 501 mm"}}, // 500: 5 bays
		{Underpinning{WallMM: 1999}, []string{"too short", "ask the engineer"}},
		{Underpinning{WallMM: 2100, Share: 24}, []string{"too short", "takes 5", "engineer"}},
		{Underpinning{WallMM: 2200, BayMM: 500}, []string{"5 bays", "narrow", "up to 550 mm"}},
		{Underpinning{WallMM: 6000, BayMM: 300}, []string{"no published source", "up to 500 mm"}},
		{Underpinning{WallMM: 6000, Gain: 1}, []string{"12 h", "following day", "LABC", "24 h or more"}},
		{Underpinning{WallMM: 6000, Neighbour: 1}, []string{"12 h", "24 to 72 h", "1d or more"}},
		{Underpinning{WallMM: 6000, Dig: -1}, []string{"dig of -0.5d", "0.5d to 60d"}},
		{Underpinning{WallMM: 6000, See: 121}, []string{"inspection of 60.5d", "0.5d to 60d"}},
		{Underpinning{WallMM: 6000, Pour: -1}, []string{"pour of -0.5d", "0.5d to 60d"}},
		{Underpinning{WallMM: 6000, Pack: 121}, []string{"dry pack of 60.5d", "0.5d to 60d"}},
		{Underpinning{WallMM: 6000, Gain: -2}, []string{"dry pack of -1d", "0.5d to 60d"}},
		{Underpinning{WallMM: 6000, Neighbour: 121}, []string{"neighbour of 60.5d", "60d"}},
		{Underpinning{WallMM: 6000, SeenOnTheDay: true, Dig: 2}, []string{"one day", "shorten"}},
		{Underpinning{WallMM: 6000, SeenOnTheDay: true, NoticeAsked: true}, []string{"leave out"}},
		{Underpinning{WallMM: 6000, NoticeAsked: true, Notice: -1}, []string{"-1 clear", "0 to 60"}},
		{Underpinning{WallMM: 6000, NoticeAsked: true, Notice: 61}, []string{"61 clear", "0 to 60"}},
		{Underpinning{WallMM: 6000, Order: []int{1, 3, 5, 2, 4}}, []string{"leaves out bay 6", "once"}},
		{Underpinning{WallMM: 6000, Order: []int{1, 3, 5, 2, 4, 4}},
			[]string{"repeats bay 4, leaves out bay 6", "once"}},
		{Underpinning{WallMM: 6000, Order: []int{1, 3, 5, 2, 4, 7}}, []string{"bay 7", "1 to 6"}},
		{Underpinning{WallMM: 6000, Order: []int{0, 3, 5, 2, 4, 6}}, []string{"bay 0", "1 to 6"}},
		{Underpinning{WallMM: 4000, Order: []int{}}, []string{"leaves out bay 1, leaves out bay 2"}},
	} {
		_, err := c.u.Sequence()
		if err == nil {
			t.Errorf("%+v was taken", c.u)
			continue
		}
		for _, part := range c.want {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%+v: %q does not say %q", c.u, err, part)
			}
		}
	}
}

func TestUnderpinAtTheLimits(t *testing.T) {
	for _, u := range []Underpinning{
		{WallMM: longestWallMM, BayMM: narrowestBayMM, Share: 1},
		{WallMM: 5600, BayMM: widestBayMM, Share: mostShare},
		{WallMM: 6000, Dig: longestStep, See: longestStep, Pour: longestStep, Pack: longestStep,
			Gain: longestStep, Neighbour: longestStep},
		{WallMM: 6000, NoticeAsked: true},
		{WallMM: 6000, NoticeAsked: true, Notice: 60},
	} {
		s := mustSequence(t, u)
		wide := strings.Contains(strings.Join(s.Cautions, "\n"), "wider than 1 m")
		if wide != (u.BayMM > 1000) {
			t.Errorf("%+v: warns of wide bays: %v", u, wide)
		}
	}
}

// The engineer's order stays the engineer's: what is done to the answer does
// not reach it.
func TestUnderpinKeepsNoOrder(t *testing.T) {
	order := []int{1, 3, 2, 4}
	s := mustSequence(t, Underpinning{WallMM: 4000, Order: order})
	s.Order[0], s.Groups[1][0] = 9, 9
	if !slices.Equal(order, []int{1, 3, 2, 4}) || s.Order[1] != 3 {
		t.Errorf("order %v, answer %v", order, s.Order)
	}
}

func TestUnderpinSaysHow(t *testing.T) {
	plain := mustSequence(t, Underpinning{WallMM: 5003, BayMM: 1000})
	said := strings.Join(append(plain.Notes, plain.Cautions...), "\n")
	for _, part := range []string{"5003 mm of wall in 6 bays: from one end 5 of 834 mm, then 1 of 833",
		"25 per cent of 6 bays is 1.50: at most 1 open", "1; then 3; then 5; then 2; then 4; then 6",
		"24 h after the pour", "after 1d of clear working time", "engineer's design",
		"building control's approval", "shored or battered", "Never two neighbouring bays open",
		"Party Wall etc. Act"} {
		if !strings.Contains(said, part) {
			t.Errorf("%q is not in\n%s", part, said)
		}
	}
	if strings.Contains(said, "gang") || strings.Contains(said, "wider than 1 m") {
		t.Errorf("says too much:\n%s", said)
	}
	wide := mustSequence(t, Underpinning{WallMM: 9600, BayMM: 1200, Abreast: true})
	said = strings.Join(append(wide.Notes, wide.Cautions...), "\n")
	for _, part := range []string{"9600 mm of wall in 8 bays of 1200 mm", "1, 5; then 3, 7",
		"side by side", "wider than 1 m only on expert advice"} {
		if !strings.Contains(said, part) {
			t.Errorf("%q is not in\n%s", part, said)
		}
	}
}

func ExampleUnderpinning_Sequence() {
	wall := Underpinning{WallMM: 8000, BayMM: 1000}
	s, err := wall.Sequence()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Bays, "bays of", s.WidthMM, "mm, open together:", s.Groups)
	for _, step := range s.Steps[:5] {
		fmt.Println(step.ID, step.Length)
	}
	// Output:
	// 8 bays of 1000 mm, open together: [[1 5] [3 7] [2 6] [4 8]]
	// dig-1 1d
	// see-1 0.5d
	// pour-1 0.5d
	// gain-1 1d
	// pack-1 0.5d
}
