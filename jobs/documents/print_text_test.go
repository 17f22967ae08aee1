package documents

import (
	"bytes"
	"encoding/binary"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// glyphs reads which characters a TrueType font draws, from the format 4
// subtable of its cmap for Windows and Unicode (OpenType 1.9, cmap).
func glyphs(t *testing.T, font []byte) map[rune]bool {
	t.Helper()
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(font[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(font[at:])) }
	cmap := 0
	for i := range u16(4) {
		if record := 12 + 16*i; string(font[record:record+4]) == "cmap" {
			cmap = u32(record + 8)
		}
	}
	sub := 0
	for i := range u16(cmap + 2) {
		if record := cmap + 4 + 8*i; u16(record) == 3 && u16(record+2) == 1 {
			sub = cmap + u32(record+4)
		}
	}
	if cmap == 0 || sub == 0 || u16(sub) != 4 {
		t.Fatal("the font has no such table")
	}
	drawn := map[rune]bool{}
	twice := u16(sub + 6) // segments, times two
	for k := 0; k < twice; k += 2 {
		end, start := u16(sub+14+k), u16(sub+16+twice+k)
		delta, offset := u16(sub+16+2*twice+k), u16(sub+16+3*twice+k)
		for c := start; c <= end && c != 0xffff; c++ {
			glyph := c + delta
			if offset != 0 {
				if glyph = u16(sub + 16 + 3*twice + k + offset + 2*(c-start)); glyph != 0 {
					glyph += delta
				}
			}
			if glyph&0xffff != 0 {
				drawn[rune(c)] = true
			}
		}
	}
	return drawn
}

func TestFontRunesAreTheFonts(t *testing.T) {
	for name, font := range map[string][]byte{"regular": goregular.TTF, "bold": gobold.TTF} {
		drawn := glyphs(t, font)
		for r := rune(0); r <= 0xffff; r++ {
			usable := drawn[r] && !unicode.IsControl(r) && !unicode.Is(unicode.Co, r)
			if got := unicode.Is(fontRunes, r); got != usable {
				t.Errorf("%s, %U: listed %v, in the font %v", name, r, got, usable)
			}
		}
	}
}

// TestAccentsArePaired checks the pairs by what the two cases must share: the
// small letter's pair is the small form of the capital's.
func TestAccentsArePaired(t *testing.T) {
	for _, a := range accents {
		pairs := []rune(a.pairs)
		if len(pairs)%2 != 0 {
			t.Fatalf("%U: %q is not in pairs", a.mark, a.pairs)
		}
		for i := 0; i < len(pairs); i += 2 {
			letter, joined := pairs[i], pairs[i+1]
			if got := printable(string([]rune{letter, a.mark})); got != string(joined) {
				t.Errorf("%c with %U prints %q", letter, a.mark, got)
			}
			if !unicode.Is(fontRunes, joined) || letter >= 0x80 || joined < 0x80 {
				t.Errorf("%U: %c and %c", a.mark, letter, joined)
			}
			small := accented(unicode.ToLower(letter), a.mark)
			if joined != 'İ' && small != unicode.ToLower(joined) {
				t.Errorf("%c with %U is %c, but small it is %c", letter, a.mark, joined, small)
			}
		}
	}
}

func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"":                  "",
		"  two \t\n words ": "two words",
		"£18,450.00 ½ 2.5 m² – ‘so’ →": "£18,450.00 ½ 2.5 m² – ‘so’ →",
		"Môn’s tŷ":             "Môn’s tŷ",
		"Mo\u0302n’s ty\u0302": "Môn’s tŷ",
		"soft\u00adhyphen":     "softhyphen",
		"\ufeffmark\u200b":     "mark",
		"house 🏠!":             "house \ufffd!",
		"漢字":                   "\ufffd\ufffd",
		"bad \xff":             "bad \ufffd",
		"\x00a\x07b":           "a b",
	} {
		if got := printable(in); got != want {
			t.Errorf("%q prints %q, want %q", in, got, want)
		}
	}
}

// FuzzPrintText holds the filter and the breaking of lines to what the writer
// of the PDF and the paper need.
func FuzzPrintText(f *testing.F) {
	for _, seed := range []string{"", "Lay the screed", "£½m²", "e\u0301\u0301", "\xff\xfe",
		"🏠\u200d🏠", "\U0010ffff\uffff", " a  b ", strings.Repeat("W", 200),
		"\x00\r\n\t\u2028"} {
		f.Add(seed, uint8(20))
	}
	p := newSheet(&Statement{Title: "fuzz"})
	p.set("", tableSize)
	f.Fuzz(func(t *testing.T, text string, wide uint8) {
		got := printable(text)
		if !utf8.ValidString(got) || printable(got) != got {
			t.Fatalf("%q prints %q, which is not settled", text, got)
		}
		for _, r := range got {
			if !unicode.Is(fontRunes, r) || r > 0xfffd {
				t.Fatalf("%q prints %U", text, r)
			}
		}
		if strings.Join(strings.Fields(got), " ") != got {
			t.Fatalf("%q prints %q, with spaces to spare", text, got)
		}
		width := 1 + float64(wide)
		lines := p.wrap(text, width)
		if joined := strings.Join(lines, ""); strings.ReplaceAll(joined, " ", "") !=
			strings.ReplaceAll(got, " ", "") {
			t.Fatalf("%q broke into %q", got, lines)
		}
		for _, line := range append(lines, p.short(text, width)) {
			runes := utf8.RuneCountInString(strings.TrimSuffix(line, "…"))
			if w := p.pdf.GetStringWidth(line); w > width+1e-9 && runes > 1 {
				t.Fatalf("%q is %v mm wide, of %v", line, w, width)
			}
		}
	})
}

// TestPrintOfEveryRune prints all that the font can draw, and leaves the font
// that others share as it was.
func TestPrintOfEveryRune(t *testing.T) {
	var every []rune
	for _, r := range fontRunes.R16 {
		for c := rune(r.Lo); c <= rune(r.Hi); c++ {
			every = append(every, c)
		}
	}
	regular, bold := slices.Clone(goregular.TTF), slices.Clone(gobold.TTF)
	pages := printed(t, &Statement{Title: string(every), Stands: string(every)})
	if !bytes.Equal(regular, goregular.TTF) || !bytes.Equal(bold, gobold.TTF) {
		t.Error("the print wrote into the font")
	}
	got := strings.ReplaceAll(allPages(pages), " ", "")
	if want := strings.ReplaceAll(printable(string(every)), " ", ""); !strings.Contains(got, want) {
		t.Error("not all came back")
	}
}
