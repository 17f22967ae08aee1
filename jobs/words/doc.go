// Package words is how things are put in plain words: lists ("site, sparks and
// supplier"), lengths of time ("half a day"), the nearest to a word that was
// misspelt, a word of a closed list, and a refusal: what is wrong and what to do.
// Everything that a builder reads in a message is put by it, whether a form, the
// book, a job or a command has something to say, so that all of them speak alike.
// It knows nothing about jobs.
package words
