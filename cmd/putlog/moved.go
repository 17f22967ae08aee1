package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// movedCommand explains the movement of the finish.
func (a *app) movedCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "moved JOB",
		Short: "Why the finish moved since the programme was accepted, step by step, and who bears it",
		Example: "  putlog moved orchard-row\n" +
			"  putlog moved orchard-row --as-at 2027-04-30 --json",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				m, err := j.Moved(asAt)
				if err != nil {
					return err
				}
				return a.printMoved(m)
			})
		},
	}
}

// borneJSON is what one bearer bears.
type borneJSON struct {
	MovedDays  days `json:"moved_days"`
	WorkedDays days `json:"worked_days"`
}

// stepJSON is one step.
type stepJSON struct {
	On               string  `json:"on"`
	Kind             string  `json:"kind"`
	Ref              string  `json:"ref"`
	Title            string  `json:"title"`
	Bearer           string  `json:"bearer"`
	FinishBefore     *string `json:"finish_before"`
	FinishBeforeHalf *string `json:"finish_before_half"`
	FinishAfter      *string `json:"finish_after"`
	FinishAfterHalf  *string `json:"finish_after_half"`
	MovedDays        days    `json:"moved_days"`
	WorkedDays       days    `json:"worked_days"`
	AloneDays        *days   `json:"alone_days"`
	Says             string  `json:"says"`
}

// movedJSON is the answer of moved --json.
type movedJSON struct {
	Job                string               `json:"job"`
	AsAt               string               `json:"as_at"`
	AcceptedOn         string               `json:"accepted_on"`
	AcceptedFinish     *string              `json:"accepted_finish"`
	AcceptedFinishHalf *string              `json:"accepted_finish_half"`
	ForecastFinish     *string              `json:"forecast_finish"`
	ForecastFinishHalf *string              `json:"forecast_finish_half"`
	EntitledFinish     *string              `json:"entitled_finish"`
	EntitledFinishHalf *string              `json:"entitled_finish_half"`
	Steps              []stepJSON           `json:"steps"`
	MovedDays          days                 `json:"moved_days"`
	WorkedDays         days                 `json:"worked_days"`
	ByBearer           map[string]borneJSON `json:"by_bearer"`
	Method             string               `json:"method"`
}

func (a *app) printMoved(m *jobs.Moved) error {
	switch {
	case a.json:
		return a.answer(movedAnswer(m))
	case a.width() == 0:
		var rows [][]string
		for _, s := range m.Steps {
			rows = append(rows, []string{s.On.String(), s.Kind, orDash(s.Ref), s.Bearer.String(),
				s.Before.Last().String(), s.After.Last().String(), s.Moved.Decimal(), s.Worked.Decimal(), s.Title})
		}
		a.plain(rows)
		return nil
	}
	a.say(m.Headline(), m.EntitlementWords(), "")
	var cells [][]string
	for _, s := range m.Steps {
		cells = append(cells, []string{s.On.Short(), m.Story(s), s.Bearer.String(), s.Worked.Decimal(),
			s.After.Last().Short()})
	}
	if len(cells) > 0 {
		a.table([]column{{head: "On"}, {head: "What happened", wide: true, name: true}, {head: "Borne by"},
			{head: "Working days", right: true}, {head: "Finish then"}}, cells)
		a.say("")
	}
	unit := "days"
	if m.Moved == schedule.Days(1) || m.Moved == schedule.Days(-1) {
		unit = "day"
	}
	a.say(fmt.Sprintf("Accepted on %s as at that day: finish %s %s. In calendar time the finish moved %s %s.",
		m.AcceptedOn.Long(), m.Accepted.Last().Day().Long(), m.Accepted.Last().Half(), m.Moved.Decimal(), unit),
		jobs.Method)
	return nil
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

func movedAnswer(m *jobs.Moved) movedJSON {
	out := movedJSON{Job: m.Job.Ref, AsAt: m.AsAt.String(), AcceptedOn: m.AcceptedOn.String(),
		Steps: []stepJSON{}, MovedDays: days(m.Moved), WorkedDays: days(m.Worked), Method: jobs.Method,
		ByBearer: map[string]borneJSON{}}
	out.AcceptedFinish, out.AcceptedFinishHalf = dated(m.Accepted.Last())
	out.ForecastFinish, out.ForecastFinishHalf = dated(m.Forecast.Last())
	out.EntitledFinish, out.EntitledFinishHalf = dated(m.Entitled.Last())
	for _, b := range []variations.Bearer{variations.Client, variations.Builder, variations.Neutral} {
		borne := m.By[b-1]
		out.ByBearer[b.String()] = borneJSON{days(borne.Moved), days(borne.Worked)}
	}
	for _, s := range m.Steps {
		step := stepJSON{On: s.On.String(), Kind: s.Kind, Ref: s.Ref, Title: s.Title,
			Bearer: s.Bearer.String(), MovedDays: days(s.Moved), WorkedDays: days(s.Worked),
			AloneDays: (*days)(s.Alone), Says: m.Story(s)}
		step.FinishBefore, step.FinishBeforeHalf = dated(s.Before.Last())
		step.FinishAfter, step.FinishAfterHalf = dated(s.After.Last())
		out.Steps = append(out.Steps, step)
	}
	return out
}
