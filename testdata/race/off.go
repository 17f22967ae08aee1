//go:build !race

// Package race tells tests whether they run under the race detector, which finds
// nothing in work that uses one thread and makes it slow: such a test does less
// there, and the gate runs it once more without.
package race

// Slows is by how much the race detector slows work down that uses one thread: not
// at all where it is not there.
const Slows = 1
