package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// withDelayCosts adds the delay costs to a variation that is about to be
// raised, as they are on the day on which the command raises it.
func (a *app) withDelayCosts(
	cmd *cobra.Command, v *jobs.Variation,
) (with *jobs.Variation, added jobs.DelayCosts, err error) {
	err = a.withJob(cmd.Flags().Arg(0), func(j *jobs.Job, on schedule.Day) error {
		if cmd.Flags().Changed("on") {
			if err := cmd.Flags().GetText("on", &on); err != nil {
				return err
			}
		}
		with, added, err = j.WithDelayCosts(v, on)
		return err
	})
	return with, added, err
}

// delayWords says what delay costs come to: "£172.80 for 2 working days (Site
// overhead £172.80)".
func delayWords(d jobs.DelayCosts) string {
	var parts []string
	for _, l := range d.Lines {
		if amount, err := l.Amount(); err == nil {
			parts = append(parts, l.What+" "+amount.Pounds())
		}
	}
	return fmt.Sprintf("%s for %s (%s)", d.Sum.Pounds(), d.Days(), strings.Join(parts, ", "))
}

// sayDelayCosts tells of delay costs that a variation has or could have.
func (a *app) sayDelayCosts(d jobs.DelayCosts, added bool, markup variations.Percent) {
	before := ""
	if markup != 0 {
		before = ", before mark-up"
	}
	switch {
	case len(d.Lines) == 0:
	case added:
		a.say("Delay costs added: " + delayWords(d) + before + ".")
	default:
		a.say("Delay costs that could be added: "+delayWords(d)+before+".",
			"They are not in the price; to add them as lines: --with-delay-costs")
	}
}

// delayObjects gives the lines for JSON.
func delayObjects(d jobs.DelayCosts) []object {
	list := []object{}
	for _, l := range d.Lines {
		amount, _ := l.Amount() // it was summed before
		list = append(list, object{{"kind", l.Kind.String()}, {"what", l.What},
			{"quantity_days", days(d.Worked)}, {"rate_pence", int64(l.Rate)},
			{"amount_pence", int64(amount)}})
	}
	return list
}
