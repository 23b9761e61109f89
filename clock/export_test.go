package clock

import "testing"

// NumbersOnly skips a test of long arithmetic under the race detector, which makes
// it many times slower and has nothing to find in it: no goroutine is started. The
// quiet stage runs it.
func NumbersOnly(t *testing.T) {
	t.Helper()
	if raceDetector {
		t.Skip("under the race detector; make quiet runs it")
	}
}
