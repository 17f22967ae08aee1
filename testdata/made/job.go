// Package made makes jobs of any size, with a history, for benchmarks and for
// measuring. Everything in them is invented.
package made

import (
	"fmt"
	"strings"

	"putlog/jobs"
	"putlog/schedule"
)

// First is the start of every job; whenever the program runs, it may lie ahead,
// and so each command is given its as-at date.
const First = "2027-03-01"

// Job makes a job in chains of ten stages with a history of so many entries:
// starts, progress and finishes of one stage after another, four entries a day,
// with variations, payments, closures and notes in between.
func Job(ref string, stages, entries int) (*jobs.Job, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "job: %s\ntitle: Invented shed\nregion: england-and-wales\nstart: %s\n", ref, First)
	fmt.Fprintf(&b, "contract: {sum: 18450.00, vat: 20, retention: 2.5}\nstages:\n")
	for i := range stages {
		fmt.Fprintf(&b, "  - {stage: s%d, title: Stage %d, kind: %s, takes: %dd", i, i, kindOf(i), 1+i%3)
		if i >= 10 {
			fmt.Fprintf(&b, ", after: [s%d, {stage: s%d, link: start-start, lag: 1d}]", i-10, i-i%10-1)
		}
		fmt.Fprintln(&b, "}")
	}
	fmt.Fprintf(&b, "entries:\n  - {on: %s, accepted: {}}\n", First)
	start, err := schedule.ParseDay(First)
	if err != nil {
		return nil, err
	}
	h := history{b: &b, stages: stages}
	for i := 1; i < entries; i++ {
		h.entry(start+schedule.Day(i/4), i)
	}
	return jobs.ReadJob(ref+".yaml", []byte(b.String()))
}

// history writes entries that can be so.
type history struct {
	b         *strings.Builder
	stages    int
	at, step  int // the stage that is worked on, and how many of its steps are done
	variation int
}

func (h *history) entry(on schedule.Day, i int) {
	say := func(format string, args ...any) {
		fmt.Fprintf(h.b, "  - {on: %s, "+format+"}\n", append([]any{on}, args...)...)
	}
	switch {
	case i%40 == 7:
		h.variation++
		say("variation: {number: V%d, title: Invented, asked-by: inspector, cost: client, time: client, markup: 10, "+
			"lines: [{kind: labour, what: two men, quantity: 2, unit: day, rate: 320.00}], "+
			"changes: [{add: {stage: v%d, takes: 1d, after: [s%d]}}]}", h.variation, h.variation, h.stages-1)
	case i%40 == 8:
		say("instructed: {variation: V%d}", h.variation)
	case i%40 == 9:
		say("agreed: {variation: V%d}", h.variation)
	case i%50 == 30:
		say("closure: {from: %s, to: %s, who: [site], why: storm}", on, on)
	case i%20 == 11:
		say("payment: {amount: 100.00}")
	case h.at >= h.stages || i%5 == 4:
		say("note: {says: rain until ten}")
	default:
		h.work(say)
	}
}

// work records what comes next of the stage that is worked on.
func (h *history) work(say func(string, ...any)) {
	id := h.at
	steps := stepsOf[kindOf(id)]
	say(steps[h.step], id)
	if h.step++; h.step == len(steps) {
		h.at, h.step = id+1, 0
	}
}

func kindOf(stage int) string {
	return [...]string{"work", "work", "wait", "work", "delivery", "work", "inspection"}[stage%7]
}

// stepsOf is what is recorded of a stage of each kind, in order.
var stepsOf = map[string][]string{
	"work": {"started: {stage: s%d}", "progress: {stage: s%d, left: 0.5d}",
		"finished: {stage: s%d}"},
	"wait":       {"finished: {stage: s%d}"},
	"delivery":   {"finished: {stage: s%d}"},
	"inspection": {"notice: {stage: s%d}", "inspection: {stage: s%d, outcome: pass}"},
}
