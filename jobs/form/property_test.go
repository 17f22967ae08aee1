package form_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"putlog/jobs/form"
)

// hostile are texts that mean something else to a careless reader or writer.
var hostile = []string{
	"", " ", "null", "Null", "~", "yes", "true", "on", "1e3", "010", "0x1f", "1_000", ".5",
	"-", "--", "---", "- x", "-x", "-2d", "...", "? x", ": x", "x:", "a: b", "a:b", "x #y", "#x", "x#y",
	"[a]", "{a: b}", "a, b", "]", "}", "&a", "*a", "!t", "!!str", "|", ">", "|-\n x", "%YAML", "@a",
	"`a`", "<<", "=", `"`, `'`, `"a"`, `'a'`, "it's", `a"b`, `\`, `\n`, `C:\new`,
	"a\nb", "\n", "a\n", "\na", "a\n\n b\n", "\t", "a\tb", "\ta", "a\t", "a\r\nb", "a\rb",
	" a", "a ", "  a  ", "½ m²", "£100", "é", "e\u0301", "😀", "👩\u200d🔧", "\u00a0", "a\u00a0b",
	"\u2028", "\u2029", "\ufeff", "\uffff", "\ufffd", "\U0010ffff", "2027-03-01", "2027-03-01 am",
	"mon-fri", "(a)", "+", "+1", "a - b", "a -b", "http://x/y?z#q", "12:30",
	strings.Repeat("long ", 50), strings.Repeat("é", 99),
}

// text draws what a form may hold.
func text() *rapid.Generator[string] {
	free := rapid.StringOf(rapid.RuneFrom([]rune("ab :#-,[]{}\"'\\\n\té½😀|>&*!%@`?~0."), nil...))
	return rapid.OneOf(rapid.SampledFrom(hostile), free, rapid.String()).
		Filter(func(s string) bool { return form.CheckText(s) == nil })
}

// word draws a text that is not empty, for fields whose zero value is no value.
func word() *rapid.Generator[string] {
	return text().Filter(func(s string) bool { return s != "" })
}

func days() *rapid.Generator[day] {
	date := rapid.StringMatching(`20[0-9]{2}-0[1-9]-[012][1-9]`)
	return rapid.Map(date, func(s string) day { return day(s) })
}

func weeks(t *rapid.T, name string) week {
	if rapid.Bool().Draw(t, name+" in a word") {
		return week{Word: rapid.SampledFrom([]string{"mon-fri", "mon-sat"}).Draw(t, name)}
	}
	return week{Mon: word().Draw(t, name+" mon"), Thu: text().Draw(t, name+" thu")}
}

func stages(t *rapid.T) stage {
	s := stage{Stage: text().Draw(t, "stage"), Title: text().Draw(t, "title"),
		Takes: length(rapid.IntRange(0, 9999).Draw(t, "takes"))}
	if rapid.Bool().Draw(t, "has notice") {
		s.Notice = new(rapid.IntRange(-3, 3).Draw(t, "notice"))
	}
	for range rapid.IntRange(0, 3).Draw(t, "after") {
		s.After = append(s.After, link{text().Draw(t, "from"),
			bond{text().Draw(t, "link"), length(rapid.IntRange(0, 2).Draw(t, "lag"))}})
	}
	return s
}

func entries(t *rapid.T) entry {
	e := entry{On: days().Draw(t, "on"), What: accepted{}}
	switch rapid.IntRange(0, 2).Draw(t, "kind") {
	case 1:
		e.What = started{text().Draw(t, "started"), ""}
	case 2:
		v := variation{Number: text().Draw(t, "number"), Why: text().Draw(t, "because")}
		for range rapid.IntRange(0, 3).Draw(t, "lines") {
			v.Lines = append(v.Lines, line{text().Draw(t, "line"), text().Draw(t, "what"), "320.00"})
		}
		e.What = v
	}
	return e
}

func sheets(t *rapid.T) sheet {
	s := sheet{Job: text().Draw(t, "job"), Title: text().Draw(t, "title"),
		Start: days().Draw(t, "start"), Week: weeks(t, "week")}
	if s.Week.IsZero() {
		s.Week = week{} // as good as left out
	}
	if rapid.Bool().Draw(t, "has terms") {
		s.Terms = &terms{Sum: text().Draw(t, "sum"), VAT: rapid.Int8().Draw(t, "vat"),
			Bonds: rapid.Uint16().Draw(t, "bonds"), Agreed: rapid.Bool().Draw(t, "agreed")}
		if rapid.Bool().Draw(t, "has retention") {
			s.Terms.Retention = new(rapid.Int64().Draw(t, "retention"))
		}
	}
	names := rapid.SliceOfNDistinct(keys(), 0, 3, rapid.ID).Draw(t, "calendars")
	for _, name := range names {
		s.Calendars = append(s.Calendars, calendar{name, weeks(t, "its week")})
	}
	for range rapid.IntRange(0, 2).Draw(t, "closures") {
		s.Closures = append(s.Closures, closure{days().Draw(t, "from"),
			rapid.SliceOfN(text(), 0, 3).Draw(t, "who"), text().Draw(t, "why")})
	}
	for range rapid.IntRange(0, 4).Draw(t, "stages") {
		s.Stages = append(s.Stages, stages(t))
	}
	for range rapid.IntRange(0, 3).Draw(t, "entries") {
		s.Entries = append(s.Entries, entries(t))
	}
	return s
}

// keys draws keys: not too long, and no merge key, quoted or not.
func keys() *rapid.Generator[string] {
	return text().Filter(func(s string) bool { return len([]rune(s)) <= 200 && s != "<<" })
}

// The struct that comes back from YAML and from JSON is the one that went in, and
// what is written a second time is the same, byte for byte.
func TestEncodeDecode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := sheets(t)
		n := form.Encode(want)
		yaml, stored := n.YAML(), n.JSON()
		fromYAML, err := form.ParseYAML("", yaml)
		if err != nil {
			t.Fatalf("%v\n%s", err, yaml)
		}
		fromJSON, err := form.ParseJSON(stored)
		if err != nil {
			t.Fatalf("%v\n%s", err, stored)
		}
		for _, from := range []*form.Node{n, fromYAML, fromJSON} {
			var got sheet
			var problems form.Problems
			form.Decode(from, &got, &problems)
			if err := problems.Err(); err != nil {
				t.Fatalf("%v\n%s", err, yaml)
			}
			diff := cmp.Diff(want, got, cmpopts.EquateEmpty(), cmp.AllowUnexported(link{}))
			if diff != "" {
				t.Fatalf("%s\n%s", diff, yaml)
			}
			again := form.Encode(&got)
			if !bytes.Equal(again.YAML(), yaml) || !bytes.Equal(again.JSON(), stored) {
				t.Fatalf("first\n%s\nthen\n%s", yaml, again.YAML())
			}
		}
	})
}

// trees draws any tree of nodes.
func trees(t *rapid.T, depth int) *form.Node {
	kind := rapid.IntRange(0, 3).Draw(t, "kind")
	if depth == 0 {
		kind = min(kind, 1)
	}
	switch kind {
	case 0:
		return &form.Node{}
	case 1:
		return form.NewScalar(text().Draw(t, "text"))
	case 2:
		list := form.NewList()
		for range rapid.IntRange(0, 4).Draw(t, "items") {
			list.Items = append(list.Items, trees(t, depth-1))
		}
		return list
	}
	m := form.NewMap()
	for _, key := range rapid.SliceOfNDistinct(keys(), 0, 4, rapid.ID).Draw(t, "keys") {
		m.Put(key, trees(t, depth-1))
	}
	return m
}

// sameTree compares trees without their places.
func sameTree(a, b *form.Node) string {
	return cmp.Diff(a, b, cmpopts.EquateEmpty(), cmpopts.IgnoreTypes(form.Pos{}),
		cmp.FilterValues(func(a, b *form.Node) bool {
			return a != nil && b != nil && a.Kind == form.Null && b.Kind == form.Null
		}, cmp.Comparer(func(a, b *form.Node) bool { return true })))
}

// What is written of any tree is read back as that tree: here, and by readers of
// YAML and JSON that others wrote.
func TestTreesAndOtherReaders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := trees(t, 4)
		yaml, stored := want.YAML(), want.JSON()
		got, err := form.ParseYAML("", yaml)
		if err != nil {
			t.Fatalf("%v\n%s", err, yaml)
		}
		if diff := sameTree(want, got); diff != "" {
			t.Fatalf("%s\n%s", diff, yaml)
		}
		if again := got.YAML(); !bytes.Equal(yaml, again) {
			t.Fatalf("first\n%s\nthen\n%s", yaml, again)
		}
		if got, err = form.ParseJSON(stored); err != nil || sameTree(want, got) != "" {
			t.Fatalf("%v\n%s\n%s", err, sameTree(want, got), stored)
		}
		if !json.Valid(stored) {
			t.Fatalf("not JSON: %s", stored)
		}
		other, err := readElsewhere(yaml)
		if err != nil {
			t.Fatalf("%v\n%s", err, yaml)
		}
		if diff := sameTree(want, other); diff != "" {
			t.Fatalf("read elsewhere\n%s\n%s", diff, yaml)
		}
	})
}

// readElsewhere reads YAML with a library.
func readElsewhere(src []byte) (*form.Node, error) {
	file, err := parser.ParseBytes(src, 0)
	if err != nil {
		return nil, err
	}
	if len(file.Docs) != 1 {
		return nil, errors.New("not one document")
	}
	return fromAST(file.Docs[0].Body), nil
}

func fromAST(n ast.Node) *form.Node {
	switch n := n.(type) {
	case nil, *ast.NullNode:
		return &form.Node{}
	case *ast.SequenceNode:
		list := form.NewList()
		for _, item := range n.Values {
			list.Items = append(list.Items, fromAST(item))
		}
		return list
	case *ast.MappingNode:
		m := form.NewMap()
		for _, pair := range n.Values {
			m.Put(pair.Key.GetToken().Value, fromAST(pair.Value))
		}
		return m
	case *ast.LiteralNode:
		return form.NewScalar(n.Value.Value)
	}
	return form.NewScalar(n.GetToken().Value)
}
