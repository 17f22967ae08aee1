package jobs

import (
	"fmt"
	"slices"
	"strings"
)

// chooseWord reads a word of a closed list into a value counted from 1.
func chooseWord[T ~uint8](into *T, what string, words []string, text []byte) error {
	i := slices.Index(words, string(text))
	if i < 0 {
		return fmt.Errorf("%q is not %s; write %s", text, what, orList(words))
	}
	*into = T(i + 1)
	return nil
}

// orList joins words for a sentence: "day, am or pm".
func orList(words []string) string { return joinWords(words, "or") }

// andList joins words for a sentence: "site, sparks and supplier".
func andList(words []string) string { return joinWords(words, "and") }

// andMore lists the first five words, and how many more there are.
func andMore(words []string) string {
	const most = 5
	if n := len(words); n > most+1 {
		words = append(slices.Clone(words[:most]), fmt.Sprintf("%d more", n-most))
	}
	return andList(words)
}

func joinWords(words []string, last string) string {
	n := len(words) - 1
	if n < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n], ", ") + " " + last + " " + words[n]
}
