package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/jobs/words"
)

func (a *app) checkCommand() *cobra.Command {
	var seal bool
	var against string
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Prove that nothing in the book was altered or lost: entries, day books, photos, papers",
		Long: "Prove that nothing in the book was altered or lost: entries, day books, photos, papers.\n\n" +
			"The book can't know by itself whether an older copy was put in its place, or one written anew.\n" +
			"Its seal can: put it in an e-mail to the client, and hold the book against it whenever somebody doubts it.\n" +
			"It covers every job's day book and evidence; the lists of rates, on which no history rests, are outside it.",
		Example: "  putlog check\n" +
			"  putlog check --seal\n" +
			"  putlog check --against 412-7QK2M-XH4PD-0ZB6T-R9WCE-51KAF\n" +
			"  putlog check --book copy-of-friday.db",
		Args: exactArgs(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			held := cmd.Flags().Changed("against") // an empty seal is a bad one
			if seal && held {
				return usage("check: --seal prints a seal and --against reads one; use one of them")
			}
			b, err := a.toProve()
			if err != nil {
				return err
			}
			defer b.Close()
			report, err := a.prove(b)
			if err != nil {
				return err
			}
			switch {
			case held:
				return a.printAgainst(b, against)
			case seal && !a.json:
				a.printSeal(report)
				return nil
			}
			return a.printReport("The book", b.Path(), report)
		},
	}
	cmd.Flags().BoolVar(&seal, "seal", false, "print the seal of the book as it is now")
	cmd.Flags().StringVar(&against, "against", "", "prove that what was sealed is unaltered; `SEAL` as it was printed")
	return cmd
}

// printSeal prints the seal alone into a pipe, and what to do with it on a screen.
func (a *app) printSeal(r book.Report) {
	if a.width() == 0 {
		a.plain([][]string{{r.Seal}})
		return
	}
	a.say("Seal of the day book on "+a.today().Long()+": "+r.Seal,
		"Put that line in an e-mail to the client. Should anybody doubt the book, this proves that "+
			"no entry written up to now was changed, left out or slipped in:",
		"putlog check --against "+r.Seal)
}

// printAgainst holds the book, which was proved, against a seal.
func (a *app) printAgainst(b *book.Book, typed string) error {
	s, err := b.Against(typed)
	var bad *book.BadSeal
	var altered *book.Altered
	switch {
	case errors.As(err, &bad):
		return words.Refuse("copy it from where it was printed: putlog check --seal", "%v", err)
	case errors.As(err, &altered):
		return &book.Error{Path: b.Path(), Op: "vouch for", What: altered.What,
			Try: "see whether the seal is from another book, or an older copy was put in its place"}
	case err != nil:
		return err
	case a.json:
		return a.answer(object{{"file", b.Path()}, {"whole", true}, {"seal", s.Seal}, {"rows", s.Rows},
			{"rows_since", s.Since}})
	case a.width() == 0:
		a.plain([][]string{{b.Path(), "sealed", s.Seal, fmt.Sprint(s.Rows), fmt.Sprint(s.Since)}})
		return nil
	}
	since := "Nothing was written since."
	if s.Since > 0 {
		since = fmt.Sprintf("Written since: %s.", count(s.Since, "row", "rows"))
	}
	a.say("The book is whole, and up to row "+fmt.Sprint(s.Rows)+" it is what was sealed: "+
		"no entry was changed, left out or slipped in. "+since, "File: "+b.Path(), "Seal: "+s.Seal)
	return nil
}

// prove proves a book and tells how far it has come.
func (a *app) prove(b *book.Book) (book.Report, error) {
	told := a.progress("Proving the book: %d of %d jobs")
	defer told.end()
	return jobs.Prove(b, told.at)
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
			{"rows", r.Rows}, {"head", r.Head}, {"seal", r.Seal}, {"rate_lists", r.Rates}, {"rates_head", r.RatesHead},
			{"evidence_files", r.Files}, {"evidence_bytes", r.Bytes}})
	}
	if a.width() == 0 {
		a.plain([][]string{{path, "whole", fmt.Sprint(r.Jobs), fmt.Sprint(entries), fmt.Sprint(r.Files),
			fmt.Sprint(r.Bytes), fmt.Sprint(r.Rows), r.Head, fmt.Sprint(r.Rates), r.RatesHead, r.Seal}})
		return nil
	}
	const whole = "%s is whole: %s, %s and %s (%s), all as they were written, " +
		"and every day book stands."
	a.say(fmt.Sprintf(whole, what, count(int64(r.Jobs), "job", "jobs"),
		count(entries, "entry", "entries"), files(r.Files), jobs.FileSize(r.Bytes)),
		"File: "+path, "Rows: "+fmt.Sprint(r.Rows), "Seal: "+r.Seal)
	if r.Rates > 0 {
		a.say(fmt.Sprintf("Lists of rates: %d", r.Rates))
	}
	a.say("An older copy put in its place would pass too. The seal tells them apart: " +
		"put it in an e-mail to the client (putlog check --seal).")
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
				return badlyNamed(args[0], err)
			}
			report, err := a.proveCopy(b, args[0])
			if err != nil {
				return err
			}
			return a.printReport("The copy", args[0], report)
		},
	}
}

// proveCopy proves a copy whole. One that is not is taken away again, and the
// fault laid where it is: to the book, else to the disk of the copy.
func (a *app) proveCopy(b *book.Book, path string) (book.Report, error) {
	report, err := a.proveFile(path)
	if err == nil {
		return report, nil
	}
	_ = os.Remove(path)
	if _, own := a.prove(b); own != nil {
		return report, own
	}
	return report, &book.Error{Path: path, Op: "vouch for the copy", What: err.Error(),
		Try: "try another disk", Err: err}
}

func (a *app) proveFile(path string) (book.Report, error) {
	c, err := book.OpenExisting(path)
	if err != nil {
		return book.Report{}, err
	}
	defer c.Close()
	return a.prove(c)
}
