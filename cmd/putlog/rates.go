package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/variations"
)

// ratesCommand holds the commands for the builder's usual rates.
func (a *app) ratesCommand() *cobra.Command {
	return a.group("rates", "Your usual items and rates, for all jobs: load, list, export",
		a.ratesLoad(), a.ratesList(), a.ratesExport())
}

func (a *app) ratesLoad() *cobra.Command {
	return &cobra.Command{
		Use:   "load FILE",
		Short: "Put a CSV file (- for standard input) in the place of the saved rates",
		Long: "Put a CSV file in the place of the saved rates. Its first line is\n" +
			"name,kind,what,unit,rate,percent; a name has small letters, digits and hyphens,\n" +
			"a rate is in pounds without VAT, percent is the addition on daywork. The lists saved\n" +
			"before stay in the book, and the lines of a variation stay as they were raised.",
		Example: "  putlog rates load rates.csv\n" +
			"  putlog rates export > rates.csv     (the heading alone, where no rates are saved yet)",
		Args: exactArgs("FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			src, err := a.readFile(args[0])
			if err != nil {
				return err
			}
			list, err := jobs.ReadRates(fileLabel(args[0]), src)
			if err != nil {
				return err
			}
			b, err := a.toWrite()
			if err != nil {
				return err
			}
			defer b.Close()
			done, err := jobs.SaveRates(b, list, a.written())
			if err != nil {
				return err
			}
			return a.printRatesSaved(list, done)
		},
	}
}

func (a *app) printRatesSaved(list jobs.Rates, done jobs.RatesSaved) error {
	if a.json {
		return a.answer(object{{"rates", len(list)}, {"added", orEmpty(done.Added)},
			{"changed", orEmpty(done.Changed)}, {"gone", orEmpty(done.Gone)}})
	}
	count := fmt.Sprintf("%d rates are", len(list))
	if len(list) == 1 {
		count = "1 rate is"
	}
	a.say(fmt.Sprintf("%s saved: %d new, %d changed, %d gone.", count,
		len(done.Added), len(done.Changed), len(done.Gone)))
	for _, part := range []struct {
		word  string
		names []string
	}{{"Changed", done.Changed}, {"Gone", done.Gone}} {
		if len(part.names) > 0 {
			a.say(part.word + ": " + strings.Join(part.names, ", "))
		}
	}
	return nil
}

// savedRates reads the rates from the book.
func (a *app) savedRates() (jobs.Rates, error) {
	b, err := a.toRead()
	if err != nil {
		return nil, err
	}
	defer b.Close()
	return jobs.SavedRates(b)
}

func (a *app) ratesList() *cobra.Command {
	return &cobra.Command{
		Use:     "list",
		Short:   "The saved rates",
		Example: "  putlog rates list",
		Args:    exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			list, err := a.savedRates()
			if err != nil {
				return err
			}
			return a.printRates(list)
		},
	}
}

func (a *app) printRates(list jobs.Rates) error {
	objects := []object{}
	var rows, cells [][]string
	for _, r := range list {
		objects = append(objects, object{{"name", r.Name}, {"kind", r.Kind.String()}, {"what", r.What},
			{"unit", r.Unit}, {"rate_pence", int64(r.Rate)}, {"percent", json.Number(r.Percent.String())}})
		rows = append(rows, []string{r.Name, r.Kind.String(), r.What, orDash(r.Unit), r.Rate.String(),
			r.Percent.String()})
		rate := r.Rate.Pounds()
		if r.Kind == variations.Daywork {
			rate += " + " + r.Percent.String() + " %"
		}
		cells = append(cells, []string{r.Name, r.Kind.String(), r.What, rate, r.Unit})
	}
	switch {
	case a.json:
		return a.answer(object{{"rates", objects}})
	case a.width() == 0:
		a.plain(rows)
	case len(list) == 0:
		a.say("No rates are saved yet.", "Begin a list: putlog rates export > rates.csv; fill it in; "+
			"putlog rates load rates.csv")
	default:
		a.table([]column{{head: "Name"}, {head: "Kind"}, {head: "What", wide: true, name: true},
			{head: "Rate", right: true}, {head: "Unit"}}, cells)
	}
	return nil
}

func (a *app) ratesExport() *cobra.Command {
	return &cobra.Command{
		Use:     "export",
		Short:   "Print the saved rates as a CSV file that loads back to the same list",
		Example: "  putlog rates export > rates.csv",
		Args:    exactArgs(),
		RunE: func(*cobra.Command, []string) error {
			list, err := a.savedRates()
			if err != nil {
				return err
			}
			if a.json {
				return a.answer(object{{"rates", len(list)}, {"file", string(list.CSV())}})
			}
			_, err = a.out.Write(list.CSV())
			return err
		},
	}
}

// rateLines makes lines of saved rates: each text is "name,quantity".
func (a *app) rateLines(items []string) ([]variations.Line, error) {
	if len(items) == 0 {
		return nil, nil
	}
	list, err := a.savedRates()
	if err != nil {
		return nil, err
	}
	var lines []variations.Line
	for _, text := range items {
		name, quantity, parted := strings.Cut(text, ",")
		if !parted {
			return nil, usage("--item %q: write the rate's name and how much: labour-day,3", text)
		}
		rate, err := list.Find(strings.TrimSpace(name))
		if err != nil {
			return nil, err
		}
		var q variations.Quantity
		if err := q.UnmarshalText([]byte(strings.TrimSpace(quantity))); err != nil {
			return nil, usage("--item %q: %v", text, err)
		}
		lines = append(lines, rate.Line(q))
	}
	return lines, nil
}

// completeRates offers the names of the saved rates to the shell.
func (a *app) completeRates(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	list, _ := a.savedRates()
	var names []string
	for _, r := range list {
		names = append(names, r.Name+",\t"+r.What)
	}
	return names, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}
