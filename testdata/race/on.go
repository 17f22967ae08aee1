//go:build race

package race

// Slows is by how much the race detector slows work down that uses one thread.
const Slows = 20
