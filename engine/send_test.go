package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// order keeps what a loop hands out, light and messages, without the heap.
type order struct {
	frames, sends int
	texts         [8]string // what came with the last frame
	n             int
}

func (o *order) Send(clock.Time, []dmx.Universe, []bool) error { o.frames++; o.n = 0; return nil }
func (o *order) Close() error                                  { return nil }

func (o *order) Deliver(s *Send) {
	o.sends++
	o.texts[o.n] = s.Text
	o.n++
}

// sender is a loop that has begun to play a program with its outputs.
func sender(p *Program) (*Loop, *order, chan Input) {
	input, o := make(chan Input, 64), &order{}
	l := NewLoop(LoopConfig{
		Engine: New(p), Clock: clock.NewTransport(clock.Config{Lead: clock.LeadInternal}), Base: clock.NewBase(), Input: input,
		Outputs: []Output{o}, Messages: o,
	})
	l.start(clock.Second)
	return l, o, input
}

// What a cue sends is handed over in its order, after the light of its frame.
func TestLoopDelivers(t *testing.T) {
	l, o, input := sender(asPlayed(t))
	l.step(clock.Second)
	require.Equal(t, 1, o.frames)
	require.Equal(t, 1, o.n)
	require.Equal(t, "welcome", o.texts[0])
	input <- Input{Command: Command{Kind: SelectSong, Index: 5}}
	input <- Input{Event: clock.Event{At: clock.Second, Kind: clock.Start}}
	input <- Input{Command: Command{Kind: FireName, Index: 1}}
	l.step(l.nextWake())
	assert.Equal(t, 2, o.frames)
	assert.Equal(t, 2, o.n)
	assert.Equal(t, "chorus", o.texts[0])
	assert.Equal(t, "bell", o.texts[1])
	l.step(l.nextWake())
	assert.Equal(t, 3, o.frames, "with frame %d came %q", o.frames, o.texts[:o.n])
	assert.Zero(t, o.n, "with frame %d came %q", o.frames, o.texts[:o.n])
}

// Frames that send touch no heap.
func TestSendsWithoutHeap(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	l, o, input := sender(asPlayed(t))
	input <- Input{Command: Command{Kind: SelectSong, Index: 5}}
	input <- Input{Event: clock.Event{At: clock.Second, Kind: clock.Start}}
	now, n := clock.Second, 0
	frame := func() {
		n++
		input <- Input{Command: Command{Kind: FireName, Index: int32(n % 2)}}
		l.step(now)
		now = l.nextWake()
	}
	for range 44 {
		frame()
	}
	before := o.sends
	// The count is rounded down: several sends a run, so that one allocation of
	// each shows.
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		for range 4 {
			frame()
		}
	}), "allocations in four frames")
	assert.GreaterOrEqual(t, o.sends-before, 200, "sends in 400 frames")
}

// An edit that is taken over sends nothing, even where cues have moved; the next
// cue sends what the new program says.
func TestReloadSendsNothing(t *testing.T) {
	old, to := asPlayed(t), asPlayed(t)
	song := &to.Songs[5]
	song.Cues = append([]Cue{song.Cues[0], at(2*quarter, named("calm", cue(beats(8), dims(lamps, 1))))}, song.Cues[1:]...)
	s := newStage(old)
	s.send(Command{Kind: SelectSong, Index: 5})
	for _, verb := range []string{"start", "to"} {
		require.NoError(t, s.transport(verb, "5"))
	}
	s.sent = nil
	require.True(t, s.engine.Reload(prepareReload(t, old, to), s.pos), "not taken")
	s.frame()
	require.NoError(t, s.transport("to", "7"))
	assert.Empty(t, s.sent)
	if assert.NoError(t, s.transport("to", "8")) {
		assert.Len(t, s.sent, 2)
	}
}
