package jobs

import (
	"bytes"
	"encoding/binary"
	"unicode/utf8"
)

// The types of file that are told by their content; anything else is OtherType.
const (
	JPEG      MediaType = "image/jpeg"
	PNG       MediaType = "image/png"
	WebP      MediaType = "image/webp"
	HEIC      MediaType = "image/heic"
	PDF       MediaType = "application/pdf"
	PlainText MediaType = "text/plain"
	OtherType MediaType = "application/octet-stream"
)

// typeOf tells the type of a file by how its content begins, whatever its name
// says.
func typeOf(content []byte) MediaType {
	starts := func(mark string) bool { return bytes.HasPrefix(content, []byte(mark)) }
	switch {
	case starts("\xff\xd8\xff"): // ISO/IEC 10918-1: SOI, then another marker
		return JPEG
	case starts("\x89PNG\r\n\x1a\n"): // ISO/IEC 15948
		return PNG
	case starts("RIFF") && len(content) >= 12 && string(content[8:12]) == "WEBP": // RFC 9649
		return WebP
	case isHEIC(content):
		return HEIC
	case starts("%PDF-"): // ISO 32000
		return PDF
	case isText(content):
		return PlainText
	}
	return OtherType
}

// isHEIC looks for a brand of HEVC stills in the first box of the file
// (ISO/IEC 23008-12, from memory).
func isHEIC(content []byte) bool {
	if len(content) < 16 || string(content[4:8]) != "ftyp" {
		return false
	}
	size := min(uint64(binary.BigEndian.Uint32(content)), uint64(len(content)))
	for at := uint64(8); at+4 <= size; at += 4 { // the major brand, its version, the others
		switch string(content[at : at+4]) {
		case "heic", "heix", "heim", "heis", "hevc", "hevx":
			return true
		}
	}
	return false
}

// isText says whether all of a file is UTF-8 text.
func isText(content []byte) bool {
	if !utf8.Valid(content) {
		return false
	}
	for _, c := range content {
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' || c == 0x7f {
			return false
		}
	}
	return true
}
