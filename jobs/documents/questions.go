package documents

import (
	"html/template"
	"io"

	"putlog/jobs"
	"putlog/schedule"
)

// askHTML is the page; it is read only when it is written.
const askHTML = `<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Questions for building control: {{.Title}}</title>
<style>
:root { color-scheme: light dark; --ink: #1c1c1a; --paper: #fdfcf8; --line: #6b675c; }
@media (prefers-color-scheme: dark) { :root { --ink: #f2f0e8; --paper: #1b1a17; --line: #a9a497; } }
body { font: 1rem/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper);
  max-width: 42rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
li { margin: 0 0 1.5rem; break-inside: avoid; }
.answer { border-bottom: 1px solid var(--line); min-height: 3.5rem; }
@media print { body { max-width: none; } }
</style>
</head>
<body>
<main>
<h1>Questions for building control</h1>
<p>{{.Title}} ({{.Ref}}), {{.Day}}. To be asked on site, before the quote; please answer in writing.</p>
<ol>
{{range .Lines}}<li><strong>{{.Question}}</strong><br>We have allowed for: {{.Says}}.
<div class="answer">Answer:</div></li>
{{end}}</ol>
<p>Name and office: ______________________ Date: ______________</p>
</main>
</body>
</html>
`

// WriteQuestions writes the sheet of questions as one page that needs nothing
// else.
func WriteQuestions(w io.Writer, j *jobs.Job, asAt schedule.Day, b *jobs.Basis) error {
	page := struct {
		Title, Ref, Day string
		Lines           []jobs.BasisLine
	}{j.Title, j.Ref, asAt.Long(), nil}
	if page.Title == "" {
		page.Title = j.Ref
	}
	for _, l := range b.Lines {
		if l.Outcome == jobs.Untested {
			page.Lines = append(page.Lines, l)
		}
	}
	return template.Must(template.New("ask").Parse(askHTML)).Execute(w, page)
}
