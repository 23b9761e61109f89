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
	inbox := midi.NewInbox(clock.NewBase(), 8, nil)
	s := Session{log: zerolog.New(&out), inbox: inbox, pads: inbox}
	s.logTrouble(&engine.Snapshot{Status: engine.Status{Unknown: 3}}, troubles{})
	assert.Contains(t, out.String(), `"count":3`)
	assert.Contains(t, out.String(), "the show does not have")
	assert.NotContains(t, out.String(), "MIDI")
}

// The console's line of health shows every Art-Net node, not one of them.
func TestHealthLineShowsEachNode(t *testing.T) {
	for name, to := range map[string]func(*bytes.Buffer) zerolog.Logger{
		"console": func(b *bytes.Buffer) zerolog.Logger { return zerolog.New(zerolog.ConsoleWriter{Out: b, NoColor: true}) },
		"json":    func(b *bytes.Buffer) zerolog.Logger { return zerolog.New(b) },
	} {
		var out bytes.Buffer
		log := to(&out)
		addNodes(log.Info(), []string{"10.0.0.7 answers", "10.0.0.8 answers"}).Msg("health")
		assert.Contains(t, out.String(), "10.0.0.7", name)
		assert.Contains(t, out.String(), "10.0.0.8", name)
		out.Reset()
		addNodes(log.Info(), nil).Msg("health")
		assert.NotContains(t, out.String(), "nodes", name)
	}
}
