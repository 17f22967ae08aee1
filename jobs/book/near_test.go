package book

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestNear(t *testing.T) {
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
		if got := near(c.asked, jobs); !slices.Equal(got, c.want) {
			t.Errorf("near %q: %q, want %q", c.asked, got, c.want)
		}
	}
}

// slowDistance is the definition, letter by letter.
func slowDistance(a, b string) int {
	switch {
	case a == "":
		return len(b)
	case b == "":
		return len(a)
	case a[0] == b[0]:
		return slowDistance(a[1:], b[1:])
	}
	return 1 + min(slowDistance(a[1:], b), slowDistance(a, b[1:]), slowDistance(a[1:], b[1:]))
}

func TestDistance(t *testing.T) {
	text := rapid.StringMatching(`[abc]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := text.Draw(t, "a"), text.Draw(t, "b")
		if got, want := distance(a, b), slowDistance(a, b); got != want {
			t.Errorf("%q to %q: %d, want %d", a, b, got, want)
		}
	})
}
