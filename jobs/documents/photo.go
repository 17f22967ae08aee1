package documents

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // photos may be PNG
	"math"

	"golang.org/x/image/draw"

	"putlog/jobs"
	"putlog/jobs/media"
	"putlog/schedule"
)

// Photo is a piece of evidence marked for the client: a picture drawn anew and
// scaled down, so that nothing the camera wrote beside it (where it was taken,
// above all) goes along; or, where it can't be drawn, its name alone.
type Photo struct {
	On            schedule.Day // when it was taken, else the date of its entry
	Says          string       // what the entry says that it hangs on
	Name          string
	JPEG          []byte // nil for a paper, or a picture that can't be drawn
	Width, Height int
}

// The size of a photo in a document: enough for a page, small for a message.
const (
	photoEdge    = 1000        // pixels of the longer edge
	photoQuality = 78          // of the JPEG
	mostDrawn    = 200_000_000 // bytes that a picture may take while it is drawn
)

// PhotosOf makes the photos of the pieces marked for the client. read gives a
// piece's content.
func PhotosOf(pieces []jobs.Piece, read func(jobs.Evidence) ([]byte, error)) ([]Photo, error) {
	var photos []Photo
	for _, piece := range pieces {
		if !piece.Client || piece.Line.StruckBy != 0 {
			continue
		}
		p := Photo{On: piece.Taken, Says: piece.Line.Says, Name: string(piece.Name)}
		if p.On == 0 {
			p.On = piece.Line.On
		}
		if piece.What == jobs.Photo {
			content, err := read(piece.Evidence)
			if err != nil {
				return nil, fmt.Errorf("read %s: %w", piece.Name, err)
			}
			p.JPEG, p.Width, p.Height = shrink(content)
		}
		photos = append(photos, p)
	}
	return photos, nil
}

// shrink draws a JPEG or PNG anew, upright and scaled down; nil where it can't
// be read or is far too large.
func shrink(content []byte) (made []byte, width, height int) {
	config, _, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || config.Width < 1 || config.Height < 1 ||
		config.Width > mostDrawn/config.Height/perPixel(config.ColorModel, content) {
		return nil, 0, 0
	}
	picture, _, err := image.Decode(bytes.NewReader(content))
	if err != nil {
		return nil, 0, 0
	}
	picture = upright(scaled(picture), media.Turned(content))
	var out bytes.Buffer
	if jpeg.Encode(&out, picture, &jpeg.Options{Quality: photoQuality}) != nil {
		return nil, 0, 0
	}
	size := picture.Bounds().Size()
	return out.Bytes(), size.X, size.Y
}

// perPixel is how many bytes a pixel takes while a picture is read. A
// progressive JPEG (it has a frame of the kind 0xC2) is kept in whole as numbers
// of four bytes besides.
func perPixel(model color.Model, content []byte) int {
	channels := 3
	switch model {
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	case color.RGBAModel, color.NRGBAModel, color.CMYKModel:
		channels = 4
	}
	if bytes.Contains(content, []byte{0xff, 0xc2}) {
		return channels + channels*4
	}
	return channels
}

// scaled draws a picture on white, no larger than photoEdge.
func scaled(picture image.Image) *image.RGBA {
	size := picture.Bounds().Size()
	ratio := min(1, float64(photoEdge)/float64(max(size.X, size.Y)))
	small := image.NewRGBA(image.Rect(0, 0, max(1, int(math.Round(float64(size.X)*ratio))),
		max(1, int(math.Round(float64(size.Y)*ratio)))))
	draw.Draw(small, small.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(small, small.Bounds(), picture, picture.Bounds(), draw.Over, nil)
	return small
}

// upright turns a picture as Exif's Orientation says.
func upright(p *image.RGBA, turn int) *image.RGBA {
	if turn == 1 {
		return p
	}
	w, h := p.Bounds().Dx(), p.Bounds().Dy()
	size := image.Rect(0, 0, w, h)
	if turn >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			to := [...]image.Point{2: {w - 1 - x, y}, 3: {w - 1 - x, h - 1 - y}, 4: {x, h - 1 - y},
				5: {y, x}, 6: {h - 1 - y, x}, 7: {h - 1 - y, w - 1 - x}, 8: {y, w - 1 - x}}[turn]
			out.SetRGBA(to.X, to.Y, p.RGBAAt(x, y))
		}
	}
	return out
}

// Source is the photo as a page holds it: no file beside it is needed.
func (p Photo) Source() template.URL {
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(p.JPEG))
}
