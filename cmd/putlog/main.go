// Putlog plans the conversion of garages and outbuildings into warm rooms,
// keeps their day book, and shows why a finish date moved and what is owed.
package main

import (
	"os"
	"time"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, time.Now()))
}
