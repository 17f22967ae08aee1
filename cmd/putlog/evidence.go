package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/jobs/words"
	"putlog/schedule"
)

// evidenceFlags are the photos and papers that an entry is to carry.
type evidenceFlags struct {
	photos, papers []string
	client         bool
}

func (f *evidenceFlags) register(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.photos, "photo", nil,
		"keep the photo in this `file` with the entry; may be repeated")
	flags.StringArrayVar(&f.papers, "paper", nil,
		"keep the paper in this `file` with the entry; may be repeated")
	flags.BoolVar(&f.client, "for-client", false, "the photos and papers are for the client to see")
}

// attach looks at the files.
func (f *evidenceFlags) attach() ([]jobs.Evidence, jobs.Source, error) {
	if f.client && len(f.photos)+len(f.papers) == 0 {
		return nil, nil, usage("--for-client marks photos and papers: add --photo or --paper")
	}
	return jobs.Attach(f.photos, f.papers, f.client)
}

// evidenceFolder adds the flag that names a folder of files, to read from or to
// write to.
func evidenceFolder(cmd *cobra.Command, folder *string, says string) {
	cmd.Flags().StringVar(folder, "with-evidence", "", says)
	_ = cmd.MarkFlagDirname("with-evidence")
}

// fromFolder gives the evidence in a folder; nil where none is named.
func fromFolder(folder string) (jobs.Source, error) {
	if folder == "" {
		return nil, nil
	}
	return jobs.FromFolder(folder)
}

// evidenceCommand holds the commands for photos and papers.
func (a *app) evidenceCommand() *cobra.Command {
	return a.group("evidence", "Photos and papers: list them, write one back out",
		a.evidenceListCommand(), a.evidenceGetCommand())
}

func (a *app) evidenceListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list JOB",
		Short: "The photos and papers that the entries of a job carry",
		Example: "  putlog evidence list orchard-row\n" +
			"  putlog evidence list orchard-row --as-at 2027-03-31 --json",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], a.printEvidence)
		},
	}
}

func (a *app) printEvidence(j *jobs.Job, asAt schedule.Day) error {
	list := []object{}
	var cells, fields [][]string
	for _, p := range j.Evidence(asAt) {
		list = append(list, pieceObject(p))
		taken, takenISO, client := "", "-", ""
		if p.Taken != 0 {
			taken, takenISO = p.Taken.Long(), p.Taken.String()
		}
		clientISO := "-"
		if p.Client {
			client, clientISO = "client", "client"
		}
		name := string(p.Name)
		if p.Line.StruckBy != 0 {
			name += fmt.Sprintf(" (entry struck out by %d)", p.Line.StruckBy)
		}
		cells = append(cells, []string{fmt.Sprint(p.Number), fmt.Sprint(p.Line.Number), p.Line.On.Long(),
			p.What.String(), name, p.Size.String(), taken, client})
		fields = append(fields, []string{fmt.Sprint(p.Number), fmt.Sprint(p.Line.Number),
			p.Line.On.String(), p.What.String(), string(p.Name), string(p.Type),
			fmt.Sprint(int64(p.Size)), takenISO, clientISO, string(p.SHA256)})
	}
	switch {
	case a.json:
		return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"evidence", list}})
	case a.width() == 0:
		a.plain(fields)
	case len(list) == 0:
		a.say(fmt.Sprintf("No entry of %s up to %s carries a photo or a paper.", j.Ref, asAt.Long()))
	default:
		a.table([]column{{head: "No", right: true}, {head: "Entry", right: true}, {head: "Date"},
			{head: "What"}, {head: "Name", wide: true, name: true},
			{head: "Size", right: true}, {head: "Taken"}, {head: "For"}}, cells)
	}
	return nil
}

// pieceObject is a piece of evidence with its entry.
func pieceObject(p jobs.Piece) object {
	o := object{{"number", p.Number}, {"entry", p.Line.Number}, {"on", p.Line.On.String()},
		{"kind", p.Line.Event.Kind()}, {"ref", p.Line.Ref}, {"struck", p.Line.StruckBy != 0}}
	return append(o, evidenceObject(p.Evidence)...)
}

func evidenceObject(e jobs.Evidence) object {
	var taken *string
	if e.Taken != 0 {
		day := e.Taken.String()
		taken = &day
	}
	return object{{"what", e.What.String()}, {"name", string(e.Name)}, {"type", string(e.Type)},
		{"size_bytes", int64(e.Size)}, {"taken", taken}, {"for_client", e.Client},
		{"sha256", string(e.SHA256)}}
}

func (a *app) evidenceGetCommand() *cobra.Command {
	var to string
	var force bool
	cmd := &cobra.Command{
		Use:   "get JOB NUMBER",
		Short: "Write a photo or a paper back out, byte for byte",
		Example: "  putlog evidence get orchard-row 2 --to trench.jpg\n" +
			"  putlog evidence get orchard-row 2 --to .        (under its own name)",
		Args:              exactArgs("JOB", "NUMBER"),
		ValidArgsFunction: a.completeEvidence,
		RunE: func(_ *cobra.Command, args []string) error {
			number, err := strconv.Atoi(args[1])
			switch {
			case err != nil:
				return usage("%q is not the number of a photo or a paper; see putlog evidence list", args[1])
			case to == "":
				return usage("say where to: --to FILE")
			}
			return a.getEvidence(args[0], number, to, force)
		},
	}
	cmd.Flags().StringVar(&to, "to", "",
		"write it to this `file`, or into this folder under its own name")
	cmd.Flags().BoolVar(&force, "force", false, "write over a file that is there already")
	return cmd
}

func (a *app) getEvidence(ref string, number int, to string, force bool) error {
	b, err := a.toRead()
	if err != nil {
		return err
	}
	defer b.Close()
	p, err := piece(b, ref, number)
	if err != nil {
		return err
	}
	if info, err := os.Stat(to); err == nil && info.IsDir() {
		to = filepath.Join(to, string(p.Name))
	}
	content, err := p.Content(b)
	if err != nil {
		return err
	}
	if err := a.writeBytes(to, force, content); err != nil {
		return err
	}
	if a.json {
		return a.answer(append(object{{"job", ref}, {"file", to}}, pieceObject(p)...))
	}
	a.say(fmt.Sprintf("Wrote %s, the %s of entry %d (%s), to %s.", p.Name, p.What, p.Line.Number,
		p.Line.On.Long(), to))
	return nil
}

// piece finds a piece of evidence by its number.
func piece(b *book.Book, ref string, number int) (jobs.Piece, error) {
	j, err := jobs.Open(b, ref)
	if err != nil {
		return jobs.Piece{}, err
	}
	all := j.Evidence(schedule.LastDay)
	for _, p := range all {
		if p.Number == number {
			return p, nil
		}
	}
	return jobs.Piece{}, words.Refuse("see putlog evidence list "+ref,
		"job %s has no photo or paper %d: there are %d", ref, number, len(all))
}

// writeBytes writes a file of that content, as writeFile does.
func (a *app) writeBytes(name string, force bool, content []byte) error {
	return a.writeFile(name, force, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// exportEvidence writes a job's evidence to a folder and gives the names; none
// where no folder is named.
func (a *app) exportEvidence(b *book.Book, j *jobs.Job, folder string) ([]string, error) {
	if folder == "" {
		return nil, nil
	}
	names, err := j.ExportEvidence(b, folder, func(path string, content []byte) error {
		return a.writeBytes(path, false, content)
	})
	if err == nil {
		fmt.Fprintf(a.errOut, "%s in the folder %s\n", files(int64(len(names))), clean(folder))
	}
	return names, err
}

// files counts files in words.
func files(n int64) string {
	if n == 1 {
		return "1 file of evidence"
	}
	return fmt.Sprintf("%d files of evidence", n)
}
