package documents

import (
	"io"

	"putlog/jobs"
	"putlog/schedule"
)

// Plan is the programme as the builder keeps it: the picture, with float and
// what it rests on. It holds no money.
type Plan struct {
	Ref, Title string
	AsAt       schedule.Day
	Stands     string       // when the job finishes, in a sentence
	AcceptedOn schedule.Day // 0 when no programme was accepted
	Picture    Picture
	Stages     []PlanStage // in the order of the picture's bars
	Warnings   []string
	Notes      []string
	Cautions   []string
}

// PlanStage is one stage of a plan.
type PlanStage struct {
	Name, Trade string
	Start, End  schedule.Instant
	Takes       string // how long, on which days, in words
	Float       string // how far it may slip, in words
}

// PlanOf draws the builder's programme up as at a date.
func PlanOf(j *jobs.Job, asAt schedule.Day) (*Plan, error) {
	now, err := j.Programme(asAt)
	if err != nil {
		return nil, err
	}
	var then *jobs.Programme
	if now.AcceptedOn() != 0 {
		m, err := j.Moved(asAt)
		if err != nil {
			return nil, err
		}
		then = m.Then
	}
	p := &Plan{Ref: j.Ref, Title: j.Title, AsAt: asAt, Stands: now.Headline(),
		AcceptedOn: now.AcceptedOn(), Picture: pictureOf(now, then), Warnings: now.Warnings(),
		Notes: j.Notes, Cautions: j.Cautions()}
	if p.Title == "" {
		p.Title = j.Ref
	}
	for _, r := range now.Rows() {
		p.Stages = append(p.Stages, PlanStage{r.Name(), r.Trade, now.Shown(r, r.Start, false),
			now.Shown(r, r.Finish, true), now.Takes(r), floatWords(r)})
	}
	return p, nil
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

// WritePlanHTML writes the builder's programme as one page that needs nothing
// else.
func WritePlanHTML(w io.Writer, p *Plan) error {
	notes := make([]string, len(p.Stages))
	for i, s := range p.Stages {
		if bar := p.Picture.Bars[i]; !bar.Drives && bar.State != schedule.Finished {
			notes[i] = "float " + s.Float
		}
	}
	bands := drawing{p.Picture, p.AsAt, p.AcceptedOn != 0, notes}.bands()
	return writePage(w, "plan", struct {
		*Plan
		Bands []drawnBand
	}{p, bands})
}
