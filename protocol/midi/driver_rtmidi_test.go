//go:build cgo && (darwin || windows || rtmidi)

package midi

import (
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
	t.Log(s.Err)
	h.end()
	if len(h.in.queue) > 0 {
		t.Errorf("%d messages from a port that never was", len(h.in.queue))
	}
	infos, err := List(t.Context(), Options{Child: p.command})
	t.Log(infos, err)
}
