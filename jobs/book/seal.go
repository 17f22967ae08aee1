package book

import (
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// A seal stands for the day book up to one row: the number of rows, then 23
// characters of that row's hash (115 bits of the SHA-256 that every row before
// it went into) and two that show a slip of the pen, in groups of five:
//
//	412-7QK2M-XH4PD-0ZB6T-R9WCE-51KAF
//
// The characters are Crockford's base 32, which has no I, L, O or U.

const (
	sealChars  = 25 // the last two of them check the rest
	sealChecks = 2
	sealGroup  = 5
)

var sealAlphabet = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// sealOf gives the seal of a book's first rows, the last of which has the hash.
func sealOf(rows int64, hash []byte) string {
	return sealText(rows, sealAlphabet.EncodeToString(hash)[:sealChars-sealChecks])
}

// sealText puts the checking characters to a seal's others, and groups them.
func sealText(rows int64, chars string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "putlog seal 1\n%d-%s", rows, chars))
	chars += sealAlphabet.EncodeToString(sum[:])[:sealChecks]
	text := strconv.FormatInt(rows, 10)
	for i := 0; i < len(chars); i += sealGroup {
		text += "-" + chars[i:i+sealGroup]
	}
	return text
}

// readSeal reads a seal as it was typed: small letters, O for 0, I or L for 1,
// and spaces in place of the hyphens will do. It gives the seal as sealOf writes
// it and the number of rows that it is for.
func readSeal(typed string) (seal string, rows int64, err error) {
	count, rest, _ := strings.Cut(strings.TrimLeft(typed, " "), "-")
	rest = strings.NewReplacer("-", "", " ", "", "O", "0", "I", "1", "L", "1").
		Replace(strings.ToUpper(rest))
	rows, err = strconv.ParseInt(strings.TrimSpace(count), 10, 64)
	if err != nil || rows < 0 || len(rest) != sealChars {
		return "", 0, errors.New("a seal is a number and five groups of five characters, " +
			"as in 412-7QK2M-XH4PD-0ZB6T-R9WCE-51KAF")
	}
	seal = sealText(rows, rest[:sealChars-sealChecks])
	if strings.ReplaceAll(seal[strings.Index(seal, "-"):], "-", "") != rest {
		return "", 0, errors.New("its last two characters don't fit the others: " +
			"one was typed wrong")
	}
	return seal, rows, nil
}

// BadSeal says that a text is no seal.
type BadSeal struct{ Why error }

func (e *BadSeal) Error() string { return "that is no seal: " + e.Why.Error() }

// Sealed is what Against proved.
type Sealed struct {
	Seal  string // as the book writes it
	Rows  int64  // the rows it is for
	Since int64  // the rows written after it
}

// Against proves that the rows which a seal is for are those of this book, in
// which Check must have found nothing wrong. A text that is no seal is a
// *BadSeal, a seal of other rows or of more than there are an *Altered.
func (b *Book) Against(typed string) (Sealed, error) {
	seal, rows, err := readSeal(typed)
	if err != nil {
		return Sealed{}, &BadSeal{err}
	}
	sealed := Sealed{Seal: seal, Rows: rows, Since: -rows}
	hash := make([]byte, sha256.Size) // of no rows
	if b.db != nil {
		err = b.db.QueryRow(`SELECT count - ?,
				coalesce((SELECT hash FROM daybook WHERE seq = ?), zeroblob(32)) FROM head`,
			rows, rows).Scan(&sealed.Since, &hash)
	}
	switch {
	case err != nil:
		return Sealed{}, b.fault("check the book", err)
	case sealed.Since < 0:
		return Sealed{}, &Altered{Path: b.path, What: fmt.Sprintf(
			"the seal is for %d rows, but it has only %d", rows, rows+sealed.Since)}
	case sealOf(rows, hash) != seal:
		return Sealed{}, &Altered{Path: b.path, What: fmt.Sprintf(
			"its first %d rows are not those that were sealed", rows)}
	}
	return sealed, nil
}
