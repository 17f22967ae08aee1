package documents

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"math"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
)

// The tests read a print back by what ISO 32000-1 says of streams (7.3.8), text
// (9.4) and paths (8.5.2), as far as the print uses it.

// readText is a line of text on a page, with its place in points.
type readText struct {
	x, y, size float64
	bold       bool
	text       string
}

// readPage is a page: its texts in the order written, the corners of all that
// is drawn, and its boxes: x, y, width, height.
type readPage struct {
	texts []readText
	marks [][2]float64
	boxes [][4]float64
}

// all joins a page's texts as they follow each other.
func (p readPage) all() string {
	var all []string
	for _, t := range p.texts {
		all = append(all, t.text)
	}
	return strings.Join(all, " ")
}

// allPages joins the texts of all pages, their feet left out.
func allPages(pages []readPage) string {
	var all []string
	for _, p := range pages {
		p.texts = p.texts[:len(p.texts)-2]
		all = append(all, p.all())
	}
	return strings.Join(all, " ")
}

// streams gives every stream of a PDF, inflated where it is deflated.
func streams(pdf []byte) ([][]byte, error) {
	var all [][]byte
	head := regexp.MustCompile(`(?s)<<[^<>]*/Length (\d+)[^<>]*>>\nstream\n`)
	for rest := pdf; ; {
		at := head.FindSubmatchIndex(rest)
		if at == nil {
			return all, nil
		}
		n, err := strconv.Atoi(string(rest[at[2]:at[3]]))
		if err != nil || at[1]+n > len(rest) {
			return nil, fmt.Errorf("a stream of length %s", rest[at[2]:at[3]])
		}
		body := rest[at[1] : at[1]+n]
		if bytes.Contains(rest[at[0]:at[1]], []byte("/FlateDecode")) {
			z, err := zlib.NewReader(bytes.NewReader(body))
			if err != nil {
				return nil, err
			}
			if body, err = io.ReadAll(z); err != nil {
				return nil, err
			}
		}
		all, rest = append(all, body), rest[at[1]+n:]
	}
}

// readPrint reads every page of a print.
func readPrint(pdf []byte) ([]readPage, error) {
	bold := map[string]bool{} // by the name of the font in a page
	named := regexp.MustCompile(`/F([0-9a-f]{40}) (\d+) 0 R`)
	for _, font := range named.FindAllSubmatch(pdf, -1) {
		object := regexp.MustCompile(`\n` + string(font[2]) + ` 0 obj\n<</Type /Font\n/Subtype ` +
			`/Type0\n/BaseFont /utf8go(B?)\n`).FindSubmatch(pdf)
		if object == nil {
			return nil, fmt.Errorf("font %s is not there", font[1])
		}
		bold[string(font[1])] = len(object[1]) > 0
	}
	all, err := streams(pdf)
	if err != nil {
		return nil, err
	}
	var pages []readPage
	for _, s := range all {
		if bytes.Contains(s, []byte(" Tf ET")) {
			pages = append(pages, readOnePage(s, bold))
		}
	}
	return pages, nil
}

// readOnePage reads a page's content.
func readOnePage(content []byte, bold map[string]bool) readPage {
	const number = `(-?[0-9]+\.?[0-9]*)`
	face := regexp.MustCompile(`^BT /F(\w+) ` + number + ` Tf ET`)
	text := regexp.MustCompile(`^BT ` + number + ` ` + number + ` Td \(`)
	path := regexp.MustCompile(`^` + number + ` ` + number + ` [ml]\b`)
	box := regexp.MustCompile(`^` + number + ` ` + number + ` ` + number + ` ` + number + ` re\b`)
	var page readPage
	var now readText
	for len(content) > 0 {
		if m := face.FindSubmatch(content); m != nil {
			now.bold, now.size = bold[string(m[1])], points(m[2])
		} else if m := text.FindSubmatch(content); m != nil {
			now.x, now.y = points(m[1]), points(m[2])
			n := 0
			now.text, n = readString(content[len(m[0]):])
			page.texts = append(page.texts, now)
			content = content[len(m[0])+n:]
			continue
		} else if m := path.FindSubmatch(content); m != nil {
			page.marks = append(page.marks, [2]float64{points(m[1]), points(m[2])})
		} else if m := box.FindSubmatch(content); m != nil {
			x, y, w, h := points(m[1]), points(m[2]), points(m[3]), points(m[4])
			page.marks = append(page.marks, [2]float64{x, y}, [2]float64{x + w, y + h})
			page.boxes = append(page.boxes, [4]float64{x, y, w, h})
		}
		next := bytes.IndexAny(content, "\n ")
		if next < 0 {
			break
		}
		content = content[next+1:]
	}
	return page
}

func points(number []byte) float64 {
	n, _ := strconv.ParseFloat(string(number), 64) // it is one, by the pattern
	return n
}

// readString reads a string of UTF-16 up to its closing bracket, and how many
// bytes it took.
func readString(content []byte) (string, int) {
	var raw []byte
	i := 0
	for ; i < len(content) && content[i] != ')'; i++ {
		if content[i] == '\\' {
			if i++; content[i] == 'r' {
				raw = append(raw, '\r')
				continue
			}
		}
		raw = append(raw, content[i])
	}
	units := make([]uint16, 0, len(raw)/2)
	for k := 0; k+1 < len(raw); k += 2 {
		units = append(units, uint16(raw[k])<<8|uint16(raw[k+1]))
	}
	return string(utf16.Decode(units)), i + 1
}

// strays names what lies outside the margins of a page; p measures its texts.
func strays(p *sheet, page readPage) []string {
	const within = 0.6 // points: a mark's own thickness
	left, right := sideMargin/pointMM-within, (paperWidth-sideMargin)/pointMM+within
	low, high := 8/pointMM, (paperHeight-topMargin)/pointMM+within
	var all []string
	for _, t := range page.texts {
		style := ""
		if t.bold {
			style = "B"
		}
		p.set(style, t.size)
		end := t.x + p.pdf.GetStringWidth(t.text)/pointMM
		if t.x < left || end > right || t.y < low || t.y > high {
			all = append(all, t.text)
		}
	}
	for _, m := range page.marks {
		x := math.Max(left-m[0], m[0]-right)
		if x > 0 || m[1] < low || m[1] > high {
			all = append(all, "a mark at "+strconv.FormatFloat(m[0], 'f', 1, 64)+" "+
				strconv.FormatFloat(m[1], 'f', 1, 64))
		}
	}
	return all
}

// outside runs a program of poppler-utils over a print, or skips the test where
// it is not installed.
func outside(t *testing.T, pdf []byte, program string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skipf("%s is not installed", program)
	}
	cmd := exec.Command(path, args...)
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", program, err, out)
	}
	return string(out)
}
