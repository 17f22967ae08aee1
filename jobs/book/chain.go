package book

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"slices"
)

// link is a row as it is stored and hashed.
type link struct {
	seq                          int64
	job, on, kind, body, written string
}

// hash chains the row to the one before. What is summed begins with a mark of
// the layout, then the hash before, the place, and each text after its length,
// so that no two rows read alike; numbers are eight bytes, the highest first.
func (l link) hash(prev []byte) []byte {
	sum := sha256.New()
	var text []byte
	text = append(text, "putlog row 1\n"...)
	text = append(text, prev...)
	text = binary.BigEndian.AppendUint64(text, uint64(l.seq))
	for _, field := range [...]string{l.job, l.on, l.kind, l.body, l.written} {
		text = binary.BigEndian.AppendUint64(text, uint64(len(field)))
		text = append(text, field...)
	}
	sum.Write(text)
	return sum.Sum(nil)
}

// Report is what Check found in a book that is whole.
type Report struct {
	Rows int64  // rows in the book
	Jobs int    // jobs among them
	Head string // the last row's hash in hexadecimal; zeros in an empty book
	Seal string // stands for all rows up to the last: see Against

	Rates     int64  // lists of rates that were saved, one after another
	RatesHead string // the hash of the last, as Head

	Files int64 // kept as evidence
	Bytes int64 // in them all
}

// Check proves the book whole: every row is as it was written and follows the
// one before, none is missing, the head agrees with the last, every file of the
// evidence is as it was stored, the guards against change are all in place and
// SQLite finds its file sound. Otherwise the error is an *Altered, which names
// the first row that does not fit, or an *Error.
func (b *Book) Check() (Report, error) {
	if b.db == nil {
		hash := make([]byte, sha256.Size)
		zeros := hex.EncodeToString(hash)
		return Report{Head: zeros, Seal: sealOf(0, hash), RatesHead: zeros}, nil
	}
	report, err := b.check()
	return report, b.fault("check the book", err)
}

// check reads the book in one transaction, as it stood at one moment.
func (b *Book) check() (Report, error) {
	tx, err := b.db.BeginTx(context.Background(), &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return Report{}, err
	}
	defer tx.Rollback() // nothing was written
	report, err := b.walk(tx)
	if err != nil {
		return Report{}, err
	}
	if err := b.walkRates(tx, &report); err != nil {
		return Report{}, err
	}
	if err := b.walkEvidence(tx, &report); err != nil {
		return Report{}, err
	}
	if err := b.checkGuards(tx); err != nil {
		return Report{}, err
	}
	var found string
	if err := tx.QueryRow(`PRAGMA integrity_check(1)`).Scan(&found); err != nil {
		return Report{}, err
	}
	if found != "ok" {
		return Report{}, errors.Join(errDamaged, errors.New(found))
	}
	return report, nil
}

// walk follows the chain from the first row to the head.
func (b *Book) walk(tx *sql.Tx) (Report, error) {
	var report Report
	rows, err := tx.Query(`
		SELECT seq, job, "on", kind, body, written, prev, hash
		FROM daybook ORDER BY seq`)
	if err != nil {
		return report, err
	}
	defer rows.Close()
	last := make([]byte, sha256.Size)
	for rows.Next() {
		var l link
		var prev, hash sql.RawBytes // read before the next row
		err := rows.Scan(&l.seq, &l.job, &l.on, &l.kind, &l.body, &l.written, &prev, &hash)
		if err != nil {
			return report, err
		}
		report.Rows++
		if what := misfit(l.seq, report.Rows, last, prev, hash, l.hash(prev)); what != "" {
			return report, b.altered(l, report.Rows, what)
		}
		if l.kind == JobKind {
			report.Jobs++
		}
		last = append(last[:0], hash...)
	}
	if err := rows.Err(); err != nil {
		return report, err
	}
	report.Head, report.Seal = hex.EncodeToString(last), sealOf(report.Rows, last)
	return report, b.checkHead(tx, report.Rows, last)
}

// misfit says what is wrong with the row that stands at a place; "" if nothing.
// sum is the hash that its texts and the one before come to.
func misfit(seq, place int64, last, prev, hash, sum []byte) string {
	switch {
	case seq > place:
		return "is missing"
	case seq < place:
		return "does not belong"
	case !bytes.Equal(prev, last):
		return "does not follow the row before it"
	case !bytes.Equal(hash, sum):
		return "is not as it was written"
	}
	return ""
}

// altered names the row that does not fit; of one that is missing only the
// place is known.
func (b *Book) altered(l link, place int64, what string) *Altered {
	a := &Altered{Path: b.path, Seq: place, What: what}
	if l.seq <= place {
		a.Seq, a.Job, a.On, a.Kind = l.seq, l.job, l.on, l.kind
	}
	return a
}

// checkHead holds the head against the last row.
func (b *Book) checkHead(tx *sql.Tx, count int64, last []byte) error {
	place, what, err := headMisfit(tx, `SELECT count, hash FROM head`, count, last)
	if err != nil || what == "" {
		return err
	}
	return &Altered{Path: b.path, Seq: place, What: what}
}

// headMisfit holds a head, which a query gives, against the last of so many
// rows: the place that does not fit, 0 for the head itself, and what is wrong;
// "" if nothing.
func headMisfit(
	tx *sql.Tx, head string, count int64, last []byte,
) (place int64, what string, err error) {
	var rows int64
	var hash []byte
	err = tx.QueryRow(head).Scan(&rows, &hash)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, "the head of its chain is missing", nil
	case err != nil:
		return 0, "", err
	case rows > count:
		return count + 1, "is missing, and so are any after it", nil
	case rows < count:
		return rows + 1, "was slipped in after the last", nil
	case !bytes.Equal(hash, last) && count == 0:
		return 0, "the head of its chain was changed", nil
	case !bytes.Equal(hash, last):
		return count, "is not the one that was last written", nil
	}
	return 0, "", nil
}

// checkGuards holds the tables and triggers against those of a new book, which
// it makes in memory.
func (b *Book) checkGuards(tx *sql.Tx) error {
	got, err := schemaOf(tx)
	if err != nil {
		return err
	}
	want, err := newSchema()
	if err != nil {
		return err
	}
	if !slices.Equal(got, want) {
		return &Altered{Path: b.path, What: "its guards against change are not as they were made"}
	}
	return nil
}
