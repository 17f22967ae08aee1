package peers

import (
	"fmt"
	"testing"
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/gb"

	"putlog/schedule"
)

// calendars are Monday to Friday less the same days off, on both sides: those of
// the library for England and Wales in the years asked for.
func calendars(t testing.TB, first, last int) (*cal.BusinessCalendar, *schedule.Calendar) {
	t.Helper()
	theirs := cal.NewBusinessCalendar()
	theirs.AddHoliday(gb.Holidays...)
	var off []schedule.Day
	for d := civil(first, 1, 1); d.Year() <= last; d = d.AddDate(0, 0, 1) {
		if actual, observed, _ := theirs.IsHoliday(d); actual || observed {
			off = append(off, ours(t, d))
		}
	}
	return theirs, schedule.NewCalendar("site", schedule.MonToFri, off, nil)
}

func civil(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 12, 0, 0, 0, time.UTC) }

func ours(t testing.TB, d time.Time) schedule.Day {
	t.Helper()
	day, err := schedule.ParseDay(d.Format(time.DateOnly))
	if err != nil {
		t.Fatal(err)
	}
	return day
}

// TestWorkdaysAgree: so many working days from each day of three years, on and
// back, and the working days between.
func TestWorkdaysAgree(t *testing.T) {
	theirs, site := calendars(t, 2025, 2031)
	for d := civil(2027, 1, 1); d.Year() < 2030; d = d.AddDate(0, 0, 1) {
		from := ours(t, d)
		for _, n := range []int{-60, -5, -1, 1, 2, 10, 60, 250} {
			want := ours(t, theirs.WorkdaysFrom(d, n))
			at := from.End() // n days after this one
			if n < 0 {
				at = from.AM()
			}
			got, err := site.Advance(at, schedule.Halves(2*n))
			if n > 0 {
				got = got.Last()
			}
			if err != nil || got.Day() != want {
				t.Fatalf("%d working days from %s: %s, by the library %s (%v)", n, from, got.Day(), want, err)
			}
		}
		to := d.AddDate(0, 0, 100)
		want := theirs.WorkdaysInRange(d, to)
		if got := site.Count(from.AM(), ours(t, to).End()); got != schedule.Halves(2*want) {
			t.Fatalf("%s and 100 days: %d half-days, by the library %d days", from, got, want)
		}
	}
}

// BenchmarkWorkdays: the library walks day by day, the engine looks up.
func BenchmarkWorkdays(b *testing.B) {
	theirs, site := calendars(b, 2025, 2031)
	d := civil(2027, 3, 1)
	at := ours(b, d).End()
	for _, n := range []int{1, 10, 250} {
		b.Run(fmt.Sprintf("advance/cal/%d", n), func(b *testing.B) {
			for b.Loop() {
				theirs.WorkdaysFrom(d, n)
			}
		})
		b.Run(fmt.Sprintf("advance/putlog/%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := site.Advance(at, schedule.Halves(2*n)); err != nil {
					b.Fatal(err)
				}
			}
		})
		to := d.AddDate(0, 0, n)
		end := ours(b, to).End()
		b.Run(fmt.Sprintf("count/cal/%d", n), func(b *testing.B) {
			for b.Loop() {
				theirs.WorkdaysInRange(d, to)
			}
		})
		b.Run(fmt.Sprintf("count/putlog/%d", n), func(b *testing.B) {
			var sink schedule.Halves
			for b.Loop() {
				sink += site.Count(at, end)
			}
			_ = sink
		})
	}
}
