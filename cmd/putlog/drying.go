package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
)

// dryingCommand shows how each drying floor stands.
func (a *app) dryingCommand() *cobra.Command {
	return &cobra.Command{
		Use:               "drying JOB",
		Short:             "Drying floors: the rule, the readings and the forecast, side by side",
		Example:           "  putlog drying orchard-row",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withProgramme(args[0], a.printDrying)
		},
	}
}

func (a *app) printDrying(p *jobs.Programme) error {
	list := []object{}
	var rows [][]string
	var says []string
	for _, d := range p.Dryings() {
		r, f := p.Row(d.Stage), d.Forecast
		readings := []object{}
		shown := ""
		for i, reading := range d.Readings {
			readings = append(readings, object{{"on", reading.On.String()}, {"humidity", reading.RH.String()}})
			if i > 0 {
				shown += ", "
			}
			shown += reading.RH.String() + " " + reading.On.Short()
		}
		ruleDay, ruleHalf := dated(d.Rule.Last())
		endDay, endHalf := dated(f.Ends.Last())
		o := object{{"stage", r.ID}, {"limit", d.Limit.String()}, {"rule_ends", ruleDay},
			{"rule_ends_half", ruleHalf}, {"readings", readings}, {"forecast_ends", endDay},
			{"forecast_ends_half", endHalf}, {"from_readings", f.FromReadings}, {"dry", f.Dry},
			{"model", f.Model}, {"source", f.Source}, {"sure", f.Sure}, {"warnings", orEmpty(f.Warnings)}}
		list = append(list, o)
		rows = append(rows, []string{r.Name(), d.Rule.Last().Short(), orDash(shown), f.Ends.Last().Short(),
			map[bool]string{true: "dry", false: "not shown dry"}[f.Dry]})
		says = append(says, d.Says(r.Name())+".", "Model: "+f.Model+".", "Source: "+f.Source+".",
			"How sure: "+f.Sure+".")
		for _, w := range f.Warnings {
			says = append(says, "Mind: "+w)
		}
	}
	switch {
	case a.json:
		return a.answer(object{{"job", p.Job.Ref}, {"as_at", p.AsAt().String()}, {"drying", list}})
	case a.width() == 0:
		a.plain(rows)
	case len(rows) == 0:
		a.say(fmt.Sprintf("No floor of %s is drying on %s.", p.Job.Ref, p.AsAt().Long()))
	default:
		a.table([]column{{head: "Floor", wide: true}, {head: "By the rule"},
			{head: "Readings", wide: true}, {head: "Forecast"}, {head: ""}}, rows)
		a.say("")
		a.say(says...)
	}
	return nil
}
