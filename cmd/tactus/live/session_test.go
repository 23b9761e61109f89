package live

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/showtest"
)

// evening is a session on the demo in a bubble of fake time, without outputs.
type evening struct {
	t *testing.T
	s *Session
}

// open plays the demo until the test ends.
func open(t *testing.T, f Options) *evening {
	t.Helper()
	show := showtest.Demo(t)
	f.Protocol = senders.Virtual
	s, err := New(show, &f, zerolog.Nop())
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		assert.NoError(t, <-done)
	})
	return &evening{t, s}
}

// passTime lets time pass.
func (e *evening) passTime(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

// receiveMIDI gives bytes to the session's inbox, as a port does.
func (e *evening) receiveMIDI(data ...byte) {
	m := midi.Message{At: e.s.base.Now(), Len: uint8(len(data))}
	copy(m.Bytes[:], data)
	e.s.inbox.Put(m)
}

// wantPlaying checks where the show stands.
func (e *evening) wantPlaying(playing bool, where string) {
	e.t.Helper()
	var snap engine.Snapshot
	e.s.loop.Snapshot(&snap)
	assert.Equal(e.t, where, placeText(e.s.show.Program, &snap))
	assert.Equal(e.t, playing, snap.Pos.Playing)
}

const (
	control   = 0x0F // channel 16
	tapNote   = 104
	nextSong  = 102
	sectionAt = 36
)

// Without a DAW a person taps the tempo and says when a song and a section
// begin; from there the song goes through its plan at the tapped tempo.
func TestTapsCarryASong(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		e := open(t, Options{Clock: "tap"})
		e.passTime(10 * time.Second)
		e.wantPlaying(true, `look "walk-in"`) // until a song is chosen
		e.receiveMIDI(0xC0|control, 0)
		for range 8 { // 600 ms: 100 BPM instead of the song's 72
			e.receiveMIDI(0x90|control, tapNote, 100)
			e.passTime(600 * time.Millisecond)
		}
		e.receiveMIDI(0x90, sectionAt+3, 100) // chorus 1, 8 bars
		e.passTime(50 * time.Millisecond)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 1 beat 1 at 100.0 BPM")
		e.passTime(4 * 600 * time.Millisecond)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 2 beat 1 at 100.0 BPM")
		e.passTime(28 * 600 * time.Millisecond)
		e.wantPlaying(true, "Lanterns on the Pier, bridge, bar 1 beat 1 at 100.0 BPM")
		e.receiveMIDI(0x90|control, nextSong, 100)
		e.passTime(50 * time.Millisecond)
		e.wantPlaying(true, "Saturday on the Slipway, intro, bar 1 beat 1 at 126.0 BPM")
	})
}

// The internal clock plays the first song by itself.
func TestInternalClockPlaysTheSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		e := open(t, Options{Clock: "internal"})
		e.passTime(100 * time.Millisecond)
		e.wantPlaying(true, "Lanterns on the Pier, intro, bar 1 beat 1 at 72.0 BPM")
		e.passTime(16 * time.Minute / 72)
		e.wantPlaying(true, "Lanterns on the Pier, verse, bar 1 beat 1 at 72.0 BPM")
		e.receiveMIDI(0xC0|control, 2) // 6/8 at 60; it waits for the end of this song
		e.passTime(100 * time.Millisecond)
		e.wantPlaying(true, "Lanterns on the Pier, verse, bar 1 beat 1 at 72.0 BPM")
		e.passTime(35*4*time.Minute/72 - 300*time.Millisecond)
		e.wantPlaying(true, "Lanterns on the Pier, outro, bar 3 beat 4 at 72.0 BPM")
		e.passTime(200 * time.Millisecond)
		e.wantPlaying(true, "Home by the Breakwater, intro, bar 1 beat 1 at 60.0 BPM")
		e.passTime(4 * 2 * time.Second)
		e.wantPlaying(true, "Home by the Breakwater, verse 1, bar 1 beat 1 at 60.0 BPM")
	})
}

// A DAW that sends notes alone enters sections; they stand until the next note,
// and their effects run at the song's tempo or the tapped one.
func TestNotesAloneEnterSections(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		e := open(t, Options{})
		e.receiveMIDI(0xC0|control, 0)
		e.receiveMIDI(0x90, sectionAt, 100)
		e.passTime(30 * time.Second)
		e.wantPlaying(false, "Lanterns on the Pier, intro, bar 1 beat 1, stopped at 72.0 BPM")
		e.receiveMIDI(0x90, sectionAt+3, 100)
		e.passTime(5 * time.Second)
		e.wantPlaying(false, "Lanterns on the Pier, chorus 1, bar 1 beat 1, stopped at 72.0 BPM")
		var before, after engine.Snapshot
		e.s.loop.Snapshot(&before)
		e.passTime(time.Second)
		e.s.loop.Snapshot(&after)
		assert.NotEqual(t, after.Universes[0], before.Universes[0], "the effects stand still")
		for range 4 {
			e.receiveMIDI(0x90|control, tapNote, 100)
			e.passTime(500 * time.Millisecond)
		}
		e.wantPlaying(false, "Lanterns on the Pier, chorus 1, bar 1 beat 1, stopped at 120.0 BPM")
	})
}

// The goodbye waits for the universe that takes the fewest frames.
func TestLongestGap(t *testing.T) {
	o := shows.Outputs{Universes: []shows.Universe{
		{Protocol: shows.SACN, Rate: 44}, {Protocol: shows.ArtNet, Rate: 40}, {Protocol: shows.Virtual, Rate: 1},
	}}
	assert.Equal(t, 25*clock.Millisecond+clock.Second/44, longestGap(&o))
	assert.Zero(t, longestGap(&shows.Outputs{Universes: o.Universes[:1]}), "44 Hz alone")
}

// The line of health tells why the light does not follow.
func TestPlaceTellsHoldAndBlackout(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		e := open(t, Options{Clock: "auto"})
		var snap engine.Snapshot
		for _, c := range []struct {
			note byte // on channel 16, as harbour-hall/show.yaml has it
			want string
		}{
			{96, `look "walk-in", HOLD`},
			{98, `look "walk-in", HOLD, BLACKOUT`},
			{97, `look "walk-in", BLACKOUT`},
			{99, `look "walk-in"`},
		} {
			e.receiveMIDI(0x9f, c.note, 100)
			e.passTime(100 * time.Millisecond)
			e.s.loop.Snapshot(&snap)
			assert.Equal(t, c.want, placeText(e.s.show.Program, &snap), "after note %d", c.note)
		}
	})
}

func TestFreeGrid(t *testing.T) {
	for _, c := range []struct {
		flag             string
		show, want, fail bool
	}{{"", true, true, false}, {"", false, false, false}, {"beat", true, false, false}, {"free", false, true, false}, {"bar", false, false, true}} {
		got, err := gridIsFree(c.flag, c.show)
		assert.Equal(t, c.want, got, "--grid %q over %v, %v", c.flag, c.show, err)
		assert.Equal(t, c.fail, err != nil, "--grid %q over %v, %v", c.flag, c.show, err)
	}
}
