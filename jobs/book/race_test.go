//go:build race

package book

const underRace = true
