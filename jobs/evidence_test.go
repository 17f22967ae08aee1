package jobs

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"putlog/jobs/form"
	"putlog/jobs/media"
	"putlog/schedule"
)

func TestNewFileName(t *testing.T) {
	for path, want := range map[string]FileName{
		"site.jpg":                       "site.jpg",
		"/home/me/photos/site.jpg":       "site.jpg",
		`C:\photos\site.jpg`:             "site.jpg",
		"../../etc/passwd":               "passwd",
		"..":                             "unnamed",
		".":                              "unnamed",
		"":                               "unnamed",
		"folder/":                        "unnamed",
		".hidden.jpg":                    "hidden.jpg",
		"a:b|c?.jpg":                     "a-b-c-.jpg",
		"a\tb\nc\x1b[2J.jpg":             "a-b-c[2J.jpg",
		"gpj.\u202eexe.jpg":              "gpj.exe.jpg",
		"\xff\xfe.jpg":                   "jpg",
		"  spaces .jpg ":                 "spaces .jpg",
		"½ m² trench.jpg":                "½ m² trench.jpg",
		strings.Repeat("x", 300):         FileName(strings.Repeat("x", 120)),
		strings.Repeat("½", 99) + ".jpg": FileName(strings.Repeat("½", 58) + ".jpg"),
	} {
		if got := NewFileName(path); got != want {
			t.Errorf("%q: name %q, want %q", path, got, want)
		}
	}
}

// Whatever a path is, its name is one that is taken back from a job file, has
// no folder and lies in the folder it is joined to.
func TestFileNameProperty(t *testing.T) {
	paths := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.SampledFrom([]rune("./\\ :a½\x00\u202e\ufffd\ufeff"))),
		rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }))
	rapid.Check(t, func(t *rapid.T) {
		path := paths.Draw(t, "path")
		name := NewFileName(path)
		var back FileName
		if err := back.UnmarshalText([]byte(name)); err != nil || back != name {
			t.Errorf("%q gives %q, which is refused: %v", path, name, err)
		}
		if len(name) == 0 || len(name) > maxFileName || form.CheckText(string(name)) != nil {
			t.Errorf("%q gives %q", path, name)
		}
		if in := filepath.Join("folder", string(name)); filepath.Dir(in) != "folder" {
			t.Errorf("%q gives %q, which lies elsewhere: %s", path, name, in)
		}
	})
}

func TestFileSize(t *testing.T) {
	for size, want := range map[FileSize]string{1: "1 byte", 1023: "1023 bytes", 1024: "1 kB", 1536: "2 kB",
		1<<20 - 1: "1024 kB", 1 << 20: "1.0 MB", 1258291: "1.2 MB", 20 << 20: "20.0 MB", 3 << 30: "3072.0 MB"} {
		if got := size.String(); got != want {
			t.Errorf("%d bytes are %q, want %q", int64(size), got, want)
		}
	}
	for _, bad := range []string{"", "0", "-1", "1.5", "+1", "01", "1 ", "20971521", "99999999999999999999", "1e3"} {
		var s FileSize
		if err := s.UnmarshalText([]byte(bad)); err == nil {
			t.Errorf("%q was taken as %d bytes", bad, s)
		}
	}
}

func sha(digit string) string { return strings.Repeat(digit, 64) }

// An entry without evidence is written as ever, byte for byte; one with it has
// its files after what happened.
func TestEntryForm(t *testing.T) {
	on, _ := schedule.ParseDay("2027-03-08")
	e := Entry{On: on, Event: &Notice{Stage: "see"}}
	const before = `{"on":"2027-03-08","notice":{"stage":"see"}}`
	if got := string(form.Encode(e).JSON()); got != before {
		t.Errorf("got %s", got)
	}
	e.Evidence = []Evidence{
		{Digest(sha("a")), "site.jpg", media.JPEG, 12345, on, Photo, true},
		{Digest(sha("b")), "note.pdf", media.PDF, 1, 0, Paper, false},
	}
	want := `{"on":"2027-03-08","notice":{"stage":"see"},"evidence":[{"sha256":"` + sha("a") +
		`","name":"site.jpg","type":"image/jpeg","size":"12345","taken":"2027-03-08","what":"photo",` +
		`"client":"true"},{"sha256":"` + sha("b") +
		`","name":"note.pdf","type":"application/pdf","size":"1","what":"paper"}]}`
	text := form.Encode(e).JSON()
	if string(text) != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
	var back Entry
	p := &form.Problems{}
	n, err := form.ParseJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	form.Decode(n, &back, p)
	if diff := cmp.Diff(e, back); diff != "" || p.Err() != nil {
		t.Errorf("read back (%v):\n%s", p.Err(), diff)
	}
}

func TestEntryFormFaults(t *testing.T) {
	good := `{sha256: ` + sha("a") + `, name: site.jpg, type: image/jpeg, size: 12, what: photo}`
	with := func(from, to string) string { return "[" + strings.Replace(good, from, to, 1) + "]" }
	var many []string
	for i := range MaxEvidence + 1 {
		many = append(many, strings.Replace(good, sha("a"), fmt.Sprintf("%064x", i), 1))
	}
	for _, c := range []struct{ evidence, want string }{
		{"[" + good + "]", ""},
		{"[]", ""},
		{"", ""},
		{"[" + strings.Join(many[1:], ", ") + "]", ""},
		{"[" + strings.Join(many, ", ") + "]", "21 files are more than the 20 that one entry may carry; try: make two"},
		{"[" + good + ", " + good + "]", "site.jpg and site.jpg are the same file"},
		{good, "must be a list"},
		{with(sha("a"), sha("A")), "is not a SHA-256"},
		{with(sha("a"), sha("a")[1:]), "is not a SHA-256"},
		{with(sha("a"), sha("a")[1:]+"g"), "is not a SHA-256"},
		{with("site.jpg", "../site.jpg"), `"../site.jpg" is not a name for a file; try: write "site.jpg"`},
		{with("site.jpg", `""`), "is not a name for a file"},
		{with("image/jpeg", "jpeg"), "is not a type of file"},
		{with("image/jpeg", "Image/JPEG"), "is not a type of file"},
		{with("size: 12", "size: 0"), "is not the size of a file"},
		{with("size: 12", "size: 20971521"), "is not the size of a file"},
		{with("what: photo", "what: film"), "is not a kind of evidence; write photo or paper"},
		{with(", what: photo", ""), "has no what"},
		{with("what: photo", "what: photo, client: yes"), "neither true nor false"},
		{with("what: photo", "what: photo, taken: 2027-02-29"), "is not a date"},
		{with("what: photo", "what: photo, path: x"), "has no key"},
	} {
		src := "- on: 2027-03-08\n  notice: {stage: see}\n  evidence: " + c.evidence + "\n"
		_, err := ReadEntries("day.yaml", []byte(src))
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s: %v", c.evidence, err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%.200s: %v, want %q", c.evidence, err, c.want)
		}
	}
}

// Numbers go by the order written and stay; the list goes by date.
func TestEvidenceNumbers(t *testing.T) {
	day := func(n int) schedule.Day { return schedule.Instant(0).Day() + schedule.Day(9000+n) }
	file := func(digit string, what EvidenceKind) Evidence {
		return Evidence{SHA256: Digest(sha(digit)), Name: FileName(digit), What: what}
	}
	j := &Job{Entries: []Entry{
		{On: day(3), Event: &Notice{Stage: "see"}, Evidence: []Evidence{file("a", Photo), file("b", Paper)}},
		{On: day(1), Event: &Notice{Stage: "see"}},
		{On: day(2), Event: &Notice{Stage: "see"}, Evidence: []Evidence{file("c", Photo)}},
		{On: day(4), Event: &Correction{Entry: 1}, Evidence: []Evidence{file("d", Photo), file("e", Photo)}},
	}}
	list := func(asAt schedule.Day) (says string) {
		for _, p := range j.Evidence(asAt) {
			says += fmt.Sprintf("%d %s of %d/%d; ", p.Number, p.Name, p.Line.Number, p.Line.StruckBy)
		}
		return says
	}
	if got, want := list(day(4)), "3 c of 3/0; 1 a of 1/4; 2 b of 1/4; 4 d of 4/0; 5 e of 4/0; "; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if got, want := list(day(2)), "3 c of 3/0; "; got != want {
		t.Errorf("as at the second day: %s, want %s", got, want)
	}
	for i, want := range []string{"1 photo and 1 paper", "", "1 photo", "2 photos"} {
		if got := j.Entries[i].Carries(); got != want {
			t.Errorf("entry %d carries %q, want %q", i+1, got, want)
		}
	}
}
