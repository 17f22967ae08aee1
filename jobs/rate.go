package jobs

import (
	"slices"

	"putlog/jobs/book"
	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/variations"
)

// Rate is one of the builder's usual items at his own price. It belongs to no
// job: a variation takes it over as a line, and keeps that line whatever
// becomes of the rate.
type Rate struct {
	Name    string              `form:"name"` // [a-z0-9-]{1,40}, unique in the list
	Kind    variations.LineKind `form:"kind"`
	What    string              `form:"what"` // as the line will say it
	Unit    string              `form:"unit,optional"`
	Rate    variations.Pence    `form:"rate"`             // a unit, without VAT
	Percent variations.Percent  `form:"percent,optional"` // daywork's addition
}

// Line gives so much of the item as a line of a variation.
func (r Rate) Line(q variations.Quantity) variations.Line {
	return variations.Line{Kind: r.Kind, What: r.What, Quantity: q, Unit: r.Unit,
		Rate: r.Rate, Percent: r.Percent}
}

// Rates is the builder's whole list, in the order of his file.
type Rates []Rate

// Find gives the rate of that name, or says which may have been meant.
func (list Rates) Find(name string) (Rate, error) {
	if len(list) == 0 {
		return Rate{}, words.Refuse("load your list: putlog rates load rates.csv", "no rates are saved yet")
	}
	names := make([]string, len(list))
	for i, r := range list {
		if names[i] = r.Name; r.Name == name {
			return r, nil
		}
	}
	return Rate{}, words.Refuse(words.Meant(name, names, "rates"), "there is no rate %q", name)
}

// SavedRates gives the list that was saved last; an empty one where none was.
func SavedRates(b *book.Book) (Rates, error) {
	body, err := b.Rates()
	if err != nil {
		return nil, err
	}
	return ratesFrom(body)
}

func ratesFrom(body string) (Rates, error) {
	if body == "" {
		return nil, nil
	}
	var list Rates
	p := &form.Problems{File: "the rates in the book"}
	decodeRow(body, &list, p)
	return list, p.Err()
}

// RatesSaved is what saving a list did to the one before, by name.
type RatesSaved struct {
	Added, Changed, Gone []string
}

// SaveRates puts a list, as ReadRates gives it, in the place of the one saved
// before, which stays in the book to be proved. A list that changes nothing
// writes nothing. written is the time of writing, as book.Stamp has it.
func SaveRates(b *book.Book, list Rates, written string) (RatesSaved, error) {
	var done RatesSaved
	text, err := bookText(list)
	if err != nil {
		return done, err
	}
	err = b.SaveRates(written, func(last string) (string, error) {
		before, err := ratesFrom(last)
		done = list.since(before)
		return text, err
	})
	return done, err
}

// since says what differs from an earlier list.
func (list Rates) since(before Rates) RatesSaved {
	var done RatesSaved
	for _, r := range list {
		i := before.index(r.Name)
		switch {
		case i < 0:
			done.Added = append(done.Added, r.Name)
		case before[i] != r:
			done.Changed = append(done.Changed, r.Name)
		}
	}
	for _, r := range before {
		if list.index(r.Name) < 0 {
			done.Gone = append(done.Gone, r.Name)
		}
	}
	return done
}

func (list Rates) index(name string) int {
	return slices.IndexFunc(list, func(r Rate) bool { return r.Name == name })
}
