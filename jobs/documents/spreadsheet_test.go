package documents

import (
	"bytes"
	"encoding/csv"
	"math/big"
	"strings"
	"testing"
	"unicode/utf8"

	"putlog/jobs"
)

// hostileJob is an invented job whose texts a spreadsheet would reckon, or break
// at.
const hostileJob = `job: barn
title: "=1+1"
region: scotland
start: 2027-03-01
contract: {sum: 100.10, vat: 17.5, retention: 5}
calendars: {-crew: {week: mon-fri}}
stages:
  - {stage: -dig, title: "=HYPERLINK(A1)", takes: 1d}
  - {stage: pour, title: "@now, \"quoted\"; ½ m²", takes: 0.5d, after: -dig, calendar: -crew}
  - {stage: paint, title: "\ttabbed", takes: 1d, after: pour}
entries:
  - {on: 2027-03-01, variation: {number: +1, title: "-140.40", because: "=cmd|' /C calc'!A0",
     asked-by: client, from: "=A1", cost: {client: 60, builder: 40}, time: client, markup: 10,
     lines: [{kind: omit, what: floor, quantity: 1, rate: 140.40}],
     changes: [{retime: {stage: -dig, takes: 1d}}, {drop: {stage: paint}}]}}
  - {on: 2027-03-01, instructed: {variation: +1}}
  - {on: 2027-03-02, agreed: {variation: +1, note: "two\nlines"}}
  - {on: 2027-03-02, payment: {amount: 5000.05}}
  - {on: 2027-03-02, finished: {stage: -dig, at: 2027-03-01}}
  - {on: 2027-03-02, correction: {entry: 4, because: "=no"}}
`

// readTables writes the tables and reads them again.
func readTables(t testing.TB, j *jobs.Job, asAt string) map[string][][]string {
	t.Helper()
	tables, err := Tables(j, day(t, asAt))
	if err != nil {
		t.Fatal(err)
	}
	read := map[string][][]string{}
	for _, table := range tables {
		var b bytes.Buffer
		if err := WriteCSV(&b, table); err != nil {
			t.Fatal(err)
		}
		if text := b.String(); !utf8.ValidString(text) || !strings.HasSuffix(text, "\r\n") ||
			strings.Count(text, "\n") != strings.Count(text, "\r\n") {
			t.Errorf("%s is not RFC 4180 in UTF-8", table.File)
		}
		rows, err := csv.NewReader(&b).ReadAll() // it refuses rows of other lengths
		if err != nil {
			t.Fatalf("%s: %v", table.File, err)
		}
		if len(rows) != len(table.Rows)+1 {
			t.Errorf("%s has %d rows of %d", table.File, len(rows), len(table.Rows))
		}
		read[table.File] = rows
	}
	return read
}

// column gives the cells under a heading.
func column(t testing.TB, rows [][]string, head string) []string {
	t.Helper()
	for i, name := range rows[0] {
		if name == head {
			var cells []string
			for _, row := range rows[1:] {
				cells = append(cells, row[i])
			}
			return cells
		}
	}
	t.Fatalf("there is no column %s in %v", head, rows[0])
	return nil
}

func TestTables(t *testing.T) {
	j, err := jobs.ReadJob("barn.yaml", []byte(hostileJob))
	if err != nil {
		t.Fatal(err)
	}
	read := readTables(t, j, "2027-03-03")
	if len(read) != 4 {
		t.Fatalf("%d tables", len(read))
	}
	for _, want := range []struct{ file, head, cells string }{
		{"programme.csv", "stage", "'-dig|pour"},
		{"programme.csv", "title", `'=HYPERLINK(A1)|'@now, "quoted"; ½ m²`},
		{"programme.csv", "calendar", "site|'-crew"},
		{"programme.csv", "start", "2027-03-01|2027-03-03"},
		{"programme.csv", "finish_half", "pm|am"},
		{"programme.csv", "late_start", "|2027-03-03"},
		{"programme.csv", "takes_days", "1|0.5"},
		{"programme.csv", "float_days", "|0"},
		{"programme.csv", "after", "|'-dig"},
		{"daybook.csv", "number", "1|2|3|4|5|6"},
		{"daybook.csv", "ref", "'+1|'+1|'+1||'-dig|"},
		{"daybook.csv", "struck_by", "|||6||"},
		{"variations.csv", "number", "'+1"},
		{"variations.csv", "title", "'-140.40"},
		{"variations.csv", "from", "'=A1"},
		{"variations.csv", "because", "'=cmd|' /C calc'!A0"},
		{"variations.csv", "changes", "'-dig now takes 1d; leaves out paint"},
		// 140.40 off and 10 per cent of that, 60 per cent of it the client's
		{"variations.csv", "lines_pounds", "-140.40"},
		{"variations.csv", "markup_pounds", "-14.04"},
		{"variations.csv", "total_pounds", "-154.44"},
		{"variations.csv", "client_pounds", "-92.66"},
		{"variations.csv", "builder_pounds", "-61.78"},
		{"variations.csv", "instructed", "2027-03-01"},
		// 100.10 less 92.66; 17.5 per cent of 7.44 is 1.302; 5 per cent 0.372; the
		// payment was struck out
		{"account.csv", "amount_pounds", "100.10|-92.66|7.44|1.30|8.74|-0.37|0.00|8.37|0.00"},
		{"account.csv", "percent", "|||17.5||5|||"},
	} {
		if got := strings.Join(column(t, read[want.file], want.head), "|"); got != want.cells {
			t.Errorf("%s %s: got %q, want %q", want.file, want.head, got, want.cells)
		}
	}
	if says := column(t, read["daybook.csv"], "says")[2]; !strings.HasSuffix(says, ": two\nlines") {
		t.Errorf("a text of two lines came back as %q", says)
	}
}

// A cell of a column of numbers is a number, whatever its sign; every other cell
// is nothing that a spreadsheet reckons.
func TestTablesHoldNoFormula(t *testing.T) {
	j, err := jobs.ReadJob("barn.yaml", []byte(hostileJob))
	if err != nil {
		t.Fatal(err)
	}
	numbers := holdNoFormula(t, readTables(t, j, "2027-03-03"))
	if numbers < 15 {
		t.Errorf("only %d cells of numbers", numbers)
	}
}

// holdNoFormula looks at every cell, and counts those of numbers.
func holdNoFormula(t testing.TB, tables map[string][][]string) (numbers int) {
	t.Helper()
	for file, rows := range tables {
		for _, row := range rows[1:] {
			for i, text := range row {
				head := rows[0][i]
				if strings.HasSuffix(head, "_pounds") || strings.HasSuffix(head, "_days") ||
					strings.HasSuffix(head, "percent") {
					if _, ok := new(big.Rat).SetString(text); !ok && text != "" {
						t.Errorf("%s %s: %q is no number", file, head, text)
					}
					if strings.HasSuffix(head, "_pounds") && text[max(0, len(text)-3)] != '.' {
						t.Errorf("%s %s: %q has not two decimals", file, head, text)
					}
					numbers++
					continue
				}
				if text != "" && strings.ContainsRune("=+-@\t\r\n", rune(text[0])) {
					t.Errorf("%s %s: %q is taken for a formula", file, head, text)
				}
			}
		}
	}
	return numbers
}

func TestTablesWithoutContract(t *testing.T) {
	j, err := jobs.ReadJob("barn.yaml", []byte(strings.Replace(hostileJob,
		"contract: {sum: 100.10, vat: 17.5, retention: 5}\n", "", 1)))
	if err != nil {
		t.Fatal(err)
	}
	if rows := readTables(t, j, "2027-03-03")["account.csv"]; len(rows) != 1 {
		t.Errorf("the account without a contract has %d rows", len(rows))
	}
}

// A broken pipe or a full disk is an error.
func TestTableThatCannotBeWritten(t *testing.T) {
	table := Table{Head: []string{"a"}, Rows: [][]string{{strings.Repeat("b", 10_000)}}}
	if err := WriteCSV(brokenWriter{}, table); err == nil {
		t.Error("a table that could not be written is no error")
	}
}

// cellHolds: no text is taken for a formula, each comes back, and one that is
// harmless stays as it is.
func cellHolds(t testing.TB, text string) {
	t.Helper()
	got := cell(text)
	first, _ := utf8.DecodeRuneInString(text)
	want := text
	switch first {
	case '=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠':
		want = "'" + text
	}
	if got != want {
		t.Errorf("%q became %q, want %q", text, got, want)
	}
	var b bytes.Buffer
	if err := WriteCSV(&b, Table{Head: []string{"text", "next"}, Rows: [][]string{{got,
		"-1.50"}}}); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 2 || rows[1][1] != "-1.50" {
		t.Fatalf("%q: %v, %v", text, rows, err)
	}
	plain := strings.NewReplacer("\r\n", "\n", "\r", "")
	if plain.Replace(rows[1][0]) != plain.Replace(got) {
		t.Errorf("%q came back as %q", got, rows[1][0])
	}
}
