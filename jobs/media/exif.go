package media

import (
	"bytes"
	"encoding/binary"

	"putlog/schedule"
)

// TakenOn gives the day on which a photo was taken, in the camera's own time:
// Exif's DateTimeOriginal (JEITA CP-3451, tag 0x9003). It is 0 where the file
// has none that is a day of the calendar.
func TakenOn(content []byte, of Type) schedule.Day {
	switch of {
	case JPEG:
		return dateOriginal(exifInJPEG(content))
	case PNG:
		return dateOriginal(exifInPNG(content))
	case WebP:
		return dateOriginal(exifInWebP(content))
	case HEIC:
		return dateOriginal(exifInHEIC(content))
	}
	return 0
}

const exifMark = "Exif\x00\x00"

// exifInJPEG finds the Exif block of a JPEG: the first segment APP1 with the
// mark. Segments are a marker of two bytes and a length that counts itself
// (ISO/IEC 10918-1 annex B); behind SOS there is the picture.
func exifInJPEG(content []byte) []byte {
	const app1, sos, eoi = 0xe1, 0xda, 0xd9
	for at := 2; at+4 <= len(content) && content[at] == 0xff; {
		marker := content[at+1]
		if marker == 0xff { // a filling byte
			at++
			continue
		}
		if marker == sos || marker == eoi {
			return nil
		}
		end := at + 2 + int(binary.BigEndian.Uint16(content[at+2:]))
		if end < at+4 || end > len(content) {
			return nil
		}
		segment := content[at+4 : end]
		if marker == app1 && bytes.HasPrefix(segment, []byte(exifMark)) {
			return segment[len(exifMark):]
		}
		at = end
	}
	return nil
}

// exifInPNG finds the chunk eXIf: length, name, data, check sum (PNG, third
// edition, 11.3.2.9).
func exifInPNG(content []byte) []byte {
	for at := 8; at+8 <= len(content); {
		size := uint64(binary.BigEndian.Uint32(content[at:]))
		if size > uint64(len(content)-at-8) {
			return nil
		}
		data := at + 8 + int(size)
		if string(content[at+4:at+8]) == "eXIf" {
			return content[at+8 : data]
		}
		at = data + 4
	}
	return nil
}

// exifInWebP finds the chunk EXIF: name, length, data, filled up to an even
// length (RFC 9649, 2.3 and 2.7.1.5). Some programs put the mark before it.
func exifInWebP(content []byte) []byte {
	for at := 12; at+8 <= len(content); {
		size := uint64(binary.LittleEndian.Uint32(content[at+4:]))
		if size > uint64(len(content)-at-8) {
			return nil
		}
		data := at + 8 + int(size)
		if string(content[at:at+4]) == "EXIF" {
			return bytes.TrimPrefix(content[at+8:data], []byte(exifMark))
		}
		at = data + int(size&1)
	}
	return nil
}

// tiff is a TIFF structure (TIFF 6.0): its bytes and their order.
type tiff struct {
	data  []byte
	order binary.ByteOrder
}

// readTIFF reads the head: the order of bytes, and where the first directory is.
func readTIFF(data []byte) (t tiff, first uint32, ok bool) {
	t.data = data
	switch {
	case bytes.HasPrefix(data, []byte("II*\x00")):
		t.order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte("MM\x00*")):
		t.order = binary.BigEndian
	default:
		return t, 0, false
	}
	head := t.at(4, 4)
	if head == nil {
		return t, 0, false
	}
	return t, t.order.Uint32(head), true
}

// dateOriginal reads DateTimeOriginal, which stands in the Exif directory, which
// the first directory points to.
func dateOriginal(data []byte) schedule.Day {
	const (
		exifDirectory, dateTimeOriginal = 0x8769, 0x9003
		long, ascii                     = 4, 2
		dateLength                      = 20 // "2027:03:08 14:05:00" and a zero byte
	)
	t, first, ok := readTIFF(data)
	if !ok {
		return 0
	}
	pointer := t.field(first, exifDirectory, long, 1)
	if pointer == nil {
		return 0
	}
	place := t.field(t.order.Uint32(pointer), dateTimeOriginal, ascii, dateLength)
	if place == nil {
		return 0
	}
	return exifDay(t.at(t.order.Uint32(place), dateLength))
}

// at gives so many bytes at an offset, or nil where they are not there.
func (t tiff) at(offset uint32, n int) []byte {
	if uint64(offset)+uint64(n) > uint64(len(t.data)) {
		return nil
	}
	return t.data[offset:][:n]
}

// field finds a field of a type and count in a directory and gives the four
// bytes that hold its value or where that is; nil where there is none. A
// directory is a count and so many fields of twelve bytes.
func (t tiff) field(directory uint32, tag, kind uint16, count uint32) []byte {
	const size = 12
	head := t.at(directory, 2)
	if head == nil {
		return nil
	}
	n := int(t.order.Uint16(head))
	fields := t.at(directory, 2+n*size)
	if fields == nil {
		return nil
	}
	for i := range n {
		f := fields[2+i*size:][:size]
		if t.order.Uint16(f) == tag {
			if t.order.Uint16(f[2:]) != kind || t.order.Uint32(f[4:]) != count {
				return nil
			}
			return f[8:]
		}
	}
	return nil
}

// exifDay reads the date of "2027:03:08 14:05:00".
func exifDay(text []byte) schedule.Day {
	if len(text) < 11 || text[4] != ':' || text[7] != ':' || text[10] != ' ' {
		return 0
	}
	iso := append([]byte{}, text[:10]...)
	iso[4], iso[7] = '-', '-'
	d, err := schedule.ParseDay(string(iso))
	if err != nil {
		return 0
	}
	return d
}

// Turned says how a photo is to be turned to stand upright: Exif's Orientation
// (JEITA CP-3451, tag 0x0112), 1 to 8; 1, as it is, where the file does not say.
func Turned(content []byte) int {
	const orientation, short = 0x0112, 3
	t, first, ok := readTIFF(exifInJPEG(content))
	if !ok {
		return 1
	}
	field := t.field(first, orientation, short, 1)
	if field == nil {
		return 1
	}
	if turn := int(t.order.Uint16(field)); turn >= 1 && turn <= 8 {
		return turn
	}
	return 1
}
