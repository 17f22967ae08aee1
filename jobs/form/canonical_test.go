package form_test

import (
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/jobs/form"
)

// A job file comes out in canonical shape, and that shape stays as it is.
func TestCanonicalYAML(t *testing.T) {
	const written, canonical = "testdata/job.yaml", "testdata/job.canonical.yaml"
	src, err := os.ReadFile(written)
	if err != nil {
		t.Fatal(err)
	}
	n, err := form.ParseYAML(written, src)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(canonical, n.YAML(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(canonical)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(n.YAML())); diff != "" {
		t.Error(diff)
	}
	again, err := form.ParseYAML(canonical, want)
	if err != nil {
		t.Fatal(err)
	}
	if diff := sameTree(n, again); diff != "" {
		t.Error(diff)
	}
}

func TestCanonicalShapes(t *testing.T) {
	long := "[aaaaaaaaaaaaaaaaaaaa, bbbbbbbbbbbbbbbbbbbb, cccccccccccccccccccc, dddddddddddddddddddd, "
	tests := []struct{ name, json, want string }{
		{"nothing", `null`, "null\n"},
		{"text", `"a: b"`, "\"a: b\"\n"},
		{"empty map", `{}`, "{}\n"},
		{"empty list", `[]`, "[]\n"},
		{"empty parts", `{"a":{},"b":[],"c":null,"d":""}`, "a: {}\nb: []\nc: null\nd: \"\"\n"},
		{"list", `["a",{"b":"c"},["d"]]`, "- a\n- {b: c}\n- [d]\n"},
		{"list under a key", `{"a":["b","c"]}`, "a: [b, c]\n"},
		{"table under a key", `{"a":["b",{"c":"d"}]}`, "a:\n  - b\n  - {c: d}\n"},
		{"table deeper", `{"a":{"b":[{"c":"d"}]}}`, "a: {b: [{c: d}]}\n"},
		{"keys", `{"":"a","b: c":"d","null":"e","~":"f"}`,
			"\"\": a\n\"b: c\": d\n\"null\": e\n\"~\": f\n"},
		{"texts", `["a, b [c]","a # b",["a, b"]]`, "- a, b [c]\n- \"a # b\"\n- [\"a, b\"]\n"},
		{"just fits", `{"a":` + quoteAll(long) + `"eeeeeee"]}`, "a: " + long + "eeeeeee]\n"},
		{"just too long", `{"a":` + quoteAll(long) + `"eeeeeeee"]}`,
			"a:\n  - aaaaaaaaaaaaaaaaaaaa\n  - bbbbbbbbbbbbbbbbbbbb\n  - cccccccccccccccccccc\n" +
				"  - dddddddddddddddddddd\n  - eeeeeeee\n"},
		{"lists in a long list", `[[` + quoteAll(long)[1:] + `["eeeeeeeeee"],"f"]]`,
			"- - aaaaaaaaaaaaaaaaaaaa\n  - bbbbbbbbbbbbbbbbbbbb\n  - cccccccccccccccccccc\n" +
				"  - dddddddddddddddddddd\n  - [eeeeeeeeee]\n  - f\n"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			n, err := form.ParseJSON([]byte(test.json))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, string(n.YAML())); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(test.json, string(n.JSON())); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// quoteAll turns the words of a list into those of JSON.
func quoteAll(list string) string {
	out := []byte{}
	for i := range len(list) {
		c, word := list[i], list[i] >= 'a' && list[i] <= 'e'
		before := i > 0 && list[i-1] >= 'a' && list[i-1] <= 'e'
		if word != before {
			out = append(out, '"')
		}
		if c != ' ' {
			out = append(out, c)
		}
	}
	return string(out)
}
