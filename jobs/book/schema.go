package book

import (
	"database/sql"
	"fmt"
)

// applicationID marks a SQLite file as a book: "putl" in ASCII.
const applicationID = 0x7075746c

// migrations gives the SQL texts that make a book of each version from the one
// before; user_version counts those that a book has been through. A text that
// has been released is never changed.
func migrations() []string { return []string{firstBook, ratesOfBuilder, evidenceOfEntries} }

// firstBook: the day book and the head of its chain. Days and times are ISO
// text. The single row of head repeats the count and the last hash, so that a
// tail taken off the day book leaves a trace.
//
// An INSERT OR REPLACE slips past a trigger on DELETE: so the trigger on INSERT
// refuses every row that would stand in another's place.
const firstBook = `
CREATE TABLE daybook (
	seq     INTEGER PRIMARY KEY,
	job     TEXT NOT NULL CHECK (job <> ''),
	"on"    TEXT NOT NULL CHECK (("on" = '') = (kind = 'job')),
	kind    TEXT NOT NULL CHECK (kind <> ''),
	body    TEXT NOT NULL,
	written TEXT NOT NULL,
	prev    BLOB NOT NULL CHECK (length(prev) = 32),
	hash    BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;
CREATE INDEX daybook_of_job ON daybook (job, seq);
CREATE UNIQUE INDEX daybook_jobs ON daybook (job) WHERE kind = 'job';

CREATE TABLE head (
	id    INTEGER PRIMARY KEY CHECK (id = 1),
	count INTEGER NOT NULL,
	hash  BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;
INSERT INTO head VALUES (1, 0, zeroblob(32));

CREATE TRIGGER daybook_in_order BEFORE INSERT ON daybook
WHEN NEW.seq IS NOT (SELECT count + 1 FROM head)
	OR NEW.prev IS NOT (SELECT hash FROM head)
	OR NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM daybook)
	OR (NEW.kind = 'job') = EXISTS (SELECT 1 FROM daybook WHERE job = NEW.job AND kind = 'job')
BEGIN SELECT RAISE(ABORT, 'a row is only ever added after the last'); END;
CREATE TRIGGER daybook_moves_head AFTER INSERT ON daybook
BEGIN UPDATE head SET count = NEW.seq, hash = NEW.hash; END;
CREATE TRIGGER daybook_unchanged BEFORE UPDATE ON daybook
BEGIN SELECT RAISE(ABORT, 'a row is never changed'); END;
CREATE TRIGGER daybook_kept BEFORE DELETE ON daybook
BEGIN SELECT RAISE(ABORT, 'a row is never removed'); END;

CREATE TRIGGER head_alone BEFORE INSERT ON head
BEGIN SELECT RAISE(ABORT, 'there is one head'); END;
CREATE TRIGGER head_kept BEFORE DELETE ON head
BEGIN SELECT RAISE(ABORT, 'the head is never removed'); END;
CREATE TRIGGER head_follows BEFORE UPDATE ON head
WHEN NEW.id IS NOT 1 OR NEW.count IS NOT OLD.count + 1
	OR NEW.hash IS NOT (SELECT hash FROM daybook WHERE seq = NEW.count)
BEGIN SELECT RAISE(ABORT, 'the head follows the last row'); END;
`

// migrate brings a book to the version that list ends at.
func migrate(tx *sql.Tx, list []string) error {
	var version int
	if err := tx.QueryRow(`PRAGMA user_version`).Scan(&version); err != nil {
		return err
	}
	for i := version; i < len(list); i++ { // none, where another program was first
		text := fmt.Sprintf("%s; PRAGMA application_id = %d; PRAGMA user_version = %d;",
			list[i], applicationID, i+1)
		if _, err := tx.Exec(text); err != nil {
			return fmt.Errorf("bring the book to version %d: %w", i+1, err)
		}
	}
	return nil
}

// schemaOf lists what a book is built of, guards and all, in a fixed order;
// what SQLite adds for itself is left out.
func schemaOf(from reader) ([]string, error) {
	rows, err := from.Query(`
		SELECT type || ' ' || name || ': ' || coalesce(sql, '')
		FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%' ORDER BY 1`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []string
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		list = append(list, text)
	}
	return list, rows.Err()
}
