package words

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestNear(t *testing.T) {
	keys := []string{"stage", "title", "kind", "takes", "notice", "after", "by", "not-before"}
	tests := []struct {
		word string
		want []string
	}{
		{"tkaes", []string{"takes"}},
		{"take", []string{"takes", "stage"}},
		{"Takes", []string{"takes"}},
		{"stages", []string{"stage", "takes"}},
		{"note", []string{"notice"}},
		{"not", []string{"notice", "not-before"}},
		{"afterwards", []string{"after"}},
		{"bye", []string{"by"}},
		{"yb", []string{"by"}},
		{"of", nil},
		{"", nil},
		{"t", nil},
		{"colour", nil},
		{strings.Repeat("x", 100_000), nil},
	}
	for _, test := range tests {
		if diff := cmp.Diff(test.want, Near(test.word, keys)); diff != "" {
			t.Errorf("near %.20q: %s", test.word, diff)
		}
	}
	best := Near("bar", []string{"bars", "barrow", "car", "bat", "bar", "bar"})
	if diff := cmp.Diff([]string{"bar", "bars", "car"}, best); diff != "" {
		t.Error(diff)
	}
}

func TestNearJobs(t *testing.T) {
	jobs := []string{"mill-lane", "orchard-row", "orchard-end", "12-high-street", "orchard-row-2"}
	for _, c := range []struct {
		asked string
		want  []string
	}{
		{"orchard-rwo", []string{"orchard-row", "orchard-end", "orchard-row-2"}},
		{"orchard", []string{"orchard-row", "orchard-end", "orchard-row-2"}},
		{"mil-lane", []string{"mill-lane"}},
		{"high-street", []string{"12-high-street"}},
		{"mill-lane-garage", []string{"mill-lane"}},
		{"station-road", nil},
		{"", nil},
	} {
		if got := Near(c.asked, jobs); !slices.Equal(got, c.want) {
			t.Errorf("near %q: %q, want %q", c.asked, got, c.want)
		}
	}
}

// slowEdits is the definition, letter by letter.
func slowEdits(a, b []rune) int {
	if len(a) == 0 || len(b) == 0 {
		return len(a) + len(b)
	}
	least := 1 + min(slowEdits(a[1:], b), slowEdits(a, b[1:]), slowEdits(a[1:], b[1:]))
	if a[0] == b[0] {
		least = min(least, slowEdits(a[1:], b[1:]))
	}
	if len(a) > 1 && len(b) > 1 && a[0] == b[1] && a[1] == b[0] {
		least = min(least, 1+slowEdits(a[2:], b[2:]))
	}
	return least
}

func TestEdits(t *testing.T) {
	text := rapid.StringMatching(`[abc]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := []rune(text.Draw(t, "a")), []rune(text.Draw(t, "b"))
		if got, want := edits(a, b), slowEdits(a, b); got != want {
			t.Errorf("%q to %q: %d, want %d", a, b, got, want)
		}
	})
}
