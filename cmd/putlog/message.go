package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/documents"
	"putlog/schedule"
)

// messageCommand prints a message to the client.
func (a *app) messageCommand() *cobra.Command {
	var about string
	cmd := &cobra.Command{
		Use:   "message JOB",
		Short: "A short text for the client: what happened, date and price now, what to answer by when",
		Example: "  putlog message orchard-row\n" +
			"  putlog message orchard-row --about V1",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				text, err := message(j, asAt, about)
				if err != nil {
					return err
				}
				if a.json {
					return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"text", text}})
				}
				_, err = fmt.Fprintln(a.out, clean(text))
				return err
			})
		},
	}
	cmd.Flags().StringVar(&about, "about", "", "of one variation alone, by its `number`: V1")
	return cmd
}

// message is the text about a job or, where about is not "", about one of its
// variations.
func message(j *jobs.Job, asAt schedule.Day, about string) (string, error) {
	if about != "" {
		n, err := j.NewsOf(about, asAt)
		if err != nil {
			return "", err
		}
		return documents.VariationMessage(n), nil
	}
	n, err := j.News(asAt)
	if err != nil {
		return "", err
	}
	return documents.Message(n), nil
}
