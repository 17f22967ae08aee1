package jobs

import (
	"encoding"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
	"putlog/variations"
)

// delayTable reads testdata/prices/delay.csv: the source in the first line, the
// columns in the second. It fails without either.
func delayTable(t *testing.T) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "prices", "delay.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 3 || !strings.HasPrefix(rows[0][0], "source: ") {
		t.Fatalf("%d rows, %v, or no source", len(rows), err)
	}
	columns := []string{"case", "rates", "time", "client_percent", "days", "sum"}
	if !slices.Equal(rows[1], columns) {
		t.Fatalf("columns %q, want %q", rows[1], columns)
	}
	return rows[2:]
}

// readText reads a value as a job file writes it.
func readText(t *testing.T, into encoding.TextUnmarshaler, text string) {
	t.Helper()
	if err := into.UnmarshalText([]byte(text)); err != nil {
		t.Fatal(err)
	}
}

func TestDelayCosts(t *testing.T) {
	for _, row := range delayTable(t) {
		var j Job
		for i, rate := range strings.Fields(row[1]) {
			j.TimeCosts = append(j.TimeCosts, TimeCost{What: fmt.Sprint("cost ", i)})
			readText(t, &j.TimeCosts[i].Rate, rate)
		}
		v := &Variation{}
		readText(t, &v.Time, row[2])
		readText(t, &v.Cost.Client, row[3])
		var days variations.Quantity
		readText(t, &days, row[4])
		var sum variations.Pence
		readText(t, &sum, row[5])
		d, err := j.delayCosts(v, schedule.Halves(days/500))
		if err != nil || d.Sum != sum {
			t.Errorf("%s: %+v, %v; want %v", row[0], d, err, sum)
		}
		want := len(j.TimeCosts)
		if sum == 0 {
			want = 0
		}
		if len(d.Lines) != want || (d.Why == "") != (want > 0) {
			t.Errorf("%s: lines %+v, why %q", row[0], d.Lines, d.Why)
		}
		for _, l := range d.Lines {
			if l.Kind != variations.Plant || l.Unit != "day" || l.Quantity != days || l.Fault() != nil {
				t.Errorf("%s: line %+v", row[0], l)
			}
		}
	}
}

// What WithDelayCosts adds is what TryVariation offers: the price grows by just
// that sum, the movement not at all, and the variation given is left alone.
func TestWithDelayCosts(t *testing.T) {
	on, start := holidayDate(t, "2027-02-01"), holidayDate(t, "2027-03-01")
	rapid.Check(t, func(t *rapid.T) {
		j := &Job{Ref: "barn", Region: EnglandAndWales, Start: Moment(start.AM()),
			Stages: []Stage{{ID: "dig", Takes: Days(4)}}}
		for range rapid.IntRange(1, 5).Draw(t, "costs") {
			j.TimeCosts = append(j.TimeCosts, TimeCost{What: "hire",
				Kind: variations.LineKind(rapid.IntRange(0, 4).Draw(t, "kind")),
				Rate: variations.Pence(rapid.Int64Range(0, 100_000).Draw(t, "rate"))})
		}
		more := schedule.Halves(rapid.IntRange(1, 60).Draw(t, "more"))
		v := &Variation{Terms: variations.Terms{Number: "V1", Title: "Door",
			AskedBy: variations.AskedByClient, Cost: variations.Share{Client: variations.Hundred}, Time: variations.Client,
			Lines: []variations.Line{{Kind: variations.Labour, What: "x", Quantity: 1000, Rate: 100}}},
			Changes: []Change{{Retime: &Retimed{Stage: "dig", Takes: Days(4 + more)}}}}
		plain, err := j.TryVariation(v, on)
		if err != nil {
			t.Fatal(err)
		}
		with, added, err := j.WithDelayCosts(v, on)
		if err != nil {
			t.Fatal(err)
		}
		tried, err := j.TryVariation(with, on)
		if err != nil {
			t.Fatal(err)
		}
		if added.Worked != more || tried.Worked != more || plain.Delay.Sum != added.Sum {
			t.Errorf("%d half-days more: %+v", more, added)
		}
		if tried.Price.Total != plain.Price.Total+added.Sum || len(v.Lines) != 1 {
			t.Errorf("%v became %v with %v", plain.Price.Total, tried.Price.Total, added.Sum)
		}
		for i, l := range added.Lines {
			want := j.TimeCosts[i].Rate * variations.Pence(more) // twice the amount, before rounding
			if got, err := l.Amount(); err != nil || 2*got-want > 1 || want > 2*got {
				t.Errorf("%+v is %v, %v", l, got, err)
			}
		}
	})
}
