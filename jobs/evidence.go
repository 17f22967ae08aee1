package jobs

import (
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"putlog/jobs/form"
	"putlog/jobs/media"
	"putlog/jobs/words"
	"putlog/schedule"
)

// Limits on what one entry may carry.
const (
	MaxEvidence      = 20       // files
	MaxEvidenceBytes = 20 << 20 // in each
	maxFileName      = 120      // bytes; systems take 255, and a mark may go before it
)

// Evidence is a photo or a paper that an entry carries. The entry holds what is
// here, and is hashed with it; the content is kept in the book by its SHA-256.
type Evidence struct {
	SHA256 Digest       `form:"sha256"`
	Name   FileName     `form:"name" eg:"site.jpg"`
	Type   media.Type   `form:"type" eg:"image/jpeg"`
	Size   FileSize     `form:"size"`
	Taken  schedule.Day `form:"taken,optional"` // as the camera wrote it; 0 where it wrote none
	What   EvidenceKind `form:"what"`
	Client bool         `form:"client,optional"` // for the client to see
}

// EvidenceKind says whether a piece of evidence is a photo or a paper.
type EvidenceKind uint8

// The kinds of evidence.
const (
	Photo EvidenceKind = iota + 1
	Paper
)

var evidenceKindNames = [...]string{"", "photo", "paper"}

// String gives "photo" or "paper".
func (k EvidenceKind) String() string { return evidenceKindNames[k] }

// MarshalText gives "photo" or "paper".
func (k EvidenceKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads "photo" or "paper".
func (k *EvidenceKind) UnmarshalText(text []byte) error {
	return words.Choose(k, "a kind of evidence", evidenceKindNames[1:], text)
}

// Digest is a SHA-256: 64 hexadecimal digits, small letters.
type Digest string

// UnmarshalText reads a digest.
func (d *Digest) UnmarshalText(text []byte) error {
	if len(text) != 64 || strings.Trim(string(text), "0123456789abcdef") != "" {
		return fmt.Errorf("%q is not a SHA-256: 64 digits and letters from a to f",
			shortened(string(text)))
	}
	*d = Digest(text)
	return nil
}

// Short gives enough of a digest to tell files apart: 16 digits.
func (d Digest) Short() string { return string(d[:min(16, len(d))]) }

// FileSize is a count of bytes, from 1 to MaxEvidenceBytes.
type FileSize int64

// UnmarshalText reads a number of bytes.
func (s *FileSize) UnmarshalText(text []byte) error {
	n, err := strconv.ParseInt(string(text), 10, 64)
	if err != nil || n < 1 || n > MaxEvidenceBytes || strconv.FormatInt(n, 10) != string(text) {
		return fmt.Errorf("%q is not the size of a file: bytes, from 1 to %d",
			shortened(string(text)), MaxEvidenceBytes)
	}
	*s = FileSize(n)
	return nil
}

// String gives the size for people: "840 kB", "1.2 MB".
func (s FileSize) String() string {
	switch {
	case s == 1:
		return "1 byte"
	case s < 1<<10:
		return fmt.Sprintf("%d bytes", int64(s))
	case s < 1<<20:
		return fmt.Sprintf("%d kB", (int64(s)+1<<9)>>10)
	}
	tenths := (int64(s)*10 + 1<<19) >> 20
	return fmt.Sprintf("%d.%d MB", tenths/10, tenths%10)
}

// FileName is the name of a file without its folder, of characters that a file
// may have anywhere.
type FileName string

// NewFileName makes a name that is safe anywhere out of a file's path: the last
// part of it, without what could drive a terminal, leave a folder or offend
// another system. What is too long is cut before the ending.
func NewFileName(path string) FileName {
	name := path[strings.LastIndexAny(path, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError, form.CheckText(string(r)) != nil, r == 0xfeff, r == 0xfffe, r == 0xffff,
			r == 0x2028, r == 0x2029:
			return -1
		case r < ' ', strings.ContainsRune(`<>:"|?*/\`, r):
			return '-'
		}
		return r
	}, name)
	name = strings.Trim(name, " .")
	if len(name) > maxFileName {
		ending := filepath.Ext(name)
		if len(ending) > 10 {
			ending = ""
		}
		cut := strings.ToValidUTF8(name[:maxFileName-len(ending)], "")
		name = strings.Trim(cut+ending, " .")
	}
	if name == "" {
		name = "unnamed"
	}
	return FileName(name)
}

// UnmarshalText takes a name that NewFileName would give.
func (n *FileName) UnmarshalText(text []byte) error {
	if clean := NewFileName(string(text)); string(clean) != string(text) {
		return words.Refuse(fmt.Sprintf("write %q", clean), "%q is not a name for a file",
			shortened(string(text)))
	}
	*n = FileName(text)
	return nil
}

// shortened cuts a text for a message.
func shortened(text string) string {
	if runes := []rune(text); len(runes) > 80 {
		return string(runes[:80]) + "…"
	}
	return text
}

// evidenceFault says what is wrong with the evidence of one entry and what to
// do; "" when nothing is.
func evidenceFault(list []Evidence) (what, do string) {
	if len(list) > MaxEvidence {
		return fmt.Sprintf("%d files are more than the %d that one entry may carry",
			len(list), MaxEvidence), "make two entries of it"
	}
	for i, e := range list {
		same := slices.IndexFunc(list[:i], func(o Evidence) bool { return o.SHA256 == e.SHA256 })
		if same >= 0 && e.SHA256 != "" {
			return fmt.Sprintf("%s and %s are the same file", list[same].Name, e.Name),
				"leave one of them out"
		}
	}
	return "", ""
}

// takenLater warns of photos that were taken after the day they are filed under.
func takenLater(entries []Entry) []string {
	var warnings []string
	for _, entry := range entries {
		for _, e := range entry.Evidence {
			if e.Taken > entry.On {
				warnings = append(warnings, fmt.Sprintf("%s was taken on %s, after the day of the entry, %s",
					e.Name, e.Taken.Long(), entry.On.Long()))
			}
		}
	}
	return warnings
}

// Carries counts the photos and papers of an entry in words: "2 photos and 1
// paper"; "" where it has none.
func (e Entry) Carries() string {
	var counts [len(evidenceKindNames)]int
	for _, f := range e.Evidence {
		counts[f.What]++
	}
	var says []string
	for k, n := range counts {
		switch {
		case n == 1:
			says = append(says, "1 "+evidenceKindNames[k])
		case n > 1:
			says = append(says, fmt.Sprintf("%d %ss", n, evidenceKindNames[k]))
		}
	}
	return words.And(says)
}

// Piece is a piece of evidence with the entry that carries it.
type Piece struct {
	Evidence
	Number int // among all the job's evidence in the order written, from 1
	Line   Line
}

// Evidence lists what the entries up to a day carry, in the order of the day
// book. A number never changes, whatever is added later.
func (j *Job) Evidence(asAt schedule.Day) []Piece {
	first := make([]int, len(j.Entries)) // the number before each entry's first piece
	count := 0
	for i, e := range j.Entries {
		first[i] = count
		count += len(e.Evidence)
	}
	var list []Piece
	for _, l := range j.Lines(asAt) {
		for i, e := range l.Evidence {
			list = append(list, Piece{Evidence: e, Number: first[l.Number-1] + i + 1, Line: l})
		}
	}
	return list
}

// Words says what it is: "photo site.jpg, 1.2 MB, taken Mon 8 Mar 2027".
func (e Evidence) Words() string {
	says := fmt.Sprintf("%s %s, %s", e.What, e.Name, e.Size)
	if e.Taken != 0 {
		says += ", taken " + e.Taken.Long()
	}
	if e.Client {
		says += ", for the client"
	}
	return says
}
