package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// entryFlags are the flags that commands which write an entry share.
type entryFlags struct {
	on schedule.Day
	evidenceFlags
}

// entryCommand makes a command that writes one entry. event is called with the
// arguments after JOB once the flags are read.
func (a *app) entryCommand(use, short, example string, args []string,
	event func(args []string) (jobs.Event, error)) *cobra.Command {
	var f entryFlags
	cmd := &cobra.Command{
		Use: use, Short: short, Example: example,
		Args:              exactArgs(args...),
		ValidArgsFunction: a.completeJobStage,
		RunE: func(cmd *cobra.Command, words []string) error {
			e, err := event(words[1:])
			if err != nil {
				return err
			}
			carried, from, err := f.read(a)
			if err != nil {
				return err
			}
			return a.record(words[0], []jobs.Entry{{On: f.on, Event: e, Evidence: carried}}, from)
		},
	}
	f.register(cmd)
	return cmd
}

func (f *entryFlags) register(cmd *cobra.Command) {
	cmd.Flags().TextVar(&f.on, "on", f.on, "the `date` it happened (else today)")
	cmd.Flags().Lookup("on").DefValue = ""
	f.evidenceFlags.register(cmd)
}

// read sets the date where none is given, and looks at the files.
func (f *entryFlags) read(a *app) (carried []jobs.Evidence, from jobs.Source, err error) {
	if f.on == 0 {
		if f.on, err = a.asAt(); err != nil {
			return nil, nil, err
		}
	}
	return f.attach()
}

// record writes entries to the book and says what they did to the finish.
// Evidence that the book does not have yet is read from the source.
func (a *app) record(ref string, entries []jobs.Entry, from jobs.Source) error {
	if _, err := a.asAt(); err != nil {
		return err
	}
	b, err := a.toRead() // where there is no book there is no job
	if err != nil {
		return err
	}
	defer b.Close()
	done, err := jobs.RecordWith(b, ref, entries, from, a.today(), a.written())
	if err != nil {
		return err
	}
	return a.printRecorded(done)
}

// recordedJSON is the answer of a command that writes entries.
type recordedJSON struct {
	Job              string      `json:"job"`
	AsAt             string      `json:"as_at"`
	Recorded         []entryJSON `json:"recorded"`
	FinishBefore     *string     `json:"finish_before"`
	FinishBeforeHalf *string     `json:"finish_before_half"`
	FinishAfter      *string     `json:"finish_after"`
	FinishAfterHalf  *string     `json:"finish_after_half"`
	MovedDays        days        `json:"moved_days"`
	WorkedDays       days        `json:"worked_days"`
	Warnings         []string    `json:"warnings"`
}

func (a *app) printRecorded(r *jobs.Recorded) error {
	if a.json {
		out := recordedJSON{Job: r.After.Job.Ref, AsAt: r.After.AsAt().String(),
			Recorded: []entryJSON{}, Warnings: orEmpty(r.Warnings),
			MovedDays: days(r.Moved()), WorkedDays: days(r.Worked())}
		for _, l := range r.Lines {
			out.Recorded = append(out.Recorded, lineJSON(l))
		}
		out.FinishBefore, out.FinishBeforeHalf = dated(r.Before.Finish.Last())
		out.FinishAfter, out.FinishAfterHalf = dated(r.After.Finish.Last())
		return a.answer(out)
	}
	for _, l := range r.Lines {
		a.say(fmt.Sprintf("%d. %s: %s.", l.Number, l.On.Long(), l.Says))
		if v, raised := l.Event.(*jobs.Variation); raised {
			p, err := v.Price()
			if err != nil {
				return err
			}
			a.say(fmt.Sprintf("   Price %s, of which the client bears %s, without VAT.", p.Total.Pounds(), p.Client.Pounds()))
		}
		for _, e := range l.Evidence {
			a.say("With it: " + e.Words() + ".")
		}
	}
	a.say(r.Sentence())
	for _, w := range r.Warnings {
		fmt.Fprintf(a.errOut, "mind: %s\n", clean(w))
	}
	return nil
}

func (a *app) acceptCommand() *cobra.Command {
	return a.entryCommand("accept JOB", "The client accepts the programme as it stands",
		"  putlog accept orchard-row --on 2027-02-26", []string{"JOB"},
		func([]string) (jobs.Event, error) { return &jobs.Accepted{}, nil })
}

func (a *app) noticeCommand() *cobra.Command {
	return a.entryCommand("notice JOB STAGE", "Notice of an inspection was given",
		"  putlog notice orchard-row see-membrane", []string{"JOB", "STAGE"},
		func(w []string) (jobs.Event, error) { return &jobs.Notice{Stage: w[0]}, nil })
}

func (a *app) startCommand() *cobra.Command {
	var e jobs.Started
	cmd := a.entryCommand("start JOB STAGE", "A stage was started",
		"  putlog start orchard-row membrane\n  putlog start orchard-row membrane --at \"2027-03-08 pm\"",
		[]string{"JOB", "STAGE"},
		func(w []string) (jobs.Event, error) { e.Stage = w[0]; return &e, nil })
	cmd.Flags().TextVar(&e.At, "at", e.At, "its first half-day: `\"2027-03-08 pm\"` (else the morning of the day)")
	cmd.Flags().Lookup("at").DefValue = ""
	return cmd
}

func (a *app) finishCommand() *cobra.Command {
	var e jobs.Finished
	cmd := a.entryCommand("finish JOB STAGE", "A stage is done: work finished, a delivery in, a wait tested early",
		"  putlog finish orchard-row membrane\n  putlog finish orchard-row membrane --at \"2027-03-08 am\"",
		[]string{"JOB", "STAGE"},
		func(w []string) (jobs.Event, error) { e.Stage = w[0]; return &e, nil })
	cmd.Aliases = []string{"arrived"}
	cmd.Flags().TextVar(&e.At, "at", e.At, "its last half-day: `\"2027-03-08 am\"` (else the afternoon of the day)")
	cmd.Flags().Lookup("at").DefValue = ""
	return cmd
}

func (a *app) leftCommand() *cobra.Command {
	return a.entryCommand("left JOB STAGE LENGTH", "What is left of a started stage, from the morning of the day",
		"  putlog left orchard-row boards 1.5d", []string{"JOB", "STAGE", "LENGTH"},
		func(w []string) (jobs.Event, error) {
			e := &jobs.Progress{Stage: w[0]}
			if err := e.Left.UnmarshalText([]byte(w[1])); err != nil {
				return nil, usageError{err}
			}
			return e, nil
		})
}

func (a *app) inspectedCommand() *cobra.Command {
	var e jobs.Inspection
	cmd := a.entryCommand("inspected JOB STAGE pass|fail", "What the inspector said",
		"  putlog inspected orchard-row see-membrane pass --seen-by \"building control\"\n"+
			"  putlog inspected orchard-row see-membrane fail --note \"lap the membrane 150 mm up the wall\"",
		[]string{"JOB", "STAGE", "pass|fail"},
		func(w []string) (jobs.Event, error) {
			e.Stage = w[0]
			if err := e.Outcome.UnmarshalText([]byte(w[1])); err != nil {
				return nil, usageError{err}
			}
			return &e, nil
		})
	flags := cmd.Flags()
	flags.TextVar(&e.At, "at", e.At, "its last half-day: `\"2027-03-09 am\"` (else the afternoon of the day)")
	flags.Lookup("at").DefValue = ""
	flags.StringVar(&e.Note, "note", "", "what was said, in `words`")
	flags.StringVar(&e.Seen, "seen-by", "", "who looked at it: an office or a role")
	flags.TextVar(&e.Bearer, "bearer", e.Bearer, "who bears the delay of a fail: builder (usual), client or neutral")
	flags.Lookup("bearer").DefValue = ""
	return cmd
}

func (a *app) closedCommand() *cobra.Command {
	var e jobs.Closed
	var who string
	cmd := a.entryCommand("closed JOB", "Days on which nobody could work: weather, a stop, a shut road",
		"  putlog closed orchard-row --from 2027-03-15 --to 2027-03-17 --why snow --who site",
		[]string{"JOB"},
		func([]string) (jobs.Event, error) {
			if e.From == 0 || e.To == 0 {
				return nil, usage("say from when to when: --from 2027-03-15 --to 2027-03-17")
			}
			if who != "" {
				e.Who = strings.Split(who, ",")
			}
			return &e, nil
		})
	flags := cmd.Flags()
	flags.TextVar(&e.From, "from", e.From, "first half-day: `2027-03-15`")
	flags.TextVar(&e.To, "to", e.To, "last half-day: `2027-03-17`")
	flags.StringVar(&who, "who", "", "whose `calendars`: site,inspector (else all)")
	flags.StringVar(&e.Why, "why", "", "why, in `words`")
	flags.TextVar(&e.Bearer, "bearer", e.Bearer, "`who` bears the delay: neutral (usual), client or builder")
	for _, name := range []string{"from", "to", "bearer"} {
		flags.Lookup(name).DefValue = ""
	}
	return cmd
}

func (a *app) paidCommand() *cobra.Command {
	var e jobs.Payment
	cmd := a.entryCommand("paid JOB AMOUNT", "Money received from the client, in pounds",
		"  putlog paid orchard-row 6000.00 --note \"first stage\"", []string{"JOB", "AMOUNT"},
		func(w []string) (jobs.Event, error) {
			var amount variations.Pence
			if err := amount.UnmarshalText([]byte(w[0])); err != nil {
				return nil, usageError{err}
			}
			e.Amount = amount
			return &e, nil
		})
	cmd.Flags().StringVar(&e.Note, "note", "", "what for, in `words`")
	return cmd
}

func (a *app) readingCommand() *cobra.Command {
	var e jobs.Reading
	cmd := a.entryCommand("reading JOB STAGE HUMIDITY", "What the hygrometer on a drying floor showed, per cent",
		"  putlog reading orchard-row dry 82.5", []string{"JOB", "STAGE", "HUMIDITY"},
		func(w []string) (jobs.Event, error) {
			e.Stage = w[0]
			if err := e.Humidity.UnmarshalText([]byte(w[1])); err != nil {
				return nil, usageError{err}
			}
			return &e, nil
		})
	cmd.Flags().StringVar(&e.Note, "note", "", "where the box stood, in `words`")
	return cmd
}

func (a *app) temperatureCommand() *cobra.Command {
	return a.entryCommand("temperature JOB DEGREES", "The day's mean temperature on site, degrees C",
		"  putlog temperature orchard-row 6.5", []string{"JOB", "DEGREES"},
		func(w []string) (jobs.Event, error) {
			e := &jobs.Temperature{}
			if err := e.Mean.UnmarshalText([]byte(w[0])); err != nil {
				return nil, usageError{err}
			}
			return e, nil
		})
}

func (a *app) noteCommand() *cobra.Command {
	var e jobs.Note
	cmd := a.entryCommand("note JOB WORDS", "Something seen or said that moves nothing, with a photo perhaps",
		"  putlog note orchard-row \"old drain found under the door\" --photo drain.jpg", []string{"JOB", "WORDS"},
		func(w []string) (jobs.Event, error) { e.Says = w[0]; return &e, nil })
	cmd.ValidArgsFunction = a.completeJobs
	cmd.Flags().StringVar(&e.Stage, "stage", "", "the `stage` it is about")
	return cmd
}

func (a *app) strikeCommand() *cobra.Command {
	var e jobs.Correction
	cmd := a.entryCommand("strike JOB NUMBER", "Strike out an entry of the day book: it stays to be read and no longer counts",
		"  putlog strike orchard-row 7 --because \"wrong stage\"", []string{"JOB", "NUMBER"},
		func(w []string) (jobs.Event, error) {
			if _, err := fmt.Sscanf(w[0]+"\n", "%d\n", &e.Entry); err != nil || e.Entry < 1 {
				return nil, usage("%q is not the number of an entry; see putlog daybook", w[0])
			}
			return &e, nil
		})
	cmd.Flags().StringVar(&e.Because, "because", "", "why, in `words`")
	return cmd
}

// recordCommand appends a list of entries from a file.
func (a *app) recordCommand() *cobra.Command {
	var folder string
	cmd := &cobra.Command{
		Use:   "record JOB FILE",
		Short: "Append a list of entries from a file (- for standard input), all or none",
		Example: "  putlog record orchard-row friday.yaml\n" +
			"  echo '- {on: 2027-03-08, started: {stage: membrane}}' | putlog record orchard-row -",
		Args:              exactArgs("JOB", "FILE"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			src, err := a.readFile(args[1])
			if err != nil {
				return err
			}
			entries, err := jobs.ReadEntries(fileLabel(args[1]), src)
			if err != nil {
				return err
			}
			from, err := fromFolder(folder)
			if err != nil {
				return err
			}
			return jobs.PlaceEntry(fileLabel(args[1]), src, a.record(args[0], entries, from))
		},
	}
	evidenceFolder(cmd, &folder, "read the photos and papers that the entries name from this `folder`")
	return cmd
}
