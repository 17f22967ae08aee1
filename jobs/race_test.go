//go:build race

package jobs

// raceSlows is by how much the race detector slows the properties down, which
// use one thread each.
const raceSlows = 20
