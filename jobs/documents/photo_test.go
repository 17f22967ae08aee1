package documents

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"runtime"
	"testing"

	"putlog/jobs"
	"putlog/jobs/media"
	"putlog/schedule"
)

// cornered is a wide picture, dark but for a light left upper corner, with an
// Exif block before its picture that says how it is turned and holds a secret.
func cornered(t *testing.T, turn byte) []byte {
	t.Helper()
	picture := image.NewGray(image.Rect(0, 0, 1600, 800))
	for y := range 400 {
		for x := range 800 {
			picture.SetGray(x, y, color.Gray{255})
		}
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, picture, nil); err != nil {
		t.Fatal(err)
	}
	tiff := []byte{'I', 'I', '*', 0, 8, 0, 0, 0, 1, 0, 0x12, 1, 3, 0, 1, 0, 0, 0, turn, 0, 0, 0, 0, 0, 0, 0}
	block := append([]byte("Exif\x00\x00"), tiff...)
	block = append(block, "SECRET-PLACE"...)
	head := []byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(block) + 2)}
	return append(append(head, block...), out.Bytes()[2:]...)
}

// TestPhotosAreDrawnAnew: upright, scaled down, and nothing of the camera's own
// beside the picture. Where the light corner goes for each turn is the standard's
// table (JEITA CP-3451, Orientation).
func TestPhotosAreDrawnAnew(t *testing.T) {
	for turn, corner := range map[byte]string{1: "left top", 2: "right top", 3: "right bottom",
		4: "left bottom", 5: "left top", 6: "right top", 7: "right bottom", 8: "left bottom"} {
		content := cornered(t, turn)
		if !bytes.Contains(content, []byte("SECRET")) || media.Turned(content) != int(turn) {
			t.Fatalf("turn %d: the made photo is no test", turn)
		}
		made, w, h := shrink(content)
		if bytes.Contains(made, []byte("SECRET")) || bytes.Contains(made, []byte("Exif")) {
			t.Errorf("turn %d: what the camera wrote is still there", turn)
		}
		if wide := turn < 5; max(w, h) != photoEdge || wide != (w > h) {
			t.Errorf("turn %d: %d by %d", turn, w, h)
		}
		picture, err := jpeg.Decode(bytes.NewReader(made))
		if err != nil {
			t.Fatal(err)
		}
		for name, at := range map[string]image.Point{"left top": {20, 20}, "right top": {w - 20, 20},
			"left bottom": {20, h - 20}, "right bottom": {w - 20, h - 20}} {
			light := color.GrayModel.Convert(picture.At(at.X, at.Y)).(color.Gray).Y > 128
			if light != (name == corner) {
				t.Errorf("turn %d: %s light: %v", turn, name, light)
			}
		}
	}
}

func TestOnlyTheClientsEvidenceIsShown(t *testing.T) {
	day := schedule.FirstDay
	piece := func(name string, what jobs.EvidenceKind, client bool, struck int) jobs.Piece {
		return jobs.Piece{Evidence: jobs.Evidence{Name: jobs.FileName(name), What: what, Client: client, Taken: day},
			Line: jobs.Line{Says: "Slab poured", StruckBy: struck}}
	}
	pieces := []jobs.Piece{piece("a.jpg", jobs.Photo, true, 0), piece("b.jpg", jobs.Photo, false, 0),
		piece("c.pdf", jobs.Paper, true, 0), piece("d.jpg", jobs.Photo, true, 3), piece("e.jpg", jobs.Photo, true, 0)}
	photos, err := PhotosOf(pieces, func(e jobs.Evidence) ([]byte, error) {
		switch e.Name {
		case "a.jpg":
			return cornered(t, 1), nil
		case "e.jpg":
			return []byte("no picture at all"), nil
		}
		t.Errorf("%s was read", e.Name)
		return nil, nil
	})
	if err != nil || len(photos) != 3 || photos[0].JPEG == nil || photos[1].JPEG != nil || photos[2].JPEG != nil {
		t.Fatalf("%d photos, %v", len(photos), err)
	}
	s := &Statement{Ref: "x", Title: "X", AsAt: day, Now: day.End(), Photos: photos, Picture: Picture{From: day, To: day + 6}}
	var page, print bytes.Buffer
	if err := WriteHTML(&page, s); err != nil {
		t.Fatal(err)
	}
	if err := WritePDF(&print, s); err != nil {
		t.Fatal(err)
	}
	for _, out := range [][]byte{page.Bytes(), print.Bytes()} {
		if bytes.Contains(out, []byte("SECRET")) || bytes.Contains(out, []byte("b.jpg")) {
			t.Error("something is in the client's copy that should not be")
		}
	}
	if !bytes.Contains(page.Bytes(), []byte(`src="data:image/jpeg;base64,`)) ||
		!bytes.Contains(page.Bytes(), []byte("c.pdf, to be had from the builder")) ||
		!bytes.Contains(print.Bytes(), []byte("/Subtype /Image")) {
		t.Error("the photo or the paper is missing")
	}
}

// TestPictureBombs: a picture that says it is vast, and is a few bytes, is not
// drawn; one as large as a good camera makes is.
func TestPictureBombs(t *testing.T) {
	var small bytes.Buffer
	if err := png.Encode(&small, image.NewRGBA(image.Rect(0, 0, 2, 2))); err != nil {
		t.Fatal(err)
	}
	sized := func(w, h uint32, depth, kind byte) []byte {
		head := binary.BigEndian.AppendUint32([]byte("IHDR"), w)
		head = append(binary.BigEndian.AppendUint32(head, h), depth, kind, 0, 0, 0)
		content := bytes.Clone(small.Bytes())
		copy(content[12:], binary.BigEndian.AppendUint32(head, crc32.ChecksumIEEE(head)))
		return content
	}
	if config, err := png.DecodeConfig(bytes.NewReader(sized(60_000, 60_000, 8, 6))); err != nil || config.Width != 60_000 {
		t.Fatalf("the made picture is no test: %v, %v", config, err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for _, content := range [][]byte{sized(60_000, 60_000, 8, 6), sized(1<<31-1, 1<<31-1, 16, 6),
		sized(1, 1<<31-1, 8, 2), sized(7_000, 7_000, 16, 6)} {
		if made, w, h := shrink(content); made != nil {
			t.Errorf("%d by %d was drawn", w, h)
		}
	}
	runtime.ReadMemStats(&after)
	if spent := after.TotalAlloc - before.TotalAlloc; spent > 10<<20 {
		t.Errorf("%d MB for pictures that are not drawn", spent>>20)
	}
	for what, bytes := range map[string]int{"a baseline JPEG": perPixel(color.YCbCrModel, nil),
		"a screenshot": perPixel(color.NRGBAModel, nil)} {
		if mostDrawn/bytes < 48_000_000 {
			t.Errorf("%s of a good camera is not drawn", what)
		}
	}
	if mostDrawn/perPixel(color.YCbCrModel, []byte{0xff, 0xc2}) < 12_000_000 {
		t.Error("a progressive JPEG of a telephone is not drawn")
	}
}
