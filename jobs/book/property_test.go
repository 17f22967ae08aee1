package book

import (
	"errors"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"putlog/schedule"
)

// model is the book as a plain slice.
type model struct {
	rows []Row
	jobs []string
}

func (m *model) add(job, written string, rows ...Row) {
	for _, r := range rows {
		r.Seq, r.Job, r.Written = int64(len(m.rows)+1), job, written
		m.rows = append(m.rows, r)
	}
}

func (m *model) of(job string) []Row {
	return slices.DeleteFunc(slices.Clone(m.rows), func(r Row) bool { return r.Job != job })
}

// quick takes the waiting for the disk out of a book; for tests alone.
func quick(t *rapid.T, b *Book) *Book {
	b.db.SetMaxOpenConns(1)
	if _, err := b.db.Exec(`PRAGMA synchronous = OFF`); err != nil {
		t.Fatal(err)
	}
	return b
}

func drawRows(t *rapid.T) []Row {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Row {
		return Row{
			On:   schedule.Day(rapid.IntRange(1, int(schedule.LastDay)).Draw(t, "on")),
			Kind: rapid.SampledFrom([]string{"started", "finished", "Job", "x y"}).Draw(t, "kind"),
			Body: rapid.String().Draw(t, "body"),
		}
	}), 0, 4).Draw(t, "rows")
}

func drawStamp(t *rapid.T) string {
	return rapid.StringMatching(`20[0-9]{2}-0[1-9]-1[0-9]T1[0-9]:[0-5][0-9]:[0-5][0-9]Z`).
		Draw(t, "written")
}

// Whatever is done to it, opened again or not, the book holds what a plain slice
// would, and proves whole.
func TestBookAgainstSlice(t *testing.T) {
	names := rapid.SampledFrom([]string{"a", "orchard-row", "Orchard-row", "it's", "½"})
	rapid.Check(t, func(rt *rapid.T) {
		path := filepath.Join(t.TempDir(), "putlog.db")
		b, err := Open(path)
		if err != nil {
			rt.Fatal(err)
		}
		defer func() { b.Close() }()
		quick(rt, b)
		var m model
		rt.Repeat(map[string]func(*rapid.T){
			"add": func(rt *rapid.T) {
				job, rows, written := names.Draw(rt, "job"), drawRows(rt), drawStamp(rt)
				body := rapid.String().Draw(rt, "job body")
				err := b.AddJob(job, body, rows, written)
				var exists *Exists
				if slices.Contains(m.jobs, job) {
					if !errors.As(err, &exists) {
						rt.Fatalf("second %q: %v", job, err)
					}
					return
				}
				if err != nil {
					rt.Fatal(err)
				}
				m.jobs = append(m.jobs, job)
				m.add(job, written, append([]Row{{Kind: JobKind, Body: body}}, rows...)...)
			},
			"append": func(rt *rapid.T) { appendBoth(rt, b, &m, names.Draw(rt, "job")) },
			"reopen": func(rt *rapid.T) {
				if err := b.Close(); err != nil {
					rt.Fatal(err)
				}
				if b, err = OpenExisting(path); err != nil {
					rt.Fatal(err)
				}
				checkWhole(rt, quick(rt, b), &m)
			},
			"check": func(rt *rapid.T) { checkWhole(rt, b, &m) },
			"":      func(rt *rapid.T) { compare(rt, b, &m) },
		})
	})
}

func appendBoth(rt *rapid.T, b *Book, m *model, job string) {
	rows, written := drawRows(rt), drawStamp(rt)
	refuse := rapid.Bool().Draw(rt, "refuse")
	refused := errors.New("refused")
	err := b.Append(job, written, func(existing []Row) ([]Row, error) {
		if diff := cmp.Diff(m.of(job), existing); diff != "" {
			rt.Errorf("%q, handed to append (-slice +book):\n%s", job, diff)
		}
		clear(existing) // it is ours to spoil
		if refuse {
			return rows, refused
		}
		return rows, nil
	})
	var notFound *NotFound
	switch {
	case !slices.Contains(m.jobs, job):
		if !errors.As(err, &notFound) {
			rt.Fatalf("append to no job %q: %v", job, err)
		}
	case refuse:
		if err != refused {
			rt.Fatalf("refused: %v", err)
		}
	case err != nil:
		rt.Fatal(err)
	default:
		m.add(job, written, rows...)
	}
}

func compare(rt *rapid.T, b *Book, m *model) {
	jobs, err := b.Jobs()
	if err != nil || !slices.Equal(jobs, m.jobs) {
		rt.Fatalf("jobs %q, %v; want %q", jobs, err, m.jobs)
	}
	for _, job := range m.jobs {
		rows, err := b.Rows(job)
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(m.of(job), rows); diff != "" {
			rt.Fatalf("%q (-slice +book):\n%s", job, diff)
		}
	}
}

func checkWhole(rt *rapid.T, b *Book, m *model) {
	report, err := b.Check()
	if err != nil || report.Rows != int64(len(m.rows)) || report.Jobs != len(m.jobs) {
		rt.Fatalf("check: %+v, %v", report, err)
	}
}
