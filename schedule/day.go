package schedule

import (
	"fmt"
	"strings"
)

// Day is a civil date, counted from 1 (2000-01-01) to 36525 (2099-12-31).
// The zero Day means "not set". Days carry no time zone.
type Day int32

// The first and last days of the horizon.
const (
	FirstDay Day = 1
	LastDay  Day = 36525
)

// Half is half a working day: AM, then PM.
type Half int8

// The two halves of a day, in order.
const (
	AM Half = iota
	PM
)

// String gives "am" or "pm".
func (h Half) String() string {
	if h == PM {
		return "pm"
	}
	return "am"
}

// Instant is the boundary before a half-day: Day d begins at 2d, its pm at
// 2d+1. The zero Instant means "not set".
type Instant int32

// The first instant of the horizon and the one after its last half-day.
const (
	FirstInstant Instant = 2 * Instant(FirstDay)
	LastInstant  Instant = 2*Instant(LastDay) + 2
)

// Halves is a count of half-days, worked or not as the context says.
type Halves int32

// Weekday counts from Monday (0) to Sunday (6).
type Weekday int8

// The days of the week.
const (
	Monday Weekday = iota
	Tuesday
	Wednesday
	Thursday
	Friday
	Saturday
	Sunday
)

var weekdayNames = [7]string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

var monthNames = [13]string{"", "Jan", "Feb", "Mar", "Apr", "May", "Jun",
	"Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// String gives the day's name as a week writes it: "mon".
func (w Weekday) String() string { return weekdayNames[w] }

// HorizonError says that something falls outside 2000-01-01 to 2099-12-31.
type HorizonError struct {
	What  string // what fell outside, in words
	Stage int    // the stage of a network it befell, else -1
}

func (e *HorizonError) Error() string {
	return e.What + " falls outside the years 2000 to 2099"
}

// daysBefore counts the days of a common year before each month.
var daysBefore = [14]int{0, 0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365}

func leap(year int) bool { return year%4 == 0 } // right for 2000 to 2099

func monthLength(year, month int) int {
	n := daysBefore[month+1] - daysBefore[month]
	if month == 2 && leap(year) {
		n++
	}
	return n
}

// NewDay makes a Day of a civil date. It fails for a date that does not exist
// and, with a *HorizonError, for a year outside 2000 to 2099.
func NewDay(year, month, day int) (Day, error) {
	if month < 1 || month > 12 {
		return 0, fmt.Errorf("%04d-%02d-%02d is not a date: months run from 01 to 12", year, month, day)
	}
	if year < 2000 || year > 2099 {
		return 0, &HorizonError{fmt.Sprintf("%04d-%02d-%02d", year, month, day), -1}
	}
	if most := monthLength(year, month); day < 1 || day > most {
		return 0, fmt.Errorf("%04d-%02d-%02d is not a date: the days of that month run from 01 to %d",
			year, month, day, most)
	}
	y := year - 2000
	n := y*365 + (y+3)/4 + daysBefore[month] + day
	if month > 2 && leap(year) {
		n++
	}
	return Day(n), nil
}

// Date gives the civil date: year, month 1 to 12, day of the month.
func (d Day) Date() (year, month, day int) {
	n := int(d) - 1
	cycle, n := n/1461, n%1461 // 1461 days: a leap year and three common ones
	y := 0
	if n >= 366 {
		y, n = (n-366)/365+1, (n-366)%365
	}
	year, month = 2000+4*cycle+y, 1
	for n >= monthLength(year, month) {
		n -= monthLength(year, month)
		month++
	}
	return year, month, n + 1
}

// Weekday gives the day of the week.
func (d Day) Weekday() Weekday { return Weekday((d + 4) % 7) } // 2000-01-01 was a Saturday

// Valid says whether d lies within the horizon.
func (d Day) Valid() bool { return d >= FirstDay && d <= LastDay }

// AM is the instant at which d begins.
func (d Day) AM() Instant { return Instant(2 * d) }

// PM is the instant at which the afternoon of d begins.
func (d Day) PM() Instant { return Instant(2*d + 1) }

// End is the instant at which d ends.
func (d Day) End() Instant { return Instant(2*d + 2) }

// At is the instant at which the given half of d begins.
func (d Day) At(h Half) Instant { return Instant(2*d) + Instant(h) }

// String gives the ISO date, "2027-03-01"; "" for a day that is not set.
func (d Day) String() string {
	if d == 0 {
		return ""
	}
	y, m, n := d.Date()
	return fmt.Sprintf("%04d-%02d-%02d", y, m, n)
}

// MarshalText gives the ISO date.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads an ISO date.
func (d *Day) UnmarshalText(text []byte) (err error) {
	*d, err = ParseDay(string(text))
	return err
}

// Short gives the day as it is said: "Mon 1 Mar".
func (d Day) Short() string {
	_, m, n := d.Date()
	name := weekdayNames[d.Weekday()]
	return fmt.Sprintf("%s %d %s", strings.ToUpper(name[:1])+name[1:], n, monthNames[m])
}

// Long gives the day with its year: "Mon 1 Mar 2027".
func (d Day) Long() string {
	y, _, _ := d.Date()
	return fmt.Sprintf("%s %d", d.Short(), y)
}

// ParseDay reads an ISO date, "2027-03-01".
func ParseDay(text string) (Day, error) {
	fail := func() (Day, error) {
		return 0, fmt.Errorf("%q is not a date; write it as 2027-03-01", text)
	}
	if len(text) != 10 || text[4] != '-' || text[7] != '-' {
		return fail()
	}
	var part [3]int
	for i, span := range [3]string{text[:4], text[5:7], text[8:]} {
		for _, c := range []byte(span) {
			if c < '0' || c > '9' {
				return fail()
			}
			part[i] = part[i]*10 + int(c-'0')
		}
	}
	return NewDay(part[0], part[1], part[2])
}

// ParseInstant reads a date or a date and a half, "2027-03-01 pm", and gives
// the instant at which that half-day begins. A date alone takes the given half.
func ParseInstant(text string, half Half) (Instant, error) {
	date, rest, found := strings.Cut(text, " ")
	if found {
		switch strings.TrimSpace(rest) {
		case "am":
			half = AM
		case "pm":
			half = PM
		default:
			return 0, fmt.Errorf("%q: a date may be followed by am or pm only", text)
		}
	}
	day, err := ParseDay(date)
	if err != nil {
		return 0, err
	}
	return day.At(half), nil
}

// Day is the day of the half-day that begins at i.
func (i Instant) Day() Day { return Day(i / 2) }

// Half is the half of the half-day that begins at i.
func (i Instant) Half() Half { return Half(i % 2) }

// Last is the instant at which the half-day that ends at i begins: the half
// by which a finish is shown.
func (i Instant) Last() Instant { return i - 1 }

// Valid says whether i lies within the horizon, its end included.
func (i Instant) Valid() bool { return i >= FirstInstant && i <= LastInstant }

// String gives the half-day that begins at i, "2027-03-01 am"; "" when not set.
func (i Instant) String() string {
	if i == 0 {
		return ""
	}
	return i.Day().String() + " " + i.Half().String()
}

// Short gives the half-day that begins at i as it is said: "Mon 1 Mar am".
func (i Instant) Short() string { return i.Day().Short() + " " + i.Half().String() }

// Days is a count of whole days as half-days.
func Days(n int) Halves { return Halves(2 * n) }

// String gives the count in days: "3d", "0.5d", "-1.5d".
func (n Halves) String() string { return n.Decimal() + "d" }

// Decimal gives the count in days as a plain number: "3", "0.5", "-1.5".
func (n Halves) Decimal() string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	if n%2 == 0 {
		return fmt.Sprintf("%s%d", sign, n/2)
	}
	return fmt.Sprintf("%s%d.5", sign, n/2)
}
