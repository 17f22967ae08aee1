package documents

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
	"putlog/variations"
)

// monday is the Monday on which the drawn examples begin.
const monday = "2027-02-01"

// example is a picture of so many weeks with one bar, drawn by hand.
func example(t testing.TB, weeks int, bar Bar) drawing {
	t.Helper()
	from, err := schedule.ParseDay(monday)
	if err != nil {
		t.Fatal(err)
	}
	blank := strings.Repeat(" ", 14*weeks)
	bar.Cells = (bar.Cells + blank)[:14*weeks]
	if bar.Before != "" {
		bar.Before = (bar.Before + blank)[:14*weeks]
	}
	last := from + schedule.Day(7*weeks) - 1
	return drawing{Picture: Picture{From: from, To: last, Bars: []Bar{bar}},
		asAt: from + 2, accepted: bar.Before != ""}
}

// fromMonday counts half-days from the morning of the Monday.
func fromMonday(t testing.TB, n int) schedule.Instant {
	from, err := schedule.ParseDay(monday)
	if err != nil {
		t.Fatal(err)
	}
	return from.AM() + schedule.Instant(n)
}

func TestDrawnCells(t *testing.T) {
	at := func(n int) schedule.Instant { return fromMonday(t, n) }
	for name, test := range map[string]struct {
		weeks            int
		bar              Bar
		now, gates, then string
	}{
		"work over a weekend, in cells of 12": {2,
			Bar{Cells: "         #    #", Start: at(9), End: at(15)},
			"M108 0h11v12h-11zM168 0h11v12h-11z", "", ""},
		"a wait and where it was": {4, Bar{Cells: " ..", Kind: schedule.KindWait, Start: at(1),
			End: at(3), Before: "..", BeforeStart: at(0), BeforeEnd: at(2)},
			"M9 6h.1M15 6h.1", "", "M0 16h6M6 16h6"},
		"a delivery": {4, Bar{Cells: "--", Kind: schedule.KindDelivery, Start: at(0), End: at(2)},
			"M0 6h4M6 6h4", "", ""},
		"a hold point": {4, Bar{Cells: "  H", Kind: schedule.KindInspection, Start: at(2),
			End: at(3)}, "", "M13" + gate, ""},
		"no length": {4, Bar{Start: at(4), End: at(4)}, "", "M24" + post, ""},
		"in cells of 3, a dot a day": {30, Bar{Cells: " ...", Kind: schedule.KindWait, Start: at(1),
			End: at(4)}, "M6 6h.1M9 6h.1", "", ""},
		"it was earlier": {8, Bar{Cells: strings.Repeat(" ", 60) + "#", Start: at(60), End: at(61),
			Before: "#", BeforeStart: at(0), BeforeEnd: at(1)},
			"M24 0h5v12h-5z", "", "M5 13l-4 3 4 3M1 16h9"},
		"it was later": {8, Bar{Cells: "#", Start: at(0), End: at(1),
			Before: strings.Repeat(" ", 60) + "#", BeforeStart: at(60), BeforeEnd: at(61)},
			"M0 0h5v12h-5z", "", "M331 13l4 3-4 3M335 16h-9"},
	} {
		test.bar.Name = "Dig"
		bands := example(t, test.weeks, test.bar).bands()
		if len(bands) != 1 || len(bands[0].Rows) != 1 {
			t.Errorf("%s: %d bands", name, len(bands))
			continue
		}
		row := bands[0].Rows[0]
		if row.Now != test.now || row.Gates != test.gates || row.Then != test.then {
			t.Errorf("%s:\n%q %q %q, want\n%q %q %q", name, row.Now, row.Gates, row.Then,
				test.now, test.gates, test.then)
		}
	}
}

func TestDrawnWords(t *testing.T) {
	bar := Bar{Name: "Dig the strip", Cells: "####", Drives: true, State: schedule.Started,
		Start: fromMonday(t, 0), End: fromMonday(t, 4),
		Before: " ##", BeforeStart: fromMonday(t, 1), BeforeEnd: fromMonday(t, 3)}
	d := example(t, 4, bar)
	d.notes = []string{"float 2d"}
	b := d.bands()[0]
	if want := "1 Feb to 28 Feb 2027"; b.Title != want {
		t.Errorf("%q, want %q", b.Title, want)
	}
	if want := "Each stage on a strip of half-days. Dig the strip: under way, Mon 1 Feb to " +
		"Tue 2 Feb; drives the finish; float 2d; was Mon 1 Feb (afternoon) to " +
		"Tue 2 Feb (morning)."; b.Desc != want {
		t.Errorf("%q, want %q", b.Desc, want)
	}
	if b.AsAt != 24 {
		t.Errorf("the as-at date stands at %d, want 24", b.AsAt)
	}
	if line := b.Rows[0].Lines[0]; line.Text != bar.Name || !line.Drives {
		t.Errorf("the first line is %+v", line)
	}
	bar.BeforeEnd, bar.State, bar.Drives, d.notes = 0, schedule.Finished, false, nil
	d.Bars[0] = bar
	if want := "done Mon 1 Feb to Tue 2 Feb; not in the agreed programme"; d.dates(0) != want {
		t.Errorf("%q, want %q", d.dates(0), want)
	}
}

func TestBandWeeks(t *testing.T) {
	for weeks, want := range map[int]int{1: 1, 2: 2, 3: 3, 4: 4, 5: 4, 26: 4, 27: 8, 60: 8} {
		p := example(t, weeks, Bar{}).Picture
		if got := p.bandWeeks(); got != want || bandWidth%(14*got) != 0 {
			t.Errorf("%d weeks in bands of %d, want %d", weeks, got, want)
		}
	}
}

var pathX = regexp.MustCompile(`M(-?[0-9]+)`)

// TestPictureIsWhole: every half-day of every stage is drawn once, nothing
// stands outside the picture, and no drawing is higher than a part of a page.
func TestPictureIsWhole(t *testing.T) {
	all := pageSamples(t)
	all["the shed"] = pageStatement(t)
	for name, s := range all {
		d := drawing{Picture: s.Picture, asAt: s.AsAt, accepted: s.Accepted != 0}
		cells, holds := 0, 0
		for _, bar := range d.Bars {
			cells += strings.Count(bar.Cells, "#")
			holds += strings.Count(bar.Cells, "H")
		}
		ids := map[string]bool{}
		for _, b := range d.bands() {
			if ids[b.ID] || b.Height > partHigh && len(b.Rows) > 1 {
				t.Errorf("%s: band %s is %d high", name, b.ID, b.Height)
			}
			ids[b.ID] = true
			for _, r := range b.Rows {
				cells -= strings.Count(r.Now, "z")
				holds -= strings.Count(r.Gates, "m-9-5h9")
				for _, m := range pathX.FindAllStringSubmatch(r.Now+r.Gates+r.Then, -1) {
					if x, err := strconv.Atoi(m[1]); err != nil || x < -2 || x > bandWidth {
						t.Errorf("%s: a mark at %s", name, m[1])
					}
				}
				if r.Y+r.High > b.Height || r.StripY+beforeDeep > r.High {
					t.Errorf("%s: a row runs out of its band", name)
				}
			}
		}
		if cells != 0 || holds != 0 || len(ids) == 0 {
			t.Errorf("%s: %d half-days and %d hold points are not drawn, or twice", name, cells, holds)
		}
	}
}

// TestEveryMonthIsNamedOverABand: over the strips of any band stand the names of
// all months that have a Monday in it, none in another.
func TestEveryMonthIsNamedOverABand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		monday := schedule.Day(rapid.IntRange(1, 2000).Draw(t, "week")*7 + 3) // 2000-01-03 was one
		weeks := rapid.IntRange(1, 80).Draw(t, "weeks")
		last := monday + schedule.Day(7*weeks) - 1
		d := drawing{Picture: Picture{From: monday, To: last, Bars: []Bar{{Name: "Dig",
			Start: monday.AM(), End: last.End(), Cells: strings.Repeat("#", 14*weeks)}}}}
		step := schedule.Day(7 * d.bandWeeks())
		for i, b := range d.bands() {
			var labels []string
			free := 0
			for _, w := range b.Weeks {
				labels = append(labels, w.Label)
				if w.X < free {
					t.Fatalf("%q stands in what is before it", w.Label)
				}
				free = w.X + textWidth(w.Label, dateSize)
			}
			if free > bandWidth {
				t.Fatalf("%q runs out of the picture", labels)
			}
			from := monday + schedule.Day(i)*step
			for day := from; day < from+step && day <= last; day += 7 {
				_, month, _ := strings.Cut(dayOfMonth(day), " ")
				if !strings.Contains(strings.Join(labels, " "), month) {
					t.Fatalf("%s has the Monday %s; over the band stands %q", month, day.Long(), labels)
				}
			}
		}
	})
}

func TestEvenStarts(t *testing.T) {
	rows := func(highs ...int) []drawnRow {
		all := make([]drawnRow, len(highs))
		for i := range highs {
			all[i].High = highs[i]
		}
		return all
	}
	for name, test := range map[string]struct {
		rows []drawnRow
		want int // drawings
		most int // height of the highest
	}{
		"none":           {nil, 0, 0},
		"one":            {rows(60), 1, 60},
		"one too high":   {rows(900), 1, 900},
		"seven in two":   {rows(70, 70, 70, 70, 70, 70, 70), 2, 280},
		"high ones part": {rows(300, 300, 300), 3, 300},
	} {
		starts := evenStarts(test.rows)
		most := 0
		for i := range len(starts) - 1 {
			high := 0
			for _, r := range test.rows[starts[i]:starts[i+1]] {
				high += r.High
			}
			most = max(most, high)
		}
		if len(starts)-1 != test.want || most != test.most {
			t.Errorf("%s: %v, the highest %d; want %d, %d", name, starts, most, test.want, test.most)
		}
	}
}

func TestLadder(t *testing.T) {
	s := &Statement{Accepted: fromMonday(t, 0), Ladder: []Rung{
		{From: fromMonday(t, 0), To: fromMonday(t, 10), Bearer: variations.Client},
		{From: fromMonday(t, 10), To: fromMonday(t, 10), Bearer: variations.Neutral},
		{From: fromMonday(t, 10), To: fromMonday(t, 5), Bearer: variations.Builder}}}
	want := []drawnRung{{Bar: "M2 3h296v8h-296z", Post: "M298 0v14"}, {Post: "M298 0v14"},
		{Bar: "M150 3h148v8h-148z", Post: "M150 0v14"}}
	for i, got := range drawLadder(s) {
		if got.Bar != want[i].Bar || got.Post != want[i].Post {
			t.Errorf("step %d: %q %q, want %q %q", i+1, got.Bar, got.Post, want[i].Bar, want[i].Post)
		}
	}
	still := drawLadder(&Statement{Accepted: 5, Ladder: []Rung{{From: 5, To: 5}}})
	if still[0].Post != "M2 0v14" {
		t.Errorf("nothing moved: %q", still[0].Post)
	}
}

// TestWrapText: nothing is lost, no line is wider than its room, and no line
// could have taken the first word of the next.
func TestWrapText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-zA-Z0-9.,mWé漢]{1,90}`)
		words := rapid.SliceOfN(word, 1, 30).Draw(t, "words")
		text, room := strings.Join(words, " "), rapid.IntRange(60, 400).Draw(t, "room")
		lines := wrapText(text, dateSize, room)
		if got := strings.Join(lines, ""); strings.ReplaceAll(got, " ", "") != strings.Join(words, "") {
			t.Fatalf("%q became %q", text, lines)
		}
		for i, line := range lines {
			if textWidth(line, dateSize) > room+dateSize {
				t.Fatalf("%q is wider than %d", line, room)
			}
			if i > 0 {
				first, _, _ := strings.Cut(line, " ")
				if textWidth(lines[i-1]+" "+first, dateSize)+2*dateSize < room {
					t.Fatalf("%q has room for %q", lines[i-1], first)
				}
			}
		}
	})
}
