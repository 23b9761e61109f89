package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// A note that only the new song has settles that the program change was meant: notes
// of the song before are then counted as unknown, and do not bring it back.
func TestNoteOfTheNewSongSettlesIt(t *testing.T) {
	for _, settled := range []bool{false, true} {
		p := hall(t)
		for i := range p.Songs[1].Sections { // Two Tides has notes of its own
			p.Songs[1].Sections[i].Note += 20
		}
		s := newStage(p)
		require.NoError(t, s.send(Command{Kind: SelectSong, Index: 0}))
		require.NoError(t, s.transport("start", ""))
		require.NoError(t, s.play(28*clock.Quarter))
		require.NoError(t, s.send(Command{Kind: SelectByProgram, Index: 1}))
		require.NoError(t, s.transport("stop", ""))
		s.frame()
		require.NoError(t, s.transport("start", ""))
		require.NoError(t, s.play(2*clock.Quarter))
		if settled {
			require.NoError(t, s.send(Command{Kind: FireNote, Index: 81}))
		}
		s.frame()
		require.NoError(t, s.send(Command{Kind: FireNote, Index: 64}))
		s.frame()
		st := s.engine.Status(s.pos)
		if settled {
			assert.EqualValues(t, 1, st.Song, "the new song goes on")
			assert.EqualValues(t, 1, st.Unknown)
			assert.Zero(t, st.Programs.Undone)
			continue
		}
		assert.EqualValues(t, 0, st.Song, "the song before is back")
		assert.EqualValues(t, 4, st.Section, "at chorus 2")
		assert.Zero(t, st.Unknown)
		assert.Equal(t, ProgramStatus{Song: 1, Armed: 1, Begun: 1, Undone: 1}, st.Programs)
	}
}

// A hand chooses a song at once, and what a program change had armed is released.
func TestHandChoosesAtOnce(t *testing.T) {
	for _, c := range []struct {
		command Command
		song    int32
	}{
		{Command{Kind: SelectSong, Index: 3}, 3},
		{Command{Kind: SelectPlace, Index: 3}, 2},
		{Command{Kind: NextSong}, 1},
		{Command{Kind: RestartSong}, 0},
		{Command{Kind: ShowLook, Index: 0}, None},
		{Command{Kind: Disarm}, 0},
	} {
		s := newStage(hall(t))
		require.NoError(t, s.send(Command{Kind: NextSong}))
		require.NoError(t, s.transport("start", ""))
		require.NoError(t, s.play(28*clock.Quarter))
		require.NoError(t, s.send(Command{Kind: SelectByProgram, Index: 1}))
		st := s.engine.Status(s.pos)
		require.EqualValues(t, 0, st.Song)
		require.EqualValues(t, 1, st.SongArmed)
		require.True(t, st.SongWaits)
		require.NoError(t, s.send(c.command))
		st = s.engine.Status(s.pos)
		assert.Equal(t, c.song, st.Song, "%+v", c.command)
		assert.Equal(t, None, st.SongArmed, "%+v", c.command)
		assert.False(t, st.SongWaits, "%+v", c.command)
	}
}

// Program changes of songs that do not exist are counted, and change nothing.
func TestUnknownProgram(t *testing.T) {
	s := newStage(hall(t))
	for _, song := range []int32{-1, int32(len(s.engine.prog.Songs))} {
		require.NoError(t, s.send(Command{Kind: SelectByProgram, Index: song}))
	}
	st := s.engine.Status(s.pos)
	assert.EqualValues(t, 2, st.Unknown)
	assert.Equal(t, ProgramStatus{Song: None}, st.Programs)
}

// A song that waits goes over to an edited show by its name, and is forgotten when the
// edit removes it.
func TestReloadKeepsTheSongThatWaits(t *testing.T) {
	for _, removed := range []bool{false, true} {
		s := newStage(hall(t))
		require.NoError(t, s.send(Command{Kind: SelectSong, Index: 0}))
		require.NoError(t, s.transport("start", ""))
		require.NoError(t, s.play(28*clock.Quarter))
		require.NoError(t, s.send(Command{Kind: SelectByProgram, Index: 1}))
		to := hall(t)
		to.Songs[1], to.Songs[3] = to.Songs[3], to.Songs[1]
		if removed {
			to.Songs[3].Name = "Another"
		}
		r, err := NewReload(s.engine.prog, to)
		require.NoError(t, err)
		require.True(t, s.engine.Reload(r, s.pos))
		st := s.engine.Status(s.pos)
		if removed {
			assert.Equal(t, None, st.SongArmed)
			assert.EqualValues(t, 1, st.Lost)
			continue
		}
		assert.EqualValues(t, 3, st.SongArmed)
		assert.True(t, st.SongWaits)
		require.NoError(t, s.transport("stop", ""))
		s.frame()
		assert.EqualValues(t, 3, s.engine.Status(s.pos).Song)
	}
}

// The light beyond a song's end stays over an edit of the show, and no thing is
// counted as lost.
func TestReloadBeyondTheEnd(t *testing.T) {
	s := newStage(hall(t))
	require.NoError(t, s.send(Command{Kind: SelectSong, Index: 0}))
	require.NoError(t, s.transport("start", ""))
	require.NoError(t, s.play(58*clock.Quarter))
	require.NoError(t, s.transport("locate", "200"))
	s.frame()
	before := s.engine.universes[0]
	require.Equal(t, "full", s.engine.Status(s.pos).Look)
	r, err := NewReload(s.engine.prog, hall(t))
	require.NoError(t, err)
	require.True(t, s.engine.Reload(r, s.pos))
	s.frame()
	assert.Equal(t, before, s.engine.universes[0])
	st := s.engine.Status(s.pos)
	assert.Equal(t, "full", st.Look)
	assert.Zero(t, st.Lost)
	assert.NotNil(t, st.InForce, "the cue is still the show's own")
	require.NoError(t, s.play(204*clock.Quarter))
	assert.Equal(t, "full", s.engine.Status(s.pos).Look)
}

// A program change, its song's note and the way back allocate nothing.
func TestProgramChangesDoNotAllocate(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	s := newStage(hall(t))
	require.NoError(t, s.send(Command{Kind: SelectSong, Index: 0}))
	require.NoError(t, s.transport("start", ""))
	require.NoError(t, s.play(8*clock.Quarter))
	assert.Zero(t, testing.AllocsPerRun(20, func() {
		s.engine.Do(Command{Kind: SelectByProgram, Index: 3}, s.pos)
		s.engine.Frame(s.pos)
		s.pos.Playing = false
		s.engine.Frame(s.pos)
		s.pos.Playing, s.pos.Beat = true, 8*clock.Quarter
		s.pos.Jumps++
		s.engine.Frame(s.pos)
		s.engine.Do(Command{Kind: FireNote, Index: 64}, s.pos)
		s.engine.Frame(s.pos)
	}))
	assert.NotZero(t, s.engine.Status(s.pos).Programs.Undone)
}
