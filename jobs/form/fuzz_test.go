package form_test

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"putlog/jobs/form"
)

// Whatever the text, it is read or refused, never worse; and what is read can be
// written and read again.
func FuzzParseYAML(f *testing.F) {
	for _, name := range []string{"testdata/job.yaml", "testdata/job.canonical.yaml"} {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	for _, text := range hostile {
		f.Add([]byte("a: " + text + "\nb: [" + text + "]\n"))
	}
	f.Add([]byte("- |2-\n   a\n\n  b\n- >+\n c\n\n  d\n- a\n  b\n"))
	f.Add([]byte("- \"a\\\n  b\\u00e9 \n\n c\"\n- 'a\n\n b'\r\n"))
	f.Add([]byte("%YAML 1.2\n---\n&a !b *c ? {[: ,]}\n...\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		n, err := form.ParseYAML("fuzz.yaml", src)
		checkPlaces(t, n, src)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("a problem without words")
			}
			return
		}
		if len(src) > 1<<20 {
			return // what is written may be larger than a form may be
		}
		yaml := n.YAML()
		again, err := form.ParseYAML("", yaml)
		if err != nil {
			t.Fatalf("%v\n%s", err, yaml)
		}
		if diff := sameTree(n, again); diff != "" {
			t.Fatalf("%s\n%s", diff, yaml)
		}
		if second := again.YAML(); !bytes.Equal(yaml, second) {
			t.Fatalf("first\n%s\nthen\n%s", yaml, second)
		}
		var into sheet
		var problems form.Problems
		form.Decode(n, &into, &problems)
	})
}

// checkPlaces makes sure that every place of a tree is one of the text.
func checkPlaces(t *testing.T, n *form.Node, src []byte) {
	if n == nil {
		return
	}
	text := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(src))
	var widths []int
	for line := range strings.SplitSeq(text, "\n") {
		widths = append(widths, utf8.RuneCountInString(line))
	}
	var check func(n *form.Node)
	in := func(at form.Pos) {
		if at.Line < 1 || at.Line > len(widths) ||
			at.Column < 1 || at.Column > widths[at.Line-1]+1 {
			t.Fatalf("%v is no place of the text", at)
		}
	}
	check = func(n *form.Node) {
		in(n.Pos)
		for _, item := range n.Items {
			check(item)
		}
		for _, pair := range n.Pairs {
			in(pair.KeyPos)
			check(pair.Value)
		}
	}
	check(n)
}

func FuzzParseJSON(f *testing.F) {
	f.Add([]byte(`{"a":["b",null,{"c":"\u00e9\ud83d\ude00\n"}],"d":{}}`))
	f.Add([]byte("{\r\n \"a\" : [ \"\\/\" ,\t\"b\" ] }\n"))
	f.Add([]byte(`{"a":1,"b":true,"a":-0.5e3}`))
	f.Add([]byte(`[[[["` + strings.Repeat("x", 100) + `"]]]]`))
	f.Fuzz(func(t *testing.T, src []byte) {
		n, err := form.ParseJSON(src)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("a problem without words")
			}
			return
		}
		stored := n.JSON()
		again, err := form.ParseJSON(stored)
		if err != nil {
			t.Fatalf("%v\n%s", err, stored)
		}
		if diff := sameTree(n, again); diff != "" {
			t.Fatalf("%s\n%s", diff, stored)
		}
		if second := again.JSON(); !bytes.Equal(stored, second) {
			t.Fatalf("first\n%s\nthen\n%s", stored, second)
		}
	})
}
