package documents

import (
	"strings"
	"unicode"
)

// fontRunes are the characters that the print's font can draw, but for controls
// and private use. A test holds them to the font itself.
var fontRunes = &unicode.RangeTable{R16: []unicode.Range16{
	{0x20, 0x7e, 1}, {0xa0, 0x17f, 1}, {0x192, 0x192, 1}, {0x1cd, 0x1dc, 1}, {0x1fa, 0x1ff, 1},
	{0x218, 0x21b, 1}, {0x2c6, 0x2c7, 1}, {0x2c9, 0x2c9, 1}, {0x2d8, 0x2dd, 1}, {0x37e, 0x37e, 1},
	{0x384, 0x38a, 1}, {0x38c, 0x38c, 1}, {0x38e, 0x3a1, 1}, {0x3a3, 0x3ce, 1}, {0x400, 0x45f, 1},
	{0x490, 0x491, 1}, {0x1e80, 0x1e85, 1}, {0x1ef2, 0x1ef3, 1}, {0x2013, 0x2015, 1},
	{0x2017, 0x201e, 1}, {0x2020, 0x2022, 1}, {0x2026, 0x2026, 1}, {0x2030, 0x2030, 1},
	{0x2032, 0x2033, 1}, {0x2039, 0x203a, 1}, {0x203c, 0x203c, 1}, {0x203e, 0x203e, 1},
	{0x2044, 0x2044, 1}, {0x2070, 0x2070, 1}, {0x2074, 0x208e, 1}, {0x2099, 0x2099, 1},
	{0x20a3, 0x20a4, 1}, {0x20a7, 0x20a7, 1}, {0x20ac, 0x20ac, 1}, {0x2105, 0x2105, 1},
	{0x2113, 0x2113, 1}, {0x2116, 0x2116, 1}, {0x2122, 0x2122, 1}, {0x2126, 0x2126, 1},
	{0x212e, 0x212e, 1}, {0x215b, 0x215e, 1}, {0x2190, 0x2195, 1}, {0x21a8, 0x21a8, 1},
	{0x2202, 0x2202, 1}, {0x2206, 0x2206, 1}, {0x220f, 0x220f, 1}, {0x2211, 0x2212, 1},
	{0x2215, 0x2215, 1}, {0x2219, 0x221a, 1}, {0x221e, 0x221f, 1}, {0x2229, 0x222b, 1},
	{0x2248, 0x2248, 1}, {0x2260, 0x2261, 1}, {0x2264, 0x2265, 1}, {0x2302, 0x2302, 1},
	{0x2310, 0x2310, 1}, {0x2320, 0x2321, 1}, {0x2500, 0x2500, 1}, {0x2502, 0x2502, 1},
	{0x250c, 0x250c, 1}, {0x2510, 0x2510, 1}, {0x2514, 0x2514, 1}, {0x2518, 0x2518, 1},
	{0x251c, 0x251c, 1}, {0x2524, 0x2524, 1}, {0x252c, 0x252c, 1}, {0x2534, 0x2534, 1},
	{0x253c, 0x253c, 1}, {0x2550, 0x256c, 1}, {0x2580, 0x2580, 1}, {0x2584, 0x2584, 1},
	{0x2588, 0x2588, 1}, {0x258c, 0x258c, 1}, {0x2590, 0x2593, 1}, {0x25a0, 0x25a1, 1},
	{0x25aa, 0x25ac, 1}, {0x25b2, 0x25b2, 1}, {0x25ba, 0x25ba, 1}, {0x25bc, 0x25bc, 1},
	{0x25c4, 0x25c4, 1}, {0x25ca, 0x25cb, 1}, {0x25cf, 0x25cf, 1}, {0x25d8, 0x25d9, 1},
	{0x25e6, 0x25e6, 1}, {0x263a, 0x263c, 1}, {0x2640, 0x2640, 1}, {0x2642, 0x2642, 1},
	{0x2660, 0x2660, 1}, {0x2663, 0x2663, 1}, {0x2665, 0x2666, 1}, {0x266a, 0x266b, 1},
	{0xfb01, 0xfb02, 1}, {0xfffd, 0xfffd, 1},
}, LatinOffset: 1}

// noGlyph stands where the font has no glyph for what was written.
const noGlyph = '\uFFFD'

// accents pairs letters with themselves under each combining mark: what a
// phone or a file name may write in two characters, the font has in one.
var accents = [...]struct {
	mark  rune
	pairs string
}{
	{0x300, "AÀEÈIÌOÒUÙWẀYỲaàeèiìoòuùwẁyỳ"},
	{0x301, "AÁCĆEÉIÍLĹNŃOÓRŔSŚUÚWẂYÝZŹaácćeéiílĺnńoórŕsśuúwẃyýzź"},
	{0x302, "AÂCĈEÊGĜHĤIÎJĴOÔSŜUÛWŴYŶaâcĉeêgĝhĥiîjĵoôsŝuûwŵyŷ"},
	{0x303, "AÃIĨNÑOÕUŨaãiĩnñoõuũ"},
	{0x304, "AĀEĒIĪOŌUŪaāeēiīoōuū"},
	{0x306, "AĂEĔGĞIĬOŎUŬaăeĕgğiĭoŏuŭ"},
	{0x307, "CĊEĖGĠIİZŻcċeėgġzż"},
	{0x308, "AÄEËIÏOÖUÜWẄYŸaäeëiïoöuüwẅyÿ"},
	{0x30a, "AÅUŮaåuů"},
	{0x30b, "OŐUŰoőuű"},
	{0x30c, "CČDĎEĚNŇRŘSŠTŤZŽcčdďeěnňrřsštťzž"},
	{0x327, "CÇGĢKĶLĻNŅRŖSŞTŢcçgģkķlļnņrŗsştţ"},
	{0x328, "AĄEĘIĮUŲaąeęiįuų"},
}

// printable makes any text fit to print: one line, of characters that the font
// can draw. Spaces and controls come out as single spaces, marks that draw
// nothing are left out, and anything else unknown shows as noGlyph. All text of
// the print goes through it: beyond U+FFFF or in broken UTF-8 the writer of the
// PDF would panic.
func printable(text string) string {
	out := make([]rune, 0, len(text))
	for _, r := range text {
		last := rune(' ')
		if len(out) > 0 {
			last = out[len(out)-1]
		}
		switch joined := accented(last, r); {
		case joined != 0:
			out[len(out)-1] = joined
		case unicode.IsSpace(r) || unicode.IsControl(r):
			if last != ' ' {
				out = append(out, ' ')
			}
		case unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Variation_Selector, r):
		case unicode.Is(fontRunes, r):
			out = append(out, r)
		default:
			out = append(out, noGlyph)
		}
	}
	return strings.TrimSuffix(string(out), " ")
}

// accented is a letter under a combining mark; 0 where the font has none such.
func accented(letter, mark rune) rune {
	if !unicode.Is(unicode.Mn, mark) {
		return 0
	}
	for _, a := range accents {
		if a.mark != mark {
			continue
		}
		pairs := []rune(a.pairs)
		for i := 0; i < len(pairs); i += 2 {
			if pairs[i] == letter {
				return pairs[i+1]
			}
		}
	}
	return 0
}
