package jobs

import (
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/gb"

	"putlog/schedule"
)

// Region is a part of the United Kingdom with bank holidays of its own.
// The zero Region means "not set"; it has no holidays.
type Region string

// The three regions, as a job file and GOV.UK write them.
const (
	EnglandAndWales Region = "england-and-wales"
	Scotland        Region = "scotland"
	NorthernIreland Region = "northern-ireland"
)

// Regions lists the three.
func Regions() []Region { return []Region{EnglandAndWales, Scotland, NorthernIreland} }

// Valid says whether r is one of the three regions.
func (r Region) Valid() bool {
	return r == EnglandAndWales || r == Scotland || r == NorthernIreland
}

// ParseRegion reads a region as a job file writes it: "scotland".
func ParseRegion(text string) (Region, error) {
	if r := Region(text); r.Valid() {
		return r, nil
	}
	return "", fmt.Errorf("%q is not a region; write %s, %s or %s",
		text, EnglandAndWales, Scotland, NorthernIreland)
}

// MarshalText gives the region as a job file writes it.
func (r Region) MarshalText() ([]byte, error) {
	_, err := ParseRegion(string(r))
	return []byte(r), err
}

// UnmarshalText is ParseRegion.
func (r *Region) UnmarshalText(text []byte) (err error) {
	*r, err = ParseRegion(string(text))
	return err
}

// Holiday is one bank holiday as GOV.UK lists it: the day that is kept, which
// is a substitute day where the feast itself falls on a weekend.
type Holiday struct {
	Day        schedule.Day
	Title      string
	Substitute bool
}

// Holidays lists the bank holidays of a year in order. Past the years that are
// proclaimed they follow the standing rules. It fails for a region that is not
// set and, with a *schedule.HorizonError, for a year outside 2000 to 2099.
func Holidays(region Region, year int) ([]Holiday, error) {
	if _, err := ParseRegion(string(region)); err != nil {
		return nil, err
	}
	if year < firstYear || year > lastYear {
		return nil, &schedule.HorizonError{What: fmt.Sprintf("the year %d", year)}
	}
	var list []Holiday
	for _, h := range holidayRules(region) {
		if feast, kept := falls(h, year); kept != 0 {
			list = append(list, Holiday{Day: kept, Title: h.Name, Substitute: kept != feast})
		}
	}
	slices.SortStableFunc(list, func(a, b Holiday) int { return int(a.Day - b.Day) })
	return list, nil
}

// DaysOff gives every day of the horizon that is off in a region, in order:
// the days kept and also the feasts themselves that fall on a weekend, so that
// a crew that works Saturdays is not sent out on Saturday 25 December 2027.
func DaysOff(region Region) []schedule.Day {
	if worked, ok := daysOff[region]; ok {
		return slices.Clone(worked())
	}
	return nil
}

var daysOff = perRegion(workDaysOff)

// perRegion works something out for each region, when first asked for it.
func perRegion[T any](work func(Region) T) map[Region]func() T {
	made := map[Region]func() T{}
	for _, r := range Regions() {
		made[r] = sync.OnceValue(func() T { return work(r) })
	}
	return made
}

func workDaysOff(region Region) []schedule.Day {
	rules := holidayRules(region)
	days := make([]schedule.Day, 0, len(rules)*(lastYear-firstYear+1))
	for year := firstYear; year <= lastYear; year++ {
		for _, h := range rules {
			if feast, kept := falls(h, year); kept != 0 {
				days = append(days, feast)
				if kept != feast {
					days = append(days, kept)
				}
			}
		}
	}
	slices.Sort(days)
	return slices.Compact(days)
}

const firstYear, lastYear = 2000, 2099

// falls gives the feast itself and the day that is kept for it; zeros in a
// year without it. The library works in the machine's own zone, and where the
// clocks go forward at midnight its midnight lies in the day before: so the
// date is read twelve hours on, and the substitute is found by our weekday.
func falls(h *cal.Holiday, year int) (feast, kept schedule.Day) {
	midnight, _ := h.Calc(year)
	if midnight.IsZero() {
		return 0, 0
	}
	y, m, d := midnight.Add(12 * time.Hour).Date()
	feast, err := schedule.NewDay(y, int(m), d)
	if err != nil {
		return 0, 0 // no rule leads out of its own year
	}
	for _, alt := range h.Observed {
		if (int(alt.Day)+6)%7 == int(feast.Weekday()) { // theirs count from Sunday
			return feast, feast + schedule.Day(alt.Offset)
		}
	}
	return feast, feast
}

// Substitute days (Banking and Financial Dealings Act 1971, schedule 1, and the
// yearly proclamations): the Monday after, or the Tuesday where a neighbouring
// holiday has the Monday.
var (
	mondayAfter = []cal.AltDay{{Day: time.Saturday, Offset: 2}, {Day: time.Sunday, Offset: 1}}
	secondOfTwo = []cal.AltDay{{Day: time.Saturday, Offset: 2}, {Day: time.Sunday, Offset: 2},
		{Day: time.Monday, Offset: 1}}
	// Boxing Day keeps its Monday and Christmas Day takes the Tuesday
	// (GOV.UK, 26 and 27 December 2022; the library has them the other way).
	christmas = []cal.AltDay{{Day: time.Saturday, Offset: 2}, {Day: time.Sunday, Offset: 2}}
)

// holidayRules gives the rules of a region, none for one that is not set. The
// library's values are shared and so are cloned, with GOV.UK's titles and what
// the library has wrong or leaves out.
func holidayRules(region Region) []*cal.Holiday {
	switch region {
	case EnglandAndWales:
		return slices.Concat(everywhere(), notScotland())
	case Scotland:
		return slices.Concat(everywhere(), scotland())
	case NorthernIreland:
		return slices.Concat(everywhere(), notScotland(), northernIreland())
	}
	return nil
}

// everywhere holds what the three regions share.
func everywhere() []*cal.Holiday {
	return []*cal.Holiday{
		gb.NewYear.Clone(&cal.Holiday{Observed: mondayAfter}),
		gb.GoodFriday,
		gb.EarlyMay.Clone(&cal.Holiday{Name: "Early May bank holiday"}),
		gb.SpringHoliday.Clone(&cal.Holiday{Name: springTitle, Except: []int{2002, 2012, 2022}}),
		gb.ChristmasDay.Clone(&cal.Holiday{Observed: christmas}),
		gb.BoxingDay.Clone(&cal.Holiday{Observed: christmas}),

		// One-off days. Those before 2019 are from memory, their titles in
		// our words; the rest are GOV.UK's.
		once(2002, time.June, 3, "Golden Jubilee bank holiday"),
		once(2002, time.June, 4, springTitle),
		once(2011, time.April, 29, "Royal Wedding bank holiday"),
		once(2012, time.June, 4, springTitle),
		once(2012, time.June, 5, "Diamond Jubilee bank holiday"),
		gb.VEDay.Clone(&cal.Holiday{Name: "Early May bank holiday (VE day)"}),
		gb.SpringHoliday2022.Clone(&cal.Holiday{Name: springTitle}),
		gb.PlatinumJubilee.Clone(&cal.Holiday{Name: "Platinum Jubilee bank holiday"}),
		once(2022, time.September, 19,
			"Bank Holiday for the State Funeral of Queen Elizabeth II"),
		gb.CoronationDay.Clone(&cal.Holiday{
			Name: "Bank holiday for the coronation of King Charles III"}),
	}
}

const (
	springTitle = "Spring bank holiday"
	summerTitle = "Summer bank holiday"
)

// notScotland holds what England, Wales and Northern Ireland have beside.
func notScotland() []*cal.Holiday {
	return []*cal.Holiday{
		gb.EasterMonday,
		gb.SummerHoliday.Clone(&cal.Holiday{Name: summerTitle}),
	}
}

// scotland holds Scotland's own days. St Andrew's Day is one since the
// St Andrew's Day Bank Holiday (Scotland) Act 2007 (the year from memory).
func scotland() []*cal.Holiday {
	second := yearly(time.January, 2, "2nd January")
	second.Observed = secondOfTwo
	andrew := yearly(time.November, 30, "St Andrew's Day")
	andrew.StartYear = 2007
	return []*cal.Holiday{
		second,
		gb.SummerHolidayScotland.Clone(&cal.Holiday{Name: summerTitle}),
		andrew,
		once(2026, time.June, 15, "World Cup bank holiday"),
	}
}

// northernIreland holds what Northern Ireland has beside England's days.
func northernIreland() []*cal.Holiday {
	return []*cal.Holiday{
		yearly(time.March, 17, "St Patrick's Day"),
		yearly(time.July, 12, "Battle of the Boyne (Orangemen's Day)"),
	}
}

// yearly is a holiday on the same date every year, with the Monday after for
// a weekend.
func yearly(month time.Month, day int, title string) *cal.Holiday {
	return &cal.Holiday{Name: title, Type: cal.ObservanceBank, Month: month, Day: day,
		Func: cal.CalcDayOfMonth, Observed: mondayAfter}
}

// once is a holiday of one year alone.
func once(year int, month time.Month, day int, title string) *cal.Holiday {
	return &cal.Holiday{Name: title, Type: cal.ObservanceBank, Month: month, Day: day,
		Func: cal.CalcDayOfMonth, StartYear: year, EndYear: year}
}
