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
		s := newStage(hallWithOwnNotes(t))
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
		s := twoTidesWaits(t, hall(t))
		require.NoError(t, s.send(c.command))
		st := s.engine.Status(s.pos)
		assert.Equal(t, c.song, st.Song, "%+v", c.command)
		assert.Equal(t, None, st.SongArmed, "%+v", c.command)
		assert.False(t, st.SongWaits, "%+v", c.command)
	}
}

// twoTidesWaits plays Long Shore, at place 0, up to 28 quarters, where a program change
// names Two Tides.
func twoTidesWaits(t *testing.T, p *Program) *stage {
	t.Helper()
	s := newStage(p)
	require.NoError(t, s.send(Command{Kind: NextSong}))
	require.NoError(t, s.transport("start", ""))
	require.NoError(t, s.play(28*clock.Quarter))
	require.NoError(t, s.send(Command{Kind: SelectByProgram, Index: 1}))
	st := s.engine.Status(s.pos)
	require.EqualValues(t, 0, st.Song)
	require.EqualValues(t, 1, st.SongArmed)
	require.True(t, st.SongWaits)
	return s
}

// A song that a hand chooses a little before a beat starts on that beat, and the song
// that waited is released then too.
func TestHandChoosesEarly(t *testing.T) {
	p := hall(t)
	p.Window = 120 * clock.Millisecond
	s := twoTidesWaits(t, p)
	require.NoError(t, s.play(32*clock.Quarter-s.pos.Tempo.Beats(60*clock.Millisecond)))
	require.NoError(t, s.send(Command{Kind: SelectSong, Index: 3}))
	st := s.engine.Status(s.pos)
	require.EqualValues(t, 0, st.Song)
	require.EqualValues(t, 3, st.SongArmed)
	assert.False(t, st.SongWaits)
	require.NoError(t, s.transport("stop", ""))
	s.frame()
	assert.EqualValues(t, 0, s.engine.Status(s.pos).Song, "the stop starts no other song")
	require.NoError(t, s.transport("continue", ""))
	require.NoError(t, s.play(32*clock.Quarter))
	st = s.engine.Status(s.pos)
	assert.EqualValues(t, 3, st.Song)
	assert.Equal(t, None, st.SongArmed)
}

// Two Tides has notes of its own here.
func hallWithOwnNotes(t *testing.T) *Program {
	t.Helper()
	p := hall(t)
	for i := range p.Songs[1].Sections {
		p.Songs[1].Sections[i].Note += 20
	}
	return p
}

// A note that only the song that waits has enters it, and settles that it was meant: a
// note of the song before does not bring that one back.
func TestNoteEntersTheSongThatWaits(t *testing.T) {
	s := twoTidesWaits(t, hallWithOwnNotes(t))
	require.NoError(t, s.send(Command{Kind: FireNote, Index: 81}))
	s.frame()
	st := s.engine.Status(s.pos)
	require.EqualValues(t, 1, st.Song)
	require.EqualValues(t, 1, st.Section)
	require.NoError(t, s.send(Command{Kind: FireNote, Index: 64}))
	s.frame()
	st = s.engine.Status(s.pos)
	assert.EqualValues(t, 1, st.Song)
	assert.EqualValues(t, 1, st.Unknown)
	assert.Zero(t, st.Programs.Undone)
}

// A song that a note enters at a later section lies on the DAW's timeline so that this
// section is there: a jump into it finds its place.
func TestNoteTellsWhereTheSongLies(t *testing.T) {
	p := hallWithOwnNotes(t)
	p.RunsOn = true
	s := twoTidesWaits(t, p)
	require.NoError(t, s.send(Command{Kind: FireNote, Index: 81}))
	s.frame()
	chorus := p.Songs[1].Sections[1].Start
	require.Equal(t, chorus, s.engine.Status(s.pos).Beat)
	s.pos.Beat += clock.Quarter
	s.pos.Jumps++
	s.frame()
	assert.Equal(t, chorus+clock.Quarter, s.engine.Status(s.pos).Beat)
}

// songLeft plays Long Shore at place 0 from 100 quarters of the DAW's timeline on,
// which program changes of songs with notes of their own end while it is stopped.
func songLeft(t *testing.T, programs []int32) *stage {
	t.Helper()
	p := hallWithOwnNotes(t)
	for i := range p.Songs[2].Sections {
		p.Songs[2].Sections[i].Note += 40
	}
	p.RunsOn = true
	s := newStage(p)
	s.pos.Beat = 100 * clock.Quarter
	s.frame()
	require.NoError(t, s.send(Command{Kind: NextSong}))
	require.NoError(t, s.transport("continue", ""))
	require.NoError(t, s.play(128*clock.Quarter))
	require.NoError(t, s.transport("stop", ""))
	s.frame()
	for _, song := range programs {
		require.NoError(t, s.send(Command{Kind: SelectByProgram, Index: song}))
		s.frame()
		require.Equal(t, song, s.engine.Status(s.pos).Song)
	}
	return s
}

// A note brings a song back to its place in the set list and on the DAW's timeline, also
// after two program changes, and after an edit of the show in between.
func TestNoteBringsASongBackToItsPlace(t *testing.T) {
	for _, c := range []struct {
		programs []int32
		edited   bool
	}{{programs: []int32{1}}, {programs: []int32{1, 2}}, {programs: []int32{1}, edited: true}, {programs: []int32{1, 2}, edited: true}} {
		s := songLeft(t, c.programs)
		song, place := int32(0), 0
		if c.edited {
			song, place = 3, 1
			to := *s.engine.prog
			to.Songs = []Song{to.Songs[3], to.Songs[1], to.Songs[2], to.Songs[0]}
			to.SetList = []int32{0, 3, 1, 3, 2} // Quiet Pier opens the night now
			r, err := NewReload(s.engine.prog, &to)
			require.NoError(t, err)
			require.True(t, s.engine.Reload(r, s.pos))
		}
		require.NoError(t, s.transport("continue", ""))
		require.NoError(t, s.play(130*clock.Quarter))
		require.NoError(t, s.send(Command{Kind: FireNote, Index: 62}))
		s.frame()
		st := s.engine.Status(s.pos)
		assert.Equal(t, song, st.Song, "%+v", c)
		assert.Equal(t, place, st.Place, "%+v", c)
		assert.EqualValues(t, 2, st.Section, "chorus 1, %+v", c)
		assert.EqualValues(t, 1, st.Programs.Undone, "%+v", c)
		s.pos.Beat = 120 * clock.Quarter
		s.pos.Jumps++
		s.frame()
		assert.Equal(t, 20*clock.Quarter, s.engine.Status(s.pos).Beat, "%+v", c)
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

// An edit that removes the song that plays, or that is to start on the next beat, loses
// nothing else: a song that waits begins as it would have.
func TestReloadWithoutTheSongThatPlays(t *testing.T) {
	for _, c := range []struct {
		name  string
		early bool
		begin func(s *stage) error
	}{
		{name: "stop", begin: func(s *stage) error { return s.transport("stop", "") }},
		{name: "start", begin: func(s *stage) error { return s.transport("start", "") }},
		{name: "note", begin: func(s *stage) error { return s.send(Command{Kind: FireNote, Index: 80}) }},
		{name: "early", early: true, begin: func(s *stage) error { return s.play(32 * clock.Quarter) }},
	} {
		p := hallWithOwnNotes(t)
		p.Window = 120 * clock.Millisecond
		s := twoTidesWaits(t, p)
		if c.early {
			require.NoError(t, s.play(32*clock.Quarter-s.pos.Tempo.Beats(60*clock.Millisecond)))
			require.NoError(t, s.send(Command{Kind: SelectSong, Index: 1}))
		}
		before := s.engine.universes[0]
		to := hallWithOwnNotes(t)
		to.Songs[0].Name = "Another"
		r, err := NewReload(s.engine.prog, to)
		require.NoError(t, err)
		require.True(t, s.engine.Reload(r, s.pos))
		s.frame()
		st := s.engine.Status(s.pos)
		assert.Equal(t, None, st.Song, c.name)
		assert.EqualValues(t, 1, st.SongArmed, c.name)
		assert.EqualValues(t, 1, st.Lost, c.name)
		assert.Equal(t, before, s.engine.universes[0], "%s: the light stays", c.name)
		require.NoError(t, c.begin(s))
		s.frame()
		st = s.engine.Status(s.pos)
		assert.EqualValues(t, 1, st.Song, c.name)
		assert.Equal(t, None, st.SongArmed, c.name)
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
