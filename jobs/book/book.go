package book

import (
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"putlog/jobs/words"
	"putlog/schedule"
)

// Stamp is the layout of Row.Written: a date and time in UTC, to the second.
const Stamp = "2006-01-02T15:04:05Z"

// JobKind is the kind of a job's first row, of which it has exactly one.
const JobKind = "job"

// Row is one entry in the book.
type Row struct {
	Seq     int64        // its place in the whole book, from 1
	Job     string       // the job's reference
	On      schedule.Day // the date of the entry; not set in a job's first row
	Kind    string       // the kind of entry; JobKind for a job's first row
	Body    string       // the entry itself, in the caller's canonical text
	Written string       // when it was written down, as Stamp has it
}

// Book is an open book. It may be used by several goroutines at once, and by
// several programs; a writer waits up to seven seconds for another.
type Book struct {
	path string
	db   *sql.DB       // nil where no book has been made yet: see OpenOrEmpty
	wait time.Duration // how long it waits for another program
}

// Path gives the name of the file, as the book was opened with it.
func (b *Book) Path() string { return b.path }

// Close lets go of the file.
func (b *Book) Close() error {
	if b.db == nil {
		return nil
	}
	return b.fault("close the book", b.db.Close())
}

// Jobs gives the references of all jobs in the order in which they came.
func (b *Book) Jobs() ([]string, error) {
	if b.db == nil {
		return nil, nil
	}
	jobs, err := readJobs(b.db)
	return jobs, b.fault("read the book", err)
}

// Rows gives the rows of one job in order, its first row included. Where there
// is no such job the error is a *NotFound.
func (b *Book) Rows(job string) ([]Row, error) {
	if b.db == nil {
		return nil, &NotFound{Job: job}
	}
	rows, err := b.findJob(b.db, job)
	return rows, b.fault("read the book", err)
}

// AddJob writes a new job with its first row's text and any entries that come
// with it. Of rows only On, Kind and Body are read. Where the book has the job
// already the error is an *Exists.
func (b *Book) AddJob(job, body string, rows []Row, written string) error {
	return b.AddJobWith(job, body, rows, Evidence{}, written)
}

// AddJobWith is AddJob for rows that name evidence, which is stored with them.
func (b *Book) AddJobWith(job, body string, rows []Row, e Evidence, written string) error {
	if b.db == nil {
		return missing(b.path)
	}
	if job == "" {
		return errors.New("a job needs a reference")
	}
	if err := checkRows(job, rows, written); err != nil {
		return err
	}
	return b.write(func(tx *sql.Tx) error {
		var known bool
		err := tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM daybook WHERE job = ?)`, job).Scan(&known)
		if err != nil {
			return err
		}
		if known {
			return &Exists{Job: job}
		}
		if err := e.keep(tx); err != nil {
			return err
		}
		first := Row{Kind: JobKind, Body: body}
		return appendRows(tx, job, slices.Concat([]Row{first}, rows), written)
	})
}

// Append hands the rows of a job to a function and writes the rows that it
// gives back, of which only On, Kind and Body are read. From the reading to the
// writing no one else can write. The function must not write to the book. An
// error of its own comes back as it is, and then nothing has been written.
func (b *Book) Append(
	job, written string, rows func(existing []Row) ([]Row, error),
) error {
	return b.AppendWith(job, written, Evidence{}, rows)
}

// AppendWith is Append for rows that name evidence, which is stored with them.
func (b *Book) AppendWith(
	job, written string, e Evidence, rows func(existing []Row) ([]Row, error),
) error {
	if b.db == nil {
		return &NotFound{Job: job}
	}
	return b.write(func(tx *sql.Tx) error {
		existing, err := b.findJob(tx, job)
		if err != nil {
			return err
		}
		added, err := rows(existing)
		if err == nil {
			err = checkRows(job, added, written)
		}
		if err != nil {
			return callers{err}
		}
		if err := e.keep(tx); err != nil {
			return err
		}
		return appendRows(tx, job, added, written)
	})
}

// checkRows refuses what a caller should never send.
func checkRows(job string, rows []Row, written string) error {
	if _, err := time.Parse(Stamp, written); err != nil {
		return fmt.Errorf("%q is not a time as %s", written, Stamp)
	}
	for _, r := range rows {
		if r.Kind == "" || r.Kind == JobKind || !r.On.Valid() || r.Job != "" && r.Job != job {
			return fmt.Errorf("an entry of job %q, kind %q, dated %q does not belong to job %q",
				r.Job, r.Kind, r.On, job)
		}
	}
	return nil
}

// callers is an error that the caller's own function gave: it is handed back as
// it is.
type callers struct{ error }

// write runs work in one transaction that holds the book from its beginning.
func (b *Book) write(work func(*sql.Tx) error) error {
	const op = "write to the book"
	tx, end, err := b.begin()
	if err != nil {
		return b.fault(op, err)
	}
	defer end() // after a commit it undoes nothing
	if err := work(tx); err != nil {
		if own, ok := err.(callers); ok {
			return own.error
		}
		return b.fault(op, err)
	}
	return b.fault(op, tx.Commit())
}

// begin opens a transaction that holds the book, when it is this program's turn,
// and gives what ends it. SQLite lets a program that has waited a while ask ten
// times a second and no more, and then one of many that write at once may never
// find the book free: so it is made to ask afresh all the time.
func (b *Book) begin() (tx *sql.Tx, end func(), err error) {
	const asking = 40 * time.Millisecond
	ctx := context.Background()
	conn, err := b.db.Conn(ctx)
	if err != nil {
		return nil, nil, err
	}
	patience := func(d time.Duration) error {
		_, err := conn.ExecContext(ctx, fmt.Sprintf("PRAGMA busy_timeout = %d", d.Milliseconds()))
		return err
	}
	err = patience(min(asking, b.wait))
	for asked := time.Duration(0); err == nil && tx == nil; asked += asking {
		tx, err = conn.BeginTx(ctx, nil)
		if isBusy(err) && asked < b.wait {
			err = nil
		}
	}
	err = cmp.Or(err, patience(b.wait)) // for the readers that a commit waits for
	end = func() {
		if tx != nil {
			_ = tx.Rollback()
		}
		_ = conn.Close()
	}
	if err != nil {
		end()
		return nil, nil, err
	}
	return tx, end, nil
}

// reader is the book or a transaction in it.
type reader interface {
	Query(query string, args ...any) (*sql.Rows, error)
}

func readJobs(from reader) ([]string, error) {
	rows, err := from.Query(`SELECT job FROM daybook WHERE kind = 'job' ORDER BY seq`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var jobs []string
	for rows.Next() {
		var job string
		if err := rows.Scan(&job); err != nil {
			return nil, err
		}
		jobs = append(jobs, job)
	}
	return jobs, rows.Err()
}

// findJob gives a job's rows, or a *NotFound.
func (b *Book) findJob(from reader, job string) ([]Row, error) {
	rows, err := b.readRows(from, job)
	if err != nil || len(rows) > 0 {
		return rows, err
	}
	jobs, err := readJobs(from)
	if err != nil {
		return nil, err
	}
	return nil, &NotFound{Job: job, Near: words.Near(job, jobs)}
}

// readRows reads a job's rows. One that does not come to its own hash is an
// *Altered: nothing is worked out from what was changed or has rotted.
func (b *Book) readRows(from reader, job string) ([]Row, error) {
	rows, err := from.Query(`
		SELECT seq, job, "on", kind, body, written, prev, hash
		FROM daybook WHERE job = ? ORDER BY seq`, job)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []Row
	for rows.Next() {
		var l link
		var prev, hash sql.RawBytes // read before the next row
		err := rows.Scan(&l.seq, &l.job, &l.on, &l.kind, &l.body, &l.written, &prev, &hash)
		if err != nil {
			return nil, err
		}
		if !bytes.Equal(hash, l.hash(prev)) {
			return nil, b.altered(l, l.seq, "is not as it was written")
		}
		r := Row{Seq: l.seq, Job: l.job, Kind: l.kind, Body: l.body, Written: l.written}
		if l.on != "" {
			if r.On, err = schedule.ParseDay(l.on); err != nil {
				return nil, fmt.Errorf("row %d: %w", r.Seq, err)
			}
		}
		list = append(list, r)
	}
	return list, rows.Err()
}

// appendRows chains rows to the end of the book. The head moves by trigger.
func appendRows(tx *sql.Tx, job string, rows []Row, written string) error {
	var seq int64
	var prev []byte
	err := tx.QueryRow(`SELECT count, hash FROM head`).Scan(&seq, &prev)
	if err != nil {
		return err
	}
	insert, err := tx.Prepare(`INSERT INTO daybook VALUES (?, ?, ?, ?, ?, ?, ?, ?)`)
	if err != nil {
		return err
	}
	defer insert.Close()
	for _, r := range rows {
		seq++
		l := link{seq, job, r.On.String(), r.Kind, r.Body, written}
		hash := l.hash(prev)
		_, err := insert.Exec(l.seq, l.job, l.on, l.kind, l.body, l.written, prev, hash)
		if err != nil {
			return err
		}
		prev = hash
	}
	return nil
}
