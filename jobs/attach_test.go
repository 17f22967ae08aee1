package jobs

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"putlog/jobs/book"
	"putlog/jobs/media"
	"putlog/jobs/words"
	"putlog/schedule"
)

const shedFile = `
job: shed
region: england-and-wales
start: 2027-03-01
stages:
  - {stage: dig, takes: 2d}
  - {stage: fill, takes: 1d, after: [dig]}
`

const writtenAt = "2027-03-08T17:05:00Z"

func put(t testing.TB, folder, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(folder, name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// shedBook is a book with one job that has no entries.
func shedBook(t testing.TB) *book.Book {
	t.Helper()
	b, err := book.Open(filepath.Join(t.TempDir(), "putlog.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	j, err := ReadJob("shed.yaml", []byte(shedFile))
	if err != nil {
		t.Fatal(err)
	}
	if err := Add(b, j, writtenAt); err != nil {
		t.Fatal(err)
	}
	return b
}

func march(n int) schedule.Day {
	d, _ := schedule.NewDay(2027, 3, n)
	return d
}

// trench is a photo that was taken on 8 March 2027.
func trench(t testing.TB) []byte {
	t.Helper()
	content, err := os.ReadFile("../testdata/photos/trench.jpg")
	if err != nil {
		t.Fatal(err)
	}
	return content
}

// started records a start that carries files.
func started(b *book.Book, photos, papers []string) error {
	carried, from, err := Attach(photos, papers, true)
	if err != nil {
		return err
	}
	_, err = RecordWith(b, "shed", []Entry{{On: march(8), Event: &Started{Stage: "dig"}, Evidence: carried}},
		from, march(8), writtenAt)
	return err
}

func TestAttach(t *testing.T) {
	folder := t.TempDir()
	picture := trench(t)
	photo := put(t, folder, "site?.jpg", picture)
	paper := put(t, folder, "note.txt", []byte("10 bags\n"))
	got, from, err := Attach([]string{photo}, []string{paper}, true)
	if err != nil {
		t.Fatal(err)
	}
	want := []Evidence{
		{Digest(book.SumOf(picture)), "site-.jpg", media.JPEG, FileSize(len(picture)), march(8), Photo, true},
		{Digest(book.SumOf([]byte("10 bags\n"))), "note.txt", media.PlainText, 8, 0, Paper, true},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if content, err := from(got[0]); err != nil || !bytes.Equal(content, picture) {
		t.Errorf("%d bytes, %v", len(content), err)
	}
}

func TestAttachRefuses(t *testing.T) {
	folder := t.TempDir()
	sparse := func(name string, size int64) string {
		path := put(t, folder, name, nil)
		if err := os.Truncate(path, size); err != nil {
			t.Fatal(err)
		}
		return path
	}
	text := put(t, folder, "note.txt", []byte("10 bags\n"))
	var many []string
	for i := range MaxEvidence + 1 {
		many = append(many, put(t, folder, strings.Repeat("x", i+1), []byte{0, byte(i)}))
	}
	if _, _, err := Attach(many[1:], nil, false); err != nil {
		t.Errorf("%d files: %v", MaxEvidence, err)
	}
	if _, _, err := Attach([]string{sparse("at most", MaxEvidenceBytes)}, nil, false); err != nil {
		t.Errorf("the largest file: %v", err)
	}
	for _, c := range []struct {
		photos, papers []string
		want           string
	}{
		{many, nil, "21 files are more than the 20 that one entry may carry"},
		{many[:11], many[11:], "21 files are more than"},
		{[]string{sparse("large.jpg", MaxEvidenceBytes+1)}, nil,
			"large.jpg is too large: 20971521 bytes, where a file may have 20971520 (20 MB)"},
		{[]string{sparse("huge.jpg", 1<<40)}, nil, "huge.jpg is too large: 1099511627776 bytes"},
		{[]string{sparse("empty.jpg", 0)}, nil, "empty.jpg is empty"},
		{[]string{text}, nil, "note.txt is no photo but text/plain"},
		{nil, []string{folder}, "is not a file"},
		{nil, []string{os.DevNull}, "is not a file"},
		{nil, []string{filepath.Join(folder, "none.pdf")}, "none.pdf: no such file or directory"},
		{nil, []string{text, text}, "note.txt and note.txt are the same file"},
		{many[:1], many[:1], "are the same file"},
	} {
		_, _, err := Attach(c.photos, c.papers, false)
		if err == nil || !strings.Contains(err.Error(), c.want) || words.Advice(err) == "" {
			t.Errorf("%v, want %q and what to do", err, c.want)
		}
	}
}

// Recorded files are in the book with their entry; a refused entry leaves
// neither behind.
func TestRecordWithEvidence(t *testing.T) {
	b := shedBook(t)
	folder := t.TempDir()
	photo := put(t, folder, "site.jpg", trench(t))
	carried, from, err := Attach([]string{photo}, nil, false)
	if err != nil {
		t.Fatal(err)
	}
	refusedBy := func(e Entry, from Source, want string) {
		t.Helper()
		_, err := RecordWith(b, "shed", []Entry{e}, from, march(8), writtenAt)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
		if files, err := b.Files(); len(files) != 0 || err != nil {
			t.Errorf("files were kept: %v, %v", files, err)
		}
	}
	refusedBy(Entry{On: march(8), Event: &Started{Stage: "digg"}, Evidence: carried}, from, `no stage "digg"`)
	refusedBy(Entry{On: march(8), Event: &Started{Stage: "dig"}, Evidence: carried}, nil,
		"the entry of Mon 8 Mar 2027 names site.jpg, which is not in the book")
	put(t, folder, "site.jpg", []byte("\xff\xd8\xff another"))
	refusedBy(Entry{On: march(8), Event: &Started{Stage: "dig"}, Evidence: carried}, from,
		"site.jpg is not the file that the entry names")
	put(t, folder, "site.jpg", trench(t))
	done, err := RecordWith(b, "shed", []Entry{{On: march(8), Event: &Started{Stage: "dig"}, Evidence: carried}},
		from, march(8), writtenAt)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(carried, done.Lines[0].Evidence); diff != "" {
		t.Error(diff)
	}
	j, err := Open(b, "shed")
	if err != nil {
		t.Fatal(err)
	}
	got := j.Evidence(march(8))
	if len(got) != 1 || !cmp.Equal(got[0].Evidence, carried[0]) {
		t.Fatalf("evidence %+v", got)
	}
	if content, err := got[0].Content(b); err != nil || !bytes.Equal(content, trench(t)) {
		t.Errorf("%d bytes, %v", len(content), err)
	}
	if r, err := Prove(b, nil); err != nil || r.Files != 1 {
		t.Errorf("report %+v, %v", r, err)
	}
}

func TestTakenLater(t *testing.T) {
	b := shedBook(t)
	photo := put(t, t.TempDir(), "site.jpg", trench(t))
	carried, from, err := Attach([]string{photo}, nil, false)
	if err != nil {
		t.Fatal(err)
	}
	done, err := RecordWith(b, "shed", []Entry{{On: march(5), Event: &Started{Stage: "dig"}, Evidence: carried}},
		from, march(8), writtenAt)
	const want = "site.jpg was taken on Mon 8 Mar 2027, after the day of the entry, Fri 5 Mar 2027"
	if err != nil || len(done.Warnings) != 1 || done.Warnings[0] != want {
		t.Errorf("%v, %v", done.Warnings, err)
	}
}

// A job travels with its evidence: written to a folder, read from there into
// another book, and whole there.
func TestEvidenceTravels(t *testing.T) {
	b := shedBook(t)
	source := t.TempDir()
	photo, note := put(t, source, "site.jpg", trench(t)), put(t, source, "note.txt", []byte("10 bags\n"))
	if err := started(b, []string{photo}, []string{note}); err != nil {
		t.Fatal(err)
	}
	j, err := Open(b, "shed")
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(t.TempDir(), "new", "folder")
	writes := 0
	write := func(path string, content []byte) error {
		writes++
		return os.WriteFile(path, content, 0o600)
	}
	names, err := j.ExportEvidence(b, folder, write)
	want := []string{book.SumOf(trench(t))[:16] + "-site.jpg", book.SumOf([]byte("10 bags\n"))[:16] + "-note.txt"}
	if err != nil || !cmp.Equal(names, want) || writes != 2 {
		t.Fatalf("%d written: %q, %v; want %q", writes, names, err, want)
	}
	if _, err := j.ExportEvidence(b, folder, write); err != nil || writes != 2 {
		t.Errorf("a second export wrote %d files, %v", writes-2, err)
	}
	from, err := FromFolder(folder)
	if err != nil {
		t.Fatal(err)
	}
	to, err := book.Open(filepath.Join(t.TempDir(), "other.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	again, err := ReadJob("shed.yaml", j.File())
	if err != nil {
		t.Fatal(err)
	}
	const missing = "the entry of Mon 8 Mar 2027 names site.jpg, which is not in the book"
	if err := Add(to, again, writtenAt); err == nil || err.Error() != missing {
		t.Errorf("without the files: %v", err)
	}
	if err := AddWith(to, again, from, writtenAt); err != nil {
		t.Fatal(err)
	}
	if r, err := Prove(to, nil); err != nil || r.Files != 2 {
		t.Errorf("report %+v, %v", r, err)
	}
	again.Ref = "second" // now the book has them
	if err := Add(to, again, writtenAt); err != nil {
		t.Error(err)
	}
}

func TestEvidenceDoesNotTravel(t *testing.T) {
	b := shedBook(t)
	source := t.TempDir()
	photo, note := put(t, source, "site.jpg", trench(t)), put(t, source, "note.txt", []byte("10 bags\n"))
	if err := started(b, []string{photo}, []string{note}); err != nil {
		t.Fatal(err)
	}
	j, err := Open(b, "shed")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	write := func(path string, content []byte) error { return os.WriteFile(path, content, 0o600) }
	names, err := j.ExportEvidence(b, folder, write)
	if err != nil {
		t.Fatal(err)
	}
	refuses := func(want string) {
		t.Helper()
		from, err := FromFolder(folder)
		if err != nil {
			t.Fatal(err)
		}
		renamed := *j
		renamed.Ref = "other"
		to, err := book.Open(filepath.Join(t.TempDir(), "other.db"))
		if err != nil {
			t.Fatal(err)
		}
		defer to.Close()
		err = AddWith(to, &renamed, from, writtenAt)
		refs, _ := to.Jobs()
		files, _ := to.Files()
		if err == nil || !strings.Contains(err.Error(), want) || len(refs)+len(files) > 0 {
			t.Errorf("%v, %q and %v kept; want %q and nothing", err, refs, files, want)
		}
	}
	put(t, folder, names[1], []byte("12 bags\n"))
	refuses(names[1] + " is not the file that the entry names")
	if _, err := j.ExportEvidence(b, folder, write); err == nil ||
		!strings.Contains(err.Error(), "there is another file "+filepath.Join(folder, names[1])+" already") {
		t.Errorf("written over: %v", err)
	}
	if err := os.Remove(filepath.Join(folder, names[1])); err != nil {
		t.Fatal(err)
	}
	refuses("there is no " + names[1] + " in the folder")
	if _, err := FromFolder(filepath.Join(folder, "none")); err == nil {
		t.Error("a folder that is not there was taken")
	}
	full := errors.New("the disk is full")
	emptied := t.TempDir()
	_, err = j.ExportEvidence(b, emptied, func(path string, content []byte) error {
		if strings.HasSuffix(path, "note.txt") {
			return full
		}
		return write(path, content)
	})
	if list, _ := os.ReadDir(emptied); err != full || len(list) != 0 {
		t.Errorf("%v, %d files left; want none", err, len(list))
	}
}
