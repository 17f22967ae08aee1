// Putlog plans the conversion of garages and outbuildings into warm rooms,
// keeps their day book, and shows why a finish date moved and what is owed.
package main

import (
	"os"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"
)

func main() {
	// Most commands are done before it is worth tidying memory up, and none needs much.
	debug.SetGCPercent(400)
	debug.SetMemoryLimit(160 << 20)
	cobra.EnableCommandSorting = false // help keeps the order in which a job needs the commands
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, time.Now()))
}
