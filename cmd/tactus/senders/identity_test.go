package senders

import (
	"strings"
	"testing"

	"github.com/rs/zerolog"
)

// One CID an installation, and never two runs with it.
func TestOneRunHasTheIdentity(t *testing.T) {
	dir := t.TempDir()
	var told strings.Builder
	log := zerolog.New(&told)
	first, held := identify(dir, log)
	second, other := identify(dir, log)
	if first == second || other != nil || !strings.Contains(told.String(), errTaken.Error()) {
		t.Errorf("a second run has %x, the first %x; told: %s", second, first, told.String())
	}
	held.release()
	third, again := identify(dir, log)
	if third != first || again == nil {
		t.Errorf("after the first run has ended, the next has %x, want %x", third, first)
	}
	again.release()
}
