package form_test

import (
	"flag"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/jobs/form"
)

var update = flag.Bool("update", false, "write the answers of this run as those expected")

// badFile is a text and the lines that it must be answered with. A file of
// testdata holds many, each after a line "-- name --", the lines after "-- want --".
type badFile struct{ name, text, want string }

var fileMark = regexp.MustCompile(`(?m)^-- (.+) --\n`)

func readBadFiles(t *testing.T, name string) (head string, files []badFile) {
	src, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	marks := fileMark.FindAllSubmatchIndex(src, -1)
	var parts []string
	for i, mark := range marks {
		end := len(src)
		if i+1 < len(marks) {
			end = marks[i+1][0]
		}
		parts = append(parts, string(src[mark[2]:mark[3]]), string(src[mark[1]:end]))
	}
	for part := range slices.Chunk(parts, 4) {
		if len(part) < 4 || part[2] != "want" {
			t.Fatalf("%s: %s has no want", name, part[0])
		}
		files = append(files, badFile{part[0], part[1], part[3]})
	}
	if len(files) == 0 {
		t.Fatalf("%s holds no files", name)
	}
	return string(src[:marks[0][0]]), files
}

func TestBadFiles(t *testing.T) {
	for _, name := range []string{"testdata/syntax.txt", "testdata/sheet.txt"} {
		head, files := readBadFiles(t, name)
		out := strings.Builder{}
		out.WriteString(head)
		for _, file := range files {
			t.Run(file.name, func(t *testing.T) {
				var into sheet
				got := "\n"
				if err := form.Read(file.name, []byte(file.text), &into, nil); err != nil {
					got = err.Error() + "\n"
				}
				if got != file.want && !*update {
					t.Errorf("got\n%swant\n%s", got, file.want)
				}
				fmt.Fprintf(&out, "-- %s --\n%s-- want --\n%s", file.name, file.text, got)
			})
		}
		if *update {
			if err := os.WriteFile(name, []byte(out.String()), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// Texts that an archive can't hold.
func TestBadTexts(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"crlf", "job: a\r\ntitle: é\r\ntakes: 1d\r\n- x\r\n",
			"4:1: this line does not line up with those above; " +
				"try: give it the indent of the lines that it belongs with"},
		{"bare cr", "a: b\ra: c", `2:1: the key "a" is given twice; try: take one of the two out`},
		{"crlf in quotes", "a: \"x\r\n  y\"\r\na: c", `3:1: the key "a" is given twice; ` +
			"try: take one of the two out"},
		{"multibyte", "é: {½: x, 😀: [}", `1:15: "}" stands where a value is expected; ` +
			"try: take it out, or put the text in double quotes"},
		{"byte order mark", "\ufeffa: &x b", "1:4: anchors (&) and aliases (*) are not used here; " +
			"try: write the value out, or put the text in double quotes"},
		{"nul", "a: b\nc: \x00", "2:4: control character U+0000; try: take it out"},
		{"escape codes", "a: \x1b[1mb\r\nc:\x9b", "1:4: control character U+001B; try: take it out\n" +
			"2:3: this is not UTF-8 text; try: save the file as UTF-8"},
		{"c1", "a: \u009b", "1:4: control character U+009B; try: take it out"},
		{"bidi", "a: é\u202eb", "1:5: hidden text-direction mark U+202E; try: take it out"},
		{"tab indent", "a:\n\tb: c", "2:1: a tab stands where spaces must line things up; " +
			"try: put spaces in place of the tab"},
		{"tab after dash", "-\ta: b", "1:2: a tab stands where spaces must line things up; " +
			"try: put spaces in place of the tab"},
		{"not text", "\xff\xfe" + strings.Repeat("\x00", 100), "1:1: this is not UTF-8 text; " +
			"try: save the file as UTF-8"},
		{"too large", strings.Repeat("a\n", 4<<20+1), "the text is larger than 8 MiB; " +
			"try: split the form; entries can be recorded in several files"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := form.ParseYAML("", []byte(test.text))
			if err == nil {
				t.Fatal("it was read")
			}
			if got := err.Error(); !strings.HasPrefix(got+"\n", test.want+"\n") {
				t.Errorf("got\n%s\nwant\n%s", got, test.want)
			}
		})
	}
}

func TestBadJSON(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"empty", "", "1:1: this is not JSON; try: restore the text as it was written"},
		{"yaml", "{a: b}", "1:2: this is not JSON; try: restore the text as it was written"},
		{"comma", "{\n\"a\": \"é\", }",
			"2:11: this is not JSON; try: restore the text as it was written"},
		{"number", `{"a":{"b":1}}`, "1:11: a bare 1 stands where a text in quotes is expected; " +
			"try: restore the text as it was written"},
		{"twice", `{"a":"b","a":"c"}`, `1:10: the key "a" is given twice; try: take one of the two out`},
		{"half a pair", `["\ud83d"]`, `1:3: the escape \u has no meaning; ` +
			`try: write \\ for a backslash, or use single quotes`},
		{"nul", `["\u0000"]`, "1:3: control character U+0000 written as an escape; try: take it out"},
		{"deep", strings.Repeat("[", 33) + strings.Repeat("]", 33),
			"1:33: maps and lists stand more than 32 deep inside each other; " +
				"try: look for a bracket or a dash too many"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			n, err := form.ParseJSON([]byte(test.text))
			if err == nil {
				t.Fatalf("it was read as %s", n.JSON())
			}
			if diff := cmp.Diff(test.want, err.Error()); diff != "" {
				t.Error(diff)
			}
		})
	}
}
