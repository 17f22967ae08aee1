package form_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/jobs/form"
)

// What may be written, and what it is read as. The rules are those of YAML 1.2.2;
// scalars stay text.
func TestParseYAML(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"nothing", "", `null`},
		{"comment", "# a\n\n  # b", `null`},
		{"marks", "---\na: b\n...\n# end\n", `{"a":"b"}`},
		{"texts", "a: 010\nb: 1e3\nc: yes\nd: 2027-03-01\ne: -2d\nf: 1_0\n",
			`{"a":"010","b":"1e3","c":"yes","d":"2027-03-01","e":"-2d","f":"1_0"}`},
		{"nulls", "a:\nb: ~\nc: null\nd: \"null\"\ne: ''\nf: [~, nul]",
			`{"a":null,"b":null,"c":null,"d":"null","e":"","f":[null,"nul"]}`},
		{"colons", "a: b:c\nd: http://e\nf: 12:30\n\"g:h\": i",
			`{"a":"b:c","d":"http://e","f":"12:30","g:h":"i"}`},
		{"hashes", "a: b#c # d\ne: \"f # g\" # h\n", `{"a":"b#c","e":"f # g"}`},
		{"list at the key", "a:\n- b\n- c\nd: e", `{"a":["b","c"],"d":"e"}`},
		{"list deeper", "a:\n  - b\n\n  # c\n  - d\ne:\n    f: g\n", `{"a":["b","d"],"e":{"f":"g"}}`},
		{"maps in a list", "- a: b\n  c: d\n-\n  e: f\n- - g\n  - h\n-\n",
			`[{"a":"b","c":"d"},{"e":"f"},["g","h"],null]`},
		{"map in a list, list at its key", "- a:\n  - b\n- c", `[{"a":["b"]},"c"]`},
		{"brackets", "{a: [b, {c: d}], e: , \"f\":g, h: i,}",
			`{"a":["b",{"c":"d"}],"e":null,"f":"g","h":"i"}`},
		{"brackets over lines", "a: [b,\n c # d\n , e\n]\nf: {\n}", `{"a":["b","c","e"],"f":{}}`},
		{"text in brackets", "[a b , c's, d#e, -1, -x, ?y, :z]",
			`["a b","c's","d#e","-1","-x","?y",":z"]`},
		{"text over lines", "a: b\n  c\n\n\n  d # e\nf: [g\n h]", `{"a":"b c\n\nd","f":["g h"]}`},
		{"single quotes", "a: 'b ''c'' \\n'\nd: 'e\n\n  f'", `{"a":"b 'c' \\n","d":"e\nf"}`},
		{"double quotes", `a: "b \"c\" \t \x41 \u00bd \U0001F600 \ud83d\ude00 \/"`,
			`{"a":"b \"c\" \t A ½ 😀 😀 /"}`},
		{"quotes over lines", "a: \"b  \n  c\\\n  d\\n\n\n\n  e \"", `{"a":"b cd\n\n\ne "}`},
		{"escapes at a line end", "a: \"b\\t \n c\\x20\n\"", `{"a":"b\t c  "}`},
		{"line ends kept", "a: |\n  b\n   c\n\n  d\n\ne: f", `{"a":"b\n c\n\nd\n","e":"f"}`},
		{"line ends dropped", "a: |-\n  b\n\ne: |+\n  f\n\ng: h", `{"a":"b","e":"f\n\n","g":"h"}`},
		{"lines joined", "a: >\n  b\n  c\n\n  d\n   e\n  f\n", `{"a":"b c\nd\n e\nf\n"}`},
		{"indent given", "a: |1\n  b\n c\n", `{"a":" b\nc\n"}`},
		{"no lines", "a: |\nb: >+\n\nc: d", `{"a":"","b":"\n","c":"d"}`},
		{"literal in a list", "- |\n a\n- b", `["a\n","b"]`},
		{"no literal colon", "a: |\n  b: c # d\n", `{"a":"b: c # d\n"}`},
		{"crlf", "a: |\r\n  b\r\n  c\r\nd: e\r\n", `{"a":"b\nc\n","d":"e"}`},
		{"byte order mark", "\ufeffa: b", `{"a":"b"}`},
		{"tabs between", "a:\tb\t# c\nd: [\te,\t\tf ]\n", `{"a":"b","d":["e","f"]}`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			n, err := form.ParseYAML("", []byte(test.text))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, string(n.JSON())); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// Every node and key knows its place, whatever stands before it on the line.
func TestPlaces(t *testing.T) {
	src := "é: 😀\r\n\"½ x\": [a, {b: c}]\r\nstages:\r\n- {stage: é, after: [a, é, \"c\"]}\r\n" +
		"-   takes: |\r\n     x\r\n    odd.key: {\"a[0]\": b}\r\n    none:\r\n"
	n, err := form.ParseYAML("", []byte(src))
	if err != nil {
		t.Fatal(err)
	}
	tests := map[string]form.Pos{
		"":                                {Line: 1, Column: 1},
		"é":                               {Line: 1, Column: 4},
		"½ x":                             {Line: 2, Column: 8},
		"½ x[1].b":                        {Line: 2, Column: 16},
		"stages":                          {Line: 4, Column: 1},
		"stages[0]":                       {Line: 4, Column: 3},
		"stages[0].after[1]":              {Line: 4, Column: 25},
		"stages[0].after[2]":              {Line: 4, Column: 28},
		"stages[1].takes":                 {Line: 5, Column: 12},
		`stages[1]["odd.key"]["a[0]"]`:    {Line: 7, Column: 23},
		"stages[1].none":                  {Line: 8, Column: 5},
		"stages[0].stage[0]":              {Line: 4, Column: 11}, // a lone value
		"stages[0].lag":                   {Line: 4, Column: 3},  // what is nearest
		"stages[7].lag":                   {Line: 4, Column: 1},
		"stages[0].after[-1]":             {Line: 4, Column: 21},
		"stages[0].after[9999999999999]]": {Line: 4, Column: 21},
		"stages[0].after[":                {Line: 4, Column: 21},
		"..[[":                            {Line: 1, Column: 1},
	}
	for path, want := range tests {
		if got := n.At(path); got != want {
			t.Errorf("%q is at %v, want %v", path, got, want)
		}
	}
	if at := n.Get("stages").Items[1].Pairs[1].KeyPos; at != (form.Pos{Line: 7, Column: 5}) {
		t.Errorf("the key stands at %v", at)
	}
	if at := (*form.Node)(nil).At("a"); at != (form.Pos{}) {
		t.Errorf("nothing stands at %v", at)
	}
}

// Every problem's path leads back to its place, or to the map it was missed in.
func TestPathsLeadBack(t *testing.T) {
	src := "job: a\nstart: x\nstages:\n  - {stage: a, after: [b, {lag: 1}]}\n" +
		"calendars: {'a.b': {week: x}}\n"
	var into sheet
	problems := &form.Problems{}
	n, err := form.ParseYAML("", []byte(src))
	if err != nil {
		t.Fatal(err)
	}
	if form.Decode(n, &into, problems); len(problems.List) != 5 {
		t.Fatalf("%d problems:\n%v", len(problems.List), problems)
	}
	var paths []string
	for _, problem := range problems.List {
		paths = append(paths, problem.Path)
		if got := n.At(problem.Path); got != problem.Pos {
			t.Errorf("%s is at %v, want %v", problem.Path, got, problem.Pos)
		}
	}
	slices.Sort(paths)
	want := []string{`calendars["a.b"].week`, "stages[0].after[1].lag", "stages[0].after[1].stage",
		"stages[0].takes", "start"}
	if diff := cmp.Diff(want, paths); diff != "" {
		t.Error(diff)
	}
	err = form.Read("", []byte(src), &into, func(note func(path, what, do string), sound bool) {
		note("stages[0].after[0]", "no such stage: b", "write one of a")
		note("start", "too early", "this follows from what the form says of it")
		note("calendars", "none is of use", "so does this")
		if sound {
			t.Error("a form with faults is sound")
		}
	})
	if text := err.Error(); !strings.Contains(text, "4:24: no such stage: b; try: write one of a") ||
		strings.Contains(text, "too early") || strings.Contains(text, "of use") {
		t.Error(text)
	}
	err = form.Read("", nil, &into, func(note func(path, what, do string), _ bool) {
		note("job", "it has no name", "all that is wrong follows from the form's being empty")
	})
	if text := err.Error(); !strings.Contains(text, "the form is empty") || strings.Contains(text, "no name") {
		t.Error(text)
	}
}
