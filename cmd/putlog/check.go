package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
)

func (a *app) checkCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Prove that nothing in the book was altered or lost: entries, day books, photos, papers",
		Example: "  putlog check\n" +
			"  putlog check --book copy-of-friday.db",
		Args: exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			b, err := a.toProve()
			if err != nil {
				return err
			}
			defer b.Close()
			report, err := jobs.Prove(b)
			if err != nil {
				return err
			}
			return a.printReport("The book", b.Path(), report)
		},
	}
}

// toProve opens the book, which must be there: a lost one is no empty one.
func (a *app) toProve() (*book.Book, error) {
	path, _, err := a.path()
	if err != nil {
		return nil, err
	}
	return book.OpenExisting(path)
}

// printReport says what was proved of a book.
func (a *app) printReport(what, path string, r book.Report) error {
	entries := r.Rows - int64(r.Jobs)
	if a.json {
		return a.answer(object{{"file", path}, {"whole", true}, {"jobs", r.Jobs}, {"entries", entries},
			{"rows", r.Rows}, {"head", r.Head}, {"rate_lists", r.Rates}, {"rates_head", r.RatesHead},
			{"evidence_files", r.Files}, {"evidence_bytes", r.Bytes}})
	}
	if a.width() == 0 {
		a.plain([][]string{{path, "whole", fmt.Sprint(r.Jobs), fmt.Sprint(entries), fmt.Sprint(r.Files),
			fmt.Sprint(r.Bytes), fmt.Sprint(r.Rows), r.Head, fmt.Sprint(r.Rates), r.RatesHead}})
		return nil
	}
	const whole = "%s is whole: %s, %s and %s (%s), all as they were written, " +
		"and every day book stands."
	a.say(fmt.Sprintf(whole, what, count(int64(r.Jobs), "job", "jobs"),
		count(entries, "entry", "entries"), files(r.Files), jobs.FileSize(r.Bytes)),
		"File: "+path, "Rows: "+fmt.Sprint(r.Rows), "Last row: "+r.Head)
	if r.Rates > 0 {
		a.say(fmt.Sprintf("Lists of rates: %d, the last %s", r.Rates, r.RatesHead))
	}
	a.say("An older copy put in its place would pass too: " +
		"note the rows and the last row somewhere else.")
	return nil
}

// count counts things in words.
func count(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (a *app) backupCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "backup FILE",
		Short:   "Copy the book, photos and papers included, to a new file, and prove the copy whole",
		Example: "  putlog backup /media/stick/putlog-2027-03-05.db",
		Args:    exactArgs("FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			b, err := a.toProve()
			if err != nil {
				return err
			}
			defer b.Close()
			if err := b.Backup(args[0]); err != nil {
				return backupFault(args[0], err)
			}
			report, err := proveCopy(b, args[0])
			if err != nil {
				return err
			}
			return a.printReport("The copy", args[0], report)
		},
	}
}

// backupFault tells a file that was badly named from a book or a disk that
// failed.
func backupFault(file string, err error) error {
	var broken *book.Error
	if errors.As(err, &broken) && broken.Path == file &&
		(errors.Is(err, fs.ErrExist) || errors.Is(err, fs.ErrNotExist)) {
		return advise(broken.Try, "%v", err)
	}
	return err
}

// proveCopy proves a copy whole. One that is not is taken away again, and the
// fault laid where it is: to the book, else to the disk of the copy.
func proveCopy(b *book.Book, path string) (book.Report, error) {
	report, err := prove(path)
	if err == nil {
		return report, nil
	}
	_ = os.Remove(path)
	if _, own := jobs.Prove(b); own != nil {
		return report, own
	}
	return report, &book.Error{Path: path, Op: "vouch for the copy", What: err.Error(),
		Try: "try another disk", Err: err}
}

func prove(path string) (book.Report, error) {
	c, err := book.OpenExisting(path)
	if err != nil {
		return book.Report{}, err
	}
	defer c.Close()
	return jobs.Prove(c)
}
