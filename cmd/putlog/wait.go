package main

import (
	"encoding"
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs/words"
	"putlog/schedule"
)

// waitCommand runs the sums behind the waits alone.
func (a *app) waitCommand() *cobra.Command {
	return a.group("wait", "The sums behind the waits: concrete, screed, curing, plaster, membranes, mortar",
		a.waitConcrete(), a.waitScreed(), a.waitCuring(), a.waitSkim(), a.waitAdhesive(),
		a.waitMembrane(), a.waitMortar())
}

// waitFlag is a flag of a wait: a part of what it is.
type waitFlag struct {
	name, says string
	into       interface {
		encoding.TextUnmarshaler
		encoding.TextMarshaler
	}
	optional bool
}

// waitOf makes the command for one kind of wait. sum gives the wait and what
// more its JSON answer holds.
func (a *app) waitOf(kind, short, example string, flags []waitFlag,
	sum func() (schedule.Wait, []field, error)) *cobra.Command {
	from := schedule.Day(0)
	cmd := &cobra.Command{Use: kind, Short: short, Example: "  putlog wait " + kind + " " + example,
		Args: exactArgs(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			for _, f := range flags {
				if !f.optional && !cmd.Flags().Changed(f.name) {
					return usage("%s: --%s is missing: %s", verb(cmd), f.name, f.says)
				}
			}
			w, more, err := sum()
			if err != nil {
				return words.Refuse("see "+cmd.CommandPath()+" --help", "%v", err)
			}
			return a.printWait(kind, w, more, from)
		},
	}
	for _, f := range flags {
		cmd.Flags().TextVar(f.into, f.name, f.into, f.says)
		cmd.Flags().Lookup(f.name).DefValue = ""
	}
	cmd.Flags().TextVar(&from, "from", from, "begun on the am of this `date`: says when it ends")
	cmd.Flags().Lookup("from").DefValue = ""
	return cmd
}

// field is one more key of a JSON answer.
type field struct {
	name  string
	value any
}

func (a *app) printWait(kind string, w schedule.Wait, more []field, from schedule.Day) error {
	var ends schedule.Instant
	if from != 0 {
		var err error
		if ends, err = schedule.EveryDay().Advance(from.AM(), w.Length); err != nil {
			return err
		}
	}
	if a.json {
		fields := append([]field{{"wait", kind}}, more...)
		fields = append(fields, field{"half_days", w.Length}, field{"length_days", days(w.Length)},
			field{"rule", w.Rule}, field{"source", w.Source}, field{"sure", w.Sure},
			field{"warnings", orEmpty(w.Warnings)})
		if from != 0 {
			day, half := dated(ends.Last())
			fields = append(fields, field{"ends", day}, field{"ends_half", half})
		}
		return a.answer(object(fields))
	}
	if a.width() == 0 && from == 0 {
		a.plain([][]string{{w.Length.Decimal(), w.Rule, w.Source, w.Sure}})
		return nil
	}
	a.say(w.Rule + ".")
	if from != 0 {
		a.say(fmt.Sprintf("Begun on the morning of %s, it is over at the end of %s %s.", from.Long(),
			ends.Last().Day().Long(), ends.Last().Half()))
	}
	a.say("Source: "+w.Source+".", "How sure: "+w.Sure+".")
	a.sayList("Mind", w.Warnings)
	return nil
}

func (a *app) waitConcrete() *cobra.Command {
	var c schedule.Concrete
	return a.waitOf("concrete", "Until concrete has gained a share of its strength",
		"--class N --temperature 10 --fraction 0.7", []waitFlag{
			{"class", "cement class: R rapid, N normal, S slow", &c.Class, false},
			{"temperature", "mean temperature in degrees C", &c.Temperature, false},
			{"fraction", "share of the 28-day strength: 0.7 or 70%", &c.Fraction, false},
		}, func() (schedule.Wait, []field, error) {
			s, err := c.Sum()
			return s.Wait, []field{{"days", s.Days}}, err
		})
}

func (a *app) waitScreed() *cobra.Command {
	var s schedule.Screed
	return a.waitOf("screed", "Until a screed is dry enough to cover",
		"--type sand-cement --thickness 65mm", []waitFlag{
			{"type", "sand-cement or calcium-sulfate", &s.Type, false},
			{"thickness", "thickness, 65mm", &s.Thickness, false},
			{"bed", "bonded, unbonded or floating", &s.Bed, true},
			{"temperature", "mean temperature in degrees C", &s.Temperature, true},
		}, func() (schedule.Wait, []field, error) {
			sum, err := s.Sum()
			return sum.Wait, []field{{"cure_days", sum.CureDays}, {"dry_days", sum.DryDays},
				{"total_days", sum.TotalDays}}, err
		})
}

func (a *app) waitCuring() *cobra.Command {
	var c schedule.Curing
	return a.waitOf("curing", "How long concrete is kept damp and protected at the least",
		"--temperature 8 --development medium --cold 2d", []waitFlag{
			{"temperature", "surface temperature in degrees C", &c.Temperature, false},
			{"development", "strength development: rapid, medium, slow or very-slow", &c.Development, false},
			{"class", "curing class 1 to 4 of EN 13670 (else the confirmed national table)", &c.Class, true},
			{"cold", "days under 5 degrees C, 2d", &c.Cold, true},
		}, plainWait(&c))
}

func (a *app) waitSkim() *cobra.Command {
	var s schedule.Skim
	return a.waitOf("skim", "Until a plaster skim can be painted", "--background board --season winter",
		[]waitFlag{
			{"background", "board or solid", &s.Background, false},
			{"season", "summer or winter", &s.Season, true},
			{"temperature", "room temperature in degrees C", &s.Temperature, true},
		}, plainWait(&s))
}

func (a *app) waitAdhesive() *cobra.Command {
	var b schedule.BoardAdhesive
	return a.waitOf("adhesive", "Until boards on adhesive dabs can be skimmed or loaded", "--temperature 12",
		[]waitFlag{{"temperature", "room temperature in degrees C", &b.Temperature, true}}, plainWait(&b))
}

func (a *app) waitMembrane() *cobra.Command {
	var m schedule.LiquidMembrane
	return a.waitOf("membrane", "Until a liquid damp-proof membrane can be coated again or covered",
		"--temperature 12 --until covering", []waitFlag{
			{"temperature", "room temperature in degrees C", &m.Temperature, false},
			{"until", "second-coat or covering", &m.Until, true},
		}, plainWait(&m))
}

func (a *app) waitMortar() *cobra.Command {
	var m schedule.Mortar
	return a.waitOf("mortar", "Until new masonry can be loaded", "--cement plain --temperature 8",
		[]waitFlag{
			{"cement", "plain or blended", &m.Cement, false},
			{"temperature", "mean temperature in degrees C", &m.Temperature, true},
		}, plainWait(&m))
}

// plainWait is the sum of a wait whose answer holds nothing more.
func plainWait(w interface{ Wait() (schedule.Wait, error) }) func() (schedule.Wait, []field, error) {
	return func() (schedule.Wait, []field, error) {
		wait, err := w.Wait()
		return wait, nil, err
	}
}
