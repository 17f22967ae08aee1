// Package documents makes what a builder hands over: the client's copy as a
// page (HTML) and a print (PDF), the dates as a calendar file (iCalendar), and
// tables for a spreadsheet (CSV).
//
// Each document is made from plain data (Statement and its parts) that holds
// what its reader may see and nothing else: the builder's own costs, rates,
// mark-up and share never get that far. Everything typed by a person is escaped
// where it goes. The package writes to an io.Writer; it opens no files and knows
// no clock.
package documents
