//go:build !race

package jobs

// raceSlows is by how much the race detector slows the properties down: it is
// not here.
const raceSlows = 1
