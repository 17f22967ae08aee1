// Package book keeps the day books of all jobs in one SQLite file.
//
// The book only ever grows. A row holds one entry of one job as text; what the
// text means is not the book's business. Triggers refuse to change or remove a
// row, and every row carries the SHA-256 of itself and of the row before it, so
// that Check finds a row that was altered, taken out, slipped in or moved by
// other means, and a tail that is missing. What no book can find by itself is an
// older copy put in its place, or a whole chain worked out anew: for that, hand
// the seal that Check reports to someone else, and hold the book Against it.
//
// Each method is one transaction: all of it is done, or none. A book that can't
// be read or written is an *Error, which says what to do.
package book
