package main

import (
	"cmp"
	"errors"
	"path/filepath"
	"putlog/jobs/words"
	"runtime"

	"github.com/spf13/cobra"
)

// root builds the whole tree of commands.
func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "putlog",
		Short: "Plan a conversion, keep its day book, show why the finish moved and what is owed",
		Long: "Putlog plans the conversion of garages, sheds and outbuildings into warm rooms: the stages on\n" +
			"working days, the waits that nobody can hurry, the notices and inspections before anything is covered.",
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return a.unknownCommand(cmd, args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetVersionTemplate("putlog {{.Version}}\n")
	root.SetHelpFunc(a.help)
	root.SetFlagErrorFunc(flagFault)
	root.SetHelpCommand(a.helpCommand())
	flags := root.PersistentFlags()
	flags.Func("book", "the book's `file` (else $PUTLOG_BOOK, else the usual place)", func(name string) error {
		if a.bookPath = name; name == "" {
			return errors.New("the name is empty")
		}
		return nil
	})
	flags.StringVar(&a.asAtText, "as-at", "", "answer as at this `date`, 2027-03-01 (else today)")
	flags.BoolVar(&a.json, "json", false, "print one JSON object")
	flags.IntVar(&a.screen, "screen", 0, "print as on a screen of so many `columns`, even into a pipe")
	a.addGroups(root)
	return root
}

// addGroups adds every command, grouped in the order in which a job needs them.
func (a *app) addGroups(root *cobra.Command) {
	for _, g := range []struct {
		id, title string
		commands  []*cobra.Command
	}{
		{"before", "Before the quote:", []*cobra.Command{a.jobCommand(), a.askCommand(), a.basisCommand(),
			a.ratesCommand(), a.waitCommand(), a.calendarCommand()}},
		{"plan", "The programme:", []*cobra.Command{a.planCommand(), a.whyCommand(), a.todayCommand(),
			a.noticesCommand(), a.dryingCommand(), a.datesCommand()}},
		{"daybook", "The day book:", []*cobra.Command{a.daybookCommand(), a.acceptCommand(), a.noticeCommand(),
			a.startCommand(), a.leftCommand(), a.finishCommand(), a.inspectedCommand(), a.closedCommand(),
			a.readingCommand(), a.temperatureCommand(), a.findingCommand(), a.paidCommand(), a.noteCommand(),
			a.strikeCommand(), a.recordCommand(), a.evidenceCommand()}},
		{"money", "Changes and money:", []*cobra.Command{a.variationCommand(), a.exposureCommand(),
			a.movedCommand(), a.accountCommand(), a.statementCommand(), a.messageCommand()}},
		{"book", "The book:", []*cobra.Command{a.demoCommand(), a.exportCommand(), a.checkCommand(),
			a.backupCommand(), a.restoreCommand(), a.schemaCommand()}},
	} {
		root.AddGroup(&cobra.Group{ID: g.id, Title: g.title})
		for _, cmd := range g.commands {
			cmd.GroupID = g.id
			root.AddCommand(cmd)
		}
	}
	root.SetHelpCommandGroupID("book")
	root.SetCompletionCommandGroupID("book")
}

// helpCommand is cobra's, but that a word which is no command is refused.
func (a *app) helpCommand() *cobra.Command {
	return &cobra.Command{
		Use: "help [COMMAND]", Short: "Help about any command", Example: "  putlog help variation raise",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) (near []string, _ cobra.ShellCompDirective) {
			about, _, err := cmd.Root().Find(args)
			if err != nil {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			for _, c := range about.Commands() {
				if c.IsAvailableCommand() {
					near = append(near, c.Name())
				}
			}
			return near, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 && about.HasSubCommands() {
				return a.unknownCommand(cmp.Or(about, cmd.Root()), cmp.Or(append(rest, args...)...))
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		},
	}
}

// unknownCommand refuses a word that is no command, with near ones.
func (a *app) unknownCommand(cmd *cobra.Command, word string) error {
	try := cmd.CommandPath() + " --help"
	cmd.SuggestionsMinimumDistance = 2
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		try = words.DidYouMean(near)
	}
	return mistyped(try, "there is no command %q", word)
}

// group is a command that only holds others.
func (a *app) group(use, short string, inside ...*cobra.Command) *cobra.Command {
	cmd := &cobra.Command{Use: use, Short: short,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return mistyped(cmd.CommandPath()+" --help", "%s: say what to do", verb(cmd))
			}
			return a.unknownCommand(cmd, args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(inside...)
	return cmd
}

// dataFolder is where programs keep a user's data.
func dataFolder(home string) string {
	switch runtime.GOOS {
	case "windows":
		return filepath.Join(home, "AppData", "Local")
	case "darwin":
		return filepath.Join(home, "Library", "Application Support")
	}
	return filepath.Join(home, ".local", "share")
}
