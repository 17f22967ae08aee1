package book

import (
	"slices"
	"strings"
)

// near gives up to three names that are written much like the one asked for,
// the nearest first: that hold it or are held by it, or that differ in a third
// of its letters or less.
func near(asked string, names []string) []string {
	type match struct {
		name string
		far  int
	}
	var found []match
	for _, name := range names {
		far := distance(asked, name)
		held := asked != "" && (strings.Contains(name, asked) || strings.Contains(asked, name))
		if held || 3*far <= max(len(asked), 3) {
			found = append(found, match{name, far})
		}
	}
	slices.SortStableFunc(found, func(a, b match) int { return a.far - b.far })
	var list []string
	for _, m := range found[:min(len(found), 3)] {
		list = append(list, m.name)
	}
	return list
}

// distance counts the letters to change, put in or leave out to turn a into b;
// two neighbouring letters changed over count as two.
func distance(a, b string) int {
	row := make([]int, len(b)+1) // distances from a[:i] to each b[:j]
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
