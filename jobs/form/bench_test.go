package form_test

import (
	"fmt"
	"testing"

	"putlog/jobs/form"
)

// bigSheet is a job of forty stages, each with two links.
func bigSheet() sheet {
	s := sheet{Job: "orchard-row", Title: "Single garage to bedroom", Start: "2027-03-01",
		Terms: &terms{Sum: "18450.00", VAT: 20}}
	for i := range 40 {
		s.Stages = append(s.Stages, stage{Stage: fmt.Sprintf("stage-%d", i), Title: "Core the slab",
			Takes: length(i % 5), After: []link{{Stage: "probe"}, {"pour", bond{"start-start", 2}}}})
	}
	return s
}

func benchmarkRead(b *testing.B, src []byte, parse func([]byte) (*form.Node, error)) {
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		n, err := parse(src)
		if err != nil {
			b.Fatal(err)
		}
		var into sheet
		var problems form.Problems
		form.Decode(n, &into, &problems)
		if err := problems.Err(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadJSON(b *testing.B) {
	benchmarkRead(b, form.Encode(bigSheet()).JSON(), form.ParseJSON)
}

func BenchmarkReadYAML(b *testing.B) {
	benchmarkRead(b, form.Encode(bigSheet()).YAML(), func(src []byte) (*form.Node, error) {
		return form.ParseYAML("", src)
	})
}

func BenchmarkWriteJSON(b *testing.B) {
	s := bigSheet()
	b.ReportAllocs()
	for b.Loop() {
		form.Encode(&s).JSON()
	}
}

func BenchmarkWriteYAML(b *testing.B) {
	s := bigSheet()
	b.ReportAllocs()
	for b.Loop() {
		form.Encode(&s).YAML()
	}
}
