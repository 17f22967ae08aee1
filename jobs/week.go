package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/schedule"
)

// Worked says which part of a weekday is worked; the zero Worked is none of it.
type Worked uint8

// The parts of a day that can be worked.
const (
	WorkedAM  Worked = 1
	WorkedPM  Worked = 2
	WorkedDay        = WorkedAM | WorkedPM
)

// MarshalText gives "am", "pm" or "day".
func (w Worked) MarshalText() ([]byte, error) {
	return []byte([...]string{"", "am", "pm", "day"}[w]), nil
}

// UnmarshalText reads "am", "pm" or "day".
func (w *Worked) UnmarshalText(text []byte) error {
	i := slices.Index([]string{"am", "pm", "day"}, string(text))
	if i < 0 {
		return fmt.Errorf("%q is not a part of a day; write day, am or pm", text)
	}
	*w = Worked(i + 1)
	return nil
}

// Week says which half-days of an ordinary week are worked. A job file writes
// it as a run of days, "mon-fri", or day by day.
type Week struct {
	Mon Worked `form:"mon,optional"`
	Tue Worked `form:"tue,optional"`
	Wed Worked `form:"wed,optional"`
	Thu Worked `form:"thu,optional"`
	Fri Worked `form:"fri,optional"`
	Sat Worked `form:"sat,optional"`
	Sun Worked `form:"sun,optional"`
}

func (w *Week) days() [7]*Worked {
	return [7]*Worked{&w.Mon, &w.Tue, &w.Wed, &w.Thu, &w.Fri, &w.Sat, &w.Sun}
}

// Pattern gives the week as a calendar takes it.
func (w Week) Pattern() schedule.Week {
	var pattern schedule.Week
	for i, part := range w.days() {
		if *part&WorkedAM != 0 {
			pattern = pattern.With(schedule.Weekday(i), schedule.AM)
		}
		if *part&WorkedPM != 0 {
			pattern = pattern.With(schedule.Weekday(i), schedule.PM)
		}
	}
	return pattern
}

// UnmarshalText reads a run of whole days: "mon-fri", "mon-sat".
func (w *Week) UnmarshalText(text []byte) error {
	first, last, _ := strings.Cut(string(text), "-")
	from, to := weekday(first), weekday(last)
	if from < 0 || to < from {
		return fmt.Errorf("%q is not a week; write mon-fri, or day by day: "+
			"{mon: day, tue: day, wed: day, thu: day, fri: am}", text)
	}
	*w = Week{}
	for i, part := range w.days() {
		if i >= from && i <= to {
			*part = WorkedDay
		}
	}
	return nil
}

func weekday(name string) int {
	for d := schedule.Monday; d <= schedule.Sunday; d++ {
		if d.String() == name {
			return int(d)
		}
	}
	return -1
}

// FormScalar gives the week as a run of whole days where it is one.
func (w Week) FormScalar() (string, bool) {
	from, to := -1, -1
	for i, part := range w.days() {
		switch {
		case *part == 0:
		case *part != WorkedDay || to >= 0 && to != i-1:
			return "", false
		default:
			if from < 0 {
				from = i
			}
			to = i
		}
	}
	if from < 0 || from == to {
		return "", false
	}
	return schedule.Weekday(from).String() + "-" + schedule.Weekday(to).String(), true
}
