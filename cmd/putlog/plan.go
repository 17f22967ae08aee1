package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
)

// planCommand prints the programme.
func (a *app) planCommand() *cobra.Command {
	var f documentFlags
	cmd := &cobra.Command{
		Use:   "plan JOB",
		Short: "The programme: when each stage starts and ends, and what drives the finish",
		Example: "  putlog plan orchard-row\n" +
			"  putlog plan orchard-row --as-at 2027-04-01 --json\n" +
			"  putlog plan orchard-row --html programme.html",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			if f.html != "" {
				return a.writePlan(args[0], &f)
			}
			return a.withProgramme(args[0], a.printPlan)
		},
	}
	cmd.Flags().StringVar(&f.html, "html", "", "write it as a page, with the picture, to this `file`")
	cmd.Flags().BoolVar(&f.force, "force", false, "write over a file that is there")
	return cmd
}

func (a *app) printPlan(p *jobs.Programme) error {
	switch {
	case a.json:
		return a.answer(planAnswer(p))
	case a.width() == 0:
		a.plain(planFields(p))
		return nil
	}
	a.say(p.Headline(), "")
	rows := p.Rows()
	cells := make([][]string, len(rows))
	for i, r := range rows {
		cells[i] = []string{r.Name(), r.Start.Short(), r.Finish.Last().Short(), p.Takes(r), floatWords(r)}
	}
	a.table([]column{{head: "Stage", wide: true}, {head: "Starts"}, {head: "Ends"},
		{head: "Takes"}, {head: "Float"}}, cells)
	fmt.Fprintln(a.out)
	a.printStrip(p)
	a.sayList("Mind", p.Warnings())
	a.sayList("Rests on", p.Job.Notes)
	a.sayList("Care", p.Job.Cautions())
	return nil
}

// sayList prints a heading and a list under it, if there is one.
func (a *app) sayList(head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(a.out, "\n%s:\n", head)
	for _, line := range lines {
		a.say("- " + line)
	}
}

// floatWords says how far a stage may slip before it moves the finish.
func floatWords(r jobs.Row) string {
	switch {
	case r.State == schedule.Finished:
		return "done"
	case r.Drives:
		return "drives"
	case r.Float == 0:
		return "none"
	}
	return r.Float.Decimal() + "d"
}

// planFields are the fields of a plan for a pipe: stage, kind, calendar, start,
// half, end, half, late start, half, late end, half, float in days, drives,
// state, title.
func planFields(p *jobs.Programme) [][]string {
	var rows [][]string
	for _, r := range p.Rows() {
		fields := []string{r.ID, r.Kind.String(), r.Keeps}
		fields = append(fields, startFields(p, r, r.Start)...)
		fields = append(fields, finishFields(p, r, r.Finish)...)
		fields = append(fields, startFields(p, r, r.LateStart)...)
		fields = append(fields, finishFields(p, r, r.LateFinish)...)
		float, drives := r.Float.Decimal(), "-"
		if r.State == schedule.Finished {
			float = "-"
		}
		if r.Drives {
			drives = "drives"
		}
		rows = append(rows, append(fields, float, drives, r.State.String(), r.Name()))
	}
	return rows
}

func startFields(p *jobs.Programme, r jobs.Row, at schedule.Instant) []string {
	if at == 0 {
		return []string{"-", "-"}
	}
	at = p.Shown(r, at, false)
	return []string{at.Day().String(), at.Half().String()}
}

func finishFields(p *jobs.Programme, r jobs.Row, at schedule.Instant) []string {
	if at == 0 {
		return []string{"-", "-"}
	}
	at = p.Shown(r, at, true)
	return []string{at.Day().String(), at.Half().String()}
}

// planJSON is the answer of plan --json.
type planJSON struct {
	Job        string      `json:"job"`
	Title      string      `json:"title"`
	AsAt       string      `json:"as_at"`
	Start      *string     `json:"start"`
	StartHalf  *string     `json:"start_half"`
	Finish     *string     `json:"finish"`
	FinishHalf *string     `json:"finish_half"`
	Stages     []stageJSON `json:"stages"`
	Warnings   []string    `json:"warnings"`
	Cautions   []string    `json:"cautions"`
}

type stageJSON struct {
	ID             string   `json:"id"`
	Title          string   `json:"title"`
	Kind           string   `json:"kind"`
	Calendar       string   `json:"calendar"`
	Start          *string  `json:"start"`
	StartHalf      *string  `json:"start_half"`
	Finish         *string  `json:"finish"`
	FinishHalf     *string  `json:"finish_half"`
	LateStart      *string  `json:"late_start"`
	LateStartHalf  *string  `json:"late_start_half"`
	LateFinish     *string  `json:"late_finish"`
	LateFinishHalf *string  `json:"late_finish_half"`
	TakesDays      days     `json:"takes_days"`
	FloatDays      *days    `json:"float_days"`
	Drives         bool     `json:"drives"`
	State          string   `json:"state"`
	By             string   `json:"by"`
	After          []string `json:"after"`
}

// days is a count of half-days that prints as a number of days: 1.5.
type days schedule.Halves

// MarshalJSON gives the number of days.
func (d days) MarshalJSON() ([]byte, error) { return []byte(schedule.Halves(d).Decimal()), nil }

// dated splits an instant into date and half; nulls when it is not set.
func dated(at schedule.Instant) (day, half *string) {
	if at == 0 {
		return nil, nil
	}
	d, h := at.Day().String(), at.Half().String()
	return &d, &h
}

func planAnswer(p *jobs.Programme) planJSON {
	out := planJSON{Job: p.Job.Ref, Title: p.Job.Title, AsAt: p.AsAt().String(),
		Stages: []stageJSON{}, Warnings: orEmpty(p.Warnings()), Cautions: orEmpty(p.Job.Cautions())}
	rows := p.Rows()
	out.Start, out.StartHalf = dated(p.FirstStart())
	out.Finish, out.FinishHalf = dated(p.Finish.Last())
	for _, r := range rows {
		s := stageJSON{ID: r.ID, Title: r.Name(), Kind: r.Kind.String(), Calendar: r.Keeps,
			TakesDays: days(r.Length), Drives: r.Drives, State: r.State.String(),
			By: string(r.Acts()), After: []string{}}
		s.Start, s.StartHalf = dated(p.Shown(r, r.Start, false))
		s.Finish, s.FinishHalf = dated(p.Shown(r, r.Finish, true))
		if r.State != schedule.Finished {
			s.LateStart, s.LateStartHalf = dated(p.Shown(r, r.LateStart, false))
			s.LateFinish, s.LateFinishHalf = dated(p.Shown(r, r.LateFinish, true))
			float := days(r.Float)
			s.FloatDays = &float
		}
		for _, l := range r.After {
			s.After = append(s.After, l.Stage)
		}
		out.Stages = append(out.Stages, s)
	}
	return out
}

// orEmpty makes a list that prints as [] rather than null.
func orEmpty(lines []string) []string {
	if lines == nil {
		return []string{}
	}
	return lines
}
