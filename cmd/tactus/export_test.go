package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/live"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/position"
	"tactus/shows/smf"
)

// changing is a show with a song whose meters and tempos change.
func changing(t *testing.T) *shows.Show {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "hall")
	require.NoError(t, copyOut(shows.Demo(), folder))
	const song = `song: Changes
program: 20
tempo: 120 bpm
meter: 4/4
sections:
  - intro: {bars: 2, energy: 2}
  - verse: {bars: 4, energy: 3, tempo: 90.5 bpm}
  - bridge: {bars: 4, energy: 5, meter: 6/8, tempo: 60 bpm}
  - turn: {bars: 3, energy: 5, meter: 7/16}
  - verse: {bars: 3, energy: 4, meter: 4/4, tempo: 140 bpm}
changes:
  - {at: "verse 1, bar 3", meter: 2/4}
  - {at: "verse 1, bar 4", meter: 4/4, tempo: 96 bpm}
  - {at: "bridge, bar 3 beat 2", tempo: 61.5 bpm}
cues:
  - {at: "bridge - 1 beat", look: dark}
  - {at: "verse 2, bar 2 beat 3", look: embers}
`
	require.NoError(t, os.WriteFile(filepath.Join(folder, "songs", "changes.yaml"), []byte(song), 0o644))
	show, problems := shows.Load(os.DirFS(folder), shows.Options{})
	require.NotNil(t, show, problems)
	return show
}

// A song that was exported and is played by a DAW, with its clock and notes,
// enters every section on its downbeat and every cue on its beat: the first frame
// at or after it, by the times of the file. The clock's tempo changes with the
// file's, and meters are the song's own.
func TestExportedSongPlays(t *testing.T) {
	if raceEnabled {
		t.Skip("there is one goroutine and nothing to race: make quiet runs this without the race detector")
	}
	show := changing(t)
	for i := range show.Program.Songs {
		song := &show.Program.Songs[i]
		src, mute, err := smf.WriteSong(show.Program, int32(i))
		require.NoError(t, err)
		require.Empty(t, mute)
		file, err := midi.ParseFile(src)
		require.NoError(t, err)
		at := playedBy(t, show.Program, file, int32(i))
		for k := range song.Sections {
			s := &song.Sections[k]
			want := song.TimeAt(s.Start)
			got, ok := at[s.Start]
			assert.True(t, ok, "%s: %s is first lit at %.4f s (%v), want %.4f s", song.Name, s.Name, float64(got)/1e9, ok, float64(want)/1e9)
			assert.GreaterOrEqual(t, got, want-clock.Microsecond, "%s: %s is first lit at %.4f s (%v), want %.4f s", song.Name, s.Name, float64(got)/1e9, ok, float64(want)/1e9)
			assert.LessOrEqual(t, got, want+clock.Second/44+clock.Millisecond, "%s: %s is first lit at %.4f s (%v), want %.4f s", song.Name, s.Name, float64(got)/1e9, ok, float64(want)/1e9)
		}
		for _, c := range song.Cues {
			want := song.TimeAt(c.At)
			if got, ok := at[c.At]; c.At < song.Length() {
				assert.True(t, ok, "%s: the cue at %s is first lit at %.4f s (%v), want %.4f s", song.Name, position.Name(song, c.At), float64(got)/1e9, ok, float64(want)/1e9)
				assert.GreaterOrEqual(t, got, want-clock.Microsecond, "%s: the cue at %s is first lit at %.4f s (%v), want %.4f s", song.Name, position.Name(song, c.At), float64(got)/1e9, ok, float64(want)/1e9)
				assert.LessOrEqual(t, got, want+clock.Second/44+clock.Millisecond, "%s: the cue at %s is first lit at %.4f s (%v), want %.4f s", song.Name, position.Name(song, c.At), float64(got)/1e9, ok, float64(want)/1e9)
			}
		}
	}
}

// playedBy sends a file's schedule to a clock and an engine, with a frame every
// 44th of a second, and returns when each section and cue was first lit, from the
// first downbeat.
func playedBy(t *testing.T, p *engine.Program, file *midi.File, song int32) map[clock.Beat]clock.Time {
	t.Helper()
	schedule := file.Schedule(8)
	transport := clock.NewTransport(clock.Config{})
	e := engine.New(p)
	tr := live.Translator{Notes: &p.Notes}
	lit := map[clock.Beat]clock.Time{}
	zero := clock.Time(schedule.FirstTick)
	now := clock.Time(0)
	status := e.Status(clock.Position{})
	frame := func() {
		pos := transport.At(now)
		e.Frame(pos)
		st := e.Status(pos)
		if st.Song != song || !pos.Playing {
			return
		}
		s := &p.Songs[song]
		if st.Section != engine.None && st.Section != status.Section {
			lit[s.Sections[st.Section].Start] = now - zero
		}
		if st.Cue != engine.None && st.Cue != status.Cue {
			lit[s.Cues[st.Cue].At] = now - zero
		}
		status = st
	}
	for _, entry := range schedule.Entries {
		for next := clock.Time(entry.At); now < next; now += clock.Second / 44 {
			frame()
		}
		m := midi.Message{At: clock.Time(entry.At), Bytes: entry.Bytes, Len: entry.Len}
		if in, ok := tr.Input(m); ok {
			if in.Event.Kind != 0 {
				transport.Handle(in.Event)
			} else {
				e.Do(in.Command, transport.At(m.At))
			}
		}
	}
	return lit
}

// With more songs in sets than there are programs, all are exported, their files stay as
// they are, and a note says why.
func TestExportOfMoreSongsThanPrograms(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "hall")
	require.NoError(t, copyOut(shows.Demo(), folder))
	require.NoError(t, os.RemoveAll(filepath.Join(folder, "sets")))
	require.NoError(t, os.Mkdir(filepath.Join(folder, "sets"), 0o755))
	sets := [2]string{"set: Friday\nsongs: [", "set: Sunday\nsongs: ["}
	written := map[string]string{}
	for i := range 130 {
		name := filepath.Join(folder, "songs", fmt.Sprintf("s%d.yaml", i))
		written[name] = fmt.Sprintf("song: S%d\ntempo: 96 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 4, energy: 2, look: embers}\n", i)
		require.NoError(t, os.WriteFile(name, []byte(written[name]), 0o644))
		sets[i/128] += fmt.Sprintf("s%d, ", i)
	}
	for i, list := range sets {
		require.NoError(t, os.WriteFile(filepath.Join(folder, "sets", fmt.Sprintf("%d.yaml", i)), []byte(list+"]\n"), 0o644))
	}
	var out, errOut bytes.Buffer
	c := newExportMIDI()
	c.SetOut(&out)
	c.SetErr(&errOut)
	c.SetArgs([]string{folder, "--set", "Sunday", "--out", filepath.Join(folder, "daw")})
	require.NoError(t, c.Execute())
	assert.Equal(t, 2, strings.Count(out.String(), "Wrote "), out.String())
	assert.Equal(t, "note: no program numbers are written into songs: there are only 128 MIDI programs: 2 songs of the sets would have none\n", errOut.String())
	for name, src := range written {
		now, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, src, string(now), name)
	}
}
