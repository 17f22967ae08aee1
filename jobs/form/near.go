package form

import (
	"cmp"
	"slices"
	"strings"
)

// Near gives the words among those offered that a misspelt word may have meant:
// at most three, best first, equals in the order offered. Near means at most
// two letters added, left out or changed, or neighbours swapped (capitals do
// not count), or that one word begins with the other.
func Near(word string, among []string) []string {
	type match struct {
		word string
		far  int
	}
	var found []match
	for _, other := range among {
		if far, near := distance(strings.ToLower(word), strings.ToLower(other)); near {
			found = append(found, match{other, far})
		}
	}
	slices.SortStableFunc(found, func(a, b match) int { return cmp.Compare(a.far, b.far) })
	var words []string
	for _, m := range found {
		if len(words) < 3 && !slices.Contains(words, m.word) {
			words = append(words, m.word)
		}
	}
	return words
}

// distance says how far apart two words are and whether that is near. Two
// changes make another word of a short one, so half of the letters must hold.
func distance(a, b string) (far int, near bool) {
	const most, begins = 2, 3
	x, y := []rune(a), []rune(b)
	if diff := len(x) - len(y); diff >= -most && diff <= most {
		if far = edits(x, y); far <= most && 2*far <= max(len(x), len(y)) {
			return far, true
		}
	}
	short := min(len(x), len(y))
	return begins, short >= 2 && (strings.HasPrefix(a, b) || strings.HasPrefix(b, a))
}

// edits counts the letters to add, drop, change or swap with a neighbour to
// turn one word into the other: a table of which three rows are kept.
func edits(a, b []rune) int {
	before, above, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(above[j]+1, row[j-1]+1, above[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(b)]
}
