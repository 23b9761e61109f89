package clock

import "testing"

// NumbersOnly skips a test of long arithmetic under the race detector, which makes
// it many times slower and has nothing to find in it: no goroutine is started. Make test
// runs it without the race detector.
func NumbersOnly(t *testing.T) {
	t.Helper()
	if raceDetector {
		t.Skip("long arithmetic in one goroutine: run it without the race detector")
	}
}
