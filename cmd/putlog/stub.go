package main

import "github.com/spf13/cobra"

func (a *app) jobNewCommand() *cobra.Command       { return &cobra.Command{Use: "new"} }
func (a *app) jobTemplatesCommand() *cobra.Command { return &cobra.Command{Use: "templates"} }
