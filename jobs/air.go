package jobs

import (
	"fmt"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Temperatures are the mean temperatures of the site month by month, degrees C.
type Temperatures struct {
	Jan schedule.Celsius `form:"jan"`
	Feb schedule.Celsius `form:"feb"`
	Mar schedule.Celsius `form:"mar"`
	Apr schedule.Celsius `form:"apr"`
	May schedule.Celsius `form:"may"`
	Jun schedule.Celsius `form:"jun"`
	Jul schedule.Celsius `form:"jul"`
	Aug schedule.Celsius `form:"aug"`
	Sep schedule.Celsius `form:"sep"`
	Oct schedule.Celsius `form:"oct"`
	Nov schedule.Celsius `form:"nov"`
	Dec schedule.Celsius `form:"dec"`
}

// Means gives them by month, 1 to 12.
func (t Temperatures) Means() schedule.MonthlyMeans {
	return schedule.MonthlyMeans{0, t.Jan, t.Feb, t.Mar, t.Apr, t.May, t.Jun, t.Jul, t.Aug, t.Sep,
		t.Oct, t.Nov, t.Dec}
}

// usualTemperatures are long-term monthly means of each nation's air, in tenths
// of a degree, 1 to 12: rounded from memory, planning figures only. A site in the
// hills is colder: put the job's own into its file.
func usualTemperatures(r Region) [13]int {
	switch r {
	case Scotland:
		return [13]int{0, 30, 32, 45, 67, 95, 121, 138, 136, 115, 83, 53, 33}
	case NorthernIreland:
		return [13]int{0, 46, 48, 61, 81, 108, 133, 149, 147, 128, 98, 69, 50}
	}
	return [13]int{0, 46, 48, 66, 90, 120, 148, 169, 167, 143, 109, 73, 50}
}

// airSource says where the temperatures of the season come from.
func (j *Job) airSource() string {
	if j.Temperatures != nil {
		return "the job's own monthly means, and what was logged"
	}
	nation := map[Region]string{EnglandAndWales: "England and Wales", Scotland: "Scotland",
		NorthernIreland: "Northern Ireland"}[j.Region]
	return "the monthly means usual in " + nation + " (from memory), and what was logged"
}

// means are the site's monthly means.
func (j *Job) means() schedule.MonthlyMeans {
	if j.Temperatures != nil {
		return j.Temperatures.Means()
	}
	var m schedule.MonthlyMeans
	for month, tenths := range usualTemperatures(j.Region) {
		if month > 0 {
			m[month] = schedule.TenthsCelsius(tenths)
		}
	}
	return m
}

// air gives the temperature of a day: the one logged, else the month's mean.
// The rule for concrete holds from 0 to 40 °C: frost counts as 0.
func (s *standing) air() func(schedule.Day) schedule.Celsius {
	means := s.job.means()
	return func(d schedule.Day) schedule.Celsius {
		t, logged := s.logged[d]
		if !logged {
			t = means.On(d)
		}
		return min(max(t, schedule.TenthsCelsius(0)), schedule.TenthsCelsius(400))
	}
}

// Temperature logs a day's mean temperature on site.
type Temperature struct {
	Mean schedule.Celsius `form:"mean"`
}

// Kind names the kind of entry.
func (*Temperature) Kind() string { return "temperature" }

func (e *Temperature) apply(s *standing, on schedule.Day) error {
	if t := e.Mean.Tenths(); t < -300 || t > 450 {
		return words.Refuse("write the day's mean in degrees C: 6.5", "%s °C is no day's mean temperature here", e.Mean)
	}
	s.logged[on] = e.Mean
	return nil
}

func (e *Temperature) says(func(string) string) (ref, says string) {
	return "", fmt.Sprintf("mean temperature on site %s °C", e.Mean)
}

// Air is the word by which a wait says what temperature it is counted at.
type Air string

// SiteAir counts a wait day by day at the site's temperatures.
const SiteAir Air = "site"

// MarshalText gives the word.
func (a Air) MarshalText() ([]byte, error) { return []byte(a), nil }

// UnmarshalText reads "site".
func (a *Air) UnmarshalText(text []byte) error {
	if string(text) != string(SiteAir) {
		return fmt.Errorf("%q is not where the air is; write air: site, or give a temperature", text)
	}
	*a = SiteAir
	return nil
}
