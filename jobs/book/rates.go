package book

import (
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"time"
)

// ratesOfBuilder: the builder's usual rates, which belong to no job. Each row is
// a whole list, and the last one counts; those before it stay to be proved. The
// lists have a chain and a head of their own, guarded like the day book's.
const ratesOfBuilder = `
CREATE TABLE rates (
	seq     INTEGER PRIMARY KEY,
	body    TEXT NOT NULL CHECK (body <> ''),
	written TEXT NOT NULL,
	prev    BLOB NOT NULL CHECK (length(prev) = 32),
	hash    BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;
CREATE TABLE rates_head (
	id    INTEGER PRIMARY KEY CHECK (id = 1),
	count INTEGER NOT NULL,
	hash  BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;
INSERT INTO rates_head VALUES (1, 0, zeroblob(32));

CREATE TRIGGER rates_in_order BEFORE INSERT ON rates
WHEN NEW.seq IS NOT (SELECT count + 1 FROM rates_head)
	OR NEW.prev IS NOT (SELECT hash FROM rates_head)
	OR NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM rates)
BEGIN SELECT RAISE(ABORT, 'a row is only ever added after the last'); END;
CREATE TRIGGER rates_move_head AFTER INSERT ON rates
BEGIN UPDATE rates_head SET count = NEW.seq, hash = NEW.hash; END;
CREATE TRIGGER rates_unchanged BEFORE UPDATE ON rates
BEGIN SELECT RAISE(ABORT, 'a row is never changed'); END;
CREATE TRIGGER rates_kept BEFORE DELETE ON rates
BEGIN SELECT RAISE(ABORT, 'a row is never removed'); END;

CREATE TRIGGER rates_head_alone BEFORE INSERT ON rates_head
BEGIN SELECT RAISE(ABORT, 'there is one head'); END;
CREATE TRIGGER rates_head_kept BEFORE DELETE ON rates_head
BEGIN SELECT RAISE(ABORT, 'the head is never removed'); END;
CREATE TRIGGER rates_head_follows BEFORE UPDATE ON rates_head
WHEN NEW.id IS NOT 1 OR NEW.count IS NOT OLD.count + 1
	OR NEW.hash IS NOT (SELECT hash FROM rates WHERE seq = NEW.count)
BEGIN SELECT RAISE(ABORT, 'the head follows the last row'); END;
`

// sheet is a list of rates as it is stored and hashed.
type sheet struct {
	seq           int64
	body, written string
}

// hash chains the list to the one before, laid out as link.hash lays out a row
// of the day book, with a mark of its own.
func (s sheet) hash(prev []byte) []byte {
	text := append([]byte("putlog rates 1\n"), prev...)
	text = binary.BigEndian.AppendUint64(text, uint64(s.seq))
	for _, field := range [...]string{s.body, s.written} {
		text = binary.BigEndian.AppendUint64(text, uint64(len(field)))
		text = append(text, field...)
	}
	sum := sha256.Sum256(text)
	return sum[:]
}

// Rates gives the list of rates that was saved last, in the caller's text; ""
// where none has been saved.
func (b *Book) Rates() (string, error) {
	if b.db == nil {
		return "", nil
	}
	body, err := lastRates(b.db)
	return body, b.fault("read the book", err)
}

// SaveRates hands the list that was saved last to a function and writes the one
// that it gives back, unless that is the same. From the reading to the writing
// no one else can write. The function must not write to the book. An error of
// its own comes back as it is, and then nothing has been written.
func (b *Book) SaveRates(written string, list func(last string) (string, error)) error {
	if b.db == nil {
		return missing(b.path)
	}
	if _, err := time.Parse(Stamp, written); err != nil {
		return fmt.Errorf("%q is not a time as %s", written, Stamp)
	}
	var refused error
	err := b.write(func(tx *sql.Tx) error {
		last, err := lastRates(tx)
		if err != nil {
			return err
		}
		body, err := list(last)
		if err == nil && body == "" {
			err = errors.New("a list of rates needs a text")
		}
		if err != nil {
			refused = err
			return err
		}
		if body == last {
			return nil
		}
		return appendRates(tx, body, written)
	})
	if refused != nil {
		return refused
	}
	return err
}

func lastRates(from reader) (string, error) {
	rows, err := from.Query(`SELECT body FROM rates ORDER BY seq DESC LIMIT 1`)
	if err != nil {
		return "", err
	}
	defer rows.Close()
	var body string
	for rows.Next() {
		if err := rows.Scan(&body); err != nil {
			return "", err
		}
	}
	return body, rows.Err()
}

// appendRates chains a list to the end. The head moves by trigger.
func appendRates(tx *sql.Tx, body, written string) error {
	var count int64
	var prev []byte
	err := tx.QueryRow(`SELECT count, hash FROM rates_head`).Scan(&count, &prev)
	if err != nil {
		return err
	}
	s := sheet{count + 1, body, written}
	_, err = tx.Exec(`INSERT INTO rates VALUES (?, ?, ?, ?, ?)`,
		s.seq, s.body, s.written, prev, s.hash(prev))
	return err
}

// walkRates follows the chain of the lists of rates from the first to the head.
func (b *Book) walkRates(tx *sql.Tx, report *Report) error {
	rows, err := tx.Query(`SELECT seq, body, written, prev, hash FROM rates ORDER BY seq`)
	if err != nil {
		return err
	}
	defer rows.Close()
	last := make([]byte, sha256.Size)
	for rows.Next() {
		var s sheet
		var prev, hash sql.RawBytes // read before the next row
		if err := rows.Scan(&s.seq, &s.body, &s.written, &prev, &hash); err != nil {
			return err
		}
		report.Rates++
		if what := misfit(s.seq, report.Rates, last, prev, hash, s.hash(prev)); what != "" {
			place := min(s.seq, report.Rates)
			return &Altered{Path: b.path, What: fmt.Sprintf("list %d of its rates %s", place, what)}
		}
		last = append(last[:0], hash...)
	}
	if err := rows.Err(); err != nil {
		return err
	}
	report.RatesHead = hex.EncodeToString(last)
	place, what, err := headMisfit(tx, `SELECT count, hash FROM rates_head`, report.Rates, last)
	switch {
	case err != nil || what == "":
		return err
	case place == 0:
		return &Altered{Path: b.path, What: "of its rates, " + what}
	}
	return &Altered{Path: b.path, What: fmt.Sprintf("list %d of its rates %s", place, what)}
}
