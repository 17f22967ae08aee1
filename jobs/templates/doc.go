// Package templates makes a job of a survey. A template is a data file for one
// kind of conversion: what to measure, what to choose, the outputs that turn
// quantities into days, the stages with what they follow, the notices of each
// nation, and the basis, with the variation that follows where it does not hold.
// Put to a Survey it gives a jobs.Job like any other, each length with the sum
// behind it, and what was found half done left out, made good or laid open.
//
// Three templates are embedded here; a builder's own are read by Read, which
// refuses with every fault at once. Amounts are exact rationals with a unit.
package templates
