package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
)

// entryJSON is one line of the day book.
type entryJSON struct {
	Number   int    `json:"number"`
	On       string `json:"on"`
	Kind     string `json:"kind"`
	Ref      string `json:"ref"`
	Says     string `json:"says"`
	Struck   bool   `json:"struck"`
	StruckBy int    `json:"struck_by,omitempty"`

	Evidence []object `json:"evidence,omitempty"`
}

func lineJSON(l jobs.Line) entryJSON {
	out := entryJSON{Number: l.Number, On: l.On.String(), Kind: l.Event.Kind(), Ref: l.Ref,
		Says: l.Says, Struck: l.StruckBy != 0, StruckBy: l.StruckBy}
	for _, e := range l.Evidence {
		out.Evidence = append(out.Evidence, evidenceObject(e))
	}
	return out
}

// daybookCommand prints the day book.
func (a *app) daybookCommand() *cobra.Command {
	return &cobra.Command{
		Use:               "daybook JOB",
		Short:             "The day book: everything recorded, numbered, mistakes struck through",
		Example:           "  putlog daybook orchard-row --as-at 2027-03-31",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], a.printDaybook)
		},
	}
}

func (a *app) printDaybook(j *jobs.Job, asAt schedule.Day) error {
	lines := j.Lines(asAt)
	if a.json {
		out := struct {
			Job     string      `json:"job"`
			AsAt    string      `json:"as_at"`
			Entries []entryJSON `json:"entries"`
		}{j.Ref, asAt.String(), []entryJSON{}}
		for _, l := range lines {
			out.Entries = append(out.Entries, lineJSON(l))
		}
		return a.answer(out)
	}
	var cells, fields [][]string
	for _, l := range lines {
		says := l.Says
		if l.StruckBy != 0 {
			says = strikeThrough(says) + fmt.Sprintf(" (struck out by %d)", l.StruckBy)
		}
		if carries := l.Carries(); carries != "" {
			says += " (" + carries + ")"
		}
		struck := "-"
		if l.StruckBy != 0 {
			struck = fmt.Sprint(l.StruckBy)
		}
		cells = append(cells, []string{fmt.Sprint(l.Number), l.On.Long(), says})
		fields = append(fields, []string{fmt.Sprint(l.Number), l.On.String(), l.Event.Kind(), l.Ref, struck, l.Says})
	}
	switch {
	case a.width() == 0:
		a.plain(fields)
	case len(lines) == 0:
		a.say(fmt.Sprintf("Nothing is written in the day book of %s up to %s.", j.Ref, asAt.Long()))
	default:
		a.table([]column{{head: "No", right: true}, {head: "Date", name: true},
			{head: "What", wide: true, name: true}}, cells)
	}
	return nil
}

// strikeThrough draws a line through a text: the overlay of Unicode after each
// character, which a terminal without it shows as nothing at all; the words
// "struck out" stand beside it.
func strikeThrough(text string) string {
	out := make([]rune, 0, 2*len(text))
	for _, r := range clean(text) {
		out = append(out, r, '\u0336')
	}
	return string(out)
}
