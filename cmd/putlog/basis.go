package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/documents"
	"putlog/schedule"
)

// basisCommand lists what the quote rests on.
func (a *app) basisCommand() *cobra.Command {
	return &cobra.Command{
		Use:               "basis JOB",
		Short:             "What the quote rests on: holds, fails or untested, and the most it can still move",
		Example:           "  putlog basis orchard-row",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				b, err := j.BasisAt(asAt)
				if err != nil {
					return err
				}
				return a.printBasis(j, asAt, b)
			})
		},
	}
}

func (a *app) printBasis(j *jobs.Job, asAt schedule.Day, b *jobs.Basis) error {
	list := []object{}
	var rows [][]string
	untested := 0
	for _, l := range b.Lines {
		moves, price := "-", "-"
		if l.IfNot != nil && l.Outcome == jobs.Untested {
			moves, price = l.Worked.Decimal(), l.Price.Client.Pounds()
			if !l.Known {
				moves = "?"
			}
		}
		if l.Outcome == jobs.Untested {
			untested++
		}
		list = append(list, object{{"item", l.Item}, {"says", l.Says}, {"question", l.Question},
			{"outcome", l.Outcome.String()}, {"on", l.On.String()}, {"note", l.Note}, {"variation", l.Raised},
			{"client_pence", int64(l.Price.Client)}, {"worked_days", days(l.Worked)}})
		state := l.Outcome.String()
		if l.Raised != "" {
			state += ", " + l.Raised
		}
		rows = append(rows, []string{l.Item, l.Says, state, price, moves})
	}
	switch {
	case a.json:
		day, half := dated(b.Finish.Last())
		return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"items", list},
			{"untested", untested}, {"untested_client_pence", int64(b.Client)},
			{"untested_worked_days", days(b.Worked)}, {"untested_finish", day}, {"untested_finish_half", half}})
	case a.width() == 0:
		a.plain(rows)
		return nil
	case len(rows) == 0:
		a.say("Nothing is written down of what the quote rests on: add basis to the job file.")
		return nil
	}
	if untested == 0 {
		a.say("Everything the quote rests on has been tested.", "")
	} else {
		a.say(fmt.Sprintf("%s untested. If none of it holds, the quote moves by %s (client's share, without VAT) and "+
			"%s working days, to %s %s.", counted(untested, "item"), b.Client.Pounds(), b.Worked.Decimal(),
			b.Finish.Last().Day().Long(), b.Finish.Last().Half()), "")
	}
	a.table([]column{{head: "Item"}, {head: "What was taken to be so", wide: true, name: true},
		{head: "Found"}, {head: "Else, client", right: true}, {head: "Days", right: true}}, rows)
	a.say("", "Ask before you price: putlog ask "+j.Ref)
	return nil
}

// findingCommand records what was found of an item.
func (a *app) findingCommand() *cobra.Command {
	var f entryFlags
	var note string
	cmd := &cobra.Command{
		Use:   "finding JOB ITEM holds|fails",
		Short: "What was found of an item of the basis; one that fails raises its variation, priced",
		Example: "  putlog finding orchard-row slab-thickness fails --note \"cored at 95 mm\"\n" +
			"  putlog finding orchard-row drains holds --photo core.jpg",
		Args:              exactArgs("JOB", "ITEM", "holds|fails"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			e := &jobs.Finding{Item: args[1], Note: note}
			if err := e.Outcome.UnmarshalText([]byte(args[2])); err != nil {
				return usageError{err}
			}
			carried, from, err := f.read(a)
			if err != nil {
				return err
			}
			var entries []jobs.Entry
			var left []string
			err = a.withJob(args[0], func(j *jobs.Job, _ schedule.Day) error {
				entries, left = j.Found(e, f.on)
				return nil
			})
			if err != nil {
				return err
			}
			entries[0].Evidence = carried
			if err := a.record(args[0], entries, from); err != nil {
				return err
			}
			for _, why := range left {
				fmt.Fprintf(a.errOut, "mind: %s\n", clean(why))
			}
			return nil
		},
	}
	f.register(cmd)
	cmd.Flags().StringVar(&note, "note", "", "what was found, in `words`")
	return cmd
}

// askCommand prints the sheet of questions.
func (a *app) askCommand() *cobra.Command {
	var html string
	var force bool
	cmd := &cobra.Command{
		Use:   "ask JOB",
		Short: "The sheet of questions to take to the inspector before anybody prices the work",
		Example: "  putlog ask orchard-row\n" +
			"  putlog ask orchard-row --html questions.html",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				b, err := j.BasisAt(asAt)
				if err != nil {
					return err
				}
				if html != "" {
					err := a.writeFile(html, force, func(w io.Writer) error { return documents.WriteQuestions(w, j, asAt, b) })
					if err != nil || !a.json {
						return err
					}
				}
				return a.printAsk(j, asAt, b)
			})
		},
	}
	cmd.Flags().StringVar(&html, "html", "", "write the sheet as a page to this `file`")
	cmd.Flags().BoolVar(&force, "force", false, "write over a file that is there")
	return cmd
}

func (a *app) printAsk(j *jobs.Job, asAt schedule.Day, b *jobs.Basis) error {
	list := []object{}
	var asked []jobs.BasisLine
	for _, l := range b.Lines {
		if l.Outcome == jobs.Untested {
			asked = append(asked, l)
			list = append(list, object{{"item", l.Item}, {"question", l.Question}, {"says", l.Says}})
		}
	}
	switch {
	case a.json:
		return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"questions", list}})
	case len(asked) == 0:
		a.say("There is nothing left to ask: every item of the basis has been tested, or none is written down.")
		return nil
	}
	a.say(fmt.Sprintf("Questions for building control: %s (%s), %s.", orRef(j), j.Ref, asAt.Long()),
		"Ask on site, before the quote, and get the answers in writing: what comes to light later costs money and days.", "")
	for i, l := range asked {
		number := fmt.Sprintf("%d. ", i+1)
		under := strings.Repeat(" ", len(number))
		a.sayAfter(number, l.Question)
		a.sayAfter(under, "We have allowed for: "+l.Says+".")
		a.say(under+"Answer: ______________________________  Who: ____________  Date: ________", "")
	}
	return nil
}

// sayAfter prints a text after a head, wrapped to the screen and set in as far.
func (a *app) sayAfter(head, text string) {
	room := a.width()
	if room > 0 {
		room = max(room-len(head), 20)
	}
	for _, part := range wrap(clean(text), room) {
		fmt.Fprintln(a.out, head+part)
		head = strings.Repeat(" ", len(head))
	}
}

// orRef is the job's title, or its reference where it has none.
func orRef(j *jobs.Job) string {
	if j.Title == "" {
		return j.Ref
	}
	return j.Title
}
