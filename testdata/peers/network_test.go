package peers

import (
	"fmt"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"

	"putlog/schedule"
)

var sizes = []int{1_000, 10_000, 100_000}

// made is a network of stages with two links each, some 40 deep, as both sides
// can have it: every half-day worked, finish to start, no lag.
type made struct {
	stages []schedule.Stage
	links  []schedule.Link
}

func makeNetwork(count int) (m made) {
	r := rand.New(rand.NewSource(1))
	deep := max(1, count/40)
	for s := range count {
		m.stages = append(m.stages, schedule.Stage{Kind: schedule.KindWait,
			Length: schedule.Halves(1 + r.Intn(10))})
		for range 2 {
			if s >= deep {
				from := int32(s - deep + r.Intn(deep))
				m.links = append(m.links, schedule.Link{From: from, To: int32(s)})
			}
		}
	}
	return m
}

func start(t testing.TB) schedule.Day {
	t.Helper()
	day, err := schedule.ParseDay("2027-03-01")
	if err != nil {
		t.Fatal(err)
	}
	return day
}

// network is the engine's side, ready to be planned.
func (m made) network(t testing.TB) *schedule.Network {
	t.Helper()
	n, err := schedule.NewNetwork(start(t).AM(), []*schedule.Calendar{schedule.EveryDay()}, m.stages, m.links)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// graph is gonum's side: a stage's length is the weight of the links out of it.
func (m made) graph() *simple.WeightedDirectedGraph {
	g := simple.NewWeightedDirectedGraph(0, 0)
	for i := range m.stages {
		g.AddNode(simple.Node(i))
	}
	for _, l := range m.links {
		g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(l.From), T: simple.Node(l.To),
			W: float64(m.stages[l.From].Length)})
	}
	return g
}

// longest gives the length of the longest path to each stage over gonum's graph:
// its topological sort, then one look at every link.
func longest(t testing.TB, g *simple.WeightedDirectedGraph) []float64 {
	order, err := topo.Sort(g)
	if err != nil {
		t.Fatal(err)
	}
	early := make([]float64, len(order))
	for _, node := range order {
		id := node.ID()
		to := g.To(id)
		for to.Next() {
			from := to.Node().ID()
			early[id] = max(early[id], early[from]+weight(g, from, id))
		}
	}
	return early
}

func weight(g graph.Weighted, from, to int64) float64 {
	w, _ := g.Weight(from, to)
	return w
}

// TestEarlyDatesAgree: gonum's longest paths are the early starts.
func TestEarlyDatesAgree(t *testing.T) {
	m := makeNetwork(10_000)
	p, err := m.network(t).Programme(start(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, length := range longest(t, m.graph()) {
		if got := p.Stages[i].Start - start(t).AM(); float64(got) != length {
			t.Fatalf("stage %d starts after %d half-days, by gonum after %v", i, got, length)
		}
	}
}

// BenchmarkEarlyDates: gonum's early starts against a whole plan, which has late
// dates, float and what drives besides. The graphs are made beforehand. The
// engine's own sort is counted too, in "putlog-sorting".
func BenchmarkEarlyDates(b *testing.B) {
	for _, count := range sizes {
		m := makeNetwork(count)
		g, n := m.graph(), m.network(b)
		b.Run(fmt.Sprintf("gonum/%d", count), func(b *testing.B) {
			for b.Loop() {
				longest(b, g)
			}
		})
		b.Run(fmt.Sprintf("putlog-sorting/%d", count), func(b *testing.B) {
			for b.Loop() {
				if _, err := m.network(b).Programme(start(b), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("putlog/%d", count), func(b *testing.B) {
			for b.Loop() {
				if _, err := n.Programme(start(b), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
