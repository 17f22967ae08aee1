package book

import (
	"fmt"
	"path/filepath"
	"testing"

	"putlog/schedule"
)

// history makes n entries of a size such as a day book has.
func history(n int) []Row {
	rows := make([]Row, n)
	for i := range rows {
		rows[i] = Row{On: schedule.FirstDay + schedule.Day(i), Kind: "progress",
			Body: fmt.Sprintf(`{stage: stage-%d, left: 1.5d, note: "two men, wet all morning"}`, i)}
	}
	return rows
}

// filled makes a book of so many jobs with so many rows each, job rows included.
func filled(b testing.TB, jobs, rows int) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), "putlog.db")
	book, err := Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	if _, err := book.db.Exec(`PRAGMA synchronous = OFF`); err != nil { // this connection only
		b.Fatal(err)
	}
	for i := range jobs {
		name := fmt.Sprintf("job-%d", i)
		if err := book.AddJob(name, "job: "+name, history(rows-1), stamp); err != nil {
			b.Fatal(err)
		}
	}
	return path
}

// What every reading command costs: open the book, read one job, close it. It
// must not grow with the number of other jobs.
func BenchmarkOpenAndRead(b *testing.B) {
	for _, jobs := range []int{1, 100, 5000} {
		b.Run(fmt.Sprintf("jobs=%d", jobs), func(b *testing.B) {
			path := filled(b, jobs, 40)
			job := fmt.Sprintf("job-%d", jobs/2)
			for b.Loop() {
				book, err := OpenExisting(path)
				if err != nil {
					b.Fatal(err)
				}
				if rows, err := book.Rows(job); err != nil || len(rows) != 40 {
					b.Fatal(len(rows), err)
				}
				if err := book.Close(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkRows(b *testing.B) {
	book, err := Open(filled(b, 100, 40))
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	for b.Loop() {
		if _, err := book.Rows("job-50"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAppend(b *testing.B) {
	book, err := Open(filled(b, 100, 40))
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	for b.Loop() {
		err := book.Append("job-50", stamp, func([]Row) ([]Row, error) { return history(1), nil })
		if err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNotFound(b *testing.B) {
	book, err := Open(filled(b, 5000, 2))
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	for b.Loop() {
		if _, err := book.Rows("jib-2500"); err == nil {
			b.Fatal("found")
		}
	}
}

func BenchmarkCheck(b *testing.B) {
	book, err := Open(filled(b, 1000, 40))
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	for b.Loop() {
		if _, err := book.Check(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/40000, "ns/row")
}
