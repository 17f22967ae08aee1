// Package peers holds the engine against general-purpose libraries that one
// would use instead: the early dates of a network by gonum's graphs, working days
// by rickar/cal's own walk. It is a module of its own, so that the product does
// not depend on them:
//
//	cd testdata/peers && go test -bench .
//
// The tests say that both come to the same dates; the benchmarks, how long each
// takes for it.
package peers
