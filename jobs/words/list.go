package words

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"putlog/schedule"
)

// Choose reads a word of a closed list into a value counted from 1; what says
// what is chosen, for the refusal.
func Choose[T ~uint8](into *T, what string, list []string, text []byte) error {
	i := slices.Index(list, string(text))
	if i < 0 {
		return fmt.Errorf("%q is not %s; write %s", text, what, Or(list))
	}
	*into = T(i + 1)
	return nil
}

// Or joins words for a sentence: "day, am or pm".
func Or(list []string) string { return join(list, "or") }

// And joins words for a sentence: "site, sparks and supplier".
func And(list []string) string { return join(list, "and") }

// AndMore lists the first five words, and how many more there are.
func AndMore(list []string) string {
	const most = 5
	if n := len(list); n > most+1 {
		list = append(slices.Clone(list[:most]), fmt.Sprintf("%d more", n-most))
	}
	return And(list)
}

func join(list []string, last string) string {
	n := len(list) - 1
	if n < 1 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:n], ", ") + " " + last + " " + list[n]
}

// Capital gives a text with its first letter made a capital.
func Capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// Days says a count of half-days: "half a day", "1 day", "2.5 days".
func Days(n schedule.Halves) string {
	switch n {
	case 1:
		return "half a day"
	case -1:
		return "half a day less"
	case 2:
		return "1 day"
	}
	return n.Decimal() + " days"
}

// Later says by how many worked half-days something moved: "3 working days later",
// "half a working day earlier".
func Later(n schedule.Halves) string {
	if n < 0 {
		return WorkingDays(-n) + " earlier"
	}
	return WorkingDays(n) + " later"
}

// WorkingDays says a count of worked half-days: "half a working day", "2.5 working
// days".
func WorkingDays(n schedule.Halves) string {
	return strings.Replace(Days(n), "day", "working day", 1)
}
