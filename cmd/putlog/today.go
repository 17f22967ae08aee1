package main

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
)

// todayCommand prints what is on, over all jobs.
func (a *app) todayCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "today",
		Short:   "Over all jobs: what is on, what may start, what holds, what to order, which notices to give",
		Example: "  putlog today\n  putlog today --as-at 2027-03-08",
		Args:    exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			asAt, err := a.asAt()
			if err != nil {
				return err
			}
			var all []*jobs.Agenda
			err = a.eachJob(asAt, func(p *jobs.Programme) error {
				g, err := p.Agenda()
				all = append(all, g)
				return err
			})
			if err != nil {
				return err
			}
			return a.printToday(asAt, all)
		},
	}
}

// heading is a part of the screen: what it is called and what stands in it.
type heading struct {
	key, says string
	of        func(*jobs.Agenda) []jobs.Item
}

var headings = []heading{
	{"overdue", "To record", func(g *jobs.Agenda) []jobs.Item { return g.Overdue }},
	{"notices", "Notices to give", func(g *jobs.Agenda) []jobs.Item { return g.Notices }},
	{"on_site", "On site", func(g *jobs.Agenda) []jobs.Item { return g.OnSite }},
	{"may_start", "May start", func(g *jobs.Agenda) []jobs.Item { return g.MayStart }},
	{"held", "Held", func(g *jobs.Agenda) []jobs.Item { return g.Held }},
	{"waits", "Waits running", func(g *jobs.Agenda) []jobs.Item { return g.Waits }},
	{"orders", "Deliveries", func(g *jobs.Agenda) []jobs.Item { return g.Orders }},
}

// todayItem is a line of the answer of today --json.
type todayItem struct {
	Job   string `json:"job"`
	Stage string `json:"stage"`
	Day   string `json:"day"`
	Says  string `json:"says"`
}

func (a *app) printToday(asAt schedule.Day, all []*jobs.Agenda) error {
	fields := object{{"as_at", asAt.String()}, {"jobs", len(all)}}
	var rows [][]string
	var screen []string
	for _, h := range headings {
		items := gather(all, h)
		fields = append(fields, field{h.key, items})
		if len(items) > 0 {
			screen = append(screen, "", h.says+":")
		}
		for _, i := range items {
			rows = append(rows, []string{h.key, i.Job, i.Stage, i.Day, i.Says})
			screen = append(screen, "- "+i.Job+": "+i.Says)
		}
	}
	switch {
	case a.json:
		return a.answer(fields)
	case a.width() == 0:
		a.plain(rows)
	case len(all) == 0:
		a.say("There are no jobs in the book yet.", "Start one: putlog job templates")
	case len(rows) == 0:
		a.say(fmt.Sprintf("%s, %s: nothing to do.", asAt.Long(), counted(len(all), "job")))
	default:
		a.say(fmt.Sprintf("%s, %s.", asAt.Long(), counted(len(all), "job")))
		a.say(screen...)
	}
	return nil
}

// gather lists the items of one heading over all jobs, soonest first.
func gather(all []*jobs.Agenda, h heading) []todayItem {
	items := []todayItem{}
	for _, g := range all {
		for _, i := range h.of(g) {
			items = append(items, todayItem{g.Job, i.Stage, i.Day.String(), i.Says})
		}
	}
	slices.SortStableFunc(items, func(a, b todayItem) int { return cmp.Compare(a.Day, b.Day) })
	return items
}

func counted(n int, what string) string { return count(int64(n), what, what+"s") }

// noticesCommand lists every notice to give over all jobs.
func (a *app) noticesCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "notices",
		Short:   "Over all jobs: every notice to give, its latest day, and what missing it costs",
		Example: "  putlog notices",
		Args:    exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			asAt, err := a.asAt()
			if err != nil {
				return err
			}
			var all []jobs.NoticeDue
			err = a.eachJob(asAt, func(p *jobs.Programme) error {
				due, err := p.Notices()
				all = append(all, due...)
				return err
			})
			if err != nil {
				return err
			}
			slices.SortStableFunc(all, func(a, b jobs.NoticeDue) int { return int(a.By) - int(b.By) })
			return a.printNotices(asAt, all)
		},
	}
}

// noticeJSON is a line of the answer of notices --json.
type noticeJSON struct {
	Job        string   `json:"job"`
	Stage      string   `json:"stage"`
	ClearDays  int      `json:"clear_days"`
	Inspection string   `json:"inspection"`
	By         string   `json:"by"`
	Missed     bool     `json:"missed"`
	LastDay    string   `json:"last_day"`
	Holds      []string `json:"holds"`
	CostsDays  days     `json:"costs_days"`
	Says       string   `json:"says"`
}

func (a *app) printNotices(asAt schedule.Day, all []jobs.NoticeDue) error {
	list := []noticeJSON{}
	var rows [][]string
	for _, n := range all {
		list = append(list, noticeJSON{n.Job.Ref, n.Stage, n.Clear, n.Day.Day().String(), n.By.String(),
			n.Missed, n.LastDay.String(), orEmpty(n.Holds), days(n.Costs), n.Says()})
		rows = append(rows, []string{n.By.String(), n.Job.Ref, n.Stage, n.Day.Day().String(), fmt.Sprint(n.Clear),
			n.LastDay.String(), n.Costs.Decimal(), n.Name})
	}
	switch {
	case a.json:
		return a.answer(struct {
			AsAt    string       `json:"as_at"`
			Notices []noticeJSON `json:"notices"`
		}{asAt.String(), list})
	case a.width() == 0:
		a.plain(rows)
	case len(all) == 0:
		a.say("No notice is outstanding.")
	default:
		a.say(fmt.Sprintf("%s to give, soonest first, as at %s:", counted(len(all), "notice"), asAt.Long()))
		for _, n := range list {
			a.say("- " + n.Job + ": " + n.Says + ".")
		}
	}
	return nil
}
