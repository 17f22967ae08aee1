package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// variationCommand holds the commands for variations.
func (a *app) variationCommand() *cobra.Command {
	return a.group("variation", "Variations: try, raise, instruct, agree, decline, withdraw, list",
		a.variationTry(), a.variationRaise(), a.variationList(),
		a.ruling("instruct", "The client (or who must) instructs it: its changes enter the programme", variations.Instructed),
		a.ruling("agree", "Its price is agreed and enters the account", variations.Agreed),
		a.ruling("decline", "The client will not have it", variations.Declined),
		a.ruling("withdraw", "It is taken back", variations.Withdrawn),
		a.ruling("carried-out", "Its work is done", variations.CarriedOut))
}

// ruling makes the command that takes a variation a step further.
func (a *app) ruling(verb, short string, to variations.State) *cobra.Command {
	r := jobs.Ruling{To: to}
	cmd := a.entryCommand(verb+" JOB NUMBER", short, "  putlog variation "+verb+" orchard-row V1",
		[]string{"JOB", "NUMBER"},
		func(w []string) (jobs.Event, error) { r.Number = w[0]; return &r, nil })
	cmd.ValidArgsFunction = a.completeJobs
	cmd.Flags().StringVar(&r.Note, "note", "", "a note, in `words`")
	return cmd
}

// variationFlags are a variation as flags.
type variationFlags struct {
	file    string
	v       jobs.Variation
	lines   [6][]string // by variations.LineKind less one
	adds    []string
	retimes []string
	drops   []string
	links   []string
	unlinks []string
	items   []string
	delay   bool // add the delay costs
}

func (f *variationFlags) register(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.file, "file", "", "read the variation from a YAML `file` (- for standard input) instead of flags")
	flags.StringVar(&f.v.Number, "number", "", "its `number` (else the next: V1, V2 …)")
	flags.StringVar(&f.v.Title, "title", "", "what it is, in `words`")
	flags.Func("asked-by", "who asked: inspector, client, builder or found-on-site",
		func(text string) error { return f.v.AskedBy.UnmarshalText([]byte(text)) })
	flags.StringVar(&f.v.Because, "because", "", "why, in `words`")
	flags.StringVar(&f.v.From, "from", "", "the `inspection` or basis item it came from")
	flags.Func("cost", "who bears the cost: client, builder or client=60 (per cent)", f.readCost)
	flags.Func("time", "who bears the time: client, builder or neutral",
		func(text string) error { return f.v.Time.UnmarshalText([]byte(text)) })
	flags.TextVar(&f.v.Markup, "markup", f.v.Markup, "a `rate` in per cent on the lines")
	for k := variations.Labour; k <= variations.Daywork; k++ {
		says := "a `line`: \"what,quantity,unit,rate\""
		if k == variations.Daywork {
			says = "a `line` by time: \"what,hours,hour,rate,percent\""
		}
		flags.StringArrayVar(&f.lines[k-1], k.String(), nil, says)
	}
	flags.StringArrayVar(&f.items, "item", nil, "a `line` of your saved rates: \"name,quantity\"; see putlog rates")
	flags.BoolVar(&f.delay, "with-delay-costs", false,
		"add the job's time-costs for the working days by which it moves the finish")
	flags.StringArrayVar(&f.adds, "add", nil, "a `stage`: \"pin,3d,after=probe,before=membrane,title=Pin the strip\"")
	flags.StringArrayVar(&f.retimes, "retime", nil, "another length for a `stage`: membrane=1.5d")
	flags.StringArrayVar(&f.drops, "drop", nil, "leave a `stage` out")
	flags.StringArrayVar(&f.links, "link", nil, "two `stages`, the second after the first: \"pin,screed\"")
	flags.StringArrayVar(&f.unlinks, "unlink", nil, "take out the link of two `stages`: \"probe,pour\"")
}

// readCost reads "client", "builder" or "client=60".
func (f *variationFlags) readCost(text string) error {
	part, split := strings.CutPrefix(text, "client=")
	if !split {
		return f.v.Cost.UnmarshalText([]byte(text))
	}
	var client variations.Percent
	if err := client.UnmarshalText([]byte(part)); err != nil {
		return err
	}
	f.v.Cost = variations.Share{Client: client, Builder: variations.Hundred - client}
	return nil
}

// variation reads the variation from the file or the flags; lines of saved
// rates come behind its own.
func (f *variationFlags) variation(a *app) (*jobs.Variation, error) {
	v, err := f.typed(a)
	if err != nil {
		return nil, err
	}
	lines, err := a.rateLines(f.items)
	v.Lines = append(v.Lines, lines...)
	return v, err
}

func (f *variationFlags) typed(a *app) (*jobs.Variation, error) {
	if f.file != "" {
		if f.v.Title != "" || f.v.AskedBy != 0 || f.v.Cost != (variations.Share{}) || f.v.Time != 0 {
			return nil, mistyped("write it all in the file, or give it all by flags",
				"--file and flags both say what the variation is")
		}
		src, err := a.readFile(f.file)
		if err != nil {
			return nil, err
		}
		return jobs.ReadVariation(fileLabel(f.file), src)
	}
	v := f.v
	switch {
	case v.Title == "":
		return nil, usage("say what it is: --title \"Underpin the front strip\"")
	case v.AskedBy == 0:
		return nil, usage("say who asked for it: --asked-by inspector, client, builder or found-on-site")
	case v.Cost == variations.Share{}:
		return nil, usage("say who bears the cost: --cost client or --cost builder")
	case v.Time == 0:
		return nil, usage("say who bears the time: --time client, builder or neutral")
	}
	for k := range f.lines {
		for _, text := range f.lines[k] {
			l, err := parseLine(variations.LineKind(k+1), text)
			if err != nil {
				return nil, err
			}
			v.Lines = append(v.Lines, l)
		}
	}
	err := f.changes(&v)
	return &v, err
}

// parseLine reads "what,quantity,unit,rate" and, for daywork, a percentage. What
// it is may itself hold commas.
func parseLine(kind variations.LineKind, text string) (variations.Line, error) {
	fields := strings.Split(text, ",")
	l := variations.Line{Kind: kind}
	after := 3 // fields behind what
	if kind == variations.Daywork {
		after = 4
	}
	bad := func(err error) (variations.Line, error) {
		why := "write \"what,quantity,unit,rate\""
		if kind == variations.Daywork {
			why = "write \"what,hours,hour,rate,percent\""
		}
		if err != nil {
			why = err.Error()
		}
		return l, usage("--%s %q: %s", kind, text, why)
	}
	n := len(fields) - after
	if n < 1 {
		return bad(nil)
	}
	for i := range fields {
		fields[i] = strings.TrimSpace(fields[i])
	}
	l.What, l.Unit = strings.Join(fields[:n], ", "), fields[n+1]
	if err := l.Quantity.UnmarshalText([]byte(fields[n])); err != nil {
		return bad(err)
	}
	if err := l.Rate.UnmarshalText([]byte(fields[n+2])); err != nil {
		return bad(err)
	}
	if kind == variations.Daywork {
		if err := l.Percent.UnmarshalText([]byte(fields[n+3])); err != nil {
			return bad(err)
		}
	}
	return l, nil
}

// changes reads the flags that change the programme.
func (f *variationFlags) changes(v *jobs.Variation) error {
	for _, text := range f.adds {
		added, err := parseAdd(text)
		if err != nil {
			return err
		}
		v.Changes = append(v.Changes, jobs.Change{Add: added})
	}
	for _, text := range f.retimes {
		id, length, _ := strings.Cut(text, "=")
		r := &jobs.Retimed{Stage: id}
		if err := r.Takes.UnmarshalText([]byte(length)); err != nil {
			return usage("--retime %q: %v; write membrane=1.5d", text, err)
		}
		v.Changes = append(v.Changes, jobs.Change{Retime: r})
	}
	for _, id := range f.drops {
		v.Changes = append(v.Changes, jobs.Change{Drop: &jobs.Dropped{Stage: id}})
	}
	for _, text := range slices.Concat(f.links, f.unlinks) {
		if strings.Count(text, ",") != 1 {
			return usage("%q: write two stages with a comma between, the earlier one first", text)
		}
	}
	for _, text := range f.links {
		from, to, _ := strings.Cut(text, ",")
		v.Changes = append(v.Changes, jobs.Change{Link: &jobs.Linked{From: from, To: to}})
	}
	for _, text := range f.unlinks {
		from, to, _ := strings.Cut(text, ",")
		v.Changes = append(v.Changes, jobs.Change{Unlink: &jobs.Unlinked{From: from, To: to}})
	}
	return nil
}

// parseAdd reads "pin,3d,after=probe,before=membrane,title=Pin the strip".
func parseAdd(text string) (*jobs.Added, error) {
	fields := strings.Split(text, ",")
	if len(fields) < 2 {
		return nil, usage("--add %q: write its name and how long it takes: pin,3d", text)
	}
	add := &jobs.Added{Stage: jobs.Stage{ID: strings.TrimSpace(fields[0])}}
	if err := add.Takes.UnmarshalText([]byte(strings.TrimSpace(fields[1]))); err != nil {
		return nil, usage("--add %q: %v", text, err)
	}
	for _, f := range fields[2:] {
		key, value, _ := strings.Cut(strings.TrimSpace(f), "=")
		var err error
		switch key {
		case "after":
			add.After = append(add.After, jobs.After{Stage: value})
		case "before":
			add.Before = append(add.Before, value)
		case "title":
			add.Title = value
		case "trade":
			add.Trade = value
		case "calendar":
			add.Calendar = value
		case "kind":
			err = add.Kind.UnmarshalText([]byte(value))
		case "by":
			err = add.By.UnmarshalText([]byte(value))
		default:
			err = fmt.Errorf("there is no %q; write after, before, title, trade, calendar, kind or by", key)
		}
		if err != nil {
			return nil, usage("--add %q: %v", text, err)
		}
	}
	return add, nil
}

func (a *app) variationRaise() *cobra.Command {
	f := &variationFlags{}
	var raised *jobs.Variation
	var added jobs.DelayCosts
	var cmd *cobra.Command
	cmd = a.entryCommand("raise JOB", "Raise a variation: an exposure until it is instructed",
		"  putlog variation raise orchard-row --title \"Underpin the front strip\" --asked-by inspector \\\n"+
			"    --cost client --time client --markup 15 --labour \"two men digging,3,day,320\" \\\n"+
			"    --add \"pin,3d,after=probe,before=membrane\"", []string{"JOB"},
		func([]string) (jobs.Event, error) {
			var err error
			raised, err = f.variation(a)
			if err == nil && f.delay {
				raised, added, err = a.withDelayCosts(cmd, raised)
			}
			return raised, err
		})
	cmd.ValidArgsFunction = a.completeJobs
	f.register(cmd)
	record := cmd.RunE
	cmd.RunE = func(cmd *cobra.Command, words []string) error {
		if err := record(cmd, words); err != nil || a.json {
			return err
		}
		a.sayDelayCosts(added, true, raised.Markup)
		return nil
	}
	_ = cmd.RegisterFlagCompletionFunc("item", a.completeRates)
	return cmd
}

func (a *app) variationTry() *cobra.Command {
	f := &variationFlags{}
	cmd := &cobra.Command{
		Use:   "try JOB",
		Short: "What a variation would cost and move, before anybody speaks; nothing is recorded",
		Example: "  putlog variation try orchard-row --file v1.yaml\n" +
			"  (the same flags as raise)",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			v, err := f.variation(a)
			if err != nil {
				return err
			}
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				if f.delay {
					if v, _, err = j.WithDelayCosts(v, asAt); err != nil {
						return err
					}
				}
				t, err := j.TryVariation(v, asAt)
				if err != nil {
					return err
				}
				return a.printTrial(j, t, f.delay)
			})
		},
	}
	f.register(cmd)
	_ = cmd.RegisterFlagCompletionFunc("item", a.completeRates)
	return cmd
}

// printTrial says what a variation would do; added says that the delay costs are
// among its lines.
func (a *app) printTrial(j *jobs.Job, t *jobs.Trial, added bool) error {
	if a.json {
		used := []object{}
		for _, u := range t.UsedUp {
			used = append(used, object{{"title", u.Name}, {"before_days", days(u.Before)}, {"left_days", days(u.Left)}})
		}
		before, beforeHalf := dated(t.Before.Finish.Last())
		after, afterHalf := dated(t.After.Finish.Last())
		return a.answer(object{{"job", j.Ref}, {"number", t.Variation.Number}, {"title", t.Variation.Title},
			{"lines_pence", int64(t.Price.Lines)}, {"markup_pence", int64(t.Price.Markup)},
			{"total_pence", int64(t.Price.Total)}, {"client_pence", int64(t.Price.Client)},
			{"client_vat_pence", int64(t.ClientVAT)}, {"builder_pence", int64(t.Price.Builder)},
			{"finish_before", before}, {"finish_before_half", beforeHalf}, {"finish_after", after},
			{"finish_after_half", afterHalf}, {"moved_days", days(t.After.Finish - t.Before.Finish)},
			{"worked_days", days(t.Worked)}, {"drives", t.After.Chain()}, {"float_used", used},
			{"delay_costs", delayObjects(t.Delay)}, {"delay_costs_pence", int64(t.Delay.Sum)},
			{"delay_costs_added", added}})
	}
	p := t.Price
	a.say(fmt.Sprintf("%s, %s: %s. Nothing is recorded.", t.Variation.Number, t.Variation.Title, p.Total.Pounds()),
		fmt.Sprintf("Lines %s, mark-up %s. The client bears %s, with VAT %s; the builder bears %s.",
			p.Lines.Pounds(), p.Markup.Pounds(), p.Client.Pounds(), (p.Client+t.ClientVAT).Pounds(), p.Builder.Pounds()),
		t.Sentence(),
		"What drives the finish then: "+strings.Join(t.After.Chain(), " → ")+".")
	for _, u := range t.UsedUp[:min(6, len(t.UsedUp))] {
		a.say(fmt.Sprintf("- %s: float %s days, then %s", u.Name, u.Before.Decimal(), u.Left.Decimal()))
	}
	a.sayDelayCosts(t.Delay, added, t.Variation.Markup)
	return nil
}

// exposureJSON is a line of what may still come.
func exposureObject(e jobs.Exposure) object {
	o := object{{"number", e.Number}, {"title", e.Title}, {"state", e.State.String()},
		{"client_pence", int64(e.Price.Client)}, {"total_pence", int64(e.Price.Total)}}
	if e.Known {
		return append(o, field{"moved_days", days(e.Moves)}, field{"worked_days", days(e.Worked)})
	}
	return append(o, field{"moved_days", nil}, field{"worked_days", nil})
}

func (a *app) exposureCommand() *cobra.Command {
	return &cobra.Command{
		Use:               "exposure JOB",
		Short:             "What may still come: variations not instructed, or their price not agreed",
		Example:           "  putlog exposure orchard-row",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				all, err := j.Exposures(asAt)
				if err != nil {
					return err
				}
				return a.printExposure(j, asAt, all)
			})
		},
	}
}

func (a *app) printExposure(j *jobs.Job, asAt schedule.Day, all []jobs.Exposure) error {
	list := []object{}
	var rows [][]string
	for _, e := range all {
		list = append(list, exposureObject(e))
		moves := e.Worked.Decimal()
		if e.Instructed != 0 {
			moves = "in already"
		} else if !e.Known {
			moves = "?"
		}
		rows = append(rows, []string{e.Number, e.Title, e.State.String(), e.Price.Client.Pounds(), moves})
	}
	switch {
	case a.json:
		return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"exposure", list}})
	case a.width() == 0:
		a.plain(rows)
	case len(all) == 0:
		a.say("Nothing is outstanding: every variation is settled.")
	default:
		a.table([]column{{head: "No"}, {head: "Variation", wide: true, name: true}, {head: "State"},
			{head: "Client, no VAT", right: true}, {head: "Would move, working days", right: true}}, rows)
	}
	return nil
}

func (a *app) variationList() *cobra.Command {
	return &cobra.Command{
		Use:               "list JOB",
		Short:             "The variations, their states and prices",
		Example:           "  putlog variation list orchard-row",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				lines, err := j.Variations(asAt)
				if err != nil {
					return err
				}
				return a.printVariations(j, asAt, lines)
			})
		},
	}
}

func (a *app) printVariations(j *jobs.Job, asAt schedule.Day, lines []jobs.VariationLine) error {
	list := []object{}
	var rows [][]string
	for _, l := range lines {
		steps := object{{"raised", l.RaisedOn.String()}}
		says := []string{"raised " + l.RaisedOn.Short()}
		for _, s := range l.Steps() {
			steps = append(steps, field{strings.ReplaceAll(s.State.String(), "-", "_"), s.On.String()})
			says = append(says, strings.ReplaceAll(s.State.String(), "-", " ")+" "+s.On.Short())
		}
		list = append(list, object{{"number", l.Number}, {"title", l.Title}, {"asked_by", l.AskedBy.String()},
			{"because", l.Because}, {"from", l.From}, {"time", l.Time.String()}, {"state", l.State.String()},
			{"dates", steps}, {"total_pence", int64(l.Price.Total)}, {"client_pence", int64(l.Price.Client)},
			{"builder_pence", int64(l.Price.Builder)}, {"changes", orEmpty(l.Changes)}})
		rows = append(rows, []string{l.Number, l.Title, l.AskedBy.String(), strings.Join(says, ", "),
			l.Price.Total.Pounds(), l.Price.Client.Pounds()})
	}
	switch {
	case a.json:
		return a.answer(object{{"job", j.Ref}, {"as_at", asAt.String()}, {"variations", list}})
	case a.width() == 0:
		a.plain(rows)
	case len(rows) == 0:
		a.say("No variation has been raised.")
	default:
		a.table([]column{{head: "No"}, {head: "Variation", wide: true, name: true},
			{head: "Asked by"}, {head: "So far", wide: true},
			{head: "Price", right: true}, {head: "Client's", right: true}}, rows)
	}
	return nil
}
