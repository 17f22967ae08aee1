package schedule

import (
	"errors"
	"fmt"
	"strings"
)

// Wait is the answer of a wait's rule: how long nobody can go on, and why.
type Wait struct {
	Length   Halves   // every half-day of the calendar counts; rounded up
	Rule     string   // the sum in words, as a builder would say it
	Source   string   // where each figure comes from
	Sure     string   // how sure the figures are
	Warnings []string // what is outside a limit, each with its source; often none
}

// WaitSpec describes a wait by the rule that gives its length. Just one part
// is set; the parts are the closed list of rules.
type WaitSpec struct {
	Concrete *Concrete       `form:"concrete,optional"`
	Screed   *Screed         `form:"screed,optional"`
	Curing   *Curing         `form:"curing,optional"`
	Skim     *Skim           `form:"skim,optional"`
	Adhesive *BoardAdhesive  `form:"adhesive,optional"`
	Membrane *LiquidMembrane `form:"membrane,optional"`
	Mortar   *Mortar         `form:"mortar,optional"`
}

// waiter is a rule that gives a wait.
type waiter interface{ Wait() (Wait, error) }

// waitPart is one rule of a WaitSpec, which may not be set.
type waitPart struct {
	kind string
	set  bool
	rule waiter
}

// parts lists the rules in the order in which they are shown.
func (s WaitSpec) parts() [7]waitPart {
	return [...]waitPart{
		{"concrete", s.Concrete != nil, s.Concrete},
		{"screed", s.Screed != nil, s.Screed},
		{"curing", s.Curing != nil, s.Curing},
		{"skim", s.Skim != nil, s.Skim},
		{"adhesive", s.Adhesive != nil, s.Adhesive},
		{"membrane", s.Membrane != nil, s.Membrane},
		{"mortar", s.Mortar != nil, s.Mortar},
	}
}

// WaitKinds lists the kinds of wait: "concrete", "screed" and so on.
func WaitKinds() []string {
	var kinds []string
	for _, p := range (WaitSpec{}).parts() {
		kinds = append(kinds, p.kind)
	}
	return kinds
}

// part finds the one rule that is set.
func (s WaitSpec) part() (waitPart, error) {
	var found waitPart
	for _, p := range s.parts() {
		switch {
		case p.set && found.set:
			return waitPart{}, fmt.Errorf("a wait has one rule, not both %s and %s; "+
				"make two waits of it", found.kind, p.kind)
		case p.set:
			found = p
		}
	}
	if !found.set {
		return waitPart{}, errors.New("a wait needs a rule; write " + orList(WaitKinds()))
	}
	return found, nil
}

// Kind names the rule: "screed". It fails where there is no rule or more than one.
func (s WaitSpec) Kind() (string, error) {
	p, err := s.part()
	return p.kind, err
}

// Wait gives the wait by its rule.
func (s WaitSpec) Wait() (Wait, error) {
	p, err := s.part()
	if err != nil {
		return Wait{}, err
	}
	w, err := p.rule.Wait()
	if err != nil {
		return Wait{}, fmt.Errorf("%s: %w", p.kind, err)
	}
	return w, nil
}

// The closed lists below are types over uint8: 0 is "not set", 1 the first word.

// spell gives the word for v, "" for a value that is not set or not on the list.
func spell[T ~uint8](words []string, v T) string {
	if v == 0 || int(v) > len(words) {
		return ""
	}
	return words[v-1]
}

// choose reads a word of a closed list; what says what it should be.
func choose[T ~uint8](into *T, what string, words []string, text []byte) error {
	for i, w := range words {
		if w == string(text) {
			*into = T(i + 1)
			return nil
		}
	}
	return fmt.Errorf("%q is not %s; write %s", text, what, orList(words))
}

// need refuses a value that is not set or not on its list.
func need[T ~uint8](name string, words []string, v T) error {
	if spell(words, v) == "" {
		return fmt.Errorf("%s is missing; write %s", name, orList(words))
	}
	return nil
}

// allow is need for a value that may be left out.
func allow[T ~uint8](name string, words []string, v T) error {
	if v == 0 {
		return nil
	}
	return need(name, words, v)
}

// orList joins words for a sentence: "R, N or S".
func orList(words []string) string {
	last := len(words) - 1
	if last < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// parseDecimal reads an unsigned number with at most so many decimal places
// and gives it in units of the last: "7.5" with one place is 75. It takes at
// most six digits before the point.
func parseDecimal(text string, places int) (int, bool) {
	whole, rest, point := strings.Cut(text, ".")
	if len(whole) < 1 || len(whole) > 6 || len(rest) > places || point && rest == "" {
		return 0, false
	}
	n := 0
	for _, c := range []byte(whole + rest + strings.Repeat("0", places-len(rest))) {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, true
}

// formatDecimal prints n units of 10^-places without trailing noughts.
func formatDecimal(n, places int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	digits := fmt.Sprintf("%0*d", places+1, n)
	at := len(digits) - places
	return strings.TrimSuffix(sign+digits[:at]+"."+strings.TrimRight(digits[at:], "0"), ".")
}

// spoken gives a count of half-days in words: "1 day", "7.5 days".
func spoken(n Halves) string {
	if n == 2 {
		return "1 day"
	}
	return n.Decimal() + " days"
}
