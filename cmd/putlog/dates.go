package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/documents"
	"putlog/schedule"
)

// datesCommand lists the dates of a job or writes them as a calendar file.
func (a *app) datesCommand() *cobra.Command {
	var ics string
	var force bool
	cmd := &cobra.Command{
		Use:   "dates JOB",
		Short: "The job's dates, or a calendar file of them: stages, notices, what to order, the finish",
		Example: "  putlog dates orchard-row\n" +
			"  putlog dates orchard-row --ics orchard-row.ics\n" +
			"  putlog dates orchard-row --ics orchard-row.ics --force   (it updates what was imported)",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withProgramme(args[0], func(p *jobs.Programme) error {
				c, err := documents.CalendarOf(p)
				if err != nil {
					return err
				}
				if !cmd.Flags().Changed("ics") {
					return a.printDates(c)
				}
				write := func(w io.Writer) error { return documents.WriteICS(w, c) }
				if err := a.writeFile(ics, force, write); err != nil {
					return err
				}
				return a.printWrittenDates(c, ics)
			})
		},
	}
	cmd.Flags().StringVar(&ics, "ics", "", "write them as a calendar (RFC 5545) to this `file`")
	cmd.Flags().BoolVar(&force, "force", false, "write over a file that is there")
	return cmd
}

// datesAnswer is the answer of dates --json.
func datesAnswer(c *documents.Calendar) object {
	list := []object{}
	for _, d := range c.Dates {
		start, startHalf := dated(d.From)
		finish, finishHalf := dated(d.To.Last())
		list = append(list, object{{"uid", c.UID(d)}, {"kind", d.Kind.String()},
			{"stage", orNull(d.Stage)}, {"stage_kind", stageKind(d)}, {"title", d.Title},
			{"start", start}, {"start_half", startHalf}, {"finish", finish},
			{"finish_half", finishHalf}, {"state", d.State.String()}, {"due", d.Due()}, {"gone", d.Gone},
			{"says", d.Says}})
	}
	return object{{"job", c.Ref}, {"as_at", c.AsAt.String()}, {"sequence", c.Sequence},
		{"dates", list}}
}

// stageKind is the kind of a date's stage; null for the finish.
func stageKind(d jobs.Date) *string {
	if d.Stage == "" {
		return nil
	}
	return orNull(d.Of.String())
}

// orNull is a text that prints as null where there is none.
func orNull(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

func (a *app) printDates(c *documents.Calendar) error {
	var cells, fields [][]string
	for _, d := range c.Dates {
		if d.Gone {
			continue
		}
		cells = append(cells, []string{d.From.Day().Long(), spanEnd(d), c.Summary(d)})
		fields = append(fields, []string{d.From.Day().String(), d.From.Half().String(),
			d.To.Last().Day().String(), d.To.Last().Half().String(), d.Kind.String(), orDash(d.Stage),
			d.State.String(), d.Title})
	}
	switch {
	case a.json:
		return a.answer(datesAnswer(c))
	case a.width() == 0:
		a.plain(fields)
	default:
		a.say(fmt.Sprintf("The dates of %s as at %s.", c.Ref, c.AsAt.Long()), "")
		a.table([]column{{head: "From"}, {head: "To"}, {head: "What", wide: true, name: true}}, cells)
		a.say("", "Into a calendar: putlog dates "+c.Ref+" --ics "+c.Ref+".ics")
	}
	return nil
}

// spanEnd is the last half-day of a date; "" where it ends with the day on which
// it begins.
func spanEnd(d jobs.Date) string {
	switch last := d.To.Last(); {
	case last == d.From+1 && d.From.Half() == schedule.AM:
		return ""
	default:
		return last.Short()
	}
}

func (a *app) printWrittenDates(c *documents.Calendar, file string) error {
	if a.json {
		return a.answer(append(datesAnswer(c), field{"file", file}))
	}
	a.say(fmt.Sprintf("Wrote %s of %s to %s.", counted(len(c.Dates), "date"), c.Ref, file),
		"Import it again after a change, and what is in your calendar is brought up to date.")
	return nil
}
