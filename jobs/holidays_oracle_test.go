package jobs

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// The oracle: every rule of the bank holidays written out plainly, without the
// library and with the weekdays of time.Time in UTC.

// goldenFullMoon is the Paschal full moon of each golden number, good for 1900
// to 2199 (the table of the Book of Common Prayer; from memory).
var goldenFullMoon = [19]string{"04-14", "04-03", "03-23", "04-11", "03-31", "04-18", "04-08",
	"03-28", "04-16", "04-05", "03-25", "04-13", "04-02", "03-22", "04-10", "03-30", "04-17",
	"04-07", "03-27"}

// tableEaster is the Sunday after the Paschal full moon.
func tableEaster(t *testing.T, year int) time.Time {
	moon, err := time.Parse("2006-01-02", strconv.Itoa(year)+"-"+goldenFullMoon[year%19])
	if err != nil {
		t.Fatal(err)
	}
	sunday := moon.AddDate(0, 0, 1)
	for sunday.Weekday() != time.Sunday {
		sunday = sunday.AddDate(0, 0, 1)
	}
	return sunday
}

// gregorianEaster is the anonymous Gregorian algorithm (published 1876).
func gregorianEaster(year int) time.Time {
	a, b, c := year%19, year/100, year%100
	d, e := b/4, b%4
	g := (8*b + 13) / 25
	h := (19*a + b - d - g + 15) % 30
	i, k := c/4, c%4
	l := (32 + 2*e + 2*i - h - k) % 7
	m := (a + 11*h + 19*l) / 433
	n := (h + l - 7*m + 90) / 25
	p := (h + l - 7*m + 33*n + 19) % 32
	return utcDate(year, n, p)
}

func TestOracleEaster(t *testing.T) {
	for year := 2000; year <= 2099; year++ {
		if a, b := tableEaster(t, year), gregorianEaster(year); a != b {
			t.Errorf("%d: %s by the table, %s by the algorithm", year, a, b)
		}
	}
}

func utcDate(year, month, day int) time.Time {
	return time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
}

func firstMonday(year, month int) time.Time {
	for d := utcDate(year, month, 1); ; d = d.AddDate(0, 0, 1) {
		if d.Weekday() == time.Monday {
			return d
		}
	}
}

func lastMonday(year, month int) time.Time {
	for d := utcDate(year, month, 31); ; d = d.AddDate(0, 0, -1) {
		if d.Weekday() == time.Monday {
			return d
		}
	}
}

// oracleYear gathers one region's year: what is kept and which days are off.
type oracleYear struct {
	kept []listed
	off  []string
}

func (o *oracleYear) keep(feast, kept time.Time, title string) {
	o.kept = append(o.kept, listed{kept.Format(time.DateOnly), title, kept != feast})
	o.off = append(o.off, feast.Format(time.DateOnly), kept.Format(time.DateOnly))
}

func (o *oracleYear) on(d time.Time, title string) { o.keep(d, d, title) }

// monday keeps a feast on the Monday after when it falls on a weekend.
func (o *oracleYear) monday(d time.Time, title string) {
	kept := d
	for kept.Weekday() == time.Saturday || kept.Weekday() == time.Sunday {
		kept = kept.AddDate(0, 0, 1)
	}
	o.keep(d, kept, title)
}

// moved keeps a feast as many days later as its weekday says.
func (o *oracleYear) moved(d time.Time, title string, on map[time.Weekday]int) {
	o.keep(d, d.AddDate(0, 0, on[d.Weekday()]), title)
}

// oracleOneOffs are the proclaimed days (before 2019 from memory).
var oracleOneOffs = map[int][]listed{
	2002: {{"2002-06-03", "Golden Jubilee bank holiday", false},
		{"2002-06-04", "Spring bank holiday", false}},
	2011: {{"2011-04-29", "Royal Wedding bank holiday", false}},
	2012: {{"2012-06-04", "Spring bank holiday", false},
		{"2012-06-05", "Diamond Jubilee bank holiday", false}},
	2020: {{"2020-05-08", "Early May bank holiday (VE day)", false}},
	2022: {{"2022-06-02", "Spring bank holiday", false},
		{"2022-06-03", "Platinum Jubilee bank holiday", false},
		{"2022-09-19", "Bank Holiday for the State Funeral of Queen Elizabeth II", false}},
	2023: {{"2023-05-08", "Bank holiday for the coronation of King Charles III", false}},
}

func oracleHolidays(region Region, year int) oracleYear {
	var o oracleYear
	easter := gregorianEaster(year)
	o.monday(utcDate(year, 1, 1), "New Year's Day")
	o.on(easter.AddDate(0, 0, -2), "Good Friday")
	if year != 2020 {
		o.on(firstMonday(year, 5), "Early May bank holiday")
	}
	if year != 2002 && year != 2012 && year != 2022 {
		o.on(lastMonday(year, 5), "Spring bank holiday")
	}
	weekend := map[time.Weekday]int{time.Saturday: 2, time.Sunday: 2}
	o.moved(utcDate(year, 12, 25), "Christmas Day", weekend)
	o.moved(utcDate(year, 12, 26), "Boxing Day", weekend)
	for _, h := range oracleOneOffs[year] {
		o.kept, o.off = append(o.kept, h), append(o.off, h.Date)
	}
	if region == Scotland {
		o.moved(utcDate(year, 1, 2), "2nd January",
			map[time.Weekday]int{time.Saturday: 2, time.Sunday: 2, time.Monday: 1})
		o.on(firstMonday(year, 8), "Summer bank holiday")
		if year >= 2007 {
			o.monday(utcDate(year, 11, 30), "St Andrew's Day")
		}
		if year == 2026 {
			o.on(utcDate(2026, 6, 15), "World Cup bank holiday")
		}
	} else {
		o.on(easter.AddDate(0, 0, 1), "Easter Monday")
		o.on(lastMonday(year, 8), "Summer bank holiday")
	}
	if region == NorthernIreland {
		o.monday(utcDate(year, 3, 17), "St Patrick's Day")
		o.monday(utcDate(year, 7, 12), "Battle of the Boyne (Orangemen's Day)")
	}
	slices.SortFunc(o.kept, func(a, b listed) int { return strings.Compare(a.Date, b.Date) })
	slices.Sort(o.off)
	o.off = slices.Compact(o.off)
	return o
}
