package jobs

import (
	"cmp"
	"fmt"
	"slices"

	"putlog/jobs/book"
	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
)

// Add writes a job with its history to the book. written is the time of
// writing, as book.Stamp has it.
func Add(b *book.Book, j *Job, written string) error { return AddWith(b, j, nil, written) }

// AddWith is Add for a job whose entries carry evidence. What the book does not
// have yet is read from the source; where that is nil the book must have it all.
func AddWith(b *book.Book, j *Job, from Source, written string) error {
	first := *j
	first.Entries = nil
	body, err := bookText(&first)
	if err != nil {
		return err
	}
	rows, err := bookRows(j.Entries)
	if err != nil {
		return err
	}
	return b.AddJobWith(j.Ref, body, rows, from.evidence(j.Entries), written)
}

// Open reads a job with its history from the book.
func Open(b *book.Book, ref string) (*Job, error) {
	rows, err := b.Rows(ref)
	if err != nil {
		return nil, err
	}
	return fromRows(b, ref, rows)
}

// Recorded is what recording entries did.
type Recorded struct {
	Before, After *Programme // as at one day, without the entries and with them
	Lines         []Line     // the entries, as the day book shows them
	Warnings      []string   // what is odd about them
}

// Record appends entries to a job's day book, all or none: the history must
// stand with them, and none may be dated after today.
func Record(b *book.Book, ref string, entries []Entry, today schedule.Day,
	written string) (*Recorded, error) {
	return RecordWith(b, ref, entries, nil, today, written)
}

// RecordWith is Record for entries that carry evidence, as AddWith is Add.
func RecordWith(b *book.Book, ref string, entries []Entry, from Source, today schedule.Day,
	written string) (*Recorded, error) {
	var done *Recorded
	err := b.AppendWith(ref, written, from.evidence(entries), func(existing []book.Row) ([]book.Row, error) {
		j, err := fromRows(b, ref, existing)
		if err != nil {
			return nil, err
		}
		entries = j.numbered(entries)
		if done, err = j.Try(entries, today); err != nil {
			return nil, err
		}
		return bookRows(entries)
	})
	if err != nil {
		return nil, err
	}
	return done, nil
}

// Try says what recording entries would do, and records nothing. It is refused
// as recording them would be.
func (j *Job) Try(entries []Entry, today schedule.Day) (*Recorded, error) {
	asAt := today
	for i, e := range entries {
		if e.On > today && schedule.Instant(j.Start).Day() <= today {
			return nil, &EntryError{Number: len(j.Entries) + i + 1, Given: i + 1, Among: len(entries),
				What: fmt.Sprintf("%s is still to come: today is %s", e.On.Long(), today.Long()),
				Try:  "record it on the day, or look at the year"}
		}
		asAt = max(asAt, e.On) // a job that has not begun may be rehearsed
	}
	after, err := j.With(entries)
	if err != nil {
		return nil, err
	}
	done := &Recorded{Warnings: after.warningsSince(len(j.Entries), asAt)}
	done.Warnings = append(done.Warnings, takenLater(entries)...)
	if done.Before, err = j.Programme(asAt); err != nil {
		return nil, err
	}
	done.Warnings = append(done.Warnings, done.Before.usualHalf(entries)...)
	if done.After, err = after.Programme(asAt); err != nil {
		return nil, err
	}
	for _, l := range after.Lines(asAt) {
		if l.Number > len(j.Entries) {
			done.Lines = append(done.Lines, l)
		}
	}
	return done, nil
}

// usualHalf says of an inspection that was planned for the morning of its entry's
// day, and is recorded without a half, that it is taken to have ended with the
// afternoon.
func (p *Programme) usualHalf(entries []Entry) (warnings []string) {
	for _, e := range entries {
		seen, ok := e.Event.(*Inspection)
		if !ok || seen.Outcome != Pass || seen.At != 0 {
			continue
		}
		if i, err := p.Find(seen.Stage); err == nil && p.Row(i).Finish == e.On.PM() {
			warnings = append(warnings, fmt.Sprintf("%s was planned for the morning of %s and is taken to have ended "+
				"with the afternoon: if it passed in the morning, strike this out and record it with at (--at \"%s am\")",
				seen.Stage, e.On.Long(), e.On))
		}
	}
	return warnings
}

// numbered gives a number to each variation among entries that has none.
func (j *Job) numbered(entries []Entry) []Entry {
	given := j.raised()
	out := slices.Clone(entries)
	for i, e := range out {
		v, ok := e.Event.(*Variation)
		switch {
		case !ok:
			continue
		case len(given.All()) > maxVariations:
			return out // it will be refused
		}
		if v.Number == "" {
			named := *v
			named.Number = given.NextNumber()
			v, out[i].Event = &named, &named
		}
		raise(given, v, e.On)
	}
	return out
}

// warningsSince lists what is odd about the entries after the first so many.
func (j *Job) warningsSince(count int, asAt schedule.Day) []string {
	s := j.newStanding()
	var all []string
	for _, e := range j.history(asAt) {
		if s.take(e) != nil {
			return all
		}
		if e.number > count {
			all = append(all, s.warnings...)
		}
	}
	return all
}

// Moved is the calendar time by which the finish moved, in half-days.
func (r *Recorded) Moved() schedule.Halves {
	return schedule.Halves(r.After.Finish - r.Before.Finish)
}

// Worked is the same in worked half-days of the site, as it stands now.
func (r *Recorded) Worked() schedule.Halves {
	return r.After.Calendar(SiteCalendar).Count(r.Before.Finish, r.After.Finish)
}

// Sentence says what the entries did to the finish.
func (r *Recorded) Sentence() string {
	from, to := r.Before.Finish.Last(), r.After.Finish.Last()
	if from == to {
		return fmt.Sprintf("The finish stays on %s.", longHalf(to))
	}
	way, n := "later", r.Worked()
	if to < from {
		way, n = "earlier", -n
	}
	return fmt.Sprintf("The finish moves from %s to %s: %s %s.", from.Short(), longHalf(to), words.WorkingDays(n), way)
}

// With is the job with more entries in its day book. The whole history must
// stand with them; if not, the error is an *EntryError.
func (j *Job) With(entries []Entry) (*Job, error) {
	after := *j
	after.Entries = slices.Concat(j.Entries, entries)
	if n := len(after.Entries); n > maxEntries {
		return nil, fmt.Errorf("%d entries are more than the %d a job may have", n, maxEntries)
	}
	known := len(j.Entries)
	if err := cmp.Or(after.checkTexts(known), after.checkClear(known), after.checkHistory()); err != nil {
		err.Given, err.Among = max(0, err.Number-len(j.Entries)), len(entries)
		err.Try = cmp.Or(j.struckSince(entries), err.Try)
		return nil, err
	}
	return &after, nil
}

// struckSince advises on entries that take the place of one that was struck out,
// but bear a date on which that one still counted.
func (j *Job) struckSince(entries []Entry) string {
	subject := func(e Entry) string {
		ref, _ := e.Event.says(func(id string) string { return id })
		return ref
	}
	struck := j.struck(schedule.LastDay)
	for _, e := range entries {
		for i, by := range struck {
			if by == 0 || j.Entries[by-1].On <= e.On || subject(e) == "" || subject(j.Entries[i]) != subject(e) {
				continue
			}
			since := j.Entries[by-1].On
			return fmt.Sprintf("entry %d was struck out on %s and counts until then: give this one that date, %s, "+
				"and say when it happened with at (--at \"%s am\")", i+1, since.Long(), since, e.On)
		}
	}
	return ""
}

func bookRows(entries []Entry) ([]book.Row, error) {
	rows := make([]book.Row, 0, len(entries))
	for _, e := range entries {
		body, err := bookText(e)
		if err != nil {
			return nil, err
		}
		rows = append(rows, book.Row{On: e.On, Kind: e.Event.Kind(), Body: body})
	}
	return rows, nil
}

// bookText is what the book keeps of a job or an entry. It is refused where it
// could not be read back: a text from a flag may hold what no form may.
func bookText(v any) (string, error) {
	n := form.Encode(v)
	for word := range n.Texts() { // JSON has no way to write bytes that are no characters
		if err := form.CheckText(word); err != nil {
			return "", err
		}
	}
	text := n.JSON()
	if _, err := form.ParseJSON(text); err != nil {
		return "", err
	}
	return string(text), nil
}

// fromRows reads a job from its rows in a book: its first row holds the job
// file, each further one an entry. What can't be read is the book's fault.
func fromRows(b *book.Book, ref string, rows []book.Row) (*Job, error) {
	var j Job
	p := &form.Problems{File: "job " + ref + " in the book"}
	decodeRow(rows[0].Body, &j, p)
	j.Entries = make([]Entry, len(rows)-1)
	for i, row := range rows[1:] {
		decodeRow(row.Body, &j.Entries[i], p)
	}
	if err := p.Err(); err != nil {
		return nil, unsound(b, err.Error())
	}
	return &j, nil
}

func decodeRow(body string, into any, p *form.Problems) {
	n, err := form.ParseJSON([]byte(body))
	if err != nil {
		p.Add(form.Pos{}, "", err.Error(), "")
		return
	}
	form.Decode(n, into, p)
}
