package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
	"putlog/variations"
)

// accountCommand prints the account.
func (a *app) accountCommand() *cobra.Command {
	var forClient bool
	cmd := &cobra.Command{
		Use:               "account JOB",
		Short:             "The account: contract, variations, VAT, retention, paid, what is owed",
		Example:           "  putlog account orchard-row\n  putlog account orchard-row --for-client",
		Args:              exactArgs("JOB"),
		ValidArgsFunction: a.completeJobs,
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
				acc, err := j.Account(asAt)
				if err != nil {
					return err
				}
				if a.json {
					return a.answer(accountAnswer(j, asAt, acc, forClient))
				}
				a.printAccount(j, asAt, acc, forClient)
				return nil
			})
		},
	}
	cmd.Flags().BoolVar(&forClient, "for-client", false, "leave out the builder's own costs, mark-up and share")
	return cmd
}

// accountAnswer is the answer of account --json; without the builder's own
// figures when it is for the client.
func accountAnswer(j *jobs.Job, asAt schedule.Day, acc variations.Account, forClient bool) object {
	list := []object{}
	for _, l := range acc.Lines {
		row := object{{"number", l.Number}, {"title", l.Title}, {"state", l.State.String()}}
		if !forClient {
			row = append(row, field{"lines_pence", int64(l.Price.Lines)}, field{"markup_pence", int64(l.Price.Markup)},
				field{"total_pence", int64(l.Price.Total)})
		}
		row = append(row, field{"client_pence", int64(l.Price.Client)})
		if !forClient {
			row = append(row, field{"builder_pence", int64(l.Price.Builder)})
		}
		list = append(list, row)
	}
	return object{{"job", j.Ref}, {"as_at", asAt.String()}, {"contract_sum_pence", int64(acc.Contract)},
		{"variations", list}, {"agreed_client_pence", int64(acc.Agreed)},
		{"not_agreed_client_pence", int64(acc.NotAgreed)}, {"revised_sum_pence", int64(acc.Revised)},
		{"vat_pence", int64(acc.VAT)}, {"total_due_pence", int64(acc.TotalDue)},
		{"retention_pence", int64(acc.Retention)}, {"paid_pence", int64(acc.Paid)},
		{"balance_pence", int64(acc.Balance)}}
}

func (a *app) printAccount(j *jobs.Job, asAt schedule.Day, acc variations.Account, forClient bool) {
	sums := [][]string{
		{"Contract sum", acc.Contract.Pounds()},
		{"Variations agreed", acc.Agreed.Pounds()},
		{"Revised sum", acc.Revised.Pounds()},
		{fmt.Sprintf("VAT at %s per cent", j.Contract.VAT), acc.VAT.Pounds()},
		{"Total due", acc.TotalDue.Pounds()},
		{fmt.Sprintf("Less retention at %s per cent", j.Contract.Retention), (-acc.Retention).Pounds()},
		{"Less paid", (-acc.Paid).Pounds()},
		{"Balance", acc.Balance.Pounds()},
	}
	var rows [][]string
	for _, l := range acc.Lines {
		row := []string{l.Number, l.Title, l.State.String(), l.Price.Client.Pounds()}
		if a.width() > 0 && l.Off() {
			row[3] = "nothing" // what it would have been is no longer asked for
		}
		if !forClient {
			row = append(row, l.Price.Lines.Pounds(), l.Price.Markup.Pounds(), l.Price.Builder.Pounds())
		}
		rows = append(rows, row)
	}
	if a.width() == 0 {
		a.plain(append(rows, sums...))
		return
	}
	owed := "is still to be paid"
	if acc.Balance < 0 {
		owed = "has been paid too much"
	}
	a.say(fmt.Sprintf("As at %s, %s %s on %s.", asAt.Long(), max(acc.Balance, -acc.Balance).Pounds(), owed, j.Ref), "")
	if len(rows) > 0 {
		columns := []column{{head: "No"}, {head: "Variation", wide: true, name: true}, {head: "State"},
			{head: "Client, no VAT", right: true}}
		if !forClient {
			columns = append(columns, column{head: "Lines", right: true}, column{head: "Mark-up", right: true},
				column{head: "Builder's share", right: true})
		}
		a.table(columns, rows)
		a.say("")
	}
	a.table([]column{{head: "Account", wide: true}, {head: "", right: true}}, sums)
	if acc.NotAgreed != 0 {
		a.say("", fmt.Sprintf("Instructed and not agreed yet, not counted above: %s without VAT.", acc.NotAgreed.Pounds()))
	}
}
