package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/documents"
	"putlog/schedule"
)

// exportCommand writes a job's tables for a spreadsheet.
func (a *app) exportCommand() *cobra.Command {
	var folder string
	var force bool
	cmd := &cobra.Command{
		Use:   "export JOB",
		Short: "The programme, the day book, the variations and the account as tables for a spreadsheet",
		Example: "  putlog export orchard-row --csv orchard-row-tables\n" +
			"  putlog export orchard-row --csv orchard-row-tables --force",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			if folder == "" {
				return usage("say where to: --csv FOLDER (a job file to load again: putlog job export JOB)")
			}
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				tables, err := documents.Tables(j, asAt)
				if err != nil {
					return err
				}
				if err := a.writeTables(folder, force, tables); err != nil {
					return err
				}
				return a.printExport(j, asAt, folder, tables)
			})
		},
	}
	cmd.Flags().StringVar(&folder, "csv", "", "write them as CSV (RFC 4180) into this `folder`")
	cmd.Flags().BoolVar(&force, "force", false, "write over files that are there")
	return cmd
}

func (a *app) printExport(
	j *jobs.Job, asAt schedule.Day, folder string, tables []documents.Table,
) error {
	list := []object{}
	said := ""
	for i, t := range tables {
		list = append(list, object{{"file", filepath.Join(folder, t.File)}, {"rows", len(t.Rows)}})
		if i > 0 {
			said += ", "
		}
		said += fmt.Sprintf("%s (%s)", t.File, counted(len(t.Rows), "row"))
	}
	if a.json {
		return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"files", list}})
	}
	a.say(fmt.Sprintf("Wrote %s to %s.", said, folder))
	if j.Contract == nil {
		a.say("The job has no contract, so the account is empty.")
	}
	return nil
}

// writeTables writes every table or none: all are written under names of their
// own first, and what was there is kept until the last has its name.
func (a *app) writeTables(folder string, force bool, tables []documents.Table) (err error) {
	made := false
	if err := os.Mkdir(folder, 0o777); err == nil {
		made = true
	} else if !errors.Is(err, fs.ErrExist) {
		return fileError("make", folder, err)
	}
	set := &fileSet{}
	defer func() {
		set.undo()
		if err != nil && made {
			_ = os.Remove(folder)
		}
	}()
	for _, t := range tables {
		name := filepath.Join(folder, t.File)
		if err := a.mayWrite(name, force); err != nil {
			return err
		}
		write := func(w io.Writer) error { return documents.WriteCSV(w, t) }
		if err := set.write(name, write); err != nil {
			return fileError("write", name, err)
		}
	}
	if name, err := set.place(force); err != nil {
		return fileError("write", name, err)
	}
	syncFolder(folder)
	return nil
}

// fileSet is files that appear together or not at all.
type fileSet struct {
	files  []setFile
	placed bool // all have their names
}

// setFile is one of them: where it is to be, where it is written, and where
// what was there before is kept meanwhile.
type setFile struct {
	name, temp, old string
	there           bool // it has its name
}

// write writes a file under a name of its own.
func (s *fileSet) write(name string, write func(io.Writer) error) error {
	temp, err := newFile(filepath.Dir(name))
	if err != nil {
		return err
	}
	s.files = append(s.files, setFile{name: name, temp: temp.Name()})
	return fill(temp, write)
}

// place gives every file its name; the error comes with the name that failed.
func (s *fileSet) place(force bool) (name string, err error) {
	for i := range s.files {
		f := &s.files[i]
		if force {
			if err := f.keepOld(); err != nil {
				return f.name, err
			}
		}
		if err := place(f.temp, f.name, force); err != nil {
			return f.name, err
		}
		f.there = true
	}
	s.placed = true
	return "", nil
}

// keepOld puts what is there aside.
func (f *setFile) keepOld() error {
	err := os.Rename(f.name, f.temp+"-old")
	switch {
	case err == nil:
		f.old = f.temp + "-old"
	case errors.Is(err, fs.ErrNotExist):
		return nil
	}
	return err
}

// undo takes away what is not wanted any more: the old files where all went
// well, else the new ones, the old ones back in their place.
func (s *fileSet) undo() {
	for _, f := range s.files {
		_ = os.Remove(f.temp)
		switch {
		case s.placed && f.old != "":
			_ = os.Remove(f.old)
		case s.placed:
		case f.old != "":
			_ = os.Rename(f.old, f.name)
		case f.there:
			_ = os.Remove(f.name)
		}
	}
}
