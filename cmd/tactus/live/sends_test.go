package live

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/showtest"
)

// What a show says of where its cues send holds in a run, and not in a
// rehearsal; flags come first; without either a run tells once.
func TestWhereCuesSend(t *testing.T) {
	show, problems := shows.Load(os.DirFS(showtest.SlideShow(t, "../../../testdata/shows/good/plain")), shows.Options{})
	require.Empty(t, problems)
	open := func(f Options) (*messages, string, error) {
		var log bytes.Buffer
		m, err := openMessages(show, &f, clock.NewBase(), zerolog.New(&log), func(midi.Status) {})
		return m, log.String(), err
	}
	m, log, err := open(Options{})
	assert.Nil(t, m, "a rehearsal opens")
	assert.Empty(t, log, "a rehearsal opens")
	assert.NoError(t, err, "a rehearsal opens")
	m, log, err = open(Options{Messages: true})
	assert.Nil(t, m, "a run without a way opens, says %q", log)
	assert.NoError(t, err, "a run without a way opens, says %q", log)
	assert.Equal(t, 2, strings.Count(log, "nothing says where"), "a run without a way opens, says %q", log)
	show.Outputs.Messages.MIDI = "file:" + filepath.Join(t.TempDir(), "of the show")
	m, log, err = open(Options{Messages: true, OSCTo: "127.0.0.1:9"})
	if assert.NoError(t, err, "the show's port") {
		if assert.NotNil(t, m.midi, "the show's port") {
			assert.Equal(t, show.Outputs.Messages.MIDI, m.midi.Name(), "the show's port")
			assert.NotNil(t, m.osc, "the show's port")
			assert.NotContains(t, log, "nothing says", "the show's port")
		}
	}
	if m, _, err = open(Options{Messages: true, MIDIOut: "file:other"}); assert.NoError(t, err, "the flag's port") {
		assert.Equal(t, "file:other", m.midi.Name(), "the flag's port")
		assert.Nil(t, m.osc, "the flag's port")
	}
	for _, bad := range []string{"here", "127.0.0.1", "127.0.0.1:0", ":9"} {
		var usage usage.Error
		_, _, err := open(Options{OSCTo: bad})
		assert.ErrorAs(t, err, &usage, "--osc-to %q", bad)
	}
}

// Deliver neither waits nor touches the heap, whether anybody takes it or not.
func TestDeliverWithoutHeap(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates")
	}
	show, problems := shows.Load(os.DirFS(showtest.SlideShow(t, "../../../testdata/shows/good/plain")), shows.Options{})
	require.Empty(t, problems)
	f := Options{MIDIOut: "file:" + filepath.Join(t.TempDir(), "slides"), OSCTo: "127.0.0.1:9"}
	m, err := openMessages(show, &f, clock.NewBase(), zerolog.Nop(), func(midi.Status) {})
	require.NoError(t, err)
	var to engine.Messages = m
	n := testing.AllocsPerRun(1000, func() { // nobody runs: the queues fill, then overflow
		for i := range show.Program.Sends {
			to.Deliver(&show.Program.Sends[i])
		}
	})
	assert.Zero(t, n, "allocations")
	assert.NotZero(t, m.midi.Stats().Lost, "the queues have no end")
	assert.NotZero(t, m.osc.Stats().Lost, "the queues have no end")
}

// What was lost of the OSC of cues is told as OSC, beside a MIDI output that lost nothing.
func TestLostOSCIsNotCalledMIDI(t *testing.T) {
	var log bytes.Buffer
	m, err := openMessages(showtest.Demo(t), &Options{OSCTo: "127.0.0.1:9", MIDIOut: "file:" + filepath.Join(t.TempDir(), "out")}, clock.NewBase(), zerolog.Nop(), func(midi.Status) {})
	require.NoError(t, err)
	m.Deliver(&engine.Send{To: engine.ToOSC}) // no octets: it is refused
	m.reportLost(zerolog.New(&log))
	m.reportLost(zerolog.New(&log)) // nothing new
	assert.Equal(t, 1, strings.Count(log.String(), "OSC of cues lost"), log.String())
	assert.NotContains(t, log.String(), "MIDI")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	m.run(ctx) // closes them
}
