package media

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
	"unicode/utf8"
)

// Type is what a file holds, as RFC 6838 names it: "image/jpeg".
type Type string

// UnmarshalText reads a media type, of 120 characters at the most.
func (t *Type) UnmarshalText(text []byte) error {
	kind, sub, _ := strings.Cut(string(text), "/")
	if kind == "" || sub == "" || len(text) > 120 ||
		strings.Trim(kind+sub, "abcdefghijklmnopqrstuvwxyz0123456789.+-") != "" {
		return fmt.Errorf("%.40q is not a type of file", text)
	}
	*t = Type(text)
	return nil
}

// The types of file that are told by their content; anything else is Other.
const (
	JPEG      Type = "image/jpeg"
	PNG       Type = "image/png"
	WebP      Type = "image/webp"
	HEIC      Type = "image/heic"
	PDF       Type = "application/pdf"
	PlainText Type = "text/plain"
	Other     Type = "application/octet-stream"
)

// TypeOf tells the type of a file by how its content begins, whatever its name
// says.
func TypeOf(content []byte) Type {
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
	return Other
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
