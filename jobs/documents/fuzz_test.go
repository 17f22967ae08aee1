package documents

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"putlog/jobs"
	"putlog/jobs/form"
	"putlog/testdata/race"
	"putlog/variations"
)

// Keys of the job file that hold what a person types, and those that hold a
// reference to something else or a word of a list.
var (
	textKeys = strings.Fields("title trade reckoning notes why note seen-by because what unit says question")
	refKeys  = strings.Fields("job stage calendar lag-on who name item number variation from to before")
)

// typeEverywhere puts a text into every field of a job in which a person types.
// It fails on a field that it does not know, so that a new one is tried too.
func typeEverywhere(t testing.TB, v reflect.Value, key, text string) (typed int) {
	t.Helper()
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			typed += typeEverywhere(t, v.Elem(), key, text)
		}
	case reflect.Slice:
		for i := range v.Len() {
			typed += typeEverywhere(t, v.Index(i), key, text)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if field := v.Type().Field(i); field.IsExported() {
				name, _, _ := strings.Cut(field.Tag.Get("form"), ",")
				typed += typeEverywhere(t, v.Field(i), name, text)
			}
		}
		if of, ok := v.Addr().Interface().(*variations.Terms); ok && strings.TrimSpace(text) == "" {
			of.Title = "not blank" // without one it is refused, and so is a line without a word
			for i := range of.Lines {
				of.Lines[i].What = "not blank"
			}
		}
	case reflect.String:
		switch {
		case v.Type() != reflect.TypeFor[string]():
		case slices.Contains(textKeys, key):
			v.SetString(text)
			return 1
		case !slices.Contains(refKeys, key):
			t.Fatalf("is %q typed by a person, or does it name something?", key)
		}
	}
	return typed
}

// FuzzDocuments types one text wherever a job file lets a person type, and
// writes all that is handed over. The pages hold nothing foreign, the calendar is
// one of RFC 5545 with its own events and no other, the tables are of RFC 4180
// and hold no formula, the texts come back.
func FuzzDocuments(f *testing.F) {
	race.Skip(f)
	for _, text := range hostileTexts {
		f.Add(text)
	}
	for _, text := range []string{"", "=1+1", "+44", "-140.40", "@x", "\tx", "\rx", "\nx", "＝1", "'=1",
		" =1", "x\r\ny", `"`, `"=1",=2`, "\xff=", `a;b,c\n`, "two\nlines\r\nand\rmore",
		"x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:1", strings.Repeat("½", 100),
		strings.Repeat("\U0001F3E0 ", 40), strings.Repeat(",", 90), "\x00\x1b[31m\t", "\xff\xfe", " blank first",
		strings.Repeat("x", 61) + "é", strings.Repeat("x", 62) + "é", strings.Repeat("x", 63) + "é",
		"\u2028\u2029\u0085\v\f", "\u200b\ufeff", strings.Repeat("a\u0301", 200)} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 2000 {
			return
		}
		textComesBack(t, text)
		cellHolds(t, text)
		if form.CheckText(text) != nil {
			return // no job file and no book holds it
		}
		j := pageJob(t)
		if n := typeEverywhere(t, reflect.ValueOf(j).Elem(), "", text); n < 40 {
			t.Fatalf("typed in %d fields", n)
		}
		writeEverything(t, j)
	})
}

func writeEverything(t testing.TB, j *jobs.Job) {
	t.Helper()
	asAt := pageDay(t)
	s, err := StatementOf(j, asAt)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := PlanOf(j, asAt)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WritePlanHTML(&b, plan); err != nil {
		t.Fatal(err)
	}
	for _, page := range []string{page(t, s), b.String()} {
		if found := foreign(page); len(found) > 0 {
			t.Fatalf("%q", found)
		}
	}
	c := calendarOf(t, j, asAt.String())
	cal := readICS(t, ics(t, c))
	if holdsToRFC5545(t, cal); len(cal.in) != len(c.Dates) {
		t.Fatalf("%d events of %d dates", len(cal.in), len(c.Dates))
	}
	holdNoFormula(t, readTables(t, j, asAt.String()))
	writeMessages(t, j)
}

// writeMessages: a message is no longer than it may be, and is text.
func writeMessages(t testing.TB, j *jobs.Job) {
	t.Helper()
	asAt := pageDay(t)
	basis, err := j.BasisAt(asAt)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WriteQuestions(&b, j, asAt, basis); err != nil {
		t.Fatal(err)
	}
	texts := []string{Message(news(t, j, asAt.String()))}
	for _, number := range []string{"V1", "V3", "V4"} {
		texts = append(texts, VariationMessage(newsOf(t, j, number, asAt.String())))
	}
	for _, text := range texts {
		if n := utf8.RuneCountInString(text); n > MostMessage {
			t.Fatalf("%d characters: %q", n, text)
		}
	}
	for _, text := range append(texts, b.String()) {
		if i := strings.IndexFunc(text, func(r rune) bool { return unicode.IsControl(r) && !unicode.IsSpace(r) }); i >= 0 {
			t.Fatalf("a control character stands in %q", text)
		}
	}
}
