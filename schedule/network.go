package schedule

import (
	"fmt"
	"math"
	"slices"
)

// Kind is what a stage is: it decides how the as-at date bears on it.
type Kind uint8

// The four kinds of stage.
const (
	KindWork       Kind = iota // people on site
	KindWait                   // concrete, screed, plaster: runs by itself
	KindDelivery               // lead time: runs by itself, its arrival is recorded
	KindInspection             // a hold point
)

var kindNames = []string{"work", "wait", "delivery", "inspection"}

// String gives the kind's name.
func (k Kind) String() string { return kindNames[k] }

// MarshalText gives the kind's name.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads a kind's name.
func (k *Kind) UnmarshalText(text []byte) error {
	var one Kind // counted from 1
	if err := choose(&one, "a kind of stage", kindNames, text); err != nil {
		return err
	}
	*k = one - 1
	return nil
}

// LinkType says which end of one stage bounds which end of the next.
type LinkType uint8

// The four types of link.
const (
	FinishStart LinkType = iota
	StartStart
	FinishFinish
	StartFinish
)

var linkNames = []string{"finish-start", "start-start", "finish-finish", "start-finish"}

// String gives the link type's name: "finish-start".
func (t LinkType) String() string { return linkNames[t] }

// MarshalText gives the link type's name.
func (t LinkType) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads a link type's name.
func (t *LinkType) UnmarshalText(text []byte) error {
	var one LinkType // counted from 1
	if err := choose(&one, "a type of link", linkNames, text); err != nil {
		return err
	}
	*t = one - 1
	return nil
}

// fromStart says whether the link runs from its first stage's start.
func (t LinkType) fromStart() bool { return t == StartStart || t == StartFinish }

// toStart says whether the link bounds its second stage's start.
func (t LinkType) toStart() bool { return t == FinishStart || t == StartStart }

// Stage is one step of the job as the network sees it: names stay outside.
type Stage struct {
	Kind        Kind
	NeedsNotice bool    // an inspection that waits for notice
	ClearDays   int16   // whole working days between notice and inspection
	Calendar    uint16  // index into the network's calendars
	Length      Halves  // worked half-days of its calendar
	NotBefore   Instant // no earlier start than this; 0 when free
}

// Link binds stage To by stage From, both by index, with a lag counted on a
// calendar of the network.
type Link struct {
	From, To int32
	Lag      Halves // may be negative
	Calendar uint16 // index into the network's calendars: the lag's own
	Type     LinkType
}

// arc is a link as the passes walk it. An end is a stage's start (twice its
// index) or its finish (that and one).
type arc struct {
	from     int32 // the end it comes from
	given    int32 // the link's index as given
	lag      Halves
	calendar uint16 // on which the lag is counted: every-day where there is none
	to       uint8  // the end that it bounds: 0 the start, 1 the finish
}

// Network is the stages of a job and the links between them, ready to be
// passed over. It never changes once made; see NewNetwork.
type Network struct {
	start     Instant
	calendars []*Calendar // as given, and every-day after the last
	stages    []Stage
	links     []Link  // as given
	arcs      []arc   // grouped by follower; within one, in the order given
	first     []int32 // arcs[first[s]:first[s+1]] are those into stage s
	order     []int32 // stages, each after all that it follows
}

// CycleError says that stages follow one another in a ring.
type CycleError struct {
	Stages []int // the loop, each followed by the next, the last by the first
}

func (e *CycleError) Error() string { return fmt.Sprintf("stages %v follow one another", e.Stages) }

// MaxLength is the longest stage or lag: the whole horizon.
const MaxLength = Halves(LastInstant - FirstInstant)

// NewNetwork checks stages and links and puts them in order, in time linear in
// both, and keeps what it is given. No stage starts before start. It fails with
// a *CycleError when stages follow one another in a ring, and on an index or a
// length out of range.
func NewNetwork(start Instant, calendars []*Calendar, stages []Stage,
	links []Link) (*Network, error) {
	if !start.Valid() {
		return nil, &HorizonError{What: "the start of the job", Stage: -1}
	}
	if len(calendars) > math.MaxUint16 {
		return nil, fmt.Errorf("%d calendars are too many", len(calendars))
	}
	for i, s := range stages {
		if int(s.Calendar) >= len(calendars) || s.Length < 0 || s.Length > MaxLength ||
			s.ClearDays < 0 || s.NotBefore != 0 && !s.NotBefore.Valid() {
			return nil, fmt.Errorf("stage %d is out of range", i)
		}
	}
	for i, l := range links {
		if l.From < 0 || int(l.From) >= len(stages) || l.To < 0 || int(l.To) >= len(stages) ||
			int(l.Calendar) >= len(calendars) || l.Lag > MaxLength || l.Lag < -MaxLength {
			return nil, fmt.Errorf("link %d is out of range", i)
		}
	}
	n := &Network{start: start, stages: stages, links: links,
		calendars: append(slices.Clip(calendars), EveryDay())}
	n.group()
	return n, n.sort()
}

// group lays the links out by follower (a counting sort).
func (n *Network) group() {
	n.first = make([]int32, len(n.stages)+1)
	for _, l := range n.links {
		n.first[l.To+1]++
	}
	for i := range n.stages {
		n.first[i+1] += n.first[i]
	}
	n.arcs = make([]arc, len(n.links))
	next := slices.Clone(n.first)
	for i, l := range n.links {
		n.arcs[next[l.To]] = n.arc(l, int32(i))
		next[l.To]++
	}
}

func (n *Network) arc(l Link, given int32) arc {
	a := arc{from: 2*l.From + 1, given: given, lag: l.Lag, calendar: l.Calendar, to: 1}
	if l.Type.fromStart() {
		a.from--
	}
	if l.Type.toStart() {
		a.to = 0
	}
	if l.Lag == 0 {
		a.calendar = uint16(len(n.calendars) - 1)
	}
	return a
}

// into gives the links into stage s.
func (n *Network) into(s int32) []arc { return n.arcs[n.first[s]:n.first[s+1]] }

// sort orders the stages depth first along the links backwards, so that stages
// given in a workable order keep it.
func (n *Network) sort() error {
	next := slices.Clone(n.first[:len(n.stages)]) // the link to look at next; -1: placed
	onPath := make([]bool, len(n.stages))
	n.order = make([]int32, 0, len(n.stages))
	var path []int32
	for s := range n.stages {
		path = append(path[:0], int32(s))
		for len(path) > 0 {
			at := path[len(path)-1]
			switch {
			case next[at] < 0:
				path = path[:len(path)-1]
			case next[at] < n.first[at+1]:
				onPath[at] = true
				from := n.arcs[next[at]].from / 2
				next[at]++
				if onPath[from] {
					return &CycleError{loop(path, from)}
				}
				if next[from] >= 0 {
					path = append(path, from)
				}
			default:
				n.order = append(n.order, at)
				next[at], onPath[at] = -1, false
				path = path[:len(path)-1]
			}
		}
	}
	return nil
}

// loop cuts the ring that closes at stage from out of a path that runs
// backwards, and turns it the way the work goes, lowest stage first.
func loop(path []int32, from int32) []int {
	ring := path[slices.Index(path, from):]
	stages := make([]int, len(ring))
	for i, s := range ring {
		stages[len(ring)-1-i] = int(s)
	}
	low := slices.Index(stages, slices.Min(stages))
	return append(stages[low:], stages[:low]...)
}
