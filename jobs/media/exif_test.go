package media

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"putlog/schedule"
)

// aJPEG is a picture as the standard library's encoder writes it: without Exif.
func aJPEG(t testing.TB) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// exifBlock makes a TIFF structure by hand: the first directory with Make and
// the pointer to the Exif directory, which holds the date.
func exifBlock(order binary.AppendByteOrder, date string) []byte {
	mark := "II*\x00"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		mark = "MM\x00*"
	}
	field := func(out []byte, tag, kind uint16, count, value uint32) []byte {
		out = order.AppendUint16(order.AppendUint16(out, tag), kind)
		return order.AppendUint32(order.AppendUint32(out, count), value)
	}
	out := order.AppendUint32([]byte(mark), 8)
	out = order.AppendUint16(out, 2) // at 8: two fields
	out = field(out, 0x010f, 2, 4, 0x41414100)
	out = field(out, 0x8769, 4, 1, 38)
	out = order.AppendUint32(out, 0)
	out = order.AppendUint16(out, 1) // at 38: one field
	out = field(out, 0x9003, 2, 20, 56)
	out = order.AppendUint32(out, 0)
	return append(append(out, date...), 0) // at 56
}

// segment is a segment of a JPEG.
func segment(marker byte, data []byte) []byte {
	out := binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(data)+2))
	return append(out, data...)
}

// withSegments puts segments into a JPEG, behind its first marker.
func withSegments(picture []byte, segments ...[]byte) []byte {
	return slices.Concat(picture[:2], slices.Concat(segments...), picture[2:])
}

func app1(block []byte) []byte { return segment(0xe1, append([]byte(exifMark), block...)) }

const march8 = "2027:03:08 14:05:00"

func TestTakenOn(t *testing.T) {
	plain := aJPEG(t)
	little, big := exifBlock(binary.LittleEndian, march8), exifBlock(binary.BigEndian, march8)
	changed := func(at int, to ...byte) []byte {
		block := slices.Clone(little)
		copy(block[at:], to)
		return block
	}
	for _, c := range []struct {
		name    string
		content []byte
		want    string
	}{
		{"little-endian", withSegments(plain, app1(little)), "2027-03-08"},
		{"big-endian", withSegments(plain, app1(big)), "2027-03-08"},
		{"behind other segments", withSegments(plain, segment(0xe0, []byte("JFIF\x00\x01\x02")),
			segment(0xe1, []byte("http://example.org/notes/\x00<x/>")), app1(big)), "2027-03-08"},
		{"behind filling bytes", withSegments(plain, []byte{0xff, 0xff, 0xff}, app1(big)), "2027-03-08"},
		{"leap day", withSegments(plain, app1(exifBlock(binary.BigEndian, "2028:02:29 00:00:00"))),
			"2028-02-29"},
		{"none", plain, ""},
		{"behind the picture", append(slices.Clone(plain), app1(big)...), ""},
		{"not set", withSegments(plain, app1(exifBlock(binary.BigEndian, "0000:00:00 00:00:00"))), ""},
		{"blank", withSegments(plain, app1(exifBlock(binary.BigEndian, "    :  :     :  :  "))), ""},
		{"no such day", withSegments(plain, app1(exifBlock(binary.BigEndian, "2027:02:29 10:00:00"))), ""},
		{"before the calendar", withSegments(plain, app1(exifBlock(binary.BigEndian, "1999:12:31 10:00:00"))), ""},
		{"hyphens", withSegments(plain, app1(exifBlock(binary.BigEndian, "2027-03-08 14:05:00"))), ""},
		{"wrong byte order mark", withSegments(plain, app1(changed(0, 'I', 'M'))), ""},
		{"first directory nowhere", withSegments(plain, app1(changed(4, 0xff, 0xff, 0xff, 0xff))), ""},
		{"more fields than there are", withSegments(plain, app1(changed(8, 0xff, 0xff))), ""},
		{"Exif directory nowhere", withSegments(plain, app1(changed(30, 0xfe, 0xff, 0xff, 0xff))), ""},
		{"Exif directory in itself", withSegments(plain, app1(changed(30, 8, 0, 0, 0))), ""},
		{"date of another type", withSegments(plain, app1(changed(42, 4))), ""},
		{"date of another length", withSegments(plain, app1(changed(44, 19))), ""},
		{"date nowhere", withSegments(plain, app1(changed(48, 57))), ""},
		{"segment too long", append(slices.Clone(plain[:2]), 0xff, 0xe1, 0xff, 0xff, 'E'), ""},
		{"segment too short", append(slices.Clone(plain[:2]), 0xff, 0xe1, 0, 1, 'E', 'x'), ""},
	} {
		want := schedule.Day(0)
		if c.want != "" {
			want, _ = schedule.ParseDay(c.want)
		}
		if got := TakenOn(c.content, TypeOf(c.content)); got != want {
			t.Errorf("%s: taken on %v, want %q", c.name, got, c.want)
		}
	}
}

// photo is a row of testdata/photos/photos.csv: a file by a writer that is not
// of this project.
type photo struct {
	file    string
	content []byte
	mime    Type
	taken   schedule.Day
}

func photos(t testing.TB) []photo {
	t.Helper()
	const folder = "../../testdata/photos"
	src, err := os.ReadFile(filepath.Join(folder, "photos.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(src)).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	var list []photo
	for i, row := range rows[1:] {
		if row[0] == "" {
			t.Fatalf("photo %d names no source", i+1)
		}
		content, err := os.ReadFile(filepath.Join(folder, row[1]))
		if err != nil {
			t.Fatal(err)
		}
		taken, err := schedule.ParseDay(row[3])
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, photo{row[1], content, Type(row[2]), taken})
	}
	return list
}

// Files of each format by other writers; cut short anywhere they are photos
// without a date or with the same.
func TestPhotosOfOtherWriters(t *testing.T) {
	for _, p := range photos(t) {
		if got := TypeOf(p.content); got != p.mime {
			t.Errorf("%s is %s, want %s", p.file, got, p.mime)
		}
		if got := TakenOn(p.content, p.mime); got != p.taken {
			t.Errorf("%s was taken on %v, want %s", p.file, got, p.taken)
		}
		for n := range p.content {
			if got := TakenOn(p.content[:n], p.mime); got != 0 && got != p.taken {
				t.Errorf("the first %d bytes of %s were taken on %s", n, p.file, got)
			}
		}
	}
}

func TestTypeOf(t *testing.T) {
	for content, want := range map[string]Type{
		"%PDF-1.7\n":                         PDF,
		"a delivery note, £12\r\n\tsigned\n": PlainText,
		"<html><script>":                     PlainText,
		"\ufeffwith a byte order mark":       PlainText,
		"\xff\xfeU\x00T\x00F\x00":            Other,
		"a\x00b":                             Other,
		"\x1b[31m":                           Other,
		"\xff\xd8":                           Other,
		"\x89PNG\r\n\x1a":                    Other,
		"RIFF\x00\x00\x00\x00WAVE":           Other,
		"RIFF":                               PlainText,
		"\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00mif1heic": HEIC,
		"\x00\x00\x00\x14ftypmif1\x00\x00\x00\x00mif1heic": Other, // heic lies behind the box
		"\x00\x00\x00\x14ftypavif\x00\x00\x00\x00mif1":     Other,
		"\xff\xff\xff\xffftypqt  \x00\x00\x00\x00":         Other,
		"PK\x03\x04": Other,
	} {
		if got := TypeOf([]byte(content)); got != want {
			t.Errorf("%.30q is %s, want %s", content, got, want)
		}
	}
}

// A box that lists stretches of no length without end does not hold the reader
// up: one that walked them all would meet the test's own deadline, after 8 MiB of
// items with 65,535 stretches each.
func TestEndlessHEIC(t *testing.T) {
	box := func(name string, inside ...[]byte) []byte {
		data := slices.Concat(inside...)
		return append(append(binary.BigEndian.AppendUint32(nil, uint32(len(data)+8)), name...), data...)
	}
	item := box("infe", []byte{2, 0, 0, 0, 0, 1, 0, 0}, []byte("Exif\x00"))
	for _, widths := range [][]byte{{0x00, 0x00}, {0x40, 0x00}, {0x04, 0x00}, {0xff, 0xff}} {
		stretches := append([]byte{2, 0, 0, 0}, widths...)
		stretches = append(stretches, bytes.Repeat([]byte{0xff}, 8<<20)...)
		content := slices.Concat(box("ftyp", []byte("heic\x00\x00\x00\x00")),
			box("meta", make([]byte, 4), box("iinf", []byte{0, 0, 0, 0, 0, 1}, item), box("iloc", stretches)))
		if got := TakenOn(content, TypeOf(content)); got != 0 {
			t.Errorf("taken on %s", got)
		}
	}
}

// FuzzTakenOn: whatever a file holds, its type is one of the list and its day,
// if any, one of the calendar; the same bytes give the same answer.
func FuzzTakenOn(f *testing.F) {
	for _, p := range photos(f) {
		f.Add(p.content)
	}
	f.Add(withSegments(aJPEG(f), app1(exifBlock(binary.LittleEndian, march8))))
	f.Add([]byte("%PDF-1.4"))
	f.Add([]byte("RIFF\x00\x00\x00\x00WEBPEXIF\x04\x00\x00\x00II*\x00"))
	f.Fuzz(func(t *testing.T, content []byte) {
		before := slices.Clone(content)
		own := TypeOf(content)
		var m Type
		if err := m.UnmarshalText([]byte(own)); err != nil || m != own {
			t.Errorf("type %q: %v", own, err)
		}
		for _, of := range []Type{JPEG, PNG, WebP, HEIC, PDF, Other} {
			taken := TakenOn(content, of)
			if taken != 0 && !taken.Valid() {
				t.Errorf("as %s taken on day %d", of, taken)
			}
			if taken != 0 && !strings.Contains(string(content), strings.ReplaceAll(taken.String(), "-", ":")) {
				t.Errorf("as %s taken on %s, which is not written in it", of, taken)
			}
		}
		if !bytes.Equal(before, content) {
			t.Error("the content was changed")
		}
	})
}
