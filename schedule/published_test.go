package schedule

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// published is a network as its source prints it; see ../testdata/networks.
type published struct {
	Source     string `json:"source"`
	ID         string `json:"id"`
	Activities []struct {
		ID       string  `json:"id"`
		Duration float64 `json:"duration"`
	} `json:"activities"`
	Links []struct {
		Pred string  `json:"pred"`
		Succ string  `json:"succ"`
		Type string  `json:"type"`
		Lag  float64 `json:"lag"`
	} `json:"links"`
	Published         answers  `json:"published"`
	PublishedCritical []string `json:"published_critical"`
	Expected          answers  `json:"expected"`
}

type answers struct {
	Duration   float64                       `json:"duration"`
	Critical   []string                      `json:"critical"`
	Activities map[string]map[string]float64 `json:"activities"`
}

// loadNetworks reads every published network; a file without a source fails.
// The project network of a public benchmark set whose licence is not stated is
// not kept here; where the reference folder stands beside the checkout, it is
// read from there.
func loadNetworks(t *testing.T) []published {
	t.Helper()
	files, err := filepath.Glob("../testdata/networks/*.json")
	if err != nil || len(files) != 17 {
		t.Fatalf("%d network files, want 17 (%v)", len(files), err)
	}
	var all []published
	for _, file := range files {
		var n published
		read(t, file, &n)
		all = append(all, n)
	}
	var more struct {
		Networks []published `json:"networks"`
	}
	beside := "../../shared/reference/cpm-networks.json"
	if _, err := os.Stat(beside); err == nil {
		read(t, beside, &more)
	}
	all = append(all, more.Networks...)
	for _, n := range all {
		if n.Source == "" {
			t.Fatalf("network %q names no source", n.ID)
		}
	}
	return all
}

func read(t *testing.T, file string, into any) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

// unit half-days stand for one unit of the source: six, as N12's expected
// times are sixths of a day.
const unit = 6

func (n published) network(t *testing.T) *Network {
	index := map[string]int32{}
	var stages []Stage
	for i, a := range n.Activities {
		index[a.ID] = int32(i)
		stages = append(stages, Stage{Length: Halves(math.Round(a.Duration * unit))})
	}
	types := map[string]LinkType{"FS": FinishStart, "SS": StartStart, "FF": FinishFinish, "SF": StartFinish}
	var links []Link
	for _, l := range n.Links {
		typ, ok := types[l.Type]
		if !ok {
			t.Fatalf("link type %q", l.Type)
		}
		links = append(links, Link{From: index[l.Pred], To: index[l.Succ],
			Type: typ, Lag: Halves(math.Round(l.Lag * unit))})
	}
	made, err := NewNetwork(FirstInstant, []*Calendar{EveryDay()}, stages, links)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

func TestPublishedNetworks(t *testing.T) {
	for _, n := range loadNetworks(t) {
		t.Run(n.ID, func(t *testing.T) {
			p, err := n.network(t).Programme(FirstDay, nil)
			if err != nil {
				t.Fatal(err)
			}
			at := func(i Instant) float64 { return float64(i-FirstInstant) / unit }
			near := func(what string, got, want, tolerance float64) {
				if math.Abs(got-want) > tolerance {
					t.Errorf("%s: %v, want %v", what, got, want)
				}
			}
			near("expected duration", at(p.Finish), n.Expected.Duration, 1e-3)
			if n.Published.Duration != 0 { // N12's printed one is rounded twice
				near("published duration", at(p.Finish), n.Published.Duration, 0.011)
			}
			var drives []string
			for i, d := range p.Stages {
				id := n.Activities[i].ID
				got := map[string]float64{"ES": at(d.Start), "EF": at(d.Finish),
					"LS": at(d.LateStart), "LF": at(d.LateFinish), "TF": float64(d.Float) / unit}
				for _, table := range []answers{n.Published, n.Expected} {
					for column, want := range table.Activities[id] {
						if column != "FF" { // free float is not an answer of ours
							near(id+" "+column, got[column], want, 1e-3)
						}
					}
				}
				if d.Drives {
					drives = append(drives, id)
				}
			}
			for _, want := range [][]string{n.PublishedCritical, n.Expected.Critical} {
				if want != nil && !slices.Equal(drives, want) {
					t.Errorf("drives %v, want %v", drives, want)
				}
			}
		})
	}
}
