package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/jobs/documents"
	"putlog/schedule"
)

// documentFlags are where documents are written to.
type documentFlags struct {
	html, pdf string
	force     bool
}

// statementCommand writes the client's copy.
func (a *app) statementCommand() *cobra.Command {
	var f documentFlags
	cmd := &cobra.Command{
		Use:   "statement JOB",
		Short: "The client's copy: why the finish moved and what is owed, for a phone and for paper",
		Example: "  putlog statement orchard-row --html orchard-row.html --pdf orchard-row.pdf\n" +
			"  putlog statement orchard-row --html orchard-row.html --as-at 2027-04-30 --force",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			if err := f.check(a); err != nil {
				return err
			}
			return a.withBook(args[0], func(b *book.Book, j *jobs.Job, asAt schedule.Day) error {
				s, err := documents.StatementOf(j, asAt)
				if err != nil {
					return err
				}
				s.Photos, err = documents.PhotosOf(j.Evidence(asAt),
					func(e jobs.Evidence) ([]byte, error) { return e.Content(b) })
				if err != nil {
					return err
				}
				return a.writeStatement(s, &f)
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.html, "html", "", "write a page for a phone or a browser to this `file`")
	flags.StringVar(&f.pdf, "pdf", "", "write a print on A4 to this `file`")
	flags.BoolVar(&f.force, "force", false, "write over a file that is there")
	return cmd
}

// check says what is wrong with the files asked for, before any is written.
func (f *documentFlags) check(a *app) error {
	if f.html == "" && f.pdf == "" {
		return usage("say what to write: --html FILE, --pdf FILE or both")
	}
	for _, name := range [...]string{f.html, f.pdf} {
		if name == "" {
			continue
		}
		if err := a.mayWrite(name, f.force); err != nil {
			return err
		}
	}
	if sameName(f.html, f.pdf) {
		return usage("--html and --pdf name the same file")
	}
	return nil
}

// sameName says whether two names mean one file.
func sameName(a, b string) bool {
	one, err := filepath.Abs(a)
	two, err2 := filepath.Abs(b)
	return a != "" && b != "" && err == nil && err2 == nil && one == two
}

// writeStatement draws both documents up before it writes either.
func (a *app) writeStatement(s *documents.Statement, f *documentFlags) error {
	var page, print bytes.Buffer
	for _, d := range [...]struct {
		name string
		into *bytes.Buffer
		draw func(io.Writer, *documents.Statement) error
	}{{f.html, &page, documents.WriteHTML}, {f.pdf, &print, documents.WritePDF}} {
		if d.name == "" {
			continue
		}
		if err := d.draw(d.into, s); err != nil {
			return err
		}
	}
	if err := a.writeDrawn(f.html, &page, f.force); err != nil {
		return err
	}
	if err := a.writeDrawn(f.pdf, &print, f.force); err != nil {
		return err
	}
	return a.sayWritten(s.Ref, s.AsAt, "Nothing of your own costs, mark-up or share is in it.", f)
}

// writePlan writes the builder's programme as a page.
func (a *app) writePlan(ref string, f *documentFlags) error {
	if err := f.check(a); err != nil {
		return err
	}
	return a.withJob(ref, func(j *jobs.Job, asAt schedule.Day) error {
		p, err := documents.PlanOf(j, asAt)
		if err != nil {
			return err
		}
		var page bytes.Buffer
		if err := documents.WritePlanHTML(&page, p); err != nil {
			return err
		}
		if err := a.writeDrawn(f.html, &page, f.force); err != nil {
			return err
		}
		return a.sayWritten(j.Ref, asAt, "", f)
	})
}

// writeDrawn writes a document that was asked for.
func (a *app) writeDrawn(name string, drawn *bytes.Buffer, force bool) error {
	if name == "" {
		return nil
	}
	return a.writeFile(name, force, func(w io.Writer) error {
		_, err := drawn.WriteTo(w)
		return err
	})
}

// sayWritten says which files were written.
func (a *app) sayWritten(ref string, asAt schedule.Day, mind string, f *documentFlags) error {
	if a.json {
		return a.answer(struct {
			Job  string `json:"job"`
			AsAt string `json:"as_at"`
			HTML string `json:"html,omitempty"`
			PDF  string `json:"pdf,omitempty"`
		}{ref, asAt.String(), f.html, f.pdf})
	}
	for _, name := range [...]string{f.html, f.pdf} {
		switch {
		case name == "":
		case a.width() == 0:
			a.plain([][]string{{name}})
		default:
			a.say(fmt.Sprintf("Written: %s, as at %s.", name, asAt.Long()))
		}
	}
	if mind != "" && a.width() > 0 {
		a.say(mind)
	}
	return nil
}
