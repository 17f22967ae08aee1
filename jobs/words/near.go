package words

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Near gives the words among those offered that a misspelt word may have meant:
// at most three, best first, equals in the order offered. Near means that at
// most two letters, or a third of them, are added, left out, changed or swapped
// with a neighbour (capitals do not count), or that one word holds the other.
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
	var list []string
	for _, m := range found {
		if len(list) < 3 && !slices.Contains(list, m.word) {
			list = append(list, m.word)
		}
	}
	return list
}

// Meant advises on a misspelt word: what it may have meant, else what there is.
// What says what those offered are, as "stages".
func Meant(word string, among []string, what string) string {
	if near := Near(word, among); len(near) > 0 {
		return DidYouMean(near)
	}
	if len(among) == 0 {
		return "there are no " + what
	}
	if len(among) > 12 {
		return fmt.Sprintf("the first %s are %s", what, And(among[:12]))
	}
	return "the " + what + " are " + And(among)
}

// DidYouMean asks whether one of the words was meant.
func DidYouMean(near []string) string { return "did you mean " + Or(near) + "?" }

// distance says how far apart two words are and whether that is near. Two
// changes make another word of a short one, so half of the letters must stand.
func distance(a, b string) (far int, near bool) {
	const few, held, longest = 2, 3, 500
	x, y := []rune(a), []rune(b)
	short, long := min(len(x), len(y)), max(len(x), len(y))
	if long <= longest && long-short <= max(few, long/3) {
		if far = edits(x, y); 3*far <= long || far <= few && 2*far <= long {
			return far, true
		}
	}
	return held, short >= 2 && (strings.HasPrefix(a, b) || strings.HasPrefix(b, a)) ||
		short >= 4 && (strings.Contains(a, b) || strings.Contains(b, a))
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
