package live

import (
	"bytes"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/midi"
)

// OSC and the page ask for things too: what the show lacks is not laid to MIDI.
func TestUnknownRequestNamesNoInput(t *testing.T) {
	var out bytes.Buffer
	s := Session{log: zerolog.New(&out), inbox: midi.NewInbox(clock.NewBase(), 8, nil)}
	s.logTrouble(&engine.Snapshot{Status: engine.Status{Unknown: 3}}, troubles{})
	assert.Contains(t, out.String(), `"count":3`)
	assert.Contains(t, out.String(), "the show does not have")
	assert.NotContains(t, out.String(), "MIDI")
}
