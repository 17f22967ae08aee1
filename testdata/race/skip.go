package race

import "testing"

// Skip leaves a test out under the race detector: it uses one thread, or other
// processes, and is run without the detector as well.
func Skip(t testing.TB) {
	t.Helper()
	if Slows > 1 {
		t.Skip("not under the race detector")
	}
}
