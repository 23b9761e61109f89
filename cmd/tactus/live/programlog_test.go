package live

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/showtest"
)

// ticks sends MIDI clock for a number of quarter notes at 72 BPM.
func (e *evening) ticks(quarters int) {
	for range quarters * 24 {
		e.receiveMIDI(0xF8)
		e.passTime(time.Minute / 72 / 24)
	}
}

// light returns the look that plays and the intensity of the first wash, 0..1, without
// the minimum level that the show's floors give to fronts.
func (e *evening) light() (look string, wash float64) {
	var snap engine.Snapshot
	e.s.loop.Snapshot(&snap)
	for i := range snap.Program.Heads {
		if snap.Program.Heads[i].Name == "wash 1" {
			return snap.Status.Look, float64(snap.Heads[i][fixtures.Intensity])
		}
	}
	require.Fail(e.t, "the demo has no wash 1")
	return "", 0
}

// A stray program change in a chorus changes nothing; the DAW's next song position and
// the chorus's own note find the song that plays. It is logged, and the journal holds
// all of it: a replay sends the same bytes.
func TestStrayProgramChange(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		file := filepath.Join(t.TempDir(), "journal")
		files := showtest.Files(t, shows.Demo())
		files["songs/signal.yaml"] = &fstest.MapFile{Data: []byte("song: Fog Signal\nprogram: 10\ntempo: 72 bpm\nmeter: 4/4\nsections:\n  - intro: {bars: 2, energy: 2, look: embers}\n  - chorus: {bars: 2, energy: 4, look: dark}\n")}
		s, err := New(showtest.Load(t, files), &Options{
			Options: senders.Options{Protocol: senders.Virtual}, Clock: "midi", Journal: file, Name: showfiles.Demo,
		}, zerolog.New(&log))
		require.NoError(t, err)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Run(ctx) }()
		e := &evening{t, s}
		wantChorusLight := func() { // neither Fog Signal's embers (washes at 20 %) nor its dark
			t.Helper()
			look, wash := e.light()
			assert.Equal(t, "singalong", look)
			assert.GreaterOrEqual(t, wash, 0.65*(1-0.45)-1e-6, "washes at 65 %, under the effect sway of depth 45 %")
		}

		e.receiveMIDI(0xC0|control, 0)
		e.receiveMIDI(0xFA)
		e.ticks(8)
		e.receiveMIDI(0x90, sectionAt+3, 100)
		e.ticks(6)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 2 beat 3 at 72.0 BPM")
		e.receiveMIDI(0xC0|control, 9)
		e.ticks(2)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 3 beat 1 at 72.0 BPM")
		assert.Contains(t, log.String(), "a program change came while a song plays")
		assert.Contains(t, log.String(), `"song":"Fog Signal","plays":"Lanterns on the Pier"`)

		e.receiveMIDI(0xF2, 400&0x7F, 400>>7) // quarter 100, beyond the end of Fog Signal
		e.ticks(4)
		e.wantPlaying(true, "Lanterns on the Pier, bridge, bar 3 beat 1 at 72.0 BPM")
		look, wash := e.light()
		assert.Equal(t, "tide", look)
		assert.InDelta(t, 0.6, wash, 1e-6, "the bridge's light")
		e.receiveMIDI(0x90, sectionAt+3, 100)
		e.ticks(5)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 2 beat 2 at 72.0 BPM")

		wantChorusLight()
		e.receiveMIDI(0xFC) // the DAW pauses, and goes on: now the wrong song is chosen
		e.passTime(1500 * time.Millisecond)
		e.wantPlaying(false, "Fog Signal, chorus end + 93 beats, stopped at 72.0 BPM")
		assert.Contains(t, log.String(), "is chosen")
		wantChorusLight()
		e.receiveMIDI(0xFB)
		e.ticks(4)
		wantChorusLight()
		e.receiveMIDI(0xF2, 400&0x7F, 400>>7)
		e.ticks(4)
		wantChorusLight() // 100 quarter notes into a song of 16 whose last light is dark

		e.receiveMIDI(0x90, sectionAt+6, 100) // the outro's note, which Fog Signal lacks
		e.ticks(3)
		e.wantPlaying(true, "Lanterns on the Pier, outro, bar 1 beat 4 at 72.0 BPM")
		e.passTime(1500 * time.Millisecond)
		assert.Contains(t, log.String(), "brought it back")

		var last engine.Snapshot
		s.loop.Snapshot(&last)
		cancel()
		require.NoError(t, <-done)
		status := replayed(t, file, s)
		assert.Equal(t, last.Status.Song, status.Song)
		assert.Equal(t, last.Status.Section, status.Section)
		assert.Equal(t, engine.ProgramStatus{Song: 3, Armed: 1, Begun: 1, Undone: 1}, status.Programs)
	})
}

// A song that waits for its downbeat is logged as chosen there, by its own name; one
// that is released before it is not.
func TestProgramLogOfASongOnItsDownbeat(t *testing.T) {
	show := showtest.Demo(t)
	const plays, waits = int32(2), int32(1)
	for _, released := range []bool{false, true} {
		var out bytes.Buffer
		var l programLog
		snap := engine.Snapshot{Program: show.Program}
		snap.Status = engine.Status{Song: plays, SongArmed: waits, Programs: engine.ProgramStatus{Song: waits, Begun: 1}}
		l.update(&snap, zerolog.New(&out))
		assert.Empty(t, out.String(), "before the downbeat")
		snap.Status.SongArmed = engine.None
		if !released {
			snap.Status.Song = waits
		}
		l.update(&snap, zerolog.New(&out))
		l.update(&snap, zerolog.New(&out))
		if released {
			assert.Empty(t, out.String(), "after it was released")
			continue
		}
		assert.Equal(t, 1, strings.Count(out.String(), "is chosen"), out.String())
		assert.Contains(t, out.String(), `"song":"Lanterns on the Pier"`)
	}
}

// replayed plays a journal again, checks the sum of each frame, and returns where the
// show stands in the end.
func replayed(t *testing.T, file string, s *Session) engine.Status {
	t.Helper()
	src, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.True(t, bytes.Contains(src, []byte(" do program-change index 3\n")), "the journal lacks the program change")
	read, err := journal.NewReader(bytes.NewReader(src))
	require.NoError(t, err)
	play := engine.NewReplay(s.show.Program, read.Header.Clock, read.Header.Lead)
	frames := 0
	for {
		rec, err := read.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if u := play.PlayRecord(&rec); u != nil {
			frames++
			require.Equal(t, rec.Sum, engine.Sum(u), "frame %d", rec.Frame)
		}
	}
	assert.Greater(t, frames, 500)
	return play.Status()
}
