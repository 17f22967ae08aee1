package form

import (
	"os"
	"strings"
	"testing"
)

// A fault may end the reading at any node, and at any depth: wherever that is,
// the reader stops, with a problem and without a tree. (The limits themselves
// are too high for a fuzzer to come near them.)
func TestEveryLimit(t *testing.T) {
	src, err := os.ReadFile("testdata/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	texts := []string{string(src), "", "- |", "- >2-\n   a\n", "- ", "-", "- - - - a: {b: [{c: [d]}]}",
		`- "a`, "- 'a''b'", `- "\`, `- "\x41`, "a: \"b\nc\"\n", "{\"a\":\"b\"}",
		"{", "{a", "{a:", "{a: b", "[", "[a", "a:", "a:\n- b\n", "a: b\n c\n", "---", "---\na\n...", "? a"}
	for _, text := range texts {
		for left := 0; ; left++ {
			p := &Problems{}
			r := newReader([]byte(text), p)
			r.nodes = maxNodes - left
			if r.document(); !r.failed {
				break
			}
			if p.Err() == nil || left > 1000 {
				t.Fatalf("%q with %d nodes left: %v", text, left, p)
			}
			if r.nodes > maxNodes+20 {
				t.Fatalf("%q with %d nodes left goes on for %d nodes", text, left, r.nodes-maxNodes)
			}
			if !strings.Contains(p.Error(), "the form holds more than") {
				break
			}
		}
		for depth := maxDepth; depth > maxDepth-8; depth-- {
			r := newReader([]byte(text), &Problems{})
			r.depth = depth
			r.document()
		}
	}
}
