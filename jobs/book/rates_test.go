package book

import (
	"database/sql"
	"encoding/hex"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func giveList(body string) func(string) (string, error) {
	return func(string) (string, error) { return body, nil }
}

func saveRates(t testing.TB, b *Book, bodies ...string) {
	t.Helper()
	for _, body := range bodies {
		if err := b.SaveRates(stamp, giveList(body)); err != nil {
			t.Fatal(err)
		}
	}
}

// The sums were worked out apart from this program, with Python's hashlib and
// struct, from the layout that sheet.hash describes. Should they ever differ, no
// list written before can be checked any more.
func TestRatesHashNeverChanges(t *testing.T) {
	a := sheet{1, `[{"name":"labour-day"}]`, "2027-03-01T08:30:00Z"}.hash(make([]byte, 32))
	b := sheet{2, `[{"name":"½ m³"}]`, "2027-03-09T17:05:09Z"}.hash(a)
	for _, c := range []struct {
		sum  []byte
		want string
	}{
		{a, "9008b5883a7ecd4418eac83acc36c65b467235bc74e4a940254f1d2fb3fac00f"},
		{b, "8425906db4429c6b90ac197a0d375ee206dc062482e2191d1e378cee47e65c06"},
	} {
		if got := hex.EncodeToString(c.sum); got != c.want {
			t.Errorf("sum %s, want %s", got, c.want)
		}
	}
}

// The last list counts, those before it stay; one like the last writes nothing,
// one like an earlier one does.
func TestRatesAgainstSlice(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		path := filepath.Join(t.TempDir(), "putlog.db")
		b, err := Open(path)
		if err != nil {
			rt.Fatal(err)
		}
		defer func() { b.Close() }()
		quick(rt, b)
		lists := []string{""}
		bodies := rapid.OneOf(rapid.SampledFrom([]string{"", "a", "b", "[½]"}), rapid.String())
		rt.Repeat(map[string]func(*rapid.T){
			"save": func(rt *rapid.T) {
				body := bodies.Draw(rt, "body")
				last := lists[len(lists)-1]
				err := b.SaveRates(drawStamp(rt), func(got string) (string, error) {
					if got != last {
						rt.Errorf("handed %q, want %q", got, last)
					}
					return body, nil
				})
				if (err == nil) != (body != "") {
					rt.Fatalf("save %q: %v", body, err)
				}
				if body != "" && body != last {
					lists = append(lists, body)
				}
			},
			"refuse": func(rt *rapid.T) {
				refused := errors.New("refused")
				err := b.SaveRates(stamp, func(string) (string, error) { return "x", refused })
				if err != refused {
					rt.Fatal(err)
				}
			},
			"job": func(rt *rapid.T) { _ = b.AddJob("orchard-row", "", nil, stamp) },
			"reopen": func(rt *rapid.T) {
				if err := b.Close(); err != nil {
					rt.Fatal(err)
				}
				if b, err = OpenExisting(path); err != nil {
					rt.Fatal(err)
				}
				quick(rt, b)
			},
			"": func(rt *rapid.T) {
				got, err := b.Rates()
				if err != nil || got != lists[len(lists)-1] {
					rt.Fatalf("rates %q, %v; want %q", got, err, lists[len(lists)-1])
				}
			},
			"check": func(rt *rapid.T) {
				report, err := b.Check()
				if err != nil || report.Rates != int64(len(lists)-1) {
					rt.Fatalf("check: %+v, %v; want %d lists", report, err, len(lists)-1)
				}
			},
		})
	})
}

func TestRatesWithoutABook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none.db")
	b, err := OpenOrEmpty(path)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := b.Rates(); got != "" || err != nil {
		t.Errorf("%q, %v", got, err)
	}
	wantFault(t, b.SaveRates(stamp, giveList("x")), path, "there is no such file")
	if err := openNew(t).SaveRates("yesterday", giveList("x")); err == nil {
		t.Error("a list without a time was taken")
	}
}

func TestRatesGuards(t *testing.T) {
	b := openNew(t)
	saveRates(t, b, "one", "two", "three")
	const next = `(SELECT hash FROM rates_head), zeroblob(32)`
	db := raw(t, b.path)
	for _, c := range []struct{ text, want string }{
		{`UPDATE rates SET body = 'x' WHERE seq = 2`, changed},
		{`UPDATE OR REPLACE rates SET seq = 3 WHERE seq = 2`, changed},
		{`UPDATE OR IGNORE rates SET written = written`, changed},
		{`DELETE FROM rates WHERE seq = 3`, removed},
		{`DELETE FROM rates`, removed},
		{`INSERT OR REPLACE INTO rates VALUES (2, 'x', '', ` + next + `)`, added},
		{`INSERT OR IGNORE INTO rates VALUES (2, 'x', '', ` + next + `)`, added},
		{`INSERT INTO rates VALUES (5, 'x', '', ` + next + `)`, added},
		{`INSERT INTO rates VALUES (NULL, 'x', '', ` + next + `)`, added},
		{`INSERT INTO rates VALUES (4, 'x', '', zeroblob(32), zeroblob(32))`, added},
		{`INSERT INTO rates VALUES (2, 'x', '', ` + next + `)
			ON CONFLICT (seq) DO UPDATE SET body = 'x'`, added},
		{`INSERT OR REPLACE INTO rates_head VALUES (1, 3, zeroblob(32))`, oneHead},
		{`INSERT INTO rates_head VALUES (2, 3, zeroblob(32))`, oneHead},
		{`DELETE FROM rates_head`, headKept},
		{`UPDATE rates_head SET count = count - 1`, follows},
		{`UPDATE rates_head SET count = count + 1`, follows},
		{`UPDATE OR REPLACE rates_head SET hash = zeroblob(32)`, follows},
		{`UPDATE rates_head SET id = 2`, follows},
	} {
		_, err := db.Exec(c.text)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s\n%v, want %q", c.text, err, c.want)
		}
	}
	if r := mustCheck(t, b); r.Rates != 3 {
		t.Errorf("%d lists, want 3", r.Rates)
	}
}

func TestCheckFindsTamperedRates(t *testing.T) {
	for _, c := range []struct{ name, do, what string }{
		{"a price changed", `UPDATE rates SET body = 'x' WHERE seq = 2`,
			"list 2 of its rates is not as it was written"},
		{"the time of writing", `UPDATE rates SET written = '' WHERE seq = 3`,
			"list 3 of its rates is not as it was written"},
		{"its link", `UPDATE rates SET prev = zeroblob(32) WHERE seq = 2`,
			"list 2 of its rates does not follow the row before it"},
		{"one removed", `DELETE FROM rates WHERE seq = 2`, "list 2 of its rates is missing"},
		{"the first removed", `DELETE FROM rates WHERE seq = 1`, "list 1 of its rates is missing"},
		{"the last removed", `DELETE FROM rates WHERE seq = 3`,
			"list 3 of its rates is missing, and so are any after it"},
		{"all removed", `DELETE FROM rates`,
			"list 1 of its rates is missing, and so are any after it"},
		{"slipped in before", `INSERT INTO rates SELECT 0, body, written, prev, hash FROM rates
			WHERE seq = 1`, "list 0 of its rates does not belong"},
		{"slipped in after", `UPDATE rates_head SET count = 2`,
			"list 3 of its rates was slipped in after the last"},
		{"head changed", `UPDATE rates_head SET hash = zeroblob(32)`,
			"list 3 of its rates is not the one that was last written"},
		{"head removed", `DELETE FROM rates_head`,
			"of its rates, the head of its chain is missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := openNew(t)
			addJob(t, b, "orchard-row", history(2)...)
			saveRates(t, b, "one", "two", "three")
			mustCheck(t, b)
			unguarded(t, b.path, c.do)
			_, err := b.Check()
			var altered *Altered
			if !errors.As(err, &altered) || altered.What != c.what {
				t.Errorf("%v, want %q", err, c.what)
			}
		})
	}
	empty := openNew(t)
	unguarded(t, empty.path, `UPDATE rates_head SET hash = CAST(x'01' || zeroblob(31) AS BLOB)`)
	if _, err := empty.Check(); err == nil || !strings.Contains(err.Error(), "was changed") {
		t.Errorf("head of no list: %v", err)
	}
	b := openNew(t)
	saveRates(t, b, "one")
	if _, err := raw(t, b.path).Exec(`DROP TRIGGER rates_unchanged`); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Check(); err == nil {
		t.Error("a guard of the rates was taken off and not missed")
	}
}

// A book of the first version gains the rates and keeps its day book.
func TestRatesComeToAnOldBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "old.db")
	db := raw(t, path)
	tx, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	if err := migrate(tx, migrations()[:1]); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	old := &Book{path: path, db: db}
	addJob(t, old, "orchard-row", history(3)...)
	if _, err := old.Rates(); err == nil {
		t.Fatal("a book of the first version has rates already")
	}
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	saveRates(t, b, "one")
	if r := mustCheck(t, b); r.Rows != 4 || r.Rates != 1 {
		t.Errorf("%+v", r)
	}
	if err := b.write(func(tx *sql.Tx) error { return migrate(tx, migrations()) }); err != nil {
		t.Error(err)
	}
}
