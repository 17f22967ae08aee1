package form_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/jobs/form"
	"putlog/jobs/words"
)

func TestProblems(t *testing.T) {
	p := &form.Problems{File: "garage.yaml"}
	if err := p.Err(); err != nil {
		t.Fatalf("no problems are the error %v", err)
	}
	p.Add(form.Pos{Line: 12, Column: 5}, "b", "second", "this")
	p.Add(form.Pos{Line: 2, Column: 50}, "a", "first", "")
	p.Add(form.Pos{Line: 12, Column: 5}, "b", "third", "that")
	p.Add(form.Pos{}, "stages[0]", "no place", "")
	want := "garage.yaml: stages[0]: no place\n" +
		"garage.yaml:2:50: first\n" +
		"garage.yaml:12:5: second; try: this\n" +
		"garage.yaml:12:5: third; try: that"
	err := fmt.Errorf("load: %w", p.Err())
	var found *form.Problems
	if !errors.As(err, &found) {
		t.Fatalf("%v is no Problems", err)
	}
	if diff := cmp.Diff(want, found.Error()); diff != "" {
		t.Error(diff)
	}
}

// However much is wrong, the answer stays of a size to read.
func TestProblemsAreNotEndless(t *testing.T) {
	p := &form.Problems{}
	for range 1000 {
		p.Add(form.Pos{Line: 1, Column: 1}, "", strings.Repeat("é", 5000), "")
	}
	text := p.Error()
	if !strings.HasSuffix(text, "\nand 900 more; try: put these right first") {
		t.Errorf("it ends with %q", text[len(text)-60:])
	}
	if len(p.List) != 100 || len(text) > 100*(2*400+20) {
		t.Errorf("%d problems in %d bytes", len(p.List), len(text))
	}
}

func TestCheckText(t *testing.T) {
	for _, good := range []string{"", "a\tb\r\nc", "½ é 😀 \ufffd \u00a0 \u200d"} {
		if err := form.CheckText(good); err != nil {
			t.Errorf("%q: %v", good, err)
		}
	}
	for _, bad := range []string{"\x00", "a\x1b", "\x7f", "\u0085", "\xff", "a\xe2\x28",
		"\u202e", "\u2066", "\u200f", "\u061c"} {
		err := form.CheckText(bad)
		if err == nil {
			t.Errorf("%q is let through", bad)
			continue
		}
		if words.Advice(err) == "" {
			t.Errorf("%q: %v has no remedy", bad, err)
		}
	}
}
