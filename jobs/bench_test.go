package jobs_test

import (
	"fmt"
	"testing"

	"putlog/jobs"
	"putlog/jobs/form"
	"putlog/schedule"
	"putlog/testdata/made"
)

// benchJob makes a job and the last day of its history.
func benchJob(b *testing.B, stages, entries int) (*jobs.Job, schedule.Day) {
	j, err := made.Job("bench", stages, entries)
	if err != nil {
		b.Fatal(err)
	}
	return j, j.Entries[len(j.Entries)-1].On
}

// BenchmarkMoved is the movement, and how it grows with entries and with stages.
func BenchmarkMoved(b *testing.B) {
	for _, size := range [...]struct{ stages, entries int }{
		{300, 500}, {300, 1000}, {300, 2000}, {300, 4000}, {600, 2000}, {1200, 2000},
	} {
		b.Run(fmt.Sprintf("%dx%d", size.stages, size.entries), func(b *testing.B) {
			j, asAt := benchJob(b, size.stages, size.entries)
			for b.Loop() {
				if _, err := j.Moved(asAt + 10); err != nil {
					b.Fatal(err)
				}
			}
			each := float64(b.Elapsed().Nanoseconds()) / float64(b.N*size.stages*size.entries)
			b.ReportMetric(each, "ns/stage·entry")
		})
	}
}

// BenchmarkAgenda is one job's part of today: 40 stages and 20 entries, read
// from the text that the book holds.
func BenchmarkAgenda(b *testing.B) {
	j, asAt := benchJob(b, 40, 20)
	text := form.Encode(j).JSON()
	for b.Loop() {
		var job jobs.Job
		n, err := form.ParseJSON(text)
		if err != nil {
			b.Fatal(err)
		}
		form.Decode(n, &job, &form.Problems{})
		p, err := job.Programme(asAt)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := p.Agenda(); err != nil {
			b.Fatal(err)
		}
	}
}
