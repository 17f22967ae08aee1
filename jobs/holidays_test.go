package jobs

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // zones for TestHolidaysOwnZone on any machine

	"github.com/google/go-cmp/cmp"
	"github.com/rickar/cal/v2"

	"putlog/schedule"
)

// holidayTable reads a published table: the source in the first line, the
// names of the columns in the second. It fails a file without either.
func holidayTable(t *testing.T, name string, columns ...string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "holidays", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(rows) < 3 || !strings.HasPrefix(rows[0][0], "source: ") {
		t.Fatalf("%s: the first line names no source", name)
	}
	if !slices.Equal(rows[1], columns) {
		t.Fatalf("%s: columns %q, want %q", name, rows[1], columns)
	}
	return rows[2:]
}

func holidayDate(t *testing.T, text string) schedule.Day {
	t.Helper()
	d, err := schedule.ParseDay(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func holidayCount(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func holidayRegion(t *testing.T, text string) Region {
	t.Helper()
	r, err := ParseRegion(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func weekdays(region Region) *schedule.Calendar {
	return schedule.NewCalendar("site", schedule.MonToFri, DaysOff(region), nil)
}

// listed is a holiday as the tables and the oracle below write it.
type listed struct {
	Date       string
	Title      string
	Substitute bool
}

func listHolidays(t *testing.T, region Region, year int) []listed {
	t.Helper()
	holidays, err := Holidays(region, year)
	if err != nil {
		t.Fatal(err)
	}
	var list []listed
	for _, h := range holidays {
		list = append(list, listed{h.Day.String(), h.Title, h.Substitute})
	}
	return list
}

// Every day, title and substitute note of GOV.UK's list, and no day beside.
func TestHolidaysGovUK(t *testing.T) {
	want := map[Region][]listed{}
	rows := holidayTable(t, "gov-uk-2019-2028.csv", "date", "division", "title", "notes")
	if len(rows) != 280 {
		t.Fatalf("%d rows, want 280", len(rows))
	}
	for _, r := range rows {
		region := holidayRegion(t, r[1])
		want[region] = append(want[region], listed{r[0], r[2], r[3] == "Substitute day"})
	}
	for _, region := range Regions() {
		var got []listed
		for year := 2019; year <= 2028; year++ {
			got = append(got, listHolidays(t, region, year)...)
		}
		if diff := cmp.Diff(want[region], got); diff != "" {
			t.Errorf("%s (-GOV.UK +ours):\n%s", region, diff)
		}
	}
}

func TestHolidaysWorkingDaysOfYear(t *testing.T) {
	rows := holidayTable(t, "working-days.csv", "division", "year", "holidays", "working_days")
	for _, r := range rows {
		region, year := holidayRegion(t, r[0]), holidayCount(t, r[1])
		if n := len(listHolidays(t, region, year)); n != holidayCount(t, r[2]) {
			t.Errorf("%s %d: %d holidays, want %s", region, year, n, r[2])
		}
		first, last := holidayDate(t, r[1]+"-01-01"), holidayDate(t, r[1]+"-12-31")
		got := weekdays(region).Count(first.AM(), last.End())
		if got != schedule.Days(holidayCount(t, r[3])) {
			t.Errorf("%s %d: %s worked, want %s", region, year, got, r[3])
		}
	}
}

// workingDaysAfter is the n-th working day after d.
func workingDaysAfter(t *testing.T, c *schedule.Calendar, d schedule.Day, n int) schedule.Day {
	t.Helper()
	end, err := c.Advance(d.End(), schedule.Days(n))
	if err != nil {
		t.Fatal(err)
	}
	return end.Last().Day()
}

func TestHolidaysAddWorkingDays(t *testing.T) {
	rows := holidayTable(t, "add-working-days.csv", "division", "start", "days", "result")
	for _, r := range rows {
		c := weekdays(holidayRegion(t, r[0]))
		got := workingDaysAfter(t, c, holidayDate(t, r[1]), holidayCount(t, r[2]))
		if got.String() != r[3] {
			t.Errorf("%s: %s and %s working days is %s, want %s", r[0], r[1], r[2], got, r[3])
		}
	}
}

// Two whole days after the day of notice, and then the work may start.
func TestHolidaysStartNotices(t *testing.T) {
	rows := holidayTable(t, "start-notices.csv", "division", "notice", "elapsed", "start")
	for _, r := range rows {
		c := weekdays(holidayRegion(t, r[0]))
		elapsed := workingDaysAfter(t, c, holidayDate(t, r[1]), 2)
		start, err := c.Next(elapsed.End())
		if err != nil {
			t.Fatal(err)
		}
		if elapsed.String() != r[2] || start.String() != r[3]+" am" {
			t.Errorf("%s: notice on %s elapses %s, start %s; want %s, %s am",
				r[0], r[1], elapsed, start, r[2], r[3])
		}
	}
}

func TestHolidaysCompletionNotices(t *testing.T) {
	rows := holidayTable(t, "completion-notices.csv", "division", "completed", "latest")
	for _, r := range rows {
		got := workingDaysAfter(t, weekdays(holidayRegion(t, r[0])), holidayDate(t, r[1]), 5)
		if got.String() != r[2] {
			t.Errorf("completed %s: notice by %s, want %s", r[1], got, r[2])
		}
	}
}

// A crew that works Saturdays stays at home on Christmas Day 2027 (a Saturday)
// as well as on the substitute days after it.
func TestDaysOffSaturdayFeast(t *testing.T) {
	week := schedule.MonToFri.
		With(schedule.Saturday, schedule.AM).With(schedule.Saturday, schedule.PM)
	for _, region := range Regions() {
		c := schedule.NewCalendar("site", week, DaysOff(region), nil)
		for date, works := range map[string]bool{
			"2027-12-18": true, "2027-12-24": true, "2027-12-25": false,
			"2027-12-27": false, "2027-12-28": false, "2027-12-29": true,
			"2028-01-01": false, "2028-01-03": false,
			"2028-01-04": region != Scotland,
		} {
			if got := c.Works(holidayDate(t, date).AM()); got != works {
				t.Errorf("%s %s: worked is %v, want %v", region, date, got, works)
			}
		}
	}
}

// Two holidays never share a day, no kept day is on a weekend, and every year
// of the horizon is as the plain rules say.
func TestHolidaysOracle(t *testing.T) {
	for _, region := range Regions() {
		var off []string
		for year := 2000; year <= 2099; year++ {
			want, got := oracleHolidays(region, year), listHolidays(t, region, year)
			if diff := cmp.Diff(want.kept, got); diff != "" {
				t.Errorf("%s %d (-oracle +ours):\n%s", region, year, diff)
			}
			off = append(off, want.off...)
			checkKept(t, region, got)
		}
		var got []string
		for _, d := range DaysOff(region) {
			got = append(got, d.String())
		}
		if diff := cmp.Diff(off, got); diff != "" {
			t.Errorf("%s days off (-oracle +ours):\n%s", region, diff)
		}
	}
}

func checkKept(t *testing.T, region Region, list []listed) {
	t.Helper()
	last := ""
	for _, h := range list {
		if w := holidayDate(t, h.Date).Weekday(); w >= schedule.Saturday {
			t.Errorf("%s: %s is kept on a weekend, %s", region, h.Title, h.Date)
		}
		if h.Date <= last {
			t.Errorf("%s: %s does not follow %s", region, h.Date, last)
		}
		last = h.Date
	}
}

// inZone runs a check as on a machine in that time zone.
func inZone(t *testing.T, name string, check func()) {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	before := cal.DefaultLoc
	defer func() { cal.DefaultLoc = before }()
	cal.DefaultLoc = zone
	check()
}

// The machine's time zone changes nothing. Amman's clocks went forward at the
// midnight that began Good Friday 2002.
func TestHolidaysOwnZone(t *testing.T) {
	for _, name := range []string{"UTC", "Europe/London", "Asia/Amman", "Pacific/Apia"} {
		inZone(t, name, func() {
			for _, region := range Regions() {
				want := oracleHolidays(region, 2002).kept
				if diff := cmp.Diff(want, listHolidays(t, region, 2002)); diff != "" {
					t.Errorf("%s in %s:\n%s", region, name, diff)
				}
			}
		})
	}
}

// Sao Paulo's clocks went forward at the midnight that began Sunday 4 November
// 2018, and the library gives the hour before it.
func TestFallsNoMidnight(t *testing.T) {
	inZone(t, "America/Sao_Paulo", func() {
		feast, kept := falls(yearly(time.November, 4, "a feast"), 2018)
		if feast.String() != "2018-11-04" || kept.String() != "2018-11-05" {
			t.Errorf("falls on %s, kept on %s; want 2018-11-04, 2018-11-05", feast, kept)
		}
	})
}

// What is handed out is the caller's own: spoiling it spoils nothing.
func TestHolidaysNotShared(t *testing.T) {
	want := DaysOff(Scotland)
	spoilt := DaysOff(Scotland)
	clear(spoilt)
	list, err := Holidays(Scotland, 2026)
	if err != nil {
		t.Fatal(err)
	}
	clear(list)
	if !slices.Equal(DaysOff(Scotland), want) || len(listHolidays(t, Scotland, 2026)) != 10 {
		t.Error("holidays share memory with their callers")
	}
}

func TestHolidaysRefused(t *testing.T) {
	var horizon *schedule.HorizonError
	for _, year := range []int{-1, 0, 1999, 2100} {
		if _, err := Holidays(Scotland, year); !errors.As(err, &horizon) {
			t.Errorf("%d: %v, want a horizon error", year, err)
		}
	}
	for _, region := range []Region{"", "wales", "Scotland"} {
		if _, err := Holidays(region, 2026); err == nil {
			t.Errorf("%q was taken for a region", region)
		}
		if days := DaysOff(region); len(days) != 0 {
			t.Errorf("%q has days off: %v", region, days)
		}
	}
}

func TestRegionText(t *testing.T) {
	for _, region := range Regions() {
		text, err := json.Marshal(region)
		if err != nil {
			t.Fatal(err)
		}
		var back Region
		if err := json.Unmarshal(text, &back); err != nil || back != region {
			t.Errorf("%s comes back from %s as %q: %v", region, text, back, err)
		}
	}
	for _, text := range []string{"", "england", "Scotland", "scotland "} {
		_, err := ParseRegion(text)
		if err == nil {
			t.Errorf("%q was taken for a region", text)
			continue
		}
		for _, region := range Regions() {
			if !strings.Contains(err.Error(), string(region)) {
				t.Errorf("%q does not offer %s", err, region)
			}
		}
	}
	if _, err := json.Marshal(Region("")); err == nil {
		t.Error("a region that is not set was written")
	}
}

func BenchmarkDaysOff(b *testing.B) {
	for _, region := range Regions() {
		b.Run(string(region), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				workDaysOff(region)
			}
		})
	}
}

func BenchmarkHolidaysOfYear(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Holidays(NorthernIreland, 2027); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleHolidays() {
	list, err := Holidays(Scotland, 2027)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range list[:3] {
		fmt.Println(h.Day.Long(), h.Title, h.Substitute)
	}
	// Output:
	// Fri 1 Jan 2027 New Year's Day false
	// Mon 4 Jan 2027 2nd January true
	// Fri 26 Mar 2027 Good Friday false
}
