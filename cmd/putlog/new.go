package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/templates"
	"putlog/schedule"
	"putlog/variations"
)

// newFlags are what job new is told of a job.
type newFlags struct {
	from, title, region              string
	start, promised                  schedule.Day
	measures, chosen, outputs, found []string
	sum                              variations.Pence
	vat, retention                   variations.Percent
	dry                              bool
}

func (a *app) jobNewCommand() *cobra.Command {
	f := newFlags{vat: 20_000}
	cmd := &cobra.Command{
		Use:   "new REF",
		Short: "A job from a conversion template and the measurements of the survey",
		Example: "  putlog job new mill-lane --from attached-garage --region england-and-wales --start 2027-03-01 \\\n" +
			"    --measure length=5.4m --measure width=2.7m --measure slab-to-dpc=150mm \\\n" +
			"    --choose floor=screed --choose plumbing=yes --found strip-out=done\n" +
			"  putlog job new mill-lane --from ./my-garage.yaml --region scotland --start 2027-03-01 --print",
		Args: exactArgs("REF"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := f.survey(cmd, args[0])
			if err != nil {
				return err
			}
			return a.newJob(f, s)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.from, "from", "", "the `template`: one of putlog job templates, or a file of your own")
	flags.TextVar(&f.start, "start", f.start, "the `date` on which the job starts")
	flags.StringVar(&f.region, "region", "", "england-and-wales, scotland or northern-ireland")
	flags.StringVar(&f.title, "title", "", "what is being done, in `words` (else the template's)")
	flags.StringArrayVar(&f.measures, "measure", nil, "a `measurement`: length=5.4m")
	flags.StringArrayVar(&f.chosen, "choose", nil, "a `choice`: floor=timber")
	flags.StringArrayVar(&f.outputs, "output", nil, "hours a unit of `work`, your own: stud=0.5")
	flags.StringArrayVar(&f.found, "found", nil, "a `stage` others began: slab=done, slab=poor or slab=covered")
	flags.TextVar(&f.sum, "sum", f.sum, "the contract sum in `pounds`, without VAT")
	flags.TextVar(&f.vat, "vat", f.vat, "VAT, a `rate` in per cent")
	flags.TextVar(&f.retention, "retention", f.retention, "retention, a `rate` in per cent")
	flags.TextVar(&f.promised, "promised", f.promised, "the `date` promised for the finish")
	flags.BoolVar(&f.dry, "print", false, "print the job file instead of adding the job")
	for _, name := range []string{"start", "promised", "sum"} {
		flags.Lookup(name).DefValue = ""
	}
	return cmd
}

// survey reads the flags.
func (f *newFlags) survey(cmd *cobra.Command, ref string) (templates.Survey, error) {
	s := templates.Survey{Ref: ref, Title: f.title, Start: jobs.Moment(f.start.AM())}
	switch {
	case f.from == "":
		return s, usage("say which template: --from attached-garage; see putlog job templates")
	case f.start == 0:
		return s, usage("say when it starts: --start 2027-03-01")
	case f.region == "":
		return s, usage("say whose bank holidays: --region england-and-wales, scotland or northern-ireland")
	}
	var err error
	if s.Region, err = jobs.ParseRegion(f.region); err != nil {
		return s, usageError{err}
	}
	for _, list := range []struct {
		texts []string
		into  *[]templates.Setting
	}{{f.measures, &s.Measures}, {f.chosen, &s.Choices}, {f.outputs, &s.Outputs}, {f.found, &s.Found}} {
		for _, text := range list.texts {
			setting, err := templates.ParseSetting(text)
			if err != nil {
				return s, usageError{err}
			}
			*list.into = append(*list.into, setting)
		}
	}
	if cmd.Flags().Changed("sum") {
		s.Contract = &jobs.Contract{Sum: f.sum, VAT: f.vat, Retention: f.retention, Promised: f.promised}
	}
	return s, nil
}

// newJob makes the job and adds it to the book, or prints its file.
func (a *app) newJob(f newFlags, s templates.Survey) error {
	t, err := a.template(f.from)
	if err != nil {
		return err
	}
	j, warnings, err := t.New(s)
	if err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprintf(a.errOut, "mind: %s\n", clean(w))
	}
	if f.dry {
		if a.json {
			return mistyped("leave --json out", "--print prints a job file, which is not JSON")
		}
		_, err := a.out.Write(j.File())
		return err
	}
	return a.addJob(j, nil)
}

// template finds a template by its name or, where the word names a file, reads
// it from there.
func (a *app) template(from string) (*templates.Template, error) {
	if strings.ContainsAny(from, "./\\") {
		if _, err := os.Stat(from); err != nil {
			return nil, fileError("read", from, err)
		}
		src, err := a.readFile(from)
		if err != nil {
			return nil, err
		}
		return templates.Read(fileLabel(from), src)
	}
	return templates.Embedded(from)
}

func (a *app) jobTemplatesCommand() *cobra.Command {
	var show string
	cmd := &cobra.Command{
		Use:   "templates",
		Short: "The conversion templates; --show prints one to copy, or what it asks for",
		Example: "  putlog job templates\n" +
			"  putlog job templates --show attached-garage > my-garage.yaml",
		Args: exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			if show == "" {
				return a.listTemplates()
			}
			src, err := templates.Source(show)
			if err != nil {
				return err
			}
			if a.json {
				return mistyped("leave --json out", "--show prints a template's file, which is not JSON")
			}
			_, err = a.out.Write(src)
			return err
		},
	}
	cmd.Flags().StringVar(&show, "show", "", "print the file of this `template`, to copy and change")
	return cmd
}

func (a *app) listTemplates() error {
	list := []object{}
	var rows [][]string
	for _, t := range templates.All() {
		list = append(list, object{{"template", t.Name}, {"title", t.Title}, {"about", t.About}})
		rows = append(rows, []string{t.Name, t.Title, t.About})
	}
	switch {
	case a.json:
		return a.answer(object{{"templates", list}})
	case a.width() == 0:
		a.plain(rows)
		return nil
	}
	a.table([]column{{head: "Template"}, {head: "What it is for", wide: true, name: true}},
		shortened(rows))
	a.say("", "Use one: putlog job new REF --from attached-garage --region … --start …",
		"See what it asks, or copy it: putlog job templates --show attached-garage")
	return nil
}

// shortened joins title and about.
func shortened(rows [][]string) [][]string {
	var out [][]string
	for _, r := range rows {
		out = append(out, []string{r[0], r[1] + ". " + r[2]})
	}
	return out
}
