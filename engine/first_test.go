package engine

import (
	"testing"

	"tactus/clock"
)

// A command that waits when the first frame is made finds the walk-in look: a
// hold keeps it, and a song fades from it. House light and haze in particular
// do not blink.
func TestTheFirstFrameHasALight(t *testing.T) {
	want := New(hall(t)).Frame(clock.Position{})[0].Slots
	if want[11] != 0x80 || want[10] != 0x99 {
		t.Fatalf("walk-in: house %x, front %x; want 80 and 99", want[11], want[10])
	}
	pos := clock.Position{Tempo: clock.BPM(120)}

	e := New(hall(t))
	e.Do(Command{Kind: Hold}, pos)
	if got := e.Frame(pos)[0].Slots; got != want {
		t.Errorf("held: % x, want % x", got[:14], want[:14])
	}

	e = New(hall(t))
	e.Do(Command{Kind: NextSong}, pos) // its first cue fades over 4 beats
	pos.Playing, pos.Jumps = true, 1
	if got := e.Frame(pos)[0].Slots; got != want {
		t.Errorf("a song's first frame: % x, want % x", got[:14], want[:14])
	}
	pos.Beat += 2 * quarter
	pos.Pulse = pos.Beat
	if got := e.Frame(pos)[0].Slots; got[11] != 0x80 || got[10] != 0x99 {
		t.Errorf("half way: house %x, front %x; want 80 and 99: the song does not name them", got[11], got[10])
	}
}
