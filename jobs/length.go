package jobs

import (
	"fmt"
	"strconv"
	"strings"

	"putlog/schedule"
)

// Length is how long a stage or a lag takes, as it was written: in days ("1d",
// "0.5d") or, for waits, in hours ("72h"). The zero Length is not set.
type Length struct {
	halves schedule.Halves // for days
	hours  int32           // for hours, when inHours
	form   lengthForm
}

type lengthForm uint8

const (
	notSet lengthForm = iota
	inDays
	inHours
)

// Days makes a Length of half-days.
func Days(n schedule.Halves) Length { return Length{halves: n, form: inDays} }

// Halves gives the length in half-days; hours are rounded up to the half-day.
func (l Length) Halves() schedule.Halves {
	if l.form == inHours {
		return schedule.Halves((l.hours + 11) / 12)
	}
	return l.halves
}

// InHours says whether the length was written in hours.
func (l Length) InHours() bool { return l.form == inHours }

// IsZero says whether the length was left out.
func (l Length) IsZero() bool { return l.form == notSet }

// String gives the length as it is written: "1.5d", "72h".
func (l Length) String() string {
	if l.form == inHours {
		return strconv.Itoa(int(l.hours)) + "h"
	}
	return l.halves.String()
}

// MarshalText is String.
func (l Length) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

const lengthRemedy = "write 1d for a day, 0.5d for half a day"

// UnmarshalText reads "1d", "0.5d", "-2d" or "72h".
func (l *Length) UnmarshalText(text []byte) error {
	word := string(text)
	if digits, ok := strings.CutSuffix(word, "h"); ok {
		n, err := strconv.ParseUint(digits, 10, 31)
		if err != nil || int64(n) > int64(schedule.MaxLength)*12 {
			return fmt.Errorf("%q is not a length; write hours as 72h", word)
		}
		*l = Length{hours: int32(n), form: inHours}
		return nil
	}
	digits, ok := strings.CutSuffix(word, "d")
	digits, negative := strings.CutPrefix(digits, "-")
	whole, part, dotted := strings.Cut(digits, ".")
	n, err := strconv.ParseUint(whole, 10, 31)
	if !ok || err != nil || dotted && part == "" {
		return fmt.Errorf("%q is not a length; %s", word, lengthRemedy)
	}
	halves := 2 * int64(n)
	switch strings.TrimRight(part, "0") {
	case "":
	case "5":
		halves++
	default:
		return fmt.Errorf("%q: the shortest step is half a day; %s", word, lengthRemedy)
	}
	if halves > int64(schedule.MaxLength) {
		return fmt.Errorf("%q is longer than the hundred years a programme may span", word)
	}
	if negative {
		halves = -halves
	}
	*l = Days(schedule.Halves(halves))
	return nil
}

// Moment is the beginning of a half-day: a date taken alone means its am.
type Moment schedule.Instant

// MarshalText gives the date, and the half where it is pm.
func (m Moment) MarshalText() ([]byte, error) { return halfText(schedule.Instant(m), schedule.AM), nil }

// UnmarshalText reads "2027-03-01" or "2027-03-01 pm".
func (m *Moment) UnmarshalText(text []byte) error {
	at, err := schedule.ParseInstant(string(text), schedule.AM)
	*m = Moment(at)
	return err
}

// Until is a last half-day: a date taken alone means its pm. It is kept as the
// instant at which that half-day begins.
type Until schedule.Instant

// MarshalText gives the date, and the half where it is am.
func (u Until) MarshalText() ([]byte, error) { return halfText(schedule.Instant(u), schedule.PM), nil }

// UnmarshalText reads "2027-04-02" or "2027-04-02 am".
func (u *Until) UnmarshalText(text []byte) error {
	at, err := schedule.ParseInstant(string(text), schedule.PM)
	*u = Until(at)
	return err
}

// End is the instant at which the last half-day ends.
func (u Until) End() schedule.Instant { return schedule.Instant(u) + 1 }

func halfText(at schedule.Instant, usual schedule.Half) []byte {
	if at.Half() == usual {
		return []byte(at.Day().String())
	}
	return []byte(at.String())
}
