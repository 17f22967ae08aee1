package main

import (
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/schedule"
)

// jobCommand holds the commands for whole jobs.
func (a *app) jobCommand() *cobra.Command {
	return a.group("job", "Jobs: new from a template, load, export, list",
		a.jobNewCommand(), a.jobLoadCommand(), a.jobExportCommand(), a.jobListCommand(),
		a.jobTemplatesCommand())
}

func (a *app) jobLoadCommand() *cobra.Command {
	var folder string
	cmd := &cobra.Command{
		Use:   "load FILE",
		Short: "Add a job from a job file (- for standard input)",
		Example: "  putlog job load orchard-row.yaml\n" +
			"  putlog job load - < orchard-row.yaml\n" +
			"  putlog job load orchard-row.yaml --with-evidence photos",
		Args: exactArgs("FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			src, err := a.readFile(args[0])
			if err != nil {
				return err
			}
			j, err := jobs.ReadJob(fileLabel(args[0]), src)
			if err != nil {
				return err
			}
			from, err := fromFolder(folder)
			if err != nil {
				return err
			}
			return a.addJob(j, from)
		},
	}
	evidenceFolder(cmd, &folder, "read the photos and papers that its entries name from this `folder`")
	return cmd
}

// fileLabel is a file's name as messages give it.
func fileLabel(name string) string {
	if name == "-" {
		return "standard input"
	}
	return filepath.Base(name)
}

// addJob writes a job to the book and says when it finishes. Evidence that the
// book does not have yet is read from the source.
func (a *app) addJob(j *jobs.Job, from jobs.Source) error {
	asAt, err := a.asAt()
	if err != nil {
		return err
	}
	p, err := j.Programme(asAt)
	if err != nil {
		return err
	}
	b, err := a.toWrite()
	if err != nil {
		return err
	}
	defer b.Close()
	if err := jobs.AddWith(b, j, from, a.written()); err != nil {
		return err
	}
	if a.json {
		return a.answer(planAnswer(p))
	}
	a.say(fmt.Sprintf("Job %s is in the book: %d stages, %d entries.", j.Ref, len(j.Stages), len(j.Entries)),
		p.Headline(), "See it all: putlog plan "+j.Ref)
	if len(j.Basis) > 0 && len(j.Entries) == 0 {
		a.say("Ask before you price it: putlog ask " + j.Ref)
	}
	return nil
}

func (a *app) jobExportCommand() *cobra.Command {
	var folder string
	cmd := &cobra.Command{
		Use:   "export JOB",
		Short: "Print a job file that loads back to the same job, history included",
		Example: "  putlog job export orchard-row > orchard-row.yaml\n" +
			"  putlog job export orchard-row --with-evidence photos > orchard-row.yaml",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.exportJob(args[0], folder)
		},
	}
	evidenceFolder(cmd, &folder, "write the photos and papers that its entries carry to this `folder`")
	return cmd
}

// exportJob prints a job's file, when its evidence is safe in the folder.
func (a *app) exportJob(ref, folder string) error {
	b, err := a.toRead()
	if err != nil {
		return err
	}
	defer b.Close()
	j, err := jobs.Open(b, ref)
	if err != nil {
		return err
	}
	names, err := a.exportEvidence(b, j, folder)
	switch {
	case err != nil:
		return err
	case !a.json:
		_, err = a.out.Write(j.File())
		return err
	}
	out := object{{"job", j.Ref}, {"file", string(j.File())}}
	if folder != "" {
		out = append(out, field{"evidence", orEmpty(names)})
	}
	return a.answer(out)
}

// jobRow is a line of job list.
type jobRow struct {
	Job        string  `json:"job"`
	Title      string  `json:"title"`
	Stages     int     `json:"stages"`
	Entries    int     `json:"entries"`
	Finish     *string `json:"finish"`
	FinishHalf *string `json:"finish_half"`
	says       string
}

func (a *app) jobListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "The jobs in the book and when each finishes",
		Args:  exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			asAt, err := a.asAt()
			if err != nil {
				return err
			}
			rows, err := a.jobRows(asAt)
			if err != nil {
				return err
			}
			return a.printJobs(rows, asAt)
		},
	}
}

func (a *app) jobRows(asAt schedule.Day) ([]jobRow, error) {
	rows := []jobRow{}
	err := a.eachJob(asAt, func(p *jobs.Programme) error {
		row := jobRow{Job: p.Job.Ref, Title: p.Job.Title, Stages: len(p.Programme.Stages),
			Entries: len(p.Job.Entries), says: p.Finish.Last().Day().Long()}
		row.Finish, row.FinishHalf = dated(p.Finish.Last())
		rows = append(rows, row)
		return nil
	})
	return rows, err
}

// eachJob hands over the programme of every job in the book, in the order in
// which they were added.
func (a *app) eachJob(asAt schedule.Day, use func(*jobs.Programme) error) error {
	b, err := a.toRead()
	if err != nil {
		return err
	}
	defer b.Close()
	refs, err := b.Jobs()
	if err != nil {
		return err
	}
	told := a.progress("Reading the book: %d of %d jobs")
	defer told.end()
	done := 0
	for some := range slices.Chunk(refs, 8*runtime.GOMAXPROCS(0)) {
		told.at(done, len(refs))
		for _, made := range programmes(b, some, asAt) {
			if made.err != nil {
				return made.err
			}
			if err := use(made.Programme); err != nil {
				return err
			}
		}
		done += len(some)
	}
	return nil
}

// madeProgramme is a job's programme, or why there is none.
type madeProgramme struct {
	*jobs.Programme
	err error
}

// programmes works out some jobs' programmes, as many at a time as there are
// cores.
func programmes(b *book.Book, refs []string, asAt schedule.Day) []madeProgramme {
	made := make([]madeProgramme, len(refs))
	workers := runtime.GOMAXPROCS(0)
	var all sync.WaitGroup
	for w := range workers {
		all.Go(func() {
			for i := w; i < len(refs); i += workers {
				made[i].Programme, made[i].err = programme(b, refs[i], asAt)
			}
		})
	}
	all.Wait()
	return made
}

func programme(b *book.Book, ref string, asAt schedule.Day) (*jobs.Programme, error) {
	j, err := jobs.Open(b, ref)
	if err != nil {
		return nil, err
	}
	p, err := j.Programme(asAt)
	if err != nil {
		return nil, fmt.Errorf("job %s: %w", ref, err)
	}
	return p, nil
}

func (a *app) printJobs(rows []jobRow, asAt schedule.Day) error {
	if a.json {
		return a.answer(struct {
			AsAt string   `json:"as_at"`
			Jobs []jobRow `json:"jobs"`
		}{asAt.String(), rows})
	}
	var cells, fields [][]string
	for _, r := range rows {
		cells = append(cells, []string{r.Job, r.Title, fmt.Sprint(r.Stages), r.says})
		fields = append(fields, []string{r.Job, *r.Finish, *r.FinishHalf, fmt.Sprint(r.Stages),
			fmt.Sprint(r.Entries), r.Title})
	}
	switch {
	case a.width() == 0:
		a.plain(fields)
	case len(rows) == 0:
		a.say("There are no jobs in the book yet.", "Start one: putlog job templates")
	default:
		a.table([]column{{head: "Job"}, {head: "Title", wide: true, name: true},
			{head: "Stages", right: true}, {head: "Finishes"}}, cells)
	}
	return nil
}
