package book

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func fileOf(content []byte) File {
	sum := sha256.Sum256(content)
	return File{hex.EncodeToString(sum[:]), int64(len(content))}
}

// carrying is evidence that can be read.
func carrying(contents ...[]byte) Evidence {
	var e Evidence
	for _, c := range contents {
		e.Files = append(e.Files, fileOf(c))
	}
	e.Read = func(f File) ([]byte, error) {
		for _, c := range contents {
			if fileOf(c) == f {
				return c, nil
			}
		}
		return nil, errors.New("asked for what was not named")
	}
	return e
}

func appendWith(t testing.TB, b *Book, contents ...[]byte) {
	t.Helper()
	if err := b.AppendWith("orchard-row", stamp, carrying(contents...), give(history(1)...)); err != nil {
		t.Fatal(err)
	}
}

// What is stored with rows comes back byte for byte; the same file is stored
// once and not asked for again.
func TestEvidenceKept(t *testing.T) {
	b := openNew(t)
	photo, paper := bytes.Repeat([]byte{0xff, 0x00, 0x0a}, 100_000), []byte("a delivery note")
	err := b.AddJobWith("orchard-row", "job: orchard-row", history(1), carrying(photo), stamp)
	if err != nil {
		t.Fatal(err)
	}
	again := carrying(photo, paper, paper)
	read := again.Read
	asked := 0
	again.Read = func(f File) ([]byte, error) {
		if asked++; f == fileOf(photo) {
			t.Error("asked for a file that the book has")
		}
		return read(f)
	}
	if err := b.AppendWith("orchard-row", stamp, again, give(history(1)...)); err != nil || asked != 1 {
		t.Fatalf("asked for %d files, %v", asked, err)
	}
	again.Read = nil // the book has them all
	if err := b.AppendWith("orchard-row", stamp, again, give(history(1)...)); err != nil {
		t.Fatal(err)
	}
	for _, want := range [][]byte{photo, paper} {
		f := fileOf(want)
		got, err := b.Evidence(f.SHA256)
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%d bytes came back, %v; want %d", len(got), err, len(want))
		}
		if size, known, err := b.Size(f.SHA256); size != f.Size || !known || err != nil {
			t.Errorf("size %d, %v, %v; want %d", size, known, err, f.Size)
		}
	}
	files, err := b.Files()
	if err != nil || !slices.Equal(files, []File{fileOf(photo), fileOf(paper)}) {
		t.Errorf("files %v, %v", files, err)
	}
	if r := mustCheck(t, b); r.Files != 2 || r.Bytes != int64(len(photo)+len(paper)) || r.Rows != 4 {
		t.Errorf("report %+v, want 2 files and 4 rows", r)
	}
}

func TestEvidenceNotKept(t *testing.T) {
	b := openNew(t)
	empty, err := OpenOrEmpty(filepath.Join(t.TempDir(), "none.db"))
	if err != nil {
		t.Fatal(err)
	}
	f := fileOf([]byte("never stored"))
	for _, b := range []*Book{b, empty} {
		var notKept *NotKept
		if _, err := b.Evidence(f.SHA256); !errors.As(err, &notKept) || notKept.SHA256 != f.SHA256 {
			t.Errorf("%v, want *NotKept", err)
		}
		if _, known, err := b.Size(f.SHA256); known || err != nil {
			t.Errorf("known %v, %v", known, err)
		}
		if files, err := b.Files(); len(files) != 0 || err != nil {
			t.Errorf("files %v, %v", files, err)
		}
	}
}

// Where one file can't be had or is another, neither rows nor files are written.
func TestEvidenceRefused(t *testing.T) {
	b := openNew(t)
	good, other := []byte("good"), []byte("othr")
	addJob(t, b, "orchard-row")
	appendWith(t, b, other)
	before := readFile(t, b.path)
	refused := errors.New("the disk of the photo is gone")
	var notKept *NotKept
	for _, c := range []struct {
		name string
		file File
		read func(File) ([]byte, error)
		is   func(error) bool
	}{
		{"none to read from", fileOf([]byte("lost")), nil,
			func(err error) bool { return errors.As(err, &notKept) }},
		{"reading fails", fileOf([]byte("lost")), func(File) ([]byte, error) { return nil, refused },
			func(err error) bool { return err == refused }},
		{"another content", fileOf([]byte("lost")), func(File) ([]byte, error) { return other, nil },
			func(err error) bool { return strings.Contains(err.Error(), "is not the file") }},
		{"another size", File{fileOf([]byte("lost")).SHA256, 5},
			func(File) ([]byte, error) { return []byte("lost"), nil },
			func(err error) bool { return strings.Contains(err.Error(), "is not the file") }},
		{"empty", fileOf(nil), func(File) ([]byte, error) { return nil, nil },
			func(err error) bool { return strings.Contains(err.Error(), "is not the file") }},
		{"known, of another size", File{fileOf(other).SHA256, 5}, nil,
			func(err error) bool { return strings.Contains(err.Error(), "has 4 bytes, not 5") }},
	} {
		e := Evidence{Files: []File{fileOf(good), c.file}, Read: c.read}
		if c.read != nil {
			e.Read = func(f File) ([]byte, error) {
				if f == fileOf(good) {
					return good, nil
				}
				return c.read(f)
			}
		} else {
			e.Files = e.Files[1:]
		}
		err := b.AppendWith("orchard-row", stamp, e, give(history(1)...))
		if err == nil || !c.is(err) {
			t.Errorf("%s: %v", c.name, err)
		}
		if err := b.AddJobWith("mill-lane", "", history(1), e, stamp); err == nil || !c.is(err) {
			t.Errorf("%s, with a new job: %v", c.name, err)
		}
	}
	unasked := Evidence{Files: []File{fileOf(good)}, Read: func(File) ([]byte, error) {
		t.Error("asked for a file of rows that are refused")
		return good, nil
	}}
	err := b.AppendWith("orchard-row", stamp, unasked, func([]Row) ([]Row, error) { return nil, refused })
	if err != refused {
		t.Errorf("%v, want the function's own error", err)
	}
	if !bytes.Equal(before, readFile(t, b.path)) {
		t.Error("the file changed")
	}
}

// A full disk keeps rows and files out together.
func TestEvidenceFull(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	b.db.SetMaxOpenConns(1)
	if _, err := b.db.Exec(`PRAGMA max_page_count = 1`); err != nil { // cut to what it has
		t.Fatal(err)
	}
	big := bytes.Repeat([]byte("photo "), 1<<18)
	err := b.AppendWith("orchard-row", stamp, carrying(big), give(history(1)...))
	wantFault(t, err, b.path, "the disk is full")
	if r := mustCheck(t, b); r.Rows != 1 || r.Files != 0 {
		t.Errorf("report %+v, want the job alone", r)
	}
}

const (
	fileAdded   = "a file is only ever added after the last, and once"
	fileChanged = "a file is never changed"
	fileRemoved = "a file is never removed"
)

func TestEvidenceGuards(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	appendWith(t, b, []byte("one"), []byte("two"))
	one, three := fileOf([]byte("one")).SHA256, fileOf([]byte("three")).SHA256
	db := raw(t, b.path)
	for _, c := range []struct{ text, want string }{
		{`UPDATE evidence SET bytes = x'00'`, fileChanged},
		{`UPDATE OR REPLACE evidence SET id = 2 WHERE id = 1`, fileChanged},
		{`UPDATE OR IGNORE evidence SET size = size`, fileChanged},
		{`DELETE FROM evidence WHERE id = 2`, fileRemoved},
		{`DELETE FROM evidence`, fileRemoved},
		{`INSERT OR REPLACE INTO evidence VALUES (1, '` + three + `', 1, x'00')`, fileAdded},
		{`REPLACE INTO evidence VALUES (3, '` + one + `', 1, x'00')`, fileAdded},
		{`INSERT INTO evidence VALUES (4, '` + three + `', 1, x'00')`, fileAdded},
		{`INSERT INTO evidence VALUES (NULL, '` + three + `', 1, x'00')`, fileAdded},
		{`INSERT INTO evidence VALUES (3, '` + three + `', 2, x'00')`, "CHECK constraint failed"},
		{`INSERT INTO evidence VALUES (3, '` + three + `', 0, x'')`, "CHECK constraint failed"},
		{`INSERT INTO evidence VALUES (3, '` + strings.ToUpper(three) + `', 1, x'00')`,
			"CHECK constraint failed"},
		{`INSERT INTO evidence VALUES (3, '` + three + `', 1, 'text')`, "cannot store TEXT"},
	} {
		_, err := db.Exec(c.text)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s\n%v, want %q", c.text, err, c.want)
		}
	}
	if r := mustCheck(t, b); r.Files != 2 {
		t.Errorf("%d files, want 2", r.Files)
	}
}

// Files 1 to 3 under attack, the guards off and on again.
func TestCheckFindsTamperedEvidence(t *testing.T) {
	one := fileOf([]byte("one")).SHA256
	for _, c := range []struct{ name, do, what string }{
		{"one byte", `UPDATE evidence SET bytes = CAST('onE' AS BLOB) WHERE id = 1`,
			"the file with the SHA-256 " + one + " is not as it was stored"},
		{"another file under its sum",
			`UPDATE evidence SET bytes = CAST('another' AS BLOB), size = 7 WHERE id = 1`,
			"the file with the SHA-256 " + one + " is not as it was stored"},
		{"another sum", `UPDATE evidence SET sha256 = '` + strings.Repeat("0", 64) + `' WHERE id = 1`,
			"the file with the SHA-256 " + strings.Repeat("0", 64) + " is not as it was stored"},
		{"removed", `DELETE FROM evidence WHERE id = 2`, "file 2 of its evidence is missing"},
		{"the first removed", `DELETE FROM evidence WHERE id = 1`, "file 1 of its evidence is missing"},
		{"slipped in before", `INSERT INTO evidence VALUES
			(0, '` + strings.Repeat("0", 64) + `', 1, x'00')`, "file 0 of its evidence does not belong"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := openNew(t)
			addJob(t, b, "orchard-row")
			appendWith(t, b, []byte("one"), []byte("two"), []byte("three"))
			mustCheck(t, b)
			unguarded(t, b.path, c.do)
			_, err := b.Check()
			var altered *Altered
			if !errors.As(err, &altered) || altered.What != c.what || altered.Path != b.path {
				t.Errorf("%v, want %q", err, c.what)
			}
		})
	}
}

// A file that was changed is not handed out either.
func TestTamperedEvidenceStays(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	appendWith(t, b, []byte("one"))
	unguarded(t, b.path, `UPDATE evidence SET bytes = CAST('onE' AS BLOB)`)
	var altered *Altered
	if _, err := b.Evidence(fileOf([]byte("one")).SHA256); !errors.As(err, &altered) {
		t.Errorf("%v, want *Altered", err)
	}
}

// A single bit of a stored file, changed on the disk, is found.
func TestSpoiltEvidence(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	text := []byte("stands in the file once and nowhere else")
	appendWith(t, b, text)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	data := readFile(t, b.path)
	at := bytes.Index(data, text)
	if n := bytes.Count(data, text); n != 1 {
		t.Fatalf("the text stands in the file %d times", n)
	}
	for i := range text {
		spoilt := slices.Clone(data)
		spoilt[at+i] ^= 1 << (i % 8)
		writeFile(t, b.path, spoilt)
		var altered *Altered
		if err := everything(b.path); !errors.As(err, &altered) {
			t.Errorf("letter %d: %v, want *Altered", i, err)
		}
	}
}

// Whatever is appended, the files are those of a plain map, each once.
func TestEvidenceAgainstMap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b, err := Open(filepath.Join(t.TempDir(), "putlog.db"))
		if err != nil {
			rt.Fatal(err)
		}
		defer b.Close()
		quick(rt, b)
		if err := b.AddJob("orchard-row", "", nil, stamp); err != nil {
			rt.Fatal(err)
		}
		want := map[string][]byte{}
		draw := rapid.SliceOfN(rapid.SliceOfN(rapid.ByteRange('a', 'b'), 1, 3), 0, 4)
		for i := range rapid.IntRange(1, 3).Draw(rt, "appends") {
			contents := draw.Draw(rt, fmt.Sprint("contents ", i))
			if err := b.AppendWith("orchard-row", stamp, carrying(contents...), give(history(1)...)); err != nil {
				rt.Fatal(err)
			}
			for _, c := range contents {
				want[fileOf(c).SHA256] = c
			}
		}
		total := int64(0)
		for sum, content := range want {
			total += int64(len(content))
			if got, err := b.Evidence(sum); err != nil || !bytes.Equal(got, content) {
				rt.Fatalf("%s: %q, %v; want %q", sum, got, err, content)
			}
		}
		r, err := b.Check()
		if err != nil || r.Files != int64(len(want)) || r.Bytes != total {
			rt.Fatalf("report %+v, %v; want %d files of %d bytes", r, err, len(want), total)
		}
	})
}

// A copy holds the evidence too.
func TestBackupHoldsEvidence(t *testing.T) {
	b := openNew(t)
	addJob(t, b, "orchard-row")
	photo := bytes.Repeat([]byte("photo "), 1<<16)
	appendWith(t, b, photo)
	path := filepath.Join(t.TempDir(), "backup.db")
	if err := b.Backup(path); err != nil {
		t.Fatal(err)
	}
	copied, err := OpenExisting(path)
	if err != nil {
		t.Fatal(err)
	}
	defer copied.Close()
	if got, want := mustCheck(t, copied), mustCheck(t, b); got != want || got.Files != 1 {
		t.Errorf("the copy holds %+v, the book %+v", got, want)
	}
	if got, err := copied.Evidence(fileOf(photo).SHA256); err != nil || !bytes.Equal(got, photo) {
		t.Errorf("%d bytes, %v; want %d", len(got), err, len(photo))
	}
}

// A book of an earlier version takes evidence once it is opened, its day book
// unchanged.
func TestEvidenceInOlderBook(t *testing.T) {
	for version := 1; version < len(migrations()); version++ {
		path := filepath.Join(t.TempDir(), "putlog.db")
		if err := makeFile(path); err != nil {
			t.Fatal(err)
		}
		old := &Book{path: path, db: raw(t, path)}
		err := old.write(func(tx *sql.Tx) error { return migrate(tx, migrations()[:version]) })
		if err != nil {
			t.Fatal(err)
		}
		if err := old.db.Close(); err != nil {
			t.Fatal(err)
		}
		b, err := OpenExisting(path)
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		addJob(t, b, "orchard-row", history(2)...)
		appendWith(t, b, []byte("one"))
		if r := mustCheck(t, b); r.Rows != 4 || r.Files != 1 {
			t.Errorf("from version %d: report %+v", version, r)
		}
	}
}

// Reading a day book takes no longer for the photos that go with it.
func BenchmarkRowsWithEvidence(b *testing.B) {
	for _, size := range []int{0, 10 << 20} {
		b.Run(fmt.Sprintf("photo=%d", size), func(b *testing.B) {
			book := openNew(b)
			addJob(b, book, "orchard-row", history(40)...)
			if size > 0 {
				appendWith(b, book, bytes.Repeat([]byte{0xff}, size))
			}
			for b.Loop() {
				if _, err := book.Rows("orchard-row"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
