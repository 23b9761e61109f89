package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// A command that waits when the first frame is made finds the walk-in look: a
// hold keeps it, and a song fades from it. House light and haze in particular
// do not blink.
func TestTheFirstFrameHasALight(t *testing.T) {
	want := New(hall(t)).Frame(clock.Position{})[0].Slots
	require.EqualValues(t, 0x80, want[11], "walk-in")
	require.EqualValues(t, 0x99, want[10], "walk-in")
	pos := clock.Position{Tempo: clock.BPM(120)}

	e := New(hall(t))
	e.Do(Command{Kind: Hold}, pos)
	got := e.Frame(pos)[0].Slots
	assert.Equal(t, want, got, "held")

	e = New(hall(t))
	e.Do(Command{Kind: NextSong}, pos) // its first cue fades over 4 beats
	pos.Playing, pos.Jumps = true, 1
	got = e.Frame(pos)[0].Slots
	assert.Equal(t, want, got, "a song's first frame")
	pos.Beat += 2 * quarter
	pos.Pulse = pos.Beat
	got = e.Frame(pos)[0].Slots
	assert.EqualValues(t, 0x80, got[11], "half way: the song does not name them")
	assert.EqualValues(t, 0x99, got[10], "half way: the song does not name them")
}
