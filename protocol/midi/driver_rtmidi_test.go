//go:build cgo && (darwin || windows || rtmidi)

package midi

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// With the real driver, a port that is not there is a lost port, whether the
// system has a MIDI service or none.
func TestRealDriverFailsCleanly(t *testing.T) {
	p := childPort(t, "real", "no port has this name")
	p.hangAfter = 10 * time.Second
	h := runPort(t, p)
	s := h.said(false, "midi: port")
	assert.True(t, strings.Contains(s.Err.Error(), errNoService.Error()) || strings.Contains(s.Err.Error(), ErrNoPort.Error()), "have %v", s.Err)
	h.end()
	assert.Empty(t, h.in.queue, "messages from a port that never was")
	if _, err := List(t.Context(), Options{Child: p.command}); err != nil {
		assert.ErrorContains(t, err, errNoService.Error())
	}
}
