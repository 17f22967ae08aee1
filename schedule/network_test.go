package schedule

import (
	"crypto/sha256"
	"errors"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// FuzzNetwork makes a small network of whatever bytes there are. A sound one
// agrees with the slow oracle in every date, every float and what drives it; one
// with a ring, an index out of range or a length past the horizon is refused for
// just that.
func FuzzNetwork(f *testing.F) {
	for seed := range byte(32) {
		f.Add([]byte{seed})
	}
	calendars := testCalendars(f)
	drawn := rapid.MakeFuzz(func(t *rapid.T) {
		o := drawNetwork(t, calendars)
		if rapid.Bool().Draw(t, "records?") {
			drawRecords(t, o)
		}
		switch rapid.IntRange(0, 3).Draw(t, "fault") {
		case 0:
			o.looped(t)
		case 1:
			o.outOfRange(t)
		default:
			o.sound(t)
		}
	})
	f.Fuzz(func(t *testing.T, src []byte) { drawn(t, lengthened(src)) })
}

// lengthened gives the bytes and as many more, made of them, as a drawing takes.
func lengthened(src []byte) []byte {
	sum := sha256.Sum256(src)
	more := make([]byte, 8192)
	_, _ = rand.NewChaCha8(sum).Read(more)
	return append(src[:len(src):len(src)], more...)
}

// sound holds a network without faults to the oracle.
func (o *oracle) sound(t *rapid.T) {
	n, err := NewNetwork(o.start, o.calendars, o.stages, o.links)
	if err != nil {
		t.Fatal(err)
	}
	p, err := n.Programme(o.asAt, o.records)
	if err != nil {
		t.Fatal(err)
	}
	start, finish := o.passes()
	for s, d := range p.Stages {
		if d.Start != start[s] || d.Finish != finish[s] {
			t.Fatalf("stage %d: %v to %v, oracle %v to %v", s, d.Start, d.Finish, start[s], finish[s])
		}
		if o.records[s].Finished == 0 && d.State != Finished {
			o.checkFloat(t, p, s)
		}
		for _, r := range p.Reasons(s) {
			if d.State == Planned && r.Begins > d.Start {
				t.Fatalf("stage %d starts %v before %+v", s, d.Start, r)
			}
		}
	}
}

// looped adds links of any direction: the network is refused when, and only
// when, a stage can be reached from itself, and the ring named is one.
func (o *oracle) looped(t *rapid.T) {
	count := len(o.stages)
	for range rapid.IntRange(1, 4).Draw(t, "more links") {
		o.links = append(o.links, Link{From: int32(rapid.IntRange(0, count-1).Draw(t, "from")),
			To: int32(rapid.IntRange(0, count-1).Draw(t, "to"))})
	}
	_, err := NewNetwork(o.start, o.calendars, o.stages, o.links)
	var cycle *CycleError
	if !errors.As(err, &cycle) {
		if err != nil || o.hasRing() {
			t.Fatalf("%v, links %v", err, o.links)
		}
		o.sound(t)
		return
	}
	for i, s := range cycle.Stages {
		next := cycle.Stages[(i+1)%len(cycle.Stages)]
		linked := false
		for _, l := range o.links {
			linked = linked || int(l.From) == s && int(l.To) == next
		}
		if !linked {
			t.Fatalf("%d does not come before %d in %v", s, next, o.links)
		}
	}
	if len(cycle.Stages) == 0 || !o.hasRing() {
		t.Fatalf("the ring %v in %v", cycle.Stages, o.links)
	}
}

// hasRing says, by closing over all pairs, whether a stage follows itself.
func (o *oracle) hasRing() bool {
	reach := make([][]bool, len(o.stages))
	for s := range reach {
		reach[s] = make([]bool, len(o.stages))
	}
	for _, l := range o.links {
		reach[l.From][l.To] = true
	}
	for via := range reach {
		for a := range reach {
			for b := range reach {
				reach[a][b] = reach[a][b] || reach[a][via] && reach[via][b]
			}
		}
	}
	for s := range reach {
		if reach[s][s] {
			return true
		}
	}
	return false
}

// outOfRange spoils one figure with one of the extremes of its type. Nothing
// panics; what is taken stays within the horizon or says which stage does not.
func (o *oracle) outOfRange(t *rapid.T) {
	extreme := rapid.SampledFrom([]int64{-1 << 31, -1<<31 + 1, -1, 0, 1, int64(MaxLength) - 1,
		int64(MaxLength), int64(MaxLength) + 1, 1<<31 - 1}).Draw(t, "extreme")
	s := rapid.IntRange(0, len(o.stages)-1).Draw(t, "spoilt")
	switch rapid.IntRange(0, 7).Draw(t, "figure") {
	case 0:
		o.stages[s].Length = Halves(extreme)
	case 1:
		o.stages[s].Calendar = uint16(extreme)
	case 2:
		o.stages[s].ClearDays = int16(extreme)
	case 3:
		o.stages[s].NotBefore = Instant(extreme)
	case 4:
		o.start = Instant(extreme)
	case 5:
		o.asAt = rapid.SampledFrom([]Day{FirstDay, FirstDay + 1, LastDay - 1, LastDay}).Draw(t, "as at")
	case 6:
		o.links = append(o.links, Link{From: int32(s), To: int32(extreme)})
	default:
		o.links = append(o.links, Link{From: 0, To: int32(len(o.stages) - 1), Lag: Halves(extreme)})
	}
	n, err := NewNetwork(o.start, o.calendars, o.stages, o.links)
	if err != nil {
		return
	}
	p, err := n.Programme(o.asAt, nil)
	var horizon *HorizonError
	switch {
	case errors.As(err, &horizon) && horizon.Stage < len(o.stages):
	case err != nil:
		t.Fatalf("%v is no matter of the horizon", err)
	default:
		for s, d := range p.Stages {
			if !d.Start.Valid() || !d.Finish.Valid() || d.Finish < d.Start {
				t.Fatalf("stage %d: %v to %v", s, d.Start, d.Finish)
			}
			p.Reasons(s)
		}
	}
}
