//go:build cgo && (darwin || windows || rtmidi)

package midi

import (
	"strings"
	"testing"
	"time"
)

// With the real driver, a port that is not there is a lost port, whether the
// system has a MIDI service or none.
func TestRealDriverFailsCleanly(t *testing.T) {
	p := childPort(t, "real", "no port has this name")
	p.hangAfter = 10 * time.Second
	h := runPort(t, p)
	s := h.said(false, "midi: port")
	if !strings.Contains(s.Err.Error(), errNoService.Error()) && !strings.Contains(s.Err.Error(), ErrNoPort.Error()) {
		t.Errorf("have %v", s.Err)
	}
	h.end()
	if len(h.in.queue) > 0 {
		t.Errorf("%d messages from a port that never was", len(h.in.queue))
	}
	infos, err := List(t.Context(), Options{Child: p.command})
	if err != nil && !strings.Contains(err.Error(), errNoService.Error()) {
		t.Errorf("have %+v %v, want ports or %q", infos, err, errNoService)
	}
}
