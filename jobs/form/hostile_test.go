package form_test

import (
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"putlog/jobs/form"
	"putlog/testdata/race"
)

// full repeats a part until the text is as large as a form may be.
func full(head, part, tail string) string {
	return head + strings.Repeat(part, (8<<20-len(head)-len(tail))/len(part)) + tail
}

// numbered repeats a part with a number in it.
func numbered(count int, format string) string {
	var b strings.Builder
	for i := range count {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

// hostileTexts are made to cost as much as they can.
func hostileTexts() map[string]string {
	return map[string]string{
		"brackets":            strings.Repeat("[", 100_000),
		"brackets to the end": full("", "[", ""),
		"maps in maps":        strings.Repeat("{a: ", 100_000),
		"blocks in blocks":    full("", "- ", ""),
		"dashes":              full("", "-", ""),
		"deep indents":        numbered(2000, "%[1]*[1]d:\n"),
		"keys":                numbered(200_000, "k%d: v\n"),
		"keys in brackets":    "{" + numbered(200_000, "k%d: v, ") + "}",
		"most keys":           numbered(99_000, "k%d: v\n"),
		"most unknown keys":   "stages: [{" + numbered(90_000, "tak%d: v, ") + "}]",
		"same key":            strings.Repeat("a: b\n", 99_000),
		"most items":          "stages: [" + strings.Repeat("a,", 190_000) + "]",
		"most stages":         "stages:\n" + strings.Repeat("- {stage: a, takes: 1d}\n", 33_000),
		"empty stages":        "stages: [" + strings.Repeat("{},", 190_000) + "]",
		"long key, items":     strings.Repeat("k", 200) + ": [" + strings.Repeat("{a: b},", 45_000) + "]",
		"anchors":             full("", "&a a\n", ""),
		"alias bomb":          "a: &a [x,x]\n" + numbered(1000, "b%d: [*a,*a,*a]\n"),
		"one word":            full("", "a", ""),
		"one line of words":   full("", "a b ", ""),
		"lines of words":      full("a: b\n", "  c\n", ""),
		"colons":              full("", "a:", ""),
		"wide characters":     full("", "😀", ""),
		"items on one line":   full("[", "😀😀😀😀😀😀😀😀😀😀😀😀,", "]"),
		"spaces":              full("", " ", ""),
		"spaces and items":    full("[", strings.Repeat(" ", 50)+"a,", "]"),
		"tabs":                full("", "\t", ""),
		"tabs in quotes":      full(`a: "`, "\t", `"`),
		"blank lines":         full("a: b", "\n", "c: d"),
		"lines in quotes":     full(`a: "`, "x\n\n", `"`),
		"blanks in quotes":    full(`a: "`, "\\ \n", `"`),
		"escapes":             full(`a: "`, `\u0041`, `"`),
		"bad escapes":         full(`a: "`, `\x00`, `"`),
		"quotes":              full("a: '", "''", "'"),
		"open quotes":         full("", "\"\n", ""),
		"literal":             full("a: |\n", "  b\n", ""),
		"literal blanks":      full("a: |\n  b\n", "\n", "c: d"),
		"literals":            full("", "- |\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n", ""),
		"folded":              full("a: >\n", "  b\n\n   c\n", ""),
		"comments":            full("", "#\n", "a: b"),
		"documents":           full("", "---\n", ""),
		"merge marks":         full("a: ", "<", ""),
		"line ends":           full("", "\r\n", ""),
		"no text":             full("", "\x00", ""),
		"not UTF-8":           full("", "\xff", ""),
		"huge number":         full("contract: {sum: a, vat: ", "9", "}"),
		"huge texts":          full("stages: [{stage: a, takes: ", "x", "}]"),
		"continued, not":      full("", "- a\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n", ""),
		"one byte too many":   strings.Repeat("a", 8<<20+1),
	}
}

// A form costs at most 200 MB, whatever it holds. (Time is shown and not judged:
// it depends on the machine.)
func TestHostileTexts(t *testing.T) {
	race.Skip(t)
	texts := hostileTexts()
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		text := texts[name]
		t.Run(name, func(t *testing.T) {
			if len(text) > 8<<20+1 {
				t.Fatal("larger than any form")
			}
			took, spent := cost(func() { readAll(text) })
			t.Logf("%v, %d MB", took.Round(time.Millisecond), spent>>20)
			if spent > 200<<20 {
				t.Errorf("%d MB", spent>>20)
			}
		})
	}
}

// readAll does with a text what a command does.
func readAll(text string) {
	var into sheet
	err := form.Read("hostile.yaml", []byte(text), &into, nil)
	if err == nil {
		n := form.Encode(into)
		n.YAML()
		n.JSON()
	}
	_ = fmt.Sprint(err)
	if n, err := form.ParseJSON([]byte(text)); err == nil {
		n.JSON()
	}
}

// cost says how long a run takes, and how many bytes it asks for in all.
func cost(run func()) (time.Duration, uint64) {
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	start := time.Now()
	run()
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	return took, after.TotalAlloc - before.TotalAlloc
}
