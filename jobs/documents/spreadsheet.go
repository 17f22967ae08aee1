package documents

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// Table is a table for a spreadsheet. It is the builder's own: his costs and
// mark-up are in it.
type Table struct {
	File string // "programme.csv"
	Head []string
	Rows [][]string // texts are harmless already, numbers plain: "-140.40"
}

// Tables gives the programme, the day book, the variations and the account as at
// a date. The account of a job without a contract has no rows.
func Tables(j *jobs.Job, asAt schedule.Day) ([]Table, error) {
	p, err := j.Programme(asAt)
	if err != nil {
		return nil, err
	}
	lines, err := j.Variations(asAt)
	if err != nil {
		return nil, err
	}
	account := accountTable
	if j.Contract != nil {
		a, err := j.Account(asAt)
		if err != nil {
			return nil, err
		}
		account.Rows = accountRows(j.Contract, a)
	}
	daybook := daybookTable(j.Lines(asAt))
	return []Table{programmeTable(p), daybook, variationsTable(lines), account}, nil
}

// WriteCSV writes a table as RFC 4180 has it, in UTF-8, the heading first.
func WriteCSV(w io.Writer, t Table) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(t.Head); err != nil {
		return err
	}
	return out.WriteAll(t.Rows)
}

// cell makes a text harmless: a spreadsheet takes a cell that begins with one of
// these signs for a formula, and reckons it. An apostrophe before it says that
// it is text.
func cell(text string) string {
	first, _ := utf8.DecodeRuneInString(text)
	if strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + text
	}
	return text
}

func yes(is bool) string {
	if is {
		return "yes"
	}
	return "no"
}

// halfCells are a date and its half; two empty cells where it is not set.
func halfCells(at schedule.Instant) []string {
	if at == 0 {
		return []string{"", ""}
	}
	return []string{at.Day().String(), at.Half().String()}
}

func programmeTable(p *jobs.Programme) Table {
	t := Table{File: "programme.csv", Head: []string{"stage", "title", "kind", "calendar",
		"start", "start_half", "finish", "finish_half",
		"late_start", "late_start_half", "late_finish", "late_finish_half",
		"takes_days", "float_days", "drives", "state", "by", "after"}}
	for _, r := range p.Rows() {
		row := []string{cell(r.ID), cell(r.Name()), r.Kind.String(), cell(r.Keeps)}
		row = append(row, halfCells(r.Start)...)
		row = append(row, halfCells(r.Finish.Last())...)
		float := ""
		if r.State == schedule.Finished {
			row = append(row, "", "", "", "")
		} else {
			row = append(row, halfCells(r.LateStart)...)
			row = append(row, halfCells(r.LateFinish.Last())...)
			float = r.Float.Decimal()
		}
		var after []string
		for _, a := range r.After {
			after = append(after, a.Stage)
		}
		t.Rows = append(t.Rows, append(row, r.Length.Decimal(), float, yes(r.Drives), r.State.String(),
			string(r.Acts()), cell(strings.Join(after, " "))))
	}
	return t
}

func daybookTable(lines []jobs.Line) Table {
	t := Table{File: "daybook.csv", Head: []string{"number", "on", "kind", "ref", "says", "struck_by"}}
	for _, l := range lines {
		struck := ""
		if l.StruckBy != 0 {
			struck = fmt.Sprint(l.StruckBy)
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(l.Number), l.On.String(), l.Event.Kind(), cell(l.Ref),
			cell(l.Says), struck})
	}
	return t
}

func variationsTable(lines []jobs.VariationLine) Table {
	t := Table{File: "variations.csv", Head: []string{"number", "title", "asked_by", "because",
		"from", "state", "raised", "instructed", "agreed", "declined", "withdrawn", "carried_out",
		"time", "markup_percent",
		"lines_pounds", "markup_pounds", "total_pounds", "client_pounds", "builder_pounds", "changes"}}
	for _, l := range lines {
		p := l.Price
		t.Rows = append(t.Rows, []string{cell(l.Number), cell(l.Title), l.AskedBy.String(),
			cell(l.Because), cell(l.From),
			l.State.String(), l.RaisedOn.String(), l.Instructed.String(), l.Agreed.String(),
			l.Declined.String(), l.Withdrawn.String(), l.CarriedOut.String(), l.Time.String(),
			l.Markup.String(), p.Lines.String(), p.Markup.String(), p.Total.String(), p.Client.String(),
			p.Builder.String(), cell(strings.Join(l.Changes, "; "))})
	}
	return t
}

// accountTable is the account with nothing in it.
var accountTable = Table{File: "account.csv", Head: []string{"item", "percent", "amount_pounds"}}

// accountRows are the sums of the account. What is taken off is below nothing,
// so that total due, retention and paid add up to the balance.
func accountRows(c *jobs.Contract, a variations.Account) [][]string {
	row := func(item string, amount variations.Pence) []string {
		return []string{item, "", amount.String()}
	}
	rate := func(item string, rate variations.Percent, amount variations.Pence) []string {
		return []string{item, rate.String(), amount.String()}
	}
	return [][]string{row("contract sum", a.Contract), row("variations agreed", a.Agreed),
		row("revised sum", a.Revised), rate("vat", c.VAT, a.VAT), row("total due", a.TotalDue),
		rate("retention", c.Retention, -a.Retention), row("paid", -a.Paid), row("balance", a.Balance),
		row("instructed and not agreed, not counted", a.NotAgreed)}
}
