package jobs

import (
	"database/sql"
	"errors"
	"strings"
	"testing"

	"putlog/jobs/book"
)

// tampered runs statements on a book behind its guards and puts those back.
func tampered(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
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
	for _, text := range append(append([]string{"PRAGMA synchronous = OFF"}, statements...), again...) {
		if _, err := db.Exec(text); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
	}
}

// carryingBook is a book with an entry that carries two files.
func carryingBook(t *testing.T) *book.Book {
	t.Helper()
	b := shedBook(t)
	folder := t.TempDir()
	photo, note := put(t, folder, "site.jpg", trench(t)), put(t, folder, "note.txt", []byte("10 bags\n"))
	if err := started(b, []string{photo}, []string{note}); err != nil {
		t.Fatal(err)
	}
	if r, err := Prove(b, nil); err != nil || r.Files != 2 || r.Jobs != 1 || r.Rows != 2 {
		t.Fatalf("report %+v, %v", r, err)
	}
	return b
}

func TestProveFindsEvidence(t *testing.T) {
	note := book.SumOf([]byte("10 bags\n"))
	for _, c := range []struct{ name, do, want string }{
		{"changed", `UPDATE evidence SET bytes = CAST('12 bags' || char(10) AS BLOB) WHERE id = 2`,
			"the file with the SHA-256 " + note + " is not as it was stored"},
		{"the last removed", `DELETE FROM evidence WHERE id = 2`,
			"row 2 (job shed, started 2027-03-08) names the paper note.txt (SHA-256 " + note + "), which is missing"},
		{"one slipped in", `INSERT INTO evidence VALUES (3,
			'e3b98a4da31a127d4bde6e43033f66ba274cab0eb7eb1c70ec41402bf6273dd8', 1, x'74')`,
			"no entry names the file with the SHA-256 e3b98a4da31a127d"}, // printf t | sha256sum
	} {
		t.Run(c.name, func(t *testing.T) {
			b := carryingBook(t)
			tampered(t, b.Path(), c.do)
			_, err := Prove(b, nil)
			var altered *book.Altered
			if !errors.As(err, &altered) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
}

// Rows that are whole and make no sense: as a faulty or hostile program would
// write them.
func TestProveFindsNonsense(t *testing.T) {
	const job = `{"job":"shed","region":"scotland","start":"2027-03-01","stages":[{"stage":"dig","takes":"1d"}]}`
	row := func(kind, body string) []book.Row {
		return []book.Row{{On: march(8), Kind: kind, Body: body}}
	}
	for _, c := range []struct {
		ref, job string
		rows     []book.Row
		want     string
	}{
		{"shed", job, row("started", `{"on":"2027-03-08","started":{"stage":"dig"}}`), ""},
		{"shed", "{", nil, "job shed in the book: "},
		{"barn", job, nil, "the first row of job barn holds another: shed"},
		{"shed", strings.Replace(job, "1d", "0d", 1), nil, "shed, stages[0].takes: 0d is too short"},
		{"shed", job, row("started", `{"on":"2027-03-08","started":{"stage":"pour"}}`),
			`job shed, entry 1: there is no stage "pour"`},
		{"shed", job, row("started", `{"on":"2027-03-08","begun":{"stage":"dig"}}`), "the entry records nothing"},
		{"shed", job, row("started", `{"on":"2027-03-09","started":{"stage":"dig"}}`),
			"entry 1 of job shed is filed as another (started 2027-03-08)"},
		{"shed", job, row("finished", `{"on":"2027-03-08","started":{"stage":"dig"}}`),
			"entry 1 of job shed is filed as another (finished 2027-03-08)"},
	} {
		b, err := book.Open(t.TempDir() + "/putlog.db")
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		if err := b.AddJob(c.ref, c.job, c.rows, writtenAt); err != nil {
			t.Fatal(err)
		}
		_, err = Prove(b, nil)
		var broken *book.Error
		switch {
		case c.want == "" && err != nil:
			t.Errorf("sound, but %v", err)
		case c.want == "":
		case !errors.As(err, &broken) || !strings.Contains(err.Error(), c.want) || broken.Try == "":
			t.Errorf("%v, want %q and what to do", err, c.want)
		case strings.Contains(err.Error(), "\n"):
			t.Errorf("more than the first fault: %v", err)
		}
	}
}
