package main

import (
	"slices"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
)

// whyCommand explains where a stage falls.
func (a *app) whyCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "why JOB [STAGE]",
		Short: "Why a stage falls when it does (without STAGE: why the job finishes when it does)",
		Example: "  putlog why orchard-row membrane\n" +
			"  putlog why orchard-row",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 2 {
				return nil
			}
			return exactArgs("JOB")(cmd, args)
		},
		ValidArgsFunction: a.completeJobStage,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withProgramme(args[0], func(p *jobs.Programme) error {
				stage := p.Last()
				if len(args) == 2 {
					var err error
					if stage, err = p.Find(args[1]); err != nil {
						return err
					}
				}
				return a.printWhy(p, p.Why(stage))
			})
		},
	}
}

func (a *app) printWhy(p *jobs.Programme, e jobs.Explanation) error {
	if a.json {
		return a.answer(whyAnswer(p, e))
	}
	lines := []string{e.Lines[0], e.Slack, e.Pole}
	for _, line := range e.Lines[1:] {
		lines = append(lines, "↑ "+line)
	}
	for _, line := range slices.Concat(lines, e.Waits, e.Ways) {
		if line != "" {
			a.say(line)
		}
	}
	return nil
}

// whyJSON is the answer of why --json.
type whyJSON struct {
	Job        string     `json:"job"`
	AsAt       string     `json:"as_at"`
	Stage      string     `json:"stage"`
	Start      *string    `json:"start"`
	StartHalf  *string    `json:"start_half"`
	Finish     *string    `json:"finish"`
	FinishHalf *string    `json:"finish_half"`
	FloatDays  *days      `json:"float_days"`
	Drives     bool       `json:"drives"`
	Chain      []holdJSON `json:"chain"`
	Waits      []string   `json:"waits"`
	Ways       []string   `json:"ways"`
}

// holdJSON says what holds one stage of the chain.
type holdJSON struct {
	Stage string  `json:"stage"`
	Cause string  `json:"cause"`
	From  *string `json:"from"`
	Says  string  `json:"says"`
}

var causeNames = map[schedule.Cause]string{
	schedule.CauseRecorded: "recorded", schedule.CauseJobStart: "job-start",
	schedule.CauseNotBefore: "not-before", schedule.CauseAsAt: "as-at",
	schedule.CauseNotice: "notice", schedule.CauseLink: "link",
}

func whyAnswer(p *jobs.Programme, e jobs.Explanation) whyJSON {
	r := p.Row(e.Stage)
	out := whyJSON{Job: p.Job.Ref, AsAt: p.AsAt().String(), Stage: r.ID, Drives: r.Drives,
		Chain: []holdJSON{}, Waits: orEmpty(e.Waits), Ways: orEmpty(e.Ways)}
	out.Start, out.StartHalf = dated(p.Shown(r, r.Start, false))
	out.Finish, out.FinishHalf = dated(p.Shown(r, r.Finish, true))
	if r.State != schedule.Finished {
		float := days(r.Float)
		out.FloatDays = &float
	}
	for i, h := range e.Links {
		hold := holdJSON{Stage: p.Row(h.Stage).ID, Cause: causeNames[h.Reason.Cause], Says: e.Lines[i]}
		if h.From >= 0 {
			from := p.Row(h.From).ID
			hold.From = &from
		}
		out.Chain = append(out.Chain, hold)
	}
	return out
}
