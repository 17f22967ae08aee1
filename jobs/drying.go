package jobs

import (
	"fmt"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Reading records what the hygrometer on a drying floor showed.
type Reading struct {
	Stage    string            `form:"stage"`
	Humidity schedule.Humidity `form:"humidity"` // relative humidity in the box, per cent
	Note     string            `form:"note,optional"`
}

// Kind names the kind of entry.
func (*Reading) Kind() string { return "reading" }

func (e *Reading) apply(s *standing, on schedule.Day) error {
	i, err := s.find(e.Stage)
	if err != nil {
		return err
	}
	stage, rec := &s.stages[i], &s.records[i]
	switch {
	case !stage.dries():
		return words.Refuse("name the wait in which the floor dries; give it limit: 75% if it is not a screed",
			"%s is not a floor drying", stage.ID)
	case len(s.recorded[i].readings) >= maxReadings:
		return words.Refuse("strike out those that nobody needs", "%d readings are all that a floor may have", maxReadings)
	case rec.Finished != 0:
		return words.Refuse("strike the finish out first, if it is the wrong one",
			"%s was already finished on %s", stage.ID, rec.Finished.Last().Day().Long())
	}
	s.recorded[i].readings = append(s.recorded[i].readings[:len(s.recorded[i].readings):len(s.recorded[i].readings)],
		schedule.HumidityReading{On: on, RH: e.Humidity})
	return nil
}

func (e *Reading) says(name func(string) string) (ref, says string) {
	return e.Stage, fmt.Sprintf("%s: hygrometer %s", name(e.Stage), e.Humidity) + noteWords(e.Note)
}

// dries says whether a stage is a floor drying: a screed, or any wait with a
// limit of humidity.
func (s *Stage) dries() bool {
	return s.Kind == schedule.KindWait && (s.Screed != nil || s.Limit != 0)
}

// limit is the humidity at which the floor may be covered.
func (s *Stage) limit() schedule.Humidity {
	if s.Limit != 0 {
		return s.Limit
	}
	return schedule.MostCoverings
}

// Drying is how a drying floor stands: the rule, the readings and the forecast
// that follows from them, side by side.
type Drying struct {
	Stage    int
	Limit    schedule.Humidity
	Rule     schedule.Instant // when it ends by the rule
	Readings []schedule.HumidityReading
	Forecast schedule.DryingForecast
}

// ruled is a wait's length by its rule when it starts at an instant: day by day
// at the site's temperatures where it is to be counted so.
func (s *standing) ruled(i int, start schedule.Instant) (w schedule.Wait, cure schedule.Halves, err error) {
	stage := &s.stages[i]
	switch {
	case stage.Air == SiteAir && stage.Concrete != nil:
		sum, err := stage.Concrete.SumFrom(start, s.air())
		return sum.Wait, 0, err
	case stage.Air == SiteAir && stage.Screed != nil:
		sum, err := stage.Screed.SumFrom(start, s.air())
		return sum.Wait, schedule.Days(sum.CureDays), err
	case stage.Screed != nil:
		sum, err := stage.Screed.Sum()
		return sum.Wait, schedule.Days(sum.CureDays), err
	case stage.ruled():
		w, err = stage.WaitSpec.Wait()
		return w, 0, err
	}
	return schedule.Wait{Length: stage.Takes.Halves()}, 0, nil
}

// varies says whether a stage's length depends on when it starts or on readings.
func (s *standing) varies(i int) bool {
	return s.stages[i].Air == SiteAir || len(s.recorded[i].readings) > 0
}

// lengthFrom is how long a stage that varies takes when it starts at an
// instant, as at a day.
func (s *standing) lengthFrom(i int, start schedule.Instant, c *schedule.Calendar,
	asAt schedule.Day) (schedule.Halves, error) {
	w, _, err := s.ruled(i, start)
	if err != nil || len(s.recorded[i].readings) == 0 {
		return w.Length, err
	}
	d, err := s.drying(i, start, c, asAt)
	if err != nil {
		return 0, err
	}
	return max(1, c.Count(start, d.Forecast.Ends)), nil
}

// drying works out how the floor of stage i stands when its wait starts at an
// instant.
func (s *standing) drying(i int, start schedule.Instant, c *schedule.Calendar,
	asAt schedule.Day) (*Drying, error) {
	w, cure, err := s.ruled(i, start)
	if err != nil {
		return nil, err
	}
	ends, err := c.Advance(start, w.Length)
	if err != nil {
		return nil, err
	}
	dries, err := c.Advance(start, cure)
	if err != nil {
		return nil, err
	}
	d := &Drying{Stage: i, Limit: s.stages[i].limit(), Rule: ends, Readings: s.recorded[i].readings}
	d.Forecast, err = schedule.Drying{Starts: dries, RuleEnds: ends, Limit: d.Limit,
		Readings: d.Readings}.Forecast(asAt)
	return d, err
}

// Dryings lists the floors that are drying or have been read.
func (p *Programme) Dryings() []Drying {
	var all []Drying
	for _, r := range p.Rows() {
		if !r.dries() || r.Start > p.AsAt().End() {
			continue
		}
		d, err := p.standing.drying(r.Index, r.Start, p.Calendar(r.Keeps), p.AsAt())
		if err == nil {
			all = append(all, *d)
		}
	}
	return all
}

// WaitOf gives the sum behind a wait that is given by what it is, counted from
// where it starts; ok is false for any other stage.
func (p *Programme) WaitOf(i int) (w schedule.Wait, ok bool) {
	if !p.stages[i].ruled() {
		return w, false
	}
	w, _, err := p.standing.ruled(i, p.Programme.Stages[i].Start)
	return w, err == nil
}

// Says tells how the floor stands, and never calls it dry without a reading at
// or under the limit.
func (d Drying) Says(name string) string {
	said := fmt.Sprintf("%s (limit %s): by the rule to %s", name, d.Limit, d.Rule.Last().Short())
	if len(d.Readings) == 0 {
		return said + "; not read yet, and only a reading shows it dry"
	}
	last := d.Readings[len(d.Readings)-1]
	said += fmt.Sprintf("; last reading %s", last)
	switch f := d.Forecast; {
	case f.Dry:
		return said + fmt.Sprintf("; dry since %s", f.DryOn.Short())
	case f.FromReadings && f.Low != 0 && f.High != 0:
		return said + fmt.Sprintf("; by the readings to %s (between %s and %s)", f.Ends.Last().Short(),
			f.Low.Last().Day().Short(), f.High.Last().Day().Short())
	case f.FromReadings:
		return said + fmt.Sprintf("; by the readings to %s (error not known yet)", f.Ends.Last().Short())
	default:
		return said + fmt.Sprintf("; no forecast from the readings yet, so %s", f.Ends.Last().Short())
	}
}
