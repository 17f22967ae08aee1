// Package jobs knows what a builder writes down: the job, its stages and its
// day book, the job file it travels in, the bank holidays it keeps, and what is
// computed from them as at any date.
//
// A job is its day book: the job file and the dated entries that follow are all
// there is. Nothing derived is kept; programme, movement and account are worked
// out each time by one fold over the entries up to the date asked for. Its
// subpackages words, media, form (reading and writing) and book (the SQLite file)
// serve it; templates (the job that a survey makes) and documents build on it.
// Nothing here prints to a terminal.
package jobs
