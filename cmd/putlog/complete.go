package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/schedule"
)

// Shell completion of jobs and stages. Whatever goes wrong, it offers nothing.

func (a *app) completeJobs(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	b, err := a.toRead()
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer b.Close()
	refs, _ := b.Jobs()
	return refs, cobra.ShellCompDirectiveNoFileComp
}

func (a *app) completeJobStage(cmd *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
	if len(args) != 1 {
		return a.completeJobs(cmd, args, word)
	}
	var ids []string
	_ = a.withProgramme(args[0], func(p *jobs.Programme) error {
		for _, r := range p.Rows() {
			ids = append(ids, r.ID+"\t"+r.Name())
		}
		return nil
	})
	return ids, cobra.ShellCompDirectiveNoFileComp
}

func (a *app) completeEvidence(cmd *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
	if len(args) != 1 {
		return a.completeJobs(cmd, args, word)
	}
	var numbers []string
	_ = a.withJob(args[0], func(j *jobs.Job, asAt schedule.Day) error {
		for _, p := range j.Evidence(asAt) {
			numbers = append(numbers, fmt.Sprintf("%d\t%s", p.Number, p.Name))
		}
		return nil
	})
	return numbers, cobra.ShellCompDirectiveNoFileComp
}
