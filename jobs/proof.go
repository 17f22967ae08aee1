package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putlog/jobs/book"
)

// Prove proves the book whole, as book.Check does, and then what is in it: each
// job's file is sound, each day book could be so, and the evidence is that which
// the entries name, no file more and none less. The error is a *book.Altered or
// a *book.Error. seen, if there is one, is told how many jobs of all are done.
func Prove(b *book.Book, seen func(done, all int)) (book.Report, error) {
	report, err := b.Check()
	if err != nil {
		return report, err
	}
	kept, err := b.Files() // before the jobs: what is written meanwhile comes with its entry
	if err != nil {
		return report, err
	}
	refs, err := b.Jobs()
	if err != nil {
		return report, err
	}
	var named []mention
	for i, ref := range refs {
		if seen != nil {
			seen(i, len(refs))
		}
		more, err := proveJob(b, ref)
		if err != nil {
			return report, err
		}
		named = append(named, more...)
	}
	return report, proveOrder(b, kept, named)
}

// mention is a file that a row names.
type mention struct {
	row int64
	sum string
}

// proveOrder proves that the files lie in the order in which the rows first named
// them, and that each is named.
func proveOrder(b *book.Book, kept []book.File, named []mention) error {
	slices.SortStableFunc(named, func(a, b mention) int { return int(a.row - b.row) })
	var order []string
	seen := map[string]bool{} // for lookup only
	for _, m := range named {
		if !seen[m.sum] {
			seen[m.sum] = true
			order = append(order, m.sum)
		}
	}
	for i, f := range kept {
		switch {
		case !seen[f.SHA256]:
			return &book.Altered{Path: b.Path(),
				What: fmt.Sprintf("no entry names the file with the SHA-256 %s", f.SHA256)}
		case order[i] != f.SHA256:
			return &book.Altered{Path: b.Path(),
				What: fmt.Sprintf("file %d of its evidence is not in its place", i+1)}
		}
	}
	return nil
}

// proveJob proves one job and gives the files that its entries name.
func proveJob(b *book.Book, ref string) (named []mention, err error) {
	rows, err := b.Rows(ref)
	if err != nil {
		return nil, err
	}
	j, err := fromRows(b, ref, rows)
	if err != nil {
		return nil, err
	}
	if j.Ref != ref {
		return nil, unsound(b, fmt.Sprintf("the first row of job %s holds another: %s", ref, j.Ref))
	}
	if fault := j.firstFault(); fault != "" {
		return nil, unsound(b, fmt.Sprintf("job %s, %s", ref, fault))
	}
	for i, e := range j.Entries {
		if row := rows[i+1]; row.On != e.On || row.Kind != e.Event.Kind() {
			return nil, unsound(b, fmt.Sprintf("entry %d of job %s is filed as another (%s %s)",
				i+1, ref, row.Kind, row.On))
		}
		for _, f := range e.Evidence {
			named = append(named, mention{rows[i+1].Seq, string(f.SHA256)})
			if err := proveFile(b, ref, rows[i+1], f); err != nil {
				return nil, err
			}
		}
	}
	return named, nil
}

// firstFault gives the first thing that is wrong with a job, with its place; ""
// when nothing is.
func (j *Job) firstFault() (fault string) {
	j.Check(func(path, what, _ string) {
		var i int
		if _, err := fmt.Sscanf(path, "entries[%d]", &i); err == nil {
			path = fmt.Sprintf("entry %d", i+1)
		}
		if fault == "" {
			fault = path + ": " + what
		}
	}, true)
	return fault
}

// proveFile proves that a file that an entry names is in the book. That its
// content is what was stored, book.Check has proved.
func proveFile(b *book.Book, ref string, row book.Row, e Evidence) error {
	size, known, err := b.Size(string(e.SHA256))
	what := "is missing"
	switch {
	case err != nil:
		return err
	case known && size == int64(e.Size):
		return nil
	case known:
		what = fmt.Sprintf("has %d bytes, not %d", size, int64(e.Size))
	}
	return &book.Altered{Path: b.Path(), Seq: row.Seq, Job: ref, On: row.On.String(), Kind: row.Kind,
		What: fmt.Sprintf("names the %s %s (SHA-256 %s), which %s", e.What, e.Name, e.SHA256, what)}
}

// unsound says that what is in the book can't be so.
func unsound(b *book.Book, what string) error {
	what, _, _ = strings.Cut(what, "\n") // the first fault of many
	return &book.Error{Path: b.Path(), Op: "vouch for", What: what,
		Try: "put back your latest backup, which keeps this file too: putlog restore FILE"}
}
