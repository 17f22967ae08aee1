package book

import (
	"database/sql"
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// twoHashes are those of the first two rows of a book.
func twoHashes() (a, b []byte) {
	first := link{1, "orchard-row", "", "job", "job: orchard-row\n", "2027-03-01T08:30:00Z"}
	second := link{2, "orchard-row", "2027-03-09", "started", `{stage: probe, note: "10 m³"}`,
		"2027-03-09T17:05:09Z"}
	a = first.hash(make([]byte, 32))
	return a, second.hash(a)
}

// The sums were worked out apart from this program, with Python's hashlib and
// struct, from the layout that link.hash describes. Should they ever differ, no
// book written before can be checked any more.
func TestHashNeverChanges(t *testing.T) {
	a, b := twoHashes()
	for _, c := range []struct {
		sum  []byte
		want string
	}{
		{a, "d8fc9bd928856671e0f288d8971bdddfe4fcfdb871f88e8dd32491f38f5ee075"},
		{b, "a5e5bb230a38da7824a77fbab523bee466a58973fb4a7bc4ed58ddf67ef89f2a"},
	} {
		if got := hex.EncodeToString(c.sum); got != c.want {
			t.Errorf("sum %s, want %s", got, c.want)
		}
	}
}

// Two rows that differ in anything, if only in where one text ends and the next
// begins, have different sums.
func TestHashTellsApart(t *testing.T) {
	short := rapid.StringMatching(`[ab]{0,2}`)
	draw := rapid.Custom(func(t *rapid.T) link {
		return link{rapid.Int64Range(1, 2).Draw(t, "seq"),
			short.Draw(t, "job"), short.Draw(t, "on"), short.Draw(t, "kind"),
			short.Draw(t, "body"), short.Draw(t, "written")}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw.Draw(t, "a"), draw.Draw(t, "b")
		prev := make([]byte, 32)
		same := string(a.hash(prev)) == string(b.hash(prev))
		if same != (a == b) {
			t.Errorf("%+v and %+v: same sum %v", a, b, same)
		}
	})
}

// raw opens the book's file as any other program would.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

const (
	added    = "a row is only ever added after the last"
	changed  = "a row is never changed"
	removed  = "a row is never removed"
	oneHead  = "there is one head"
	headKept = "the head is never removed"
	follows  = "the head follows the last row"
)

// No statement changes, removes or replaces what is written; not the ways that
// slip past a trigger on deleting either.
func TestGuards(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row", history(3)...)
	addJob(t, b, "mill-lane")
	const next = `(SELECT hash FROM head), zeroblob(32)`
	db := raw(t, b.path)
	for _, c := range []struct{ text, want string }{
		{`UPDATE daybook SET body = 'x' WHERE seq = 2`, changed},
		{`UPDATE OR REPLACE daybook SET seq = 3 WHERE seq = 2`, changed},
		{`UPDATE OR IGNORE daybook SET written = written`, changed},
		{`DELETE FROM daybook WHERE seq = 4`, removed},
		{`DELETE FROM daybook`, removed},
		{`INSERT OR REPLACE INTO daybook VALUES
			(2, 'mill-lane', '2027-03-01', 'started', '', '', ` + next + `)`, added},
		{`REPLACE INTO daybook VALUES (6, 'mill-lane', '', 'job', '', '', ` + next + `)`, added},
		{`INSERT OR IGNORE INTO daybook VALUES (2, 'x', '', 'job', '', '', ` + next + `)`, added},
		{`INSERT INTO daybook VALUES (7, 'x', '', 'job', '', '', ` + next + `)`, added},
		{`INSERT INTO daybook VALUES (NULL, 'x', '', 'job', '', '', ` + next + `)`, added},
		{`INSERT INTO daybook VALUES (-1, 'x', '', 'job', '', '', ` + next + `)`, added},
		{`INSERT INTO daybook VALUES
			(6, 'x', '', 'job', '', '', zeroblob(32), zeroblob(32))`, added},
		{`INSERT INTO daybook VALUES
			(6, 'x', '2027-03-01', 'started', '', '', ` + next + `)`, added},
		{`INSERT INTO daybook VALUES (2, 'x', '', 'job', '', '', ` + next + `)
			ON CONFLICT (seq) DO UPDATE SET body = 'x'`, added},
		{`INSERT OR REPLACE INTO head VALUES (1, 3, zeroblob(32))`, oneHead},
		{`INSERT INTO head VALUES (2, 3, zeroblob(32))`, oneHead},
		{`DELETE FROM head`, headKept},
		{`UPDATE head SET count = count - 1`, follows},
		{`UPDATE head SET count = count + 1`, follows},
		{`UPDATE OR REPLACE head SET hash = zeroblob(32)`, follows},
		{`UPDATE head SET id = 2`, follows},
		{`UPDATE head SET count = 4, hash = (SELECT hash FROM daybook WHERE seq = 4)`, follows},
	} {
		_, err := db.Exec(c.text)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s\n%v, want %q", c.text, err, c.want)
		}
	}
	if r := mustCheck(t, b); r.Rows != 5 {
		t.Errorf("%d rows, want 5", r.Rows)
	}
}

// unguarded takes the triggers off, runs the statements and puts them back, as
// someone might who means to hide what he did.
func unguarded(t *testing.T, path string, statements ...string) {
	t.Helper()
	db := raw(t, path)
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`PRAGMA synchronous = OFF`); err != nil { // this connection only
		t.Fatal(err)
	}
	rows, err := db.Query(`SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'`)
	if err != nil {
		t.Fatal(err)
	}
	var again []string
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			t.Fatal(err)
		}
		statements = append([]string{"DROP TRIGGER " + name}, statements...)
		again = append(again, text)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		t.Fatal(err)
	}
	for _, text := range append(statements, again...) {
		if _, err := db.Exec(text); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// The book under attack: row 1 is orchard-row's first, 2 to 5 its entries, 6
// mill-lane's first, 7 and 8 its entries.
func TestCheckFindsTampering(t *testing.T) {
	for _, c := range []struct {
		name string
		do   []string
		seq  int64
		job  string
		what string
	}{
		{"body changed", []string{`UPDATE daybook SET body = 'x' WHERE seq = 3`},
			3, "orchard-row", "is not as it was written"},
		{"one letter of the last row", []string{
			`UPDATE daybook SET kind = 'Progress' WHERE seq = 8`},
			8, "mill-lane", "is not as it was written"},
		{"date changed", []string{`UPDATE daybook SET "on" = '2000-01-09' WHERE seq = 3`},
			3, "orchard-row", "is not as it was written"},
		{"time of writing changed", []string{
			`UPDATE daybook SET written = '2027-02-01T08:30:00Z' WHERE seq = 2`},
			2, "orchard-row", "is not as it was written"},
		{"given to another job", []string{`UPDATE daybook SET job = 'mill-lane' WHERE seq = 4`},
			4, "mill-lane", "is not as it was written"},
		{"its hash changed", []string{`UPDATE daybook SET hash = zeroblob(32) WHERE seq = 4`},
			4, "orchard-row", "is not as it was written"},
		{"its link changed", []string{`UPDATE daybook SET prev = zeroblob(32) WHERE seq = 4`},
			4, "orchard-row", "does not follow the row before it"},
		{"removed", []string{`DELETE FROM daybook WHERE seq = 3`}, 3, "", "is missing"},
		{"the first removed", []string{`DELETE FROM daybook WHERE seq = 1`}, 1, "", "is missing"},
		{"removed and closed up", []string{`DELETE FROM daybook WHERE seq = 3`,
			`UPDATE daybook SET seq = seq - 1 WHERE seq > 3`},
			3, "orchard-row", "does not follow the row before it"},
		{"the tail removed", []string{`DELETE FROM daybook WHERE seq > 6`},
			7, "", "is missing, and so are any after it"},
		{"everything removed", []string{`DELETE FROM daybook`},
			1, "", "is missing, and so are any after it"},
		{"two bodies changed over", []string{
			`UPDATE daybook SET body = (SELECT body FROM daybook WHERE seq = 5 - d.seq)
			FROM (SELECT seq FROM daybook WHERE seq IN (2, 3)) d WHERE daybook.seq = d.seq`},
			2, "orchard-row", "is not as it was written"},
		{"two rows changed over", []string{`UPDATE daybook SET seq = -2 WHERE seq = 2`,
			`UPDATE daybook SET seq = 2 WHERE seq = 3`,
			`UPDATE daybook SET seq = 3 WHERE seq = -2`},
			2, "orchard-row", "does not follow the row before it"},
		{"slipped in before", []string{`INSERT INTO daybook
			SELECT 0, job, "on", kind, body, written, prev, hash FROM daybook WHERE seq = 2`},
			0, "orchard-row", "does not belong"},
		{"slipped in between", []string{`UPDATE daybook SET seq = -seq WHERE seq > 3`,
			`UPDATE daybook SET seq = 1 - seq WHERE seq < 0`,
			`INSERT INTO daybook SELECT 4, job, "on", kind, body, written, hash, zeroblob(32)
			FROM daybook WHERE seq = 3`},
			4, "orchard-row", "is not as it was written"},
		{"slipped in after", []string{`INSERT INTO daybook
			SELECT 9, job, "on", kind, body, written, hash, zeroblob(32)
			FROM daybook WHERE seq = 8`},
			9, "mill-lane", "is not as it was written"},
		{"head changed", []string{`UPDATE head SET hash = zeroblob(32)`},
			8, "", "is not the one that was last written"},
		{"head behind", []string{`UPDATE head SET count = 6`},
			7, "", "was slipped in after the last"},
		{"head removed", []string{`DELETE FROM head`}, 0, "", "the head of its chain is missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := openNew(t)
			addJob(t, b, "orchard-row", history(4)...)
			addJob(t, b, "mill-lane", history(2)...)
			mustCheck(t, b)
			unguarded(t, b.path, c.do...)
			_, err := b.Check()
			var altered *Altered
			if !errors.As(err, &altered) {
				t.Fatalf("%v, want *Altered", err)
			}
			if altered.Seq != c.seq || altered.Job != c.job || altered.What != c.what {
				t.Errorf("%q (%+v), want row %d of %q: %s", err, altered, c.seq, c.job, c.what)
			}
			if altered.Do() == "" || altered.Path != b.path {
				t.Errorf("no path or nothing to do in %+v", altered)
			}
		})
	}
}

// A row put at the end with a sum of its own but without moving the head.
func TestCheckFindsForgedTail(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row", history(2)...)
	db := raw(t, b.path)
	var prev []byte
	if err := db.QueryRow(`SELECT hash FROM head`).Scan(&prev); err != nil {
		t.Fatal(err)
	}
	forged := link{4, "orchard-row", "2027-03-09", "payment", "{amount: 1}", stamp}
	if _, err := db.Exec(`DROP TRIGGER daybook_moves_head`); err != nil {
		t.Fatal(err)
	}
	_, err := db.Exec(`INSERT INTO daybook VALUES (?, ?, ?, ?, ?, ?, ?, ?)`, forged.seq, forged.job,
		forged.on, forged.kind, forged.body, forged.written, prev, forged.hash(prev))
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.Check()
	var altered *Altered
	if !errors.As(err, &altered) || altered.Seq != 4 {
		t.Errorf("%v, want row 4", err)
	}
}

// Rows that are whole behind guards that are not.
func TestCheckFindsGuardsOff(t *testing.T) {
	for _, text := range []string{
		`DROP TRIGGER daybook_unchanged`,
		`DROP TRIGGER head_follows`,
		`DROP INDEX daybook_jobs`,
		`CREATE TRIGGER more AFTER INSERT ON head BEGIN SELECT 1; END`,
		`CREATE TABLE more (x)`,
		`ALTER TABLE daybook ADD COLUMN more TEXT`,
	} {
		b := openNew(t)
		addJob(t, b, "orchard-row", history(2)...)
		if _, err := raw(t, b.path).Exec(text); err != nil {
			t.Fatal(err)
		}
		_, err := b.Check()
		var altered *Altered
		if !errors.As(err, &altered) || altered.Seq != 0 {
			t.Errorf("%s: %v, want *Altered without a row", text, err)
		}
	}
}

// What SQLite itself adds to a file is nobody's tampering.
func TestCheckAllowsAnalyze(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row", history(2)...)
	if _, err := raw(t, b.path).Exec(`ANALYZE; VACUUM`); err != nil {
		t.Fatal(err)
	}
	if r := mustCheck(t, b); r.Rows != 3 {
		t.Errorf("%d rows, want 3", r.Rows)
	}
}

// A book whose tail was taken off, by one who put the guards back, takes no
// further row: it would bury what is missing.
func TestAppendToLostTail(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row", history(4)...)
	unguarded(t, b.path, `DELETE FROM daybook WHERE seq = 5`)
	err := b.Append("orchard-row", stamp, give(history(1)...))
	var failed *Error
	if !errors.As(err, &failed) || failed.Try != "run putlog check" {
		t.Errorf("%v, want *Error that sends to putlog check", err)
	}
}
