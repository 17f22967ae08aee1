package book

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// wantFault checks that an error is an *Error that says what is wrong, with the
// book's path, and what to do.
func wantFault(t *testing.T, err error, path, what string) {
	t.Helper()
	var failed *Error
	switch {
	case !errors.As(err, &failed):
		t.Errorf("%v, want *Error: %s", err, what)
	case !strings.Contains(failed.What, what) || failed.Path != path || failed.Try == "":
		t.Errorf("%v (try: %q), want %s, %q and what to do", err, failed.Try, path, what)
	}
}

// sound makes a book of some size and gives its path and bytes.
func sound(t *testing.T) (path string, data []byte) {
	t.Helper()
	b := openNew(t)
	for i := range 20 {
		addJob(t, b, fmt.Sprintf("job-%d", i), history(40)...)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	return b.path, readFile(t, b.path)
}

func writeFile(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// everything opens a book and reads all of it, and gives the first error.
func everything(path string) error {
	b, err := OpenExisting(path)
	if err != nil {
		return err
	}
	defer b.Close()
	jobs, err := b.Jobs()
	if err != nil {
		return err
	}
	for _, job := range jobs {
		if _, err := b.Rows(job); err != nil {
			return err
		}
	}
	_, err = b.Check()
	return err
}

// Every file here is refused, by Open as well, and left as it was.
func TestOpenRefuses(t *testing.T) {
	_, data := sound(t)
	garbled := slices.Clone(data)
	copy(garbled, bytes.Repeat([]byte("not what it was "), 256))
	for _, c := range []struct {
		name string
		data []byte
		what string
	}{
		{"text", []byte("job: orchard-row\ntitle: not a book at all\n"), "it is not a book"},
		{"one byte", []byte("x"), "it is not a book"},
		{"a page of zeros", make([]byte, 4096), "it is not a book"},
		{"garbled first page", garbled, "it is not a book"},
		{"half a page", data[:2048], "it is damaged"},
		{"half the file", data[:len(data)/2], "it is damaged"},
		{"one page short", data[:len(data)-4096], "it is damaged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "putlog.db")
			writeFile(t, path, c.data)
			for _, open := range []func(string) (*Book, error){Open, OpenExisting, OpenOrEmpty} {
				_, err := open(path)
				wantFault(t, err, path, c.what)
			}
			if !bytes.Equal(readFile(t, path), c.data) {
				t.Error("the file changed")
			}
			if list, err := os.ReadDir(filepath.Dir(path)); err != nil || len(list) != 1 {
				t.Errorf("the folder holds %v, %v", list, err)
			}
		})
	}
}

// A page spoilt in the middle is found when it is read, at the latest by Check.
func TestSpoiltPage(t *testing.T) {
	path, data := sound(t)
	for at := 4096; at < len(data); at += 4096 {
		spoilt := slices.Clone(data)
		copy(spoilt[at:at+4096], bytes.Repeat([]byte{0xa5, 0x17, 0xff, 0x00}, 1024))
		writeFile(t, path, spoilt)
		err := everything(path)
		var failed *Error
		var altered *Altered
		if !errors.As(err, &failed) && !errors.As(err, &altered) {
			t.Errorf("page %d: %v, want *Error or *Altered", at/4096+1, err)
		}
	}
}

// A single bit changed in a row's text is found too, with the row's name.
func TestSpoiltBit(t *testing.T) {
	path, _ := sound(t)
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	text := "stands in the file once"
	if err := b.AddJob("last", text, nil, stamp); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	data := readFile(t, path)
	at := bytes.Index(data, []byte(text))
	if n := bytes.Count(data, []byte(text)); n != 1 {
		t.Fatalf("the text stands in the file %d times", n)
	}
	for i := range text {
		spoilt := slices.Clone(data)
		spoilt[at+i] ^= 1 << (i % 8)
		writeFile(t, path, spoilt)
		var altered *Altered
		if err := everything(path); !errors.As(err, &altered) || altered.Job != "last" {
			t.Errorf("letter %d: %v, want the row that is not as it was written", i, err)
		}
	}
}

func TestOpenRefusesPlaces(t *testing.T) {
	folder := t.TempDir()
	plain := filepath.Join(folder, "plain")
	writeFile(t, plain, nil)
	for _, c := range []struct{ path, what string }{
		{"", "no file is named"},
		{folder, "it is a folder"},
		{os.DevNull, "it is not a file"},
		{filepath.Join(plain, "putlog.db"), "not a directory"},
		{filepath.Join(folder, strings.Repeat("x", 300)), "file name too long"},
		{"a\x00b", "invalid argument"},
	} {
		for _, open := range []func(string) (*Book, error){Open, OpenExisting, OpenOrEmpty} {
			_, err := open(c.path)
			wantFault(t, err, c.path, c.what)
		}
	}
}

func TestOpenMissing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none", "putlog.db")
	_, err := OpenExisting(path)
	wantFault(t, err, path, "there is no such file")
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v is not fs.ErrNotExist", err)
	}
	if _, err := os.Stat(filepath.Dir(path)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("something was made: %v", err)
	}
}

// An empty file is what a book cut short to nothing looks like: to read it is
// refused. To begin a new book in it loses nothing.
func TestOpenEmptyFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "putlog.db")
	writeFile(t, path, nil)
	for _, open := range []func(string) (*Book, error){OpenExisting, OpenOrEmpty} {
		_, err := open(path)
		wantFault(t, err, path, "it is empty")
	}
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	addJob(t, b, "orchard-row")
}

// Another program's database is refused without a byte of it changed, be it on
// write-ahead logging and be its schema ever so like ours.
func TestOpenRefusesForeign(t *testing.T) {
	for name, text := range map[string]string{
		"plain":        `CREATE TABLE daybook (seq INTEGER PRIMARY KEY, job TEXT)`,
		"write-ahead":  `PRAGMA journal_mode = WAL; CREATE TABLE orders (id INTEGER)`,
		"marked":       `PRAGMA application_id = 1234; CREATE TABLE orders (id INTEGER)`,
		"same version": `PRAGMA user_version = 1; CREATE TABLE orders (id INTEGER)`,
		"our schema":   firstBook,
		"no table":     `PRAGMA user_version = 7`,
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "other.db")
			db := raw(t, path)
			if _, err := db.Exec(text); err != nil {
				t.Fatal(err)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
			before := readFile(t, path)
			for _, open := range []func(string) (*Book, error){Open, OpenExisting} {
				_, err := open(path)
				wantFault(t, err, path, "another program's database")
			}
			if !bytes.Equal(before, readFile(t, path)) {
				t.Error("the file changed")
			}
		})
	}
}

func TestOpenRefusesNewer(t *testing.T) {
	path, _ := sound(t)
	db := raw(t, path)
	if _, err := db.Exec(`PRAGMA user_version = 9`); err != nil {
		t.Fatal(err)
	}
	before := readFile(t, path)
	for _, open := range []func(string) (*Book, error){Open, OpenExisting} {
		_, err := open(path)
		wantFault(t, err, path, "newer book (version 9)")
	}
	if !bytes.Equal(before, readFile(t, path)) {
		t.Error("the file changed")
	}
}

// A book that was marked as an older one than it is.
func TestOpenRefusesWrongMark(t *testing.T) {
	for version := range len(migrations()) {
		path, _ := sound(t)
		if _, err := raw(t, path).Exec(fmt.Sprintf(`PRAGMA user_version = %d`, version)); err != nil {
			t.Fatal(err)
		}
		before := readFile(t, path)
		for _, open := range []func(string) (*Book, error){Open, OpenExisting} {
			_, err := open(path)
			var altered *Altered
			if !errors.As(err, &altered) || !strings.Contains(altered.What, fmt.Sprint("of version ", version)) {
				t.Errorf("%v, want *Altered", err)
			}
		}
		if !bytes.Equal(before, readFile(t, path)) {
			t.Error("the file changed")
		}
	}
}

// A book that somebody put on write-ahead logging gets its rollback journal
// back, for that leaves one file to copy.
func TestOpenLeavesWriteAhead(t *testing.T) {
	path, _ := sound(t)
	db := raw(t, path)
	if _, err := db.Exec(`PRAGMA journal_mode = WAL`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	s, err := readState(b.db)
	if err != nil || s.journal != "delete" {
		t.Errorf("journal %q, %v", s.journal, err)
	}
	mustCheck(t, b)
}

// Every connection of the pool has the settings, not the first alone.
func TestSettings(t *testing.T) {
	b := openNew(t)
	for range 3 {
		tx, err := b.db.BeginTx(t.Context(), &sql.TxOptions{ReadOnly: true}) // holds a connection
		if err != nil {
			t.Fatal(err)
		}
		defer tx.Rollback()
		for pragma, want := range map[string]int{
			"foreign_keys": 1, "synchronous": 3, "busy_timeout": 7000,
		} {
			var got int
			if err := tx.QueryRow(`PRAGMA ` + pragma).Scan(&got); err != nil || got != want {
				t.Errorf("%s is %d, %v; want %d", pragma, got, err, want)
			}
		}
	}
}

func TestLocked(t *testing.T) {
	path, _ := sound(t)
	b, err := open(path, false, 30*time.Millisecond)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	db := raw(t, path)
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`BEGIN EXCLUSIVE`); err != nil {
		t.Fatal(err)
	}
	const what = "another program is writing to it"
	_, err = b.Jobs()
	wantFault(t, err, path, what)
	_, err = b.Rows("job-1")
	wantFault(t, err, path, what)
	wantFault(t, b.Append("job-1", stamp, give(history(1)...)), path, what)
	wantFault(t, b.AddJob("new", "", nil, stamp), path, what)
	wantFault(t, b.Backup(path+".copy"), path, what)
	_, err = b.Check()
	wantFault(t, err, path, what)
	_, err = open(path, false, 30*time.Millisecond)
	wantFault(t, err, path, what)
	if _, err := db.Exec(`ROLLBACK`); err != nil {
		t.Fatal(err)
	}
	if err := b.Append("job-1", stamp, give(history(1)...)); err != nil {
		t.Error(err)
	}
}

// A full disk, as SQLite reports it: a limit on the file's pages gives the same
// result. Reading still works.
func TestFull(t *testing.T) {
	path, data := sound(t)
	b, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	b.db.SetMaxOpenConns(1)
	if _, err := b.db.Exec(`PRAGMA max_page_count = 1`); err != nil { // cut to what it has
		t.Fatal(err)
	}
	big := Row{On: 1, Kind: "note", Body: strings.Repeat("x", 1<<20)}
	wantFault(t, b.Append("job-1", stamp, give(big)), path, "the disk is full")
	wantFault(t, b.AddJob("new", big.Body, nil, stamp), path, "the disk is full")
	if rows, err := b.Rows("job-1"); err != nil || len(rows) != 41 {
		t.Errorf("%d rows, %v; want 41", len(rows), err)
	}
	if r := mustCheck(t, b); r.Rows != 20*41 {
		t.Errorf("%d rows, want %d", r.Rows, 20*41)
	}
	if !bytes.Equal(data, readFile(t, path)) {
		t.Error("the file changed")
	}
}

// hotCopy copies a book as it lies on the disk while a writer is in the middle of
// two large entries: half of them is in the file, the journal beside it.
func hotCopy(t *testing.T, path string) (hot string) {
	t.Helper()
	db := raw(t, path)
	db.SetMaxOpenConns(1)
	for _, text := range []string{
		`PRAGMA cache_size = 5`, // pages: what does not fit goes to the file at once
		`BEGIN IMMEDIATE`,
		`INSERT INTO daybook SELECT count + 1, 'new', '', 'job', hex(zeroblob(100000)), '', hash,
			zeroblob(32) FROM head`,
		`INSERT INTO daybook SELECT count + 1, 'newer', '', 'job', hex(zeroblob(100000)), '', hash,
			zeroblob(32) FROM head`,
	} {
		if _, err := db.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
	hot = filepath.Join(t.TempDir(), "hot.db")
	writeFile(t, hot, readFile(t, path))
	writeFile(t, hot+journal, readFile(t, path+journal))
	return hot
}

// The power fails while a large entry is half in the file: whoever opens the
// book next finds it as it was before.
func TestPowerCut(t *testing.T) {
	path, _ := sound(t)
	cut := hotCopy(t, path)
	if err := everything(cut); err != nil {
		t.Fatal(err)
	}
	b, err := OpenExisting(cut)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if r := mustCheck(t, b); r.Rows != 20*41 {
		t.Errorf("%d rows, want %d", r.Rows, 20*41)
	}
	var notFound *NotFound
	if _, err := b.Rows("new"); !errors.As(err, &notFound) {
		t.Errorf("half an entry was kept: %v", err)
	}
}

// A later version adds to a book what it needs and leaves the day book alone.
func TestMigrate(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row", history(3)...)
	before, err := b.Rows("orchard-row")
	if err != nil {
		t.Fatal(err)
	}
	later := append(migrations(), `
		CREATE TABLE later (sum BLOB PRIMARY KEY, content BLOB NOT NULL) STRICT`)
	for range 2 { // the second time there is nothing left to do
		if err := b.write(func(tx *sql.Tx) error { return migrate(tx, later) }); err != nil {
			t.Fatal(err)
		}
	}
	s, err := readState(b.db)
	if err != nil || s.version != len(later) || s.application != applicationID {
		t.Errorf("state %+v, %v", s, err)
	}
	if _, err := b.db.Exec(`INSERT INTO later VALUES (x'00', x'01')`); err != nil {
		t.Error(err)
	}
	after, err := b.Rows("orchard-row")
	if err != nil || !slices.Equal(before, after) {
		t.Errorf("rows changed: %v", err)
	}
}

// A migration that fails leaves the book at the version it had.
func TestMigrateFails(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	bad := append(migrations(), `CREATE TABLE later (sum BLOB)`, `CREATE TABLE daybook (x)`)
	err := b.write(func(tx *sql.Tx) error { return migrate(tx, bad) })
	if err == nil {
		t.Fatal("a bad migration went through")
	}
	if s, err := readState(b.db); err != nil || s.version != len(migrations()) {
		t.Errorf("version %d, %v; want %d", s.version, err, len(migrations()))
	}
	mustCheck(t, b)
}
