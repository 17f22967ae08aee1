// Package schedule knows when things happen on a building job: civil days cut
// into half-days, calendars that say which of them are worked, the waits that
// nobody can hurry, and the network of stages that the job is.
//
// Time is counted in half-days. A Day is a date, an Instant the boundary before
// a half-day, Halves a count of them; none carries a time zone and none is a
// float. A Network holds stages and links by index in flat slices; its
// Programme is one pass forward and one backward as at a day, and can say why
// any stage falls where it does. The package reads no files and no clock,
// prints nothing and knows no money.
package schedule
