package documents

import (
	"bytes"
	"fmt"
	"strings"
	"sync"
	"testing"

	"putlog/jobs"
	"putlog/schedule"
)

// sample says how long an invented job is; see job.
type sample struct {
	stages, variations int
	title, stageTitle  string
	bare               bool // no accepted programme, no contract
}

// sampleStart is the Monday on which the invented jobs begin.
const sampleStart = "2027-02-01"

// job makes a job file. Its stages come in sixes: work, a second crew's work, a
// hold point, a wait, a delivery, the client's choice. Of the builder's own
// figures each is one that nothing else in the job gives.
func (s sample) job() (*jobs.Job, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "job: sample-job\ntitle: %q\nregion: england-and-wales\nstart: %s\n",
		s.title, sampleStart)
	if !s.bare {
		b.WriteString("contract: {sum: 41850.00, vat: 20, retention: 2.5, promised: 2027-06-25}\n")
	}
	b.WriteString("closures: [{from: 2027-03-08, to: 2027-03-12, who: site, why: holiday}]\n" +
		"stages:\n")
	for i := range s.stages {
		fmt.Fprintf(&b, "  - {stage: s%d, title: %q, %s}\n", i,
			fmt.Sprintf("%s %d", s.stageTitle, i+1), sampleStage(i))
	}
	b.WriteString("entries:\n")
	if !s.bare {
		b.WriteString("  - {on: 2027-01-29, accepted: {}}\n")
	}
	b.WriteString("  - {on: 2027-02-03, finished: {stage: s0}}\n")
	for i := range s.variations {
		s.variation(&b, i)
	}
	if !s.bare {
		b.WriteString("  - {on: 2027-02-26, payment: {amount: 5000.00}}\n")
	}
	return jobs.ReadJob("sample-job.yaml", []byte(b.String()))
}

// sampleStage is the rest of stage i, which follows the last work.
func sampleStage(i int) string {
	after := ""
	if i >= 6 {
		after = fmt.Sprintf(", after: [s%d, s%d]", i/6*6-6, i/6*6-3)
	}
	switch i % 6 {
	case 0:
		return "takes: 3d" + after
	case 1:
		return fmt.Sprintf("takes: 1.5d, after: [s%d], cautions: [structure]", i-1)
	case 2:
		return fmt.Sprintf("kind: inspection, notice: 1, after: [s%d]", i-1)
	case 3:
		return fmt.Sprintf("kind: wait, takes: 72h, after: [s%d]", i-1)
	case 4:
		return "kind: delivery, takes: 15d" + after
	}
	return "takes: 0.5d, by: client" + after
}

// variation writes variation i and what became of it: by turns instructed,
// agreed, turned down or only proposed.
func (s sample) variation(b *strings.Builder, i int) {
	number, at := fmt.Sprintf("V%d", i+1), i%max(s.stages/2, 1)/6*6
	fmt.Fprintf(b, "  - {on: 2027-02-%02d, variation: {number: %s, title: %q, asked-by: %s,\n",
		4+i/2, number, s.stageTitle,
		[]string{"inspector", "client", "builder", "found-on-site"}[i%4])
	fmt.Fprintf(b, "      because: \"slab cored at 95 mm, 150 mm wanted\", "+
		"cost: {client: 60, builder: 40}, time: %s, markup: 13.7,\n",
		[]string{"client", "builder", "neutral"}[i%3])
	b.WriteString("      lines: [{kind: labour, what: two men digging, quantity: 3.217, " +
		"unit: day, rate: 319.77}],\n")
	fmt.Fprintf(b, "      changes: [{add: {stage: x%d, title: %q, takes: %d.5d, after: [s%d], "+
		"before: [s%d]}}]}}\n", i, s.stageTitle+" more", i%3, at, at+2)
	for k, word := range []string{"instructed", "agreed"} {
		if i%4 > k {
			fmt.Fprintf(b, "  - {on: 2027-02-%02d, %s: {variation: %s}}\n", 4+i/2, word, number)
		}
	}
	if i%8 == 4 {
		fmt.Fprintf(b, "  - {on: 2027-02-%02d, declined: {variation: %s}}\n", 4+i/2, number)
	}
}

// statement draws up the client's copy of the sample as at 1 March 2027.
func (s sample) statement() (*Statement, error) {
	j, err := s.job()
	if err != nil {
		return nil, err
	}
	asAt, err := schedule.ParseDay("2027-03-01")
	if err != nil {
		return nil, err
	}
	return StatementOf(j, asAt)
}

// sampled is a sample, printed and read back.
type sampled struct {
	name  string
	s     *Statement
	pdf   []byte
	pages []readPage
}

// samples prints every sample once, for all the tests that only read them.
var samples = sync.OnceValues(func() ([]sampled, error) {
	all := []sampled{{name: "three stages"}, {name: "nothing accepted"}, {name: "long words"},
		{name: "a long job"}}
	for i, of := range []sample{shortSample, bareSample, wordySample, longSample} {
		s, err := of.statement()
		if err != nil {
			return nil, err
		}
		var pdf bytes.Buffer
		if err := WritePDF(&pdf, s); err != nil {
			return nil, err
		}
		pages, err := readPrint(pdf.Bytes())
		if err != nil {
			return nil, err
		}
		all[i].s, all[i].pdf, all[i].pages = s, pdf.Bytes(), pages
	}
	return all, nil
})

// everySample gives the samples, the long job last.
func everySample(t *testing.T) []sampled {
	t.Helper()
	all, err := samples()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// longJob is the sample of 150 stages.
func longJob(t *testing.T) sampled {
	all := everySample(t)
	return all[len(all)-1]
}

// The samples: few stages, no programme accepted, many stages, long words.
var (
	shortSample = sample{stages: 3, variations: 2, title: "Brick cart shed to a studio",
		stageTitle: "Raise the façade"}
	bareSample = sample{stages: 9, title: "Garage to a bedroom", stageTitle: "Dig the strip",
		bare: true}
	longSample = sample{stages: 150, variations: 40, title: "Byre to two dwellings",
		stageTitle: "Level the base and lay the membrane, lapped up the wall,"}
	wordySample = sample{stages: 12, variations: 6,
		title: strings.Repeat("Môn's very long outbuilding ", 17), stageTitle: strings.Repeat(
			"unbreakable", 20) + " £½m² " + strings.Repeat("and so on ", 24)}
)
