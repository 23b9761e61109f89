//go:build unix

package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/protocol/midi"
)

// byBuffer is a schedule as a DAW sends it that hands out its MIDI once in each
// audio buffer of 1,024 samples at 48 kHz: what falls into a buffer leaves when the
// buffer begins, all of it in one write.
func byBuffer(s midi.Schedule) midi.Schedule {
	const samples, rate = 1024, 48000
	s.Entries = slices.Clone(s.Entries)
	for i := range s.Entries {
		at := s.Entries[i].At + time.Microsecond // a time that was cut off at the buffer's edge lies in it
		buffer := int64(at) * rate / int64(time.Second) / samples
		s.Entries[i].At = time.Duration(buffer * samples * int64(time.Second) / rate)
	}
	return s
}

// Several ticks of a slow buffer share a moment, none is lost, and what was in
// order stays in order.
func TestScheduleByBuffer(t *testing.T) {
	s := scheduled(t, load(t, "../../testdata/shows/daw"))
	b := byBuffer(s)
	shared := 0
	for i, e := range b.Entries {
		early := s.Entries[i].At - e.At
		require.GreaterOrEqual(t, early, -time.Microsecond)
		require.Less(t, early, 21334*time.Microsecond)
		require.Equal(t, s.Entries[i].Bytes, e.Bytes)
		if i > 0 {
			require.GreaterOrEqual(t, e.At, b.Entries[i-1].At)
		}
		if i > 0 && e.Bytes[0] == 0xf8 && b.Entries[i-1].Bytes[0] == 0xf8 && e.At == b.Entries[i-1].At {
			shared++
		}
	}
	assert.Greater(t, shared, 10, "ticks that share a buffer with the one before")
}

// A sequencer that hands out ticks and notes once in each audio buffer plays the
// set through a FIFO, at 120 quarters a minute and at 126. What is judged does not
// hang on how busy the machine is: that nothing is lost, that the count of ticks
// agrees with the place in the music, and that cues come in order, each at its place
// or within a beat after. How far from a constant they come is printed; the loop's
// own test, in fake time, holds that to 2 ms.
func TestSequencerByAudioBuffer(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector is too slow for real time; make quiet runs this without it")
	}
	needTools(t, true, "ip", "tshark", "dumpcap")
	t.Parallel()
	for _, c := range []struct{ name, first, second string }{
		{"120", "tempo: 120 bpm", "tempo: 80 bpm"},
		{"126", "tempo: 126 bpm", "tempo: 84 bpm"}, // of dotted quarters
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel() // each has its own network, and mostly waits
			folder, dir := t.TempDir(), t.TempDir()
			require.NoError(t, os.CopyFS(folder, os.DirFS("../../testdata/shows/daw")))
			retime(t, filepath.Join(folder, "songs", "first.yaml"), "tempo: 120 bpm", c.first)
			retime(t, filepath.Join(folder, "songs", "second.yaml"), "tempo: 80 bpm", c.second)
			program := load(t, folder)
			plan := scheduled(t, program)
			night := filepath.Join(dir, "night")
			writes, packets := playSet(t, folder, dir, byBuffer(plan), "--journal", night)
			logOffsets(t, program, plan, writes[0].at, packets)
			checkEnd(t, packets)
			checkJournal(t, program, plan, night)
		})
	}
}

// retime puts another tempo into a song's file.
func retime(t *testing.T, path, old, to string) {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Contains(t, string(text), old)
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(text), old, to, 1)), 0o600))
}

// logOffsets prints how far from its true downbeat the first packet of each section
// left, and from the median of these. The plan enters a section on the clock's beat;
// but what chooses a song is a note, which may come after that beat, and is shown by
// the next frame. The sections have to come in their order.
func logOffsets(t *testing.T, p *engine.Program, plan midi.Schedule, began time.Time, packets []packet) {
	t.Helper()
	var due []time.Duration // the notes that enter sections, as meant
	for _, e := range plan.Entries {
		if e.Bytes[0] == 0x90 && e.Bytes[2] > 0 {
			due = append(due, e.At)
		}
	}
	var planned []time.Duration
	n, last := 0, began
	for _, s := range p.SetList {
		song := &p.Songs[s]
		for i, section := range song.Sections {
			at := first(packets, 1, levelAt(song, section.Start))
			require.False(t, at.IsZero(), "%s, %s: its level never left", song.Name, section.Name)
			require.True(t, at.After(last), "%s, %s: its level left before that of the section before it", song.Name, section.Name)
			require.Less(t, n, len(due), "%s, %s has no note", song.Name, section.Name)
			off := at.Sub(began.Add(due[n]))
			n, last = n+1, at
			if i == 0 {
				t.Logf("%s, %s, by its note: first packet %v from its downbeat", song.Name, section.Name, off)
				continue
			}
			t.Logf("%s, %s, by the plan: first packet %v from its downbeat", song.Name, section.Name, off)
			planned = append(planned, off)
		}
	}
	require.Len(t, due, n, "notes and their sections")
	slices.Sort(planned)
	constant := planned[len(planned)/2]
	t.Logf("by the plan: constant %v, %v to %v from it", constant, planned[0]-constant, planned[len(planned)-1]-constant)
}

// replayed is what a journal tells when it is played again.
type replayed struct {
	ticks int                         // that came
	lit   map[byte]clock.Beat         // where in its song each level of slot 1 was first made
	ahead map[engine.Status][]float64 // of each section: how far each frame was ahead of the last tick, in ticks
}

// replayJournal replays what the program took in. No record may be missing, and each frame
// has to be the one that was sent.
func replayJournal(t *testing.T, p *engine.Program, name string) replayed {
	t.Helper()
	file, err := os.Open(name)
	require.NoError(t, err)
	defer file.Close()
	read, err := journal.NewReader(file)
	require.NoError(t, err)
	play := engine.NewReplay(p, read.Header.Clock, read.Header.Lead)
	r := replayed{lit: map[byte]clock.Beat{}, ahead: map[engine.Status][]float64{}}
	counted := -1 // ticks since the start, the first being 0
	for {
		rec, err := read.Next()
		require.NoError(t, err, "line %d", read.Line())
		require.NotContains(t, []engine.RecordKind{engine.RecordGap, engine.RecordDropped}, rec.Kind, "something was lost")
		u := play.PlayRecord(&rec)
		switch {
		case rec.Kind == engine.RecordEnd:
			return r
		case rec.Kind == engine.RecordEvent && rec.Event.Kind == clock.Start:
			counted = -1
		case rec.Kind == engine.RecordEvent && rec.Event.Kind == clock.Tick24:
			r.ticks++
			counted++
		case rec.Kind == engine.RecordFrame:
			require.Equal(t, rec.Sum, engine.Sum(u), "frame %d is not what was sent", rec.Frame)
			pos, status := play.Position(), play.Status()
			if level := u[0].Slots[0]; status.Section != engine.None {
				if _, ok := r.lit[level]; !ok {
					r.lit[level] = status.Beat
				}
			}
			if pos.Playing {
				part := engine.Status{Song: status.Song, Section: status.Section}
				r.ahead[part] = append(r.ahead[part], float64(pos.Beat)/float64(clock.Tick)-float64(counted))
			}
		}
	}
}

// checkJournal: all ticks came; in every section but the first the place in the
// music agrees with the ticks that were counted; and each cue's light was first made at its place in
// the song, or within a beat after.
func checkJournal(t *testing.T, p *engine.Program, plan midi.Schedule, name string) {
	t.Helper()
	r := replayJournal(t, p, name)
	sent := 0
	for _, e := range plan.Entries {
		if e.Bytes[0] == 0xf8 {
			sent++
		}
	}
	assert.Equal(t, sent, r.ticks, "ticks")
	first := engine.Status{Song: p.SetList[0], Section: 0}
	for part, ahead := range r.ahead {
		// The music is up to a tick ahead of the last that came. Where the machine is
		// busy ticks come late, and it is ahead by more, but not of those that came in
		// time: so it is the low end that tells. The clock takes ticks that come by
		// buffers to be early by half of one, which is as long as is left of the
		// buffer on average, so that the low end lies a little below 0.
		slices.Sort(ahead)
		least, middle := ahead[len(ahead)/50], ahead[len(ahead)/2]
		t.Logf("song %d, section %d: %d frames, %.2f ticks ahead of the last that came, one in 50 %.2f or less", part.Song, part.Section, len(ahead), middle, least)
		if part == first {
			continue // the clock is still settling
		}
		assert.InDelta(t, -0.3, least, 0.9, "song %d, section %d: the place in the music is a tick off", part.Song, part.Section)
	}
	for _, s := range p.SetList {
		song := &p.Songs[s]
		for _, c := range song.Cues {
			at, ok := r.lit[levelAt(song, c.At)]
			require.True(t, ok, "%s: the cue at %v was never lit", song.Name, c.At)
			assert.GreaterOrEqual(t, at, c.At, song.Name)
			assert.Less(t, at, c.At+song.Meter.Beat(), song.Name)
		}
	}
}
