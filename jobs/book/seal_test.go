package book

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Worked out apart from this program, with Python's hashlib and a base 32 of its
// own, from the two rows of TestHashNeverChanges. Should it ever differ, no seal
// that was handed out can be checked any more.
func TestSealNeverChanges(t *testing.T) {
	_, hash := twoHashes()
	if got, want := sealOf(2, hash), "2-MQJVP-8RA73-D7G95-7FYXB-A8XG0"; got != want {
		t.Errorf("seal %s, want %s", got, want)
	}
}

// Every row has a seal, and each stands for the book for ever after.
func TestAgainst(t *testing.T) {
	b := openNew(t)
	var seals []string
	for _, job := range []string{"", "orchard-row", "mill-lane", "station-road"} {
		if job != "" {
			addJob(t, b, job)
		}
		seals = append(seals, mustCheck(t, b).Seal)
	}
	for rows, seal := range seals {
		got, err := b.Against(seal)
		if want := (Sealed{seal, int64(rows), int64(3 - rows)}); err != nil || got != want {
			t.Errorf("%s: %+v, %v; want %+v", seal, got, err, want)
		}
	}
	none := &Book{path: "none"}
	if r := mustCheck(t, none); r.Seal != seals[0] {
		t.Errorf("a book that is not there has the seal %s, an empty one %s", r.Seal, seals[0])
	}
	if _, err := none.Against(seals[0]); err != nil {
		t.Error(err)
	}
}

// Another history, however it came about, has no seal in common.
func TestAgainstAnother(t *testing.T) {
	b, again := openNew(t), openNew(t)
	addJob(t, b, "orchard-row", history(3)...)
	rows := history(3)
	rows[1].Body += " " // written anew, whole and in order, but for one space
	addJob(t, again, "orchard-row", rows...)
	seal := mustCheck(t, b).Seal
	appendTo(t, again, "orchard-row", 2)
	mustCheck(t, again)
	shorter := openNew(t)
	addJob(t, shorter, "orchard-row", history(2)...)
	for _, c := range []struct {
		book *Book
		what string
	}{
		{again, "its first 4 rows are not those that were sealed"},
		{shorter, "the seal is for 4 rows, but it has only 3"},
		{&Book{path: "none"}, "the seal is for 4 rows, but it has only 0"},
	} {
		_, err := c.book.Against(seal)
		var altered *Altered
		if !errors.As(err, &altered) || altered.What != c.what {
			t.Errorf("%v, want %q", err, c.what)
		}
	}
}

func TestReadSeal(t *testing.T) {
	hash := link{job: "orchard-row"}.hash(make([]byte, 32))
	seal := sealOf(412, hash)
	easy := strings.NewReplacer("0", "o", "1", "l", "-", " ")
	_, rest, _ := strings.Cut(seal, "-")
	for _, typed := range []string{seal, strings.ToLower(seal), " 412 - " + rest,
		"412-" + easy.Replace(rest), "0412-" + strings.ReplaceAll(rest, "-", "")} {
		got, rows, err := readSeal(typed)
		if err != nil || got != seal || rows != 412 {
			t.Errorf("%q: %s, %d, %v; want %s", typed, got, rows, err, seal)
		}
	}
	for _, typed := range []string{"", "412", "412-", rest, "412-" + rest[1:], seal + "7", "-" + seal,
		"4e2-" + rest, "99999999999999999999-" + rest, "412-" + strings.Repeat("é", 25)} {
		if got, _, err := readSeal(typed); err == nil {
			t.Errorf("%q was read as %s", typed, got)
		}
	}
}

// Of the slips that a hand makes, a wrong character or two changed over, hardly
// any goes unseen: two characters check the others, so one slip in 1024 does.
func TestReadSealFindsSlips(t *testing.T) {
	slips, missed := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		hash := rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "hash")
		seal := sealOf(rapid.Int64Range(0, 99999).Draw(t, "rows"), hash)
		slip := []byte(seal)
		i := rapid.IntRange(0, len(seal)-1).Draw(t, "place")
		slip[i] = rapid.SampledFrom([]byte("0123456789ABCDEFGHJKMNPQRSTVWXYZ")).Draw(t, "typed")
		if strings.ReplaceAll(string(slip), "-", "") == strings.ReplaceAll(seal, "-", "") {
			return
		}
		slips++
		if _, _, err := readSeal(string(slip)); err == nil {
			missed++
		}
	})
	if slips == 0 || missed > 3 {
		t.Errorf("%d of %d slips unseen", missed, slips)
	}
}
