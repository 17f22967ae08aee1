package jobs

import (
	"fmt"
	"testing"

	"putlog/jobs/form"
	"putlog/schedule"
)

// benchJob is a made job of so many stages in chains of ten, with so many
// entries: starts, progress, closures and variations in turn.
func benchJob(b testing.TB, stages, entries int) *Job {
	j := &Job{Ref: "bench", Region: EnglandAndWales}
	start, err := schedule.ParseDay("2027-03-01")
	if err != nil {
		b.Fatal(err)
	}
	j.Start = Moment(start.AM())
	for i := range stages {
		s := Stage{ID: fmt.Sprintf("s%d", i), Takes: Days(3), Kind: schedule.Kind(i % 4)}
		if i >= 10 {
			s.After = []After{{Stage: fmt.Sprintf("s%d", i-10)}, {Stage: fmt.Sprintf("s%d", i-i%10-1)}}
		}
		j.Stages = append(j.Stages, s)
	}
	j.Entries = append(j.Entries, Entry{On: start, Event: &Accepted{}})
	for i := 1; i < entries; i++ {
		on := start + schedule.Day(i/8)
		var e Event
		switch i % 8 {
		case 0:
			e = &Closed{From: Moment(on.AM()), To: Until(on.AM()), Who: []string{"site"}}
		case 1, 2:
			e = &Payment{Amount: 100}
		default:
			e = &Temperature{Mean: schedule.TenthsCelsius(80)}
		}
		j.Entries = append(j.Entries, Entry{On: on, Event: e})
	}
	return j
}

// BenchmarkMoved is the movement over 2,000 entries and 300 stages.
func BenchmarkMoved(b *testing.B) {
	j := benchJob(b, 300, 2000)
	asAt := j.Entries[len(j.Entries)-1].On + 10
	b.ResetTimer()
	for range b.N {
		if _, err := j.Moved(asAt); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAgenda is one job's part of today: 40 stages and 20 entries, read
// from the text the book holds.
func BenchmarkAgenda(b *testing.B) {
	j := benchJob(b, 40, 20)
	text := form.Encode(j).JSON()
	b.ResetTimer()
	for range b.N {
		var job Job
		n, err := form.ParseJSON(text)
		if err != nil {
			b.Fatal(err)
		}
		form.Decode(n, &job, &form.Problems{})
		p, err := job.Programme(j.Entries[len(j.Entries)-1].On)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := p.Agenda(); err != nil {
			b.Fatal(err)
		}
	}
}
