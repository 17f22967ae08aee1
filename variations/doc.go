// Package variations knows what a change costs and who bears it: money in whole
// pence, quantities and rates as exact decimals, priced lines, the ledger of
// variations and their states, the movement of the finish date step by step,
// and the account.
//
// Every amount is an integer; every rounding is one function, half away from
// zero, to the penny; every sum that would not fit is an error. The package
// builds on schedule for time, reads no files and no clock, and prints nothing.
package variations
