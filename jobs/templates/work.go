package templates

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"putlog/jobs/words"
	"putlog/schedule"
)

// longestWork is the most days that quantity and output may come to; more is a
// slip of the pen.
const longestWork = 1000

// workLength works out how long work takes: for each part quantity × hours a
// unit ÷ (people × hours a day), added up. The sum is rounded up to whole days,
// or to half a day where that is enough: a gang that is on site for the day
// rarely begins another trade's work in what is left of it. It gives the sum in
// words; no length where there is nothing to do.
func (v *surveyed) workLength(work []Work, known func(string) (Amount, error)) (
	n schedule.Halves, said string, err error) {
	total := new(big.Rat)
	var sums, sources []string
	for _, w := range work {
		days, sum, source, err := v.part(w, known)
		if err != nil {
			return 0, "", err
		}
		total.Add(total, days)
		if days.Sign() > 0 {
			sums, sources = append(sums, sum), append(sources, source)
		}
	}
	if total.Cmp(big.NewRat(longestWork, 1)) > 0 {
		return 0, "", fmt.Errorf("it comes to %s, which is no stage of a conversion; "+
			"look at the measurements and the output", upText(total))
	}
	n = wholeDays(total)
	said = words.And(sums)
	if len(sums) > 1 {
		said += ", together " + upText(total)
	}
	return n, said + ", so " + words.Days(n) + " (" + strings.Join(sources, "; ") + ")", nil
}

// part works out the days of one part of the work, its sum in words and where
// its output comes from.
func (v *surveyed) part(w Work, known func(string) (Amount, error)) (
	days *big.Rat, sum, source string, err error) {
	quantity, err := w.Quantity.value(known)
	if err != nil {
		return nil, "", "", err
	}
	people, err := w.People.value(known)
	if err != nil {
		return nil, "", "", err
	}
	i := slices.Index(v.t.outputNames(), w.Output)
	switch {
	case i < 0:
		return nil, "", "", fmt.Errorf("there is no output %q", w.Output)
	case quantity.sign() < 0:
		return nil, "", "", fmt.Errorf("%s comes to %s, less than nothing: %s; "+
			"look at these measurements", w.Quantity, quantity, w.Quantity.explain(known))
	case quantity.dim != v.t.Outputs[i].Per.dim():
		return nil, "", "", fmt.Errorf("%s is %s, but the output %s is for %s", w.Quantity,
			quantity.dim, w.Output, v.t.Outputs[i].Per)
	case people.dim != dimNumber || !people.of.IsInt() || people.sign() <= 0:
		return nil, "", "", fmt.Errorf("%s comes to %s people; it takes a whole number, "+
			"one at the least", w.People, people)
	}
	hours := v.hours[i]
	days = new(big.Rat).Mul(quantity.of, hours.of)
	days.Quo(days, new(big.Rat).Mul(people.of, v.day.of))
	gang := people.String() + " people"
	if gang == "1 people" {
		gang = "1 person"
	}
	sum = fmt.Sprintf("%s × %s h ÷ (%s × %s h) = %s", quantity, hours, gang, v.day, upText(days))
	source = w.Output + ": " + v.t.Outputs[i].Source
	if v.own[i] {
		source = w.Output + ": your own figure"
	}
	return days, sum, source, nil
}

// wholeDays rounds days up to whole ones, and half a day or less to half a day.
func wholeDays(days *big.Rat) schedule.Halves {
	switch {
	case days.Sign() <= 0:
		return 0
	case days.Cmp(big.NewRat(1, 2)) <= 0:
		return 1
	}
	up := new(big.Int).Add(days.Num(), days.Denom())
	up.Sub(up, big.NewInt(1)).Quo(up, days.Denom())
	return schedule.Days(int(up.Int64()))
}

// upText prints days with two decimals, rounded up, so that the figure shown
// never lies under the whole days taken.
func upText(days *big.Rat) string {
	hundredths := new(big.Rat).Mul(days, big.NewRat(100, 1))
	up := new(big.Int).Add(hundredths.Num(), hundredths.Denom())
	up.Sub(up, big.NewInt(1)).Quo(up, hundredths.Denom())
	if text := ratText(new(big.Rat).SetFrac(up, big.NewInt(100)), 2); text != "1" {
		return text + " days"
	}
	return "1 day"
}
