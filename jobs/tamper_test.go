package jobs_test

import (
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/schedule"
)

var (
	tamperSeed = flag.Uint64("seed", 1, "the seed of the bytes that TestFlippedBytes draws")
	flips      = flag.Int("flips", 60, "how many bytes TestFlippedBytes changes, one in a book")
)

const tamperStamp = "2027-03-10T09:30:00Z"

// tamperBook is a book of two jobs with entries, papers and lists of rates.
func tamperBook(t *testing.T) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "putlog.db")
	b, err := book.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	today, err := schedule.ParseDay("2027-03-10")
	must(err)
	for _, ref := range []string{"shed", "barn"} {
		j, err := jobs.ReadJob("job", []byte("job: "+ref+"\nregion: scotland\nstart: 2027-03-01\nstages: [{stage: dig, takes: 2d}]\n"))
		must(err)
		must(jobs.Add(b, j, tamperStamp))
		for n := range 2 {
			paper := fmt.Sprintf("paper %d of %s", n, ref)
			entries, err := jobs.ReadEntries("entries", fmt.Appendf(nil, "- {on: 2027-03-10, note: {says: seen %d}, evidence: "+
				"[{sha256: %s, name: paper.txt, type: text/plain, size: %d, what: paper}]}\n",
				n, book.SumOf([]byte(paper)), len(paper)))
			must(err)
			from := func(jobs.Evidence) ([]byte, error) { return []byte(paper), nil }
			_, err = jobs.RecordWith(b, ref, entries, from, today, tamperStamp)
			must(err)
			must(b.SaveRates(tamperStamp, func(string) (string, error) { return "list with " + paper, nil }))
		}
	}
	must(b.Close())
	must(prove(path))
	return path
}

func prove(path string) error {
	b, err := book.OpenExisting(path)
	if err != nil {
		return err
	}
	defer b.Close()
	_, err = jobs.Prove(b, nil)
	return err
}

// act is a statement with its values.
type act struct {
	text   string
	values []any
}

// behind runs statements on a copy of a book without triggers or checks, and
// puts those back. The error is that of a statement.
func behind(t *testing.T, from, to string, acts ...act) error {
	t.Helper()
	data, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", to)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	var drop, again string
	for _, row := range table(t, db, `SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'`) {
		drop += fmt.Sprintf("DROP TRIGGER %s;", row[0])
		again += fmt.Sprintf("%s;", row[1])
	}
	acts = slices.Concat([]act{{text: "PRAGMA synchronous = OFF; PRAGMA ignore_check_constraints = ON; BEGIN;" + drop}},
		acts, []act{{text: again + "COMMIT"}})
	for _, a := range acts {
		if _, err := db.Exec(a.text, a.values...); err != nil {
			return err
		}
	}
	return nil
}

// table reads all that a query gives.
func table(t *testing.T, db *sql.DB, query string) (all [][]any) {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		row, at := make([]any, len(columns)), make([]any, len(columns))
		for i := range row {
			at[i] = &row[i]
		}
		if err := rows.Scan(at...); err != nil {
			t.Fatal(err)
		}
		all = append(all, row)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// content is all that is in the tables, however it lies in the file.
type content struct {
	name    string // of the table
	columns []string
	key     string // its whole-number key
	rows    [][]any
}

func contents(t *testing.T, path string) (all []content) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, name := range table(t, db, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY 1`) {
		c := content{name: fmt.Sprint(name[0])}
		for _, info := range table(t, db, "PRAGMA table_info("+c.name+")") {
			c.columns = append(c.columns, fmt.Sprintf("%q", info[1]))
			if fmt.Sprint(info[5]) == "1" {
				c.key = c.columns[len(c.columns)-1]
			}
		}
		c.rows = table(t, db, "SELECT * FROM "+c.name+" ORDER BY "+c.key)
		all = append(all, c)
	}
	return all
}

// another is a value of the same type.
func another(v any) any {
	switch v := v.(type) {
	case int64:
		return v + 1000
	case string:
		return v + "0"
	case []byte:
		b := slices.Clone(v)
		b[len(b)/2] ^= 0x10
		return b
	}
	return "something"
}

// wantFound: the book is not passed, and where rows of the day book are given
// the first that does not fit is one of them.
func wantFound(t *testing.T, path, name string, rows ...int64) {
	t.Helper()
	err := prove(path)
	var altered *book.Altered
	switch {
	case err == nil:
		t.Errorf("%s: not found", name)
	case len(rows) > 0 && (!errors.As(err, &altered) || !slices.Contains(rows, altered.Seq)):
		t.Errorf("%s: %v, want row %v", name, err, rows)
	}
}

// Whatever is changed in whatever row of whatever table, and whatever row is
// taken out, is found; in the day book, with the row that does not fit.
func TestAnyValueAndRow(t *testing.T) {
	path, to := tamperBook(t), filepath.Join(t.TempDir(), "putlog.db")
	tried := 0
	for _, c := range contents(t, path) {
		for _, row := range c.rows {
			key := row[slices.Index(c.columns, c.key)]
			var at []int64
			if c.name == "daybook" {
				at = []int64{key.(int64)}
			}
			where := " WHERE " + c.key + " = ?"
			for i, column := range c.columns {
				name := fmt.Sprintf("%s %v: %s", c.name, key, column)
				if err := behind(t, path, to, act{"UPDATE " + c.name + " SET " + column + " = ?" + where,
					[]any{another(row[i]), key}}); err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				wantFound(t, to, name, at...)
				tried++
			}
			if err := behind(t, path, to, act{"DELETE FROM " + c.name + where, []any{key}}); err != nil {
				t.Fatal(err)
			}
			wantFound(t, to, fmt.Sprintf("%s %v removed", c.name, key), at...)
			tried++
		}
	}
	if tried < 90 {
		t.Errorf("only %d tried", tried)
	}
	t.Logf("%d changes, all found", tried)
}

// A row slipped in at any place, and any two neighbours changed over.
func TestAnyPlace(t *testing.T) {
	path, to := tamperBook(t), filepath.Join(t.TempDir(), "putlog.db")
	for _, c := range contents(t, path) {
		k := slices.Index(c.columns, c.key)
		for place := int64(1); place <= int64(len(c.rows))+1; place++ {
			if !slipIn(t, path, to, c, k, place) {
				t.Errorf("nothing can be slipped into %s at %d", c.name, place)
				continue
			}
			var at []int64
			if c.name == "daybook" { // a copy of the row that was there fits, and that one no more
				at = []int64{place, place + 1}
			}
			wantFound(t, to, fmt.Sprintf("slipped into %s at %d", c.name, place), at...)
		}
		for place := int64(1); place < int64(len(c.rows)); place++ {
			set := "UPDATE " + c.name + " SET " + c.key + " = ? WHERE " + c.key + " = ?"
			if err := behind(t, path, to, act{set, []any{-1, place}}, act{set, []any{place, place + 1}},
				act{set, []any{place + 1, -1}}); err != nil {
				t.Fatal(err)
			}
			var at []int64
			if c.name == "daybook" {
				at = []int64{place}
			}
			wantFound(t, to, fmt.Sprintf("%s %d and %d changed over", c.name, place, place+1), at...)
		}
	}
}

// slipIn puts a row in at a place and moves those after it on: a copy of
// another row, else, where no two may be alike, one with other values.
func slipIn(t *testing.T, path, to string, c content, k int, place int64) bool {
	t.Helper()
	marks := strings.Repeat(", ?", len(c.columns))[2:]
	for i := range 2 * len(c.rows) {
		row := slices.Clone(c.rows[i%len(c.rows)])
		if i >= len(c.rows) {
			for n, v := range row {
				row[n] = another(v)
			}
		}
		row[k] = place
		err := behind(t, path, to,
			act{fmt.Sprintf("UPDATE %s SET %s = -%s - 1 WHERE %s >= ?", c.name, c.key, c.key, c.key), []any{place}},
			act{fmt.Sprintf("UPDATE %s SET %s = -%s WHERE %s < 0", c.name, c.key, c.key, c.key), nil},
			act{"INSERT INTO " + c.name + " VALUES (" + marks + ")", row})
		if err == nil {
			return true
		}
	}
	return false
}

// The marks of the file itself.
func TestAnyMark(t *testing.T) {
	path, to := tamperBook(t), filepath.Join(t.TempDir(), "putlog.db")
	for _, mark := range []string{"application_id = 0", "application_id = 1234", "user_version = 0",
		"user_version = 1", "user_version = 2", "user_version = 99"} {
		if err := behind(t, path, to, act{text: "PRAGMA " + mark}); err != nil {
			t.Fatal(err)
		}
		wantFound(t, to, mark)
	}
}

// A byte of the file changed anywhere is found, or nothing that is read from
// the book is other than it was: it fell where nothing lies.
func TestFlippedBytes(t *testing.T) {
	path, to := tamperBook(t), filepath.Join(t.TempDir(), "putlog.db")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprint(contents(t, path))
	draw := rand.New(rand.NewPCG(*tamperSeed, 0))
	found := 0
	for range *flips {
		at, by := draw.IntN(len(data)), byte(1+draw.IntN(255))
		spoilt := slices.Clone(data)
		spoilt[at] ^= by
		if err := os.WriteFile(to, spoilt, 0o600); err != nil {
			t.Fatal(err)
		}
		if prove(to) != nil {
			found++
		} else if got := fmt.Sprint(contents(t, to)); got != want {
			t.Errorf("byte %d changed by %#x (seed %d): passed, but what is read is another", at, by, *tamperSeed)
		}
	}
	t.Logf("seed %d: %d of %d bytes changed were found, the others lie where nothing is", *tamperSeed, found, *flips)
	if found == 0 {
		t.Error("none was found")
	}
}
