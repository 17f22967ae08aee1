package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"putlog/jobs/words"
)

// usageError is a command typed wrong.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// mistyped is usage with what to do on a line of its own.
func mistyped(try, format string, args ...any) error {
	return usageError{words.Refuse(try, format, args...)}
}

// verb is what is typed for a command after the program's own name.
func verb(cmd *cobra.Command) string { return strings.TrimPrefix(cmd.CommandPath(), "putlog ") }

// exactArgs refuses too few and too many words, by name.
func exactArgs(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) < len(names) {
			return mistyped(strings.TrimSuffix(cmd.UseLine(), " [flags]"),
				"%s: %s is missing", verb(cmd), names[len(args)])
		}
		if len(args) > len(names) {
			return mistyped("put quotes round a text with spaces",
				"%s: %q is one word too many", verb(cmd), args[len(names)])
		}
		return nil
	}
}

// flagFault says what is wrong with a flag, in the words that the rest is said in.
func flagFault(cmd *cobra.Command, err error) error {
	var value *pflag.InvalidValueError
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	help := "putlog " + verb(cmd) + " --help"
	switch {
	case errors.As(err, &value):
		return mistyped(help, "%s --%s: %s", verb(cmd), value.GetFlag().Name, valueFault(value))
	case errors.As(err, &bare):
		return mistyped(help, "%s --%s: there is nothing behind it", verb(cmd), bare.GetSpecifiedName())
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() != "":
		return mistyped("flags begin with two dashes: "+help, "%s has no flag -%s", verb(cmd),
			unknown.GetSpecifiedShortnames())
	case errors.As(err, &unknown):
		var all []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) { all = append(all, "--"+f.Name) })
		if near := words.Near("--"+unknown.GetSpecifiedName(), all); len(near) > 0 {
			help = words.DidYouMean(near)
		}
		return mistyped(help, "%s has no flag --%s", verb(cmd), unknown.GetSpecifiedName())
	}
	return mistyped(help, "%s: %v", verb(cmd), err)
}

// valueFault is what is wrong with a flag's value.
func valueFault(value *pflag.InvalidValueError) string {
	var number *strconv.NumError
	if !errors.As(value, &number) {
		return errors.Unwrap(value).Error()
	}
	if value.GetFlag().Value.Type() == "bool" {
		return fmt.Sprintf("%q is neither true nor false", value.GetValue())
	}
	return fmt.Sprintf("%q is not a whole number", value.GetValue())
}

// belowNought sets arguments like -2 or -1d behind a "--", so that they are taken
// for what they are: no flag begins with a digit. One that is a flag's value
// stays where it is.
func belowNought(args []string, valued func(flag string) bool) []string {
	var kept, below []string
	for i, arg := range args {
		number := len(arg) > 1 && arg[0] == '-' && arg[1] >= '0' && arg[1] <= '9'
		switch {
		case arg == "--":
			return args // whoever typed it knows
		case number && (i == 0 || !valued(args[i-1])):
			below = append(below, arg)
		default:
			kept = append(kept, arg)
		}
	}
	if below == nil {
		return args
	}
	return append(append(kept, "--"), below...)
}

// valued says, of the command that the arguments name, whether one of them is a
// flag of it that takes a value.
func valued(root *cobra.Command, args []string) func(arg string) bool {
	return func(arg string) bool {
		name, dashed := strings.CutPrefix(arg, "--")
		cmd, _, err := root.Find(args)
		if !dashed || err != nil {
			return false
		}
		f := cmd.Flag(name)
		return f != nil && f.NoOptDefVal == ""
	}
}
