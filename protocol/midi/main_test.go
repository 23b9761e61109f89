package midi

import (
	"os"
	"strings"
	"testing"

	"go.uber.org/goleak"
)

// TestMain lets the test binary stand in for the program as a child.
func TestMain(m *testing.M) {
	if len(os.Args) > 1 {
		if mode, ok := strings.CutPrefix(os.Args[1], childMode); ok {
			os.Exit(actChild(mode, os.Args[2:]))
		}
	}
	goleak.VerifyTestMain(m)
}
