package schedule

import (
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestEveryDayOfTheHorizon holds dates and weekdays to the standard library,
// every day of the hundred years.
func TestEveryDayOfTheHorizon(t *testing.T) {
	at := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	for d := FirstDay; d <= LastDay; d++ {
		y, m, n := d.Date()
		made, err := NewDay(y, m, n)
		if err != nil || made != d || y != at.Year() || m != int(at.Month()) || n != at.Day() ||
			d.Weekday() != Weekday((at.Weekday()+6)%7) || d.String() != at.Format("2006-01-02") ||
			d.Long() != at.Format("Mon 2 Jan 2006") {
			t.Fatalf("day %d is %v (%v), want %v", d, d.Long(), err, at)
		}
		if back, err := ParseDay(d.String()); err != nil || back != d {
			t.Fatalf("%s reads back as %v, %v", d, back, err)
		}
		at = at.AddDate(0, 0, 1)
	}
	if at.Year() != 2100 {
		t.Fatalf("the horizon ends before %v", at)
	}
}

func TestBadDates(t *testing.T) {
	for _, text := range []string{"", "2027-02-29", "2027-13-01", "2027-00-10", "2027-1-1",
		"2027/01/01", "27-01-01", "2027-01-32", "2027-04-31", "tomorrow", "2027-01-0a", "2027-01-00"} {
		if d, err := ParseDay(text); err == nil {
			t.Errorf("%q reads as %v", text, d)
		}
	}
	for _, text := range []string{"1999-12-31", "2100-01-01"} {
		_, err := ParseDay(text)
		var horizon *HorizonError
		if !errors.As(err, &horizon) {
			t.Errorf("%q: %v", text, err)
		}
	}
	for _, text := range []string{"2027-03-01 noon", "2027-03-01am", "2027-03-01 am pm"} {
		if i, err := ParseInstant(text, AM); err == nil {
			t.Errorf("%q reads as %v", text, i)
		}
	}
	if i, err := ParseInstant("2027-03-01 pm", AM); err != nil || i.String() != "2027-03-01 pm" {
		t.Errorf("got %v, %v", i, err)
	}
}

// TestCalendarAgreesWithWalk draws calendars and holds every question to a walk
// over half-days.
func TestCalendarAgreesWithWalk(t *testing.T) {
	first := day(t, "2027-03-01")
	rapid.Check(t, func(rt *rapid.T) {
		week := Week(rapid.IntRange(1, int(WholeWeek)).Draw(rt, "week"))
		var off []Day
		for _, n := range rapid.SliceOfN(rapid.IntRange(0, 60), 0, 5).Draw(rt, "off") {
			off = append(off, first+Day(n))
		}
		at := first.AM() + Instant(rapid.IntRange(-20, 100).Draw(rt, "from"))
		shut := []Span{{at, at + Instant(rapid.IntRange(0, 300).Draw(rt, "long"))}}
		c := NewCalendar("drawn", week, off, shut)
		for i := range Instant(400) {
			k := first.AM() - 40 + i
			want := week.Works(k.Day().Weekday(), k.Half()) && (k < shut[0].From || k >= shut[0].To)
			for _, d := range off {
				want = want && d != k.Day()
			}
			if c.Works(k) != want {
				rt.Fatalf("%v worked: %v", k, !want)
			}
		}
		k := first.AM() + Instant(rapid.IntRange(-40, 300).Draw(rt, "k"))
		n := Halves(rapid.IntRange(-80, 80).Draw(rt, "n"))
		if got, err := c.Advance(k, n); err != nil || got != slowAdvance(c, k, n) {
			rt.Fatalf("advance %v by %d: %v, %v", k, n, got, err)
		}
		if got, err := c.Next(k); err != nil || got != slowNext(c, k) {
			rt.Fatalf("next %v: %v, %v", k, got, err)
		}
		b := k + Instant(rapid.IntRange(0, 100).Draw(rt, "b"))
		if got := c.Count(k, b); got != slowCount(c, k, b) || c.Count(b, k) != -got {
			rt.Fatalf("count %v to %v: %d", k, b, got)
		}
		if n == 0 {
			return // a link without a lag is reckoned on every day
		}
		limit := c.latest(b, n)
		if c.advance(limit, n) > b || c.advance(limit+1, n) <= b {
			rt.Fatalf("latest for %v by %d: %v", b, n, limit)
		}
	})
}

// TestWithout: closures taken out afterwards are closures all the same.
func TestWithout(t *testing.T) {
	week := NewCalendar("week", MonToFri, []Day{10_000}, nil)
	rapid.Check(t, func(rt *rapid.T) {
		at := rapid.OneOf(rapid.IntRange(-10, int(LastInstant)+10), rapid.IntRange(19_990, 20_010))
		spans := rapid.SliceOfN(rapid.Custom(func(rt *rapid.T) Span {
			from := at.Draw(rt, "from")
			return Span{Instant(from), Instant(from + rapid.IntRange(-2, 3000).Draw(rt, "long"))}
		}), 0, 5).Draw(rt, "closures")
		want := NewCalendar("site", MonToFri, []Day{10_000}, spans)
		if got := week.Without("site", spans...); *got != *want {
			rt.Fatalf("differs after %v", spans)
		}
	})
	if *week != *NewCalendar("week", MonToFri, []Day{10_000}, nil) {
		t.Error("the calendar itself changed")
	}
}

func TestCalendarAtTheHorizon(t *testing.T) {
	for _, c := range []*Calendar{EveryDay(), NewCalendar("whole", WholeWeek, nil, nil)} {
		if got := c.Count(FirstInstant, LastInstant); got != MaxLength {
			t.Errorf("%s: %d half-days in all", c.Name(), got)
		}
		if got, err := c.Advance(FirstInstant, MaxLength); err != nil || got != LastInstant {
			t.Errorf("%s: whole horizon: %v, %v", c.Name(), got, err)
		}
		for _, try := range []struct {
			k Instant
			n Halves
		}{{FirstInstant, MaxLength + 1}, {LastInstant, 1}, {FirstInstant, -1}, {0, 1}, {LastInstant + 1, 0},
			{LastInstant, 1 << 30}, {LastInstant, -1 << 30}} {
			_, err := c.Advance(try.k, try.n)
			var horizon *HorizonError
			if !errors.As(err, &horizon) {
				t.Errorf("%s: %d by %d: %v", c.Name(), try.k, try.n, err)
			}
		}
		if _, err := c.Next(LastInstant); err == nil {
			t.Errorf("%s: something is worked after the horizon", c.Name())
		}
	}
}

func TestCalendarAllocatesNothing(t *testing.T) {
	c := NewCalendar("site", MonToFri, nil, nil)
	k := day(t, "2027-03-01").AM()
	if n := testing.AllocsPerRun(100, func() {
		at, _ := c.Advance(k, 31)
		at, _ = c.Next(at)
		_ = c.Count(k, at)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
