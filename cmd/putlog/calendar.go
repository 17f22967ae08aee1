package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/words"
	"putlog/schedule"
)

// calendarFlags are what the calendar command is asked.
type calendarFlags struct {
	region, from, on, job string
	year, days            int
}

func (a *app) calendarCommand() *cobra.Command {
	var f calendarFlags
	cmd := &cobra.Command{
		Use:   "calendar",
		Short: "Bank holidays, and the day that is so many working days away",
		Example: "  putlog calendar --region scotland --year 2026\n" +
			"  putlog calendar --region england-and-wales --from 2026-12-21 --days 10\n" +
			"  putlog calendar --job orchard-row --on site --from 2027-03-01 --days -5",
		Args: exactArgs(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if cmd.Flags().Changed("from") || cmd.Flags().Changed("days") {
				return a.countDays(f)
			}
			return a.listHolidays(f)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.region, "region", "", "england-and-wales, scotland or northern-ireland")
	flags.IntVar(&f.year, "year", 0, "the `year` to list (else this year)")
	flags.StringVar(&f.from, "from", "", "count working days from this `date` (the day itself not counted)")
	flags.IntVar(&f.days, "days", 0, "so many working `days` on, or back when negative")
	flags.StringVar(&f.job, "job", "", "count on a calendar of this `job`, its closures included")
	flags.StringVar(&f.on, "on", jobs.SiteCalendar, "which `calendar` of the job")
	return cmd
}

// holidayJSON is a line of the answer of calendar --json.
type holidayJSON struct {
	Date  string `json:"date"`
	Title string `json:"title"`
}

func (a *app) listHolidays(f calendarFlags) error {
	asAt, err := a.asAt()
	if err != nil {
		return err
	}
	if f.year == 0 {
		f.year, _, _ = asAt.Date()
	}
	region, err := f.theRegion()
	if err != nil {
		return err
	}
	holidays, err := jobs.Holidays(region, f.year)
	if err != nil {
		return err
	}
	out := struct {
		Region   string        `json:"region"`
		Year     int           `json:"year"`
		Holidays []holidayJSON `json:"holidays"`
	}{string(region), f.year, []holidayJSON{}}
	var cells, fields [][]string
	for _, h := range holidays {
		out.Holidays = append(out.Holidays, holidayJSON{h.Day.String(), h.Title})
		note := ""
		if h.Substitute {
			note = "substitute day"
		}
		cells = append(cells, []string{h.Day.Long(), h.Title, note})
		fields = append(fields, []string{h.Day.String(), h.Title, note})
	}
	switch {
	case a.json:
		return a.answer(out)
	case a.width() == 0:
		a.plain(fields)
	default:
		a.say(fmt.Sprintf("Bank holidays %d, %s: %d.", f.year, region, len(holidays)), "")
		a.table([]column{{head: "Day"}, {head: "Holiday", wide: true, name: true}, {head: ""}}, cells)
		if f.year > jobs.LastPublishedYear {
			a.say("", fmt.Sprintf("Worked out by rule: the government's list was known up to %d "+
				"when this was built.", jobs.LastPublishedYear))
		}
	}
	return nil
}

func (f calendarFlags) theRegion() (jobs.Region, error) {
	if f.region == "" {
		return "", usage("say which region: --region england-and-wales, scotland or northern-ireland")
	}
	r, err := jobs.ParseRegion(f.region)
	if err != nil {
		return "", usageError{err}
	}
	return r, nil
}

// countDays finds the day that is so many working days from another.
func (a *app) countDays(f calendarFlags) error {
	if f.from == "" {
		return usage("say from which day: --from 2027-03-01")
	}
	from, err := schedule.ParseDay(f.from)
	if err != nil {
		return usageError{fmt.Errorf("--from: %w", err)}
	}
	calendar, name, err := a.calendarFor(f)
	if err != nil {
		return err
	}
	to, err := jobs.WorkingDaysFrom(calendar, from, f.days)
	if err != nil {
		return err
	}
	if a.json {
		return a.answer(struct {
			Calendar string `json:"calendar"`
			From     string `json:"from"`
			Days     int    `json:"days"`
			Date     string `json:"date"`
		}{name, from.String(), f.days, to.String()})
	}
	if a.width() == 0 {
		a.plain([][]string{{to.String()}})
		return nil
	}
	side, n := "after", f.days
	if n < 0 {
		side, n = "before", -n
	}
	a.say(fmt.Sprintf("%d working days (%s) %s %s is %s.", n, name, side, from.Long(), to.Long()))
	return nil
}

// calendarFor makes the calendar to count on, and its name.
func (a *app) calendarFor(f calendarFlags) (c *schedule.Calendar, name string, err error) {
	if f.job == "" {
		region, err := f.theRegion()
		if err != nil {
			return nil, "", err
		}
		return jobs.RegionCalendar(region), string(region), nil
	}
	err = a.withProgramme(f.job, func(p *jobs.Programme) error {
		name = f.on + " of " + f.job
		if c = p.Calendar(f.on); c == nil {
			return words.Refuse("the calendars are "+words.Or(p.CalendarNames()), "job %s has no calendar %q", f.job, f.on)
		}
		return nil
	})
	return c, name, err
}
