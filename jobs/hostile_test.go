package jobs

import (
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"putlog/schedule"
	"putlog/testdata/race"
)

// lines repeats a line with a number in it.
func lines(count int, format string) string {
	var b strings.Builder
	for i := range count {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

// dated repeats a line with a day in it, each a day later.
func dated(count int, format string) string {
	var b strings.Builder
	for i := range count {
		fmt.Fprintf(&b, format, schedule.Day(9922+i), i)
	}
	return b.String()
}

const (
	hostileHead = "job: hostile\nregion: scotland\nstart: 2027-03-01\n"
	oneStage    = "stages: [{stage: a, takes: 1d}]\n"
	raised      = "title: t, asked-by: client, cost: client, time: client"
)

// hostileJobs are job files made to cost as much as they can.
func hostileJobs() map[string]string {
	manyStages := "stages:\n" + lines(9_000, "- {stage: s%d, takes: 1d}\n")
	return map[string]string{
		"most stages in a chain": "stages:\n- {stage: s0, takes: 0.5d}\n" +
			lines(9_999, "- {stage: s1%[1]d, takes: 0.5d}\n"),
		"too many stages": "stages:\n" + lines(30_000, "- {stage: s%d, takes: 1d}\n"),
		"links to nowhere": manyStages + "- {stage: z, takes: 1d, after: [" +
			lines(60_000, "x%d,") + "]}\n",
		"near misses":      manyStages + "- {stage: z, takes: 1d, after: [" + lines(60_000, "sx%d,") + "]}\n",
		"links to one":     "stages:\n- {stage: a, takes: 1d}\n- {stage: b, takes: 1d, after: [" + strings.Repeat("a,", 90_000) + "]}\n",
		"after all others": manyStages + "- {stage: z, takes: 1d, after: [" + lines(9_000, "s%d,") + "]}\n",
		"one long ring": "stages:\n- {stage: t0, takes: 1d, after: t9999}\n" +
			chained(9_999, "- {stage: t%d, takes: 1d, after: t%d}\n"),
		"stage twice":       "stages:\n" + strings.Repeat("- {stage: a, takes: 1d}\n", 9_999),
		"the whole horizon": "stages: [{stage: a, kind: wait, takes: 36525d}, {stage: b, takes: 36525d, after: a}]\n",
		"enormous lags": "stages:\n- {stage: s0, takes: 0.5d}\n" + lines(5_000,
			"- {stage: t%d, takes: 0.5d, after: {stage: s0, lag: -36525d, lag-on: site}}\n"),
		"waits by the air": "stages:\n- {stage: s0, takes: 0.5d}\n" + lines(9_000,
			"- {stage: t%d, kind: wait, air: site, concrete: {class: N, fraction: 0.99}}\n"),
		"waits by the air in a chain": "stages:\n- {stage: t0, takes: 0.5d}\n" + chained(3_000,
			"- {stage: t%d, kind: wait, air: site, concrete: {class: N, fraction: 0.9}, after: t%d}\n"),
		"closures of a hundred years": oneStage + "closures:\n" +
			lines(500, "- {from: 2000-01-01, to: 2027-01-01, why: w%d}\n"),
		"never worked": oneStage + "week: {mon: am}\nclosures: [{from: 2000-01-01, to: 2099-12-31}]\n",
		"most calendars, most closures": oneStage + "calendars:\n" + lines(20, "  c%d: {week: {mon: am}}\n") +
			"closures:\n" + lines(500, "- {from: 2027-04-01, to: 2099-12-31, why: w%d}\n"),
		"the same correction": oneStage + "entries:\n- {on: 2027-03-01, note: {says: x}}\n" +
			dated(20_000, "- {on: %s, correction: {entry: 1}} # %d\n"),
		"corrections": oneStage + "entries:\n- {on: 2027-03-01, note: {says: x}}\n" +
			dated(1_300, "- {on: %s, correction: {entry: 1}} # %d\n"),
		"closures recorded": oneStage + "entries:\n" + dated(20_000, "- {on: %s, closure: {from: 2027-03-01, to: 2027-03-01}} # %d\n"),
		"closures and variations in turn": oneStage + "entries:\n" + dated(499,
			"- {on: %[1]s, closure: {from: 2027-03-01, to: 2027-03-01}}\n"+
				"- {on: %[1]s, variation: {number: V%[2]d, "+raised+", changes: [{retime: {stage: a, takes: 1d}}]}}\n"),
		"variations": oneStage + "entries:\n" + dated(8_000, "- {on: %s, variation: {number: V%d, "+raised+
			", changes: [{retime: {stage: a, takes: 1d}}]}}\n"),
		"variations of many stages": "stages:\n" + lines(5_000, "- {stage: s%d, takes: 1d}\n") + "entries:\n" +
			dated(4_000, "- {on: %s, variation: {number: V%d, "+raised+", changes: [{retime: {stage: s1, takes: 1d}}]}}\n"),
		"variations that rest on others": oneStage + "entries:\n- {on: 2027-03-01, variation: {number: V, " + raised +
			", changes: [{add: {stage: b, takes: 1d}}]}}\n" + dated(6_000, "- {on: %s, variation: {number: V%d, "+raised+
			", changes: [{retime: {stage: b, takes: 1d}}]}}\n"),
		"changes of one variation": "stages:\n" + lines(2_000, "- {stage: s%d, takes: 1d}\n") +
			"entries:\n- {on: 2027-03-01, variation: {number: V1, " + raised + ", changes: [" +
			lines(499, "{link: {from: s0, to: s1, lag: %dd}},") + "]}}\n",
		"stages dropped one by one": "stages:\n" + lines(6_000, "- {stage: s%d, takes: 1d}\n") +
			"entries:\n- {on: 2027-03-01, variation: {number: V1, " + raised + ", changes: [" +
			lines(499, "{drop: {stage: s%d}},") + "]}}\n",
		"walls to underpin": oneStage + "entries:\n- {on: 2027-03-01, variation: {number: V1, " + raised +
			", changes: [" + lines(499, "{underpin: {stage: p%d, wall: 100000mm, after: a}},") + "]}}\n",
		"readings": "stages: [{stage: a, kind: wait, screed: {type: sand-cement, thickness: 65mm}}]\nentries:\n" +
			dated(499, "- {on: %s, reading: {stage: a, humidity: 90%%}} # %d\n"),
		"what the price rests on": manyStages + "basis:\n" + lines(200, "- {item: i%d, says: s, question: q, if-not: {"+
			raised+", changes: [{retime: {stage: s1, takes: 1d}}]}}\n"),
		"findings": oneStage + "basis:\n" + lines(200, "- {item: i%d, says: s, question: q}\n") + "entries:\n" +
			dated(200, "- {on: %s, finding: {item: i%d, outcome: holds}}\n"),
		"payments": oneStage + "entries:\n" + dated(26_000, "- {on: %s, payment: {amount: 1}} # %d\n"),
		"lines of a price": oneStage + "entries:\n- {on: 2027-03-01, variation: {number: V1, " + raised +
			", lines: [" + lines(500, "{kind: omit, what: w%d, quantity: 1, rate: 1},") + "]}}\n",
		"cautions and notes": oneStage + "notes: [" + lines(90_000, "n%d,") + "]\ncautions: [" +
			strings.Repeat("asbestos,", 90_000) + "]\n",
	}
}

// chained repeats a line with its number and the one before.
func chained(count int, format string) string {
	var b strings.Builder
	for i := range count {
		fmt.Fprintf(&b, format, i+1, i)
	}
	return b.String()
}

// TestHostileLists: so cost a list of entries and a list of rates, read, numbered
// and tried.
func TestHostileLists(t *testing.T) {
	race.Skip(t)
	_, j := richJob(t)
	entries := map[string]string{
		"a million bytes":     strings.Repeat("- a\n", 1_000_000),
		"a million in a line": "[" + strings.Repeat("a,", 1_000_000) + "]",
		"empty entries":       strings.Repeat("- {}\n", 150_000),
		"notes":               strings.Repeat("- {on: 2027-05-20, note: {says: x}}\n", 28_000),
		"without numbers":     strings.Repeat("- {on: 2027-05-20, variation: {"+raised+"}}\n", 12_000),
		"corrections":         lines(20_000, "- {on: 2027-05-20, correction: {entry: %d}}\n"),
		"closures":            strings.Repeat("- {on: 2027-05-20, closure: {from: 2000-01-01, to: 2099-12-31}}\n", 15_000),
		"evidence": "- on: 2027-05-20\n  note: {says: x}\n  evidence: [" + lines(20_000,
			"{sha256: %064d, name: a, type: a/b, size: 1, what: photo},") + "]\n",
	}
	for _, name := range slices.Sorted(maps.Keys(entries)) {
		costsLittle(t, name, func() string {
			list, err := ReadEntries("more.yaml", []byte(entries[name]))
			if err != nil {
				return err.Error()
			}
			if _, err = j.Try(j.numbered(list), lastDay(j)+30); err != nil {
				return err.Error()
			}
			return "recorded"
		})
	}
	const head = "name,kind,what,unit,rate,percent\n"
	for name, table := range map[string]string{
		"rates":          head + lines(200_000, "n%d,labour,Two men with a digger,day,320.00,\n"),
		"one cell":       head + `"` + strings.Repeat("x", 8<<20-100) + `"`,
		"commas":         head + strings.Repeat(",", 8<<20-100),
		"rows of nought": head + strings.Repeat("\n", 8<<20-100),
		"quotes":         head + strings.Repeat(`"`, 8<<20-100),
		"one too many":   head + strings.Repeat("x", 8<<20),
	} {
		costsLittle(t, "CSV: "+name, func() string {
			_, err := ReadRates("rates.csv", []byte(table))
			return fmt.Sprint(err)
		})
	}
}

// costsLittle runs something that a hostile file is for.
func costsLittle(t *testing.T, name string, run func() string) {
	t.Run(name, func(t *testing.T) {
		var said string
		took, spent := costOf(func() { said = run() })
		said, _, _ = strings.Cut(said, "\n")
		t.Logf("%v, %d MB: %.150s", took.Round(time.Millisecond), spent>>20, said)
		if spent > 200<<20 {
			t.Errorf("%d MB", spent>>20)
		}
	})
}

// TestHostileJobs: a job file costs no more than some 200 MB, whatever it asks
// for, and neither does its programme. (Time is shown and not judged: it
// depends on the machine.)
func TestHostileJobs(t *testing.T) {
	race.Skip(t)
	files := hostileJobs()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		src := []byte(hostileHead + files[name])
		costsLittle(t, name, func() string {
			j, err := ReadJob("hostile.yaml", src)
			if err != nil {
				return err.Error()
			}
			p, err := j.Programme(schedule.Instant(j.Start).Day() + 300)
			if err != nil {
				return err.Error()
			}
			return p.Headline()
		})
	}
}

// costOf says how long a run takes, and the most bytes that it holds at a time,
// looked at every few milliseconds. Rubbish counts until it is collected.
func costOf(run func()) (time.Duration, uint64) {
	held := func() uint64 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	runtime.GC()
	before, most := held(), uint64(0)
	stop, stopped := make(chan bool), make(chan bool)
	go func() {
		defer close(stopped)
		for {
			most = max(most, held())
			select {
			case <-stop:
				most = max(most, held())
				return
			case <-time.After(3 * time.Millisecond):
			}
		}
	}()
	start := time.Now()
	run()
	took := time.Since(start)
	close(stop)
	<-stopped
	return took, most - min(most, before)
}
