package live

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
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
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/showtest"
)

// put gives bytes to the session's inbox, as a port does.
func (e *evening) put(data ...byte) {
	m := midi.Message{At: e.s.base.Now(), Len: uint8(len(data))}
	copy(m.Bytes[:], data)
	e.s.inbox.Put(m)
}

// ticks sends MIDI clock for a number of quarter notes at 72 BPM.
func (e *evening) ticks(quarters int) {
	for range quarters * 24 {
		e.put(0xF8)
		e.passTime(time.Minute / 72 / 24)
	}
}

// lit reports whether any slot of the first universe is above 0.
func (e *evening) lit() bool {
	var snap engine.Snapshot
	e.s.loop.Snapshot(&snap)
	return snap.Universes[0].Slots != [512]byte{}
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

		e.put(0xC0|control, 0)
		e.put(0xFA)
		e.ticks(8)
		e.put(0x90, sectionAt+3, 100)
		e.ticks(6)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 2 beat 3 at 72.0 BPM")
		e.put(0xC0|control, 9)
		e.ticks(2)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 3 beat 1 at 72.0 BPM")
		assert.Contains(t, log.String(), "a program change came while a song plays")
		assert.Contains(t, log.String(), `"song":"Fog Signal","plays":"Lanterns on the Pier"`)

		e.put(0xF2, 400&0x7F, 400>>7) // quarter 100, beyond the end of Fog Signal
		e.ticks(4)
		e.wantPlaying(true, "Lanterns on the Pier, bridge, bar 3 beat 1 at 72.0 BPM")
		assert.True(t, e.lit())
		e.put(0x90, sectionAt+3, 100)
		e.ticks(5)
		e.wantPlaying(true, "Lanterns on the Pier, chorus 1, bar 2 beat 2 at 72.0 BPM")

		e.put(0xFC) // the DAW pauses, and goes on: now the wrong song is chosen
		e.passTime(1500 * time.Millisecond)
		e.wantPlaying(false, "Fog Signal, chorus end + 93 beats, stopped at 72.0 BPM")
		assert.Contains(t, log.String(), "is chosen")
		e.put(0xFB)
		e.ticks(4)
		assert.True(t, e.lit())
		e.put(0xF2, 400&0x7F, 400>>7)
		e.ticks(4)
		assert.True(t, e.lit(), "100 quarter notes into a song of 16 whose last light is dark")
		e.put(0x90, sectionAt+6, 100) // the outro's note, which Fog Signal lacks
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
