package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs/book"
	"putlog/jobs/words"
)

func (a *app) restoreCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "restore FILE",
		Short: "Put a backup in the place of the book, once it is proved whole; the old book is kept",
		Long: "Put a backup in the place of the book, once it is proved whole. The old book is kept beside it,\n" +
			"and you are told what it holds that the backup has not. To undo it, restore the file that was kept.",
		Example: "  putlog restore /media/stick/putlog-2027-03-05.db",
		Args:    exactArgs("FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, _, err := a.path()
			if err != nil {
				return err
			}
			var report book.Report
			suffix := ".before-" + a.now.UTC().Format("20060102-150405")
			done, err := book.Restore(path, args[0], suffix, func(b *book.Book) (err error) {
				report, err = a.prove(b)
				return err
			})
			if err != nil {
				return badlyNamed(args[0], err)
			}
			return a.printRestored(path, args[0], done, report)
		},
	}
}

// badlyNamed tells a file that was badly named from a book or a disk that
// failed.
func badlyNamed(file string, err error) error {
	var broken *book.Error
	if errors.As(err, &broken) && broken.Path == file &&
		(errors.Is(err, fs.ErrExist) || errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrInvalid)) {
		return words.Refuse(broken.Try, "%v", err)
	}
	return err
}

func (a *app) printRestored(path, from string, done book.Restored, r book.Report) error {
	if a.json {
		ahead := []object{}
		for _, l := range done.Ahead {
			ahead = append(ahead, object{{"job", l.Job}, {"rows", l.Rows}})
		}
		return a.answer(object{{"file", path}, {"from", from}, {"kept", done.Kept},
			{"old_damaged", done.Damaged}, {"only_in_kept", ahead},
			{"jobs", r.Jobs}, {"entries", r.Rows - int64(r.Jobs)}, {"rows", r.Rows}, {"seal", r.Seal}})
	}
	if a.width() == 0 {
		lines := [][]string{{path, "restored", from, done.Kept, r.Seal}}
		for _, l := range done.Ahead {
			lines = append(lines, []string{l.Job, "only in kept", fmt.Sprint(l.Rows)})
		}
		a.plain(lines)
		return nil
	}
	a.say(fmt.Sprintf("The book is %s again: %s and %s, proved whole.", from,
		count(int64(r.Jobs), "job", "jobs"), count(r.Rows-int64(r.Jobs), "entry", "entries")))
	if done.Kept != "" {
		a.say("The old book is kept: " + done.Kept)
	}
	switch {
	case done.Damaged:
		a.say("It can't be read, and so nobody knows what was in it that the backup has not: " +
			"go through the day books and enter what is missing.")
	case len(done.Ahead) > 0:
		var parts []string
		for _, l := range done.Ahead {
			parts = append(parts, fmt.Sprintf("%d of %s", l.Rows, l.Job))
		}
		a.say("It holds rows that the backup has not: "+strings.Join(parts, ", ")+". To read them:",
			fmt.Sprintf("putlog daybook %s --book %s", done.Ahead[0].Job, done.Kept))
	}
	return nil
}
