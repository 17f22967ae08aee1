package schedule

import (
	"fmt"
	"math/rand"
	"slices"
	"testing"
	"time"
)

var benchSizes = []int{100, 1_000, 10_000, 100_000, 1_000_000}

// benchNetwork is a made network with two links a stage, mixed calendars, all
// four link types and some lags, some 40 stages deep at any size.
func benchNetwork(b testing.TB, count int) *Network {
	calendars := testCalendars(b)
	r := rand.New(rand.NewSource(1))
	stages := make([]Stage, count)
	links := make([]Link, 0, 2*count)
	deep := max(1, count/40)
	for s := range stages {
		stages[s] = Stage{Kind: Kind(r.Intn(4)), Calendar: uint16(r.Intn(len(calendars))),
			Length: Halves(1 + r.Intn(10))}
		for range 2 {
			if s < deep {
				continue
			}
			from := s - deep + r.Intn(deep) - r.Intn(min(s-deep+1, deep))
			links = append(links, Link{From: int32(max(0, from)), To: int32(s),
				Type: LinkType(r.Intn(4)), Lag: Halves(r.Intn(8) - 2),
				Calendar: uint16(r.Intn(len(calendars)))})
		}
	}
	n, err := NewNetwork(day(b, "2027-03-01").AM(), calendars, stages, links)
	if err != nil {
		b.Fatal(err)
	}
	return n
}

// BenchmarkPasses is one plan: forward and backward pass, float, what drives.
func BenchmarkPasses(b *testing.B) {
	for _, count := range benchSizes {
		b.Run(fmt.Sprint(count), func(b *testing.B) {
			n := benchNetwork(b, count)
			asAt := day(b, "2027-03-15")
			b.ReportAllocs()
			b.ResetTimer()
			for range b.N {
				if _, err := n.Programme(asAt, nil); err != nil {
					b.Fatal(err)
				}
			}
			each := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / float64(count+len(n.links))
			b.ReportMetric(each, "ns/stage+link")
		})
	}
}

// BenchmarkReplan is a plan from scratch after one stage of 10,000 got another
// length, and how much of it a cleverer replan could not do without: the share of
// the stages of which any date, float or drive is another than before.
func BenchmarkReplan(b *testing.B) {
	n, asAt := benchNetwork(b, 10_000), day(b, "2027-03-15")
	before, err := n.Programme(asAt, nil)
	if err != nil {
		b.Fatal(err)
	}
	calendars := n.calendars[:len(n.calendars)-1]
	stages := slices.Clone(n.stages)
	changed, s := 0, 0
	for b.Loop() {
		s = (s + 7919) % len(stages)
		stages[s].Length++
		again, err := NewNetwork(n.start, calendars, stages, n.links)
		if err != nil {
			b.Fatal(err)
		}
		after, err := again.Programme(asAt, nil)
		if err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		for i := range stages {
			if after.Stages[i] != before.Stages[i] {
				changed++
			}
		}
		stages[s].Length--
		b.StartTimer()
	}
	b.ReportMetric(100*float64(changed)/float64(b.N*len(stages)), "%changed")
}

// BenchmarkNewNetwork is the sorting that comes before the passes.
func BenchmarkNewNetwork(b *testing.B) {
	for _, count := range []int{1_000, 1_000_000} {
		b.Run(fmt.Sprint(count), func(b *testing.B) {
			n := benchNetwork(b, count)
			b.ReportAllocs()
			b.ResetTimer()
			for range b.N {
				if _, err := NewNetwork(n.start, n.calendars[:len(n.calendars)-1], n.stages, n.links); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkCalendar(b *testing.B) {
	site := testCalendars(b)[1]
	k := day(b, "2027-03-01").AM()
	var sink Instant
	b.Run("advance", func(b *testing.B) {
		for i := range b.N {
			sink, _ = site.Advance(k+Instant(i&1023), 31)
		}
	})
	b.Run("retreat", func(b *testing.B) {
		for i := range b.N {
			sink, _ = site.Retreat(k+Instant(i&1023), 31)
		}
	})
	b.Run("count", func(b *testing.B) {
		for i := range b.N {
			sink = Instant(site.Count(k, k+Instant(i&1023)))
		}
	})
	b.Run("make", func(b *testing.B) {
		for range b.N {
			sink += Instant(NewCalendar("site", MonToFri, nil, nil).rank(k))
		}
	})
	b.Run("without", func(b *testing.B) {
		for range b.N {
			sink += Instant(site.Without("site", Span{k, k + 10}).rank(k))
		}
	})
	_ = sink
}

// BenchmarkOverBare holds a plan against the least that it could be, in turn, so
// that a noisy machine is noisy for both: "times" is the ratio.
func BenchmarkOverBare(b *testing.B) {
	for _, count := range benchSizes {
		b.Run(fmt.Sprint(count), func(b *testing.B) {
			n, asAt := benchNetwork(b, count), day(b, "2027-03-15")
			stages := make([]Dates, count)
			var bare time.Duration
			b.ResetTimer()
			for range b.N {
				if _, err := n.Programme(asAt, nil); err != nil {
					b.Fatal(err)
				}
				start := time.Now()
				barePass(n, stages)
				bare += time.Since(start)
			}
			plan := b.Elapsed() - bare
			each := float64(b.N) * float64(count+len(n.links))
			b.ReportMetric(float64(plan)/each, "ns/stage+link")
			b.ReportMetric(float64(bare)/each, "bare-ns/stage+link")
			b.ReportMetric(float64(plan)/float64(bare), "times")
		})
	}
}

// barePass is the least that a plan has to do: one pass over the same slices
// that reads each link once, looks up the stage it comes from and keeps the
// latest finish. No calendar, no kinds, no records, no way back.
func barePass(n *Network, stages []Dates) {
	for _, s := range n.order {
		latest := n.start
		links := n.into(s)
		for i := range links {
			l := &links[i]
			latest = max(latest, stages[l.from/2].Finish+Instant(l.lag))
		}
		stages[s].Finish = latest + Instant(n.stages[s].Length)
	}
}
