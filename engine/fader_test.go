package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
)

// desk gives the stage a level of all slots of an input.
func (s *stage) desk(input int32, level byte) (changed bool) {
	l := InputLevels{Input: input, Present: true, Changed: AllSlots()}
	for i := range l.Levels {
		l.Levels[i] = level
	}
	return s.engine.TakeLevels(&l, s.pos)
}

// deskGone tells the stage that an input's source is gone.
func (s *stage) deskGone(input int32) (changed bool) {
	return s.engine.TakeLevels(&InputLevels{Input: input}, s.pos)
}

// faderStage is the hall with a look of lamps at 60 %, washes at 50 % and front at 40 %,
// and one fader.
func faderStage(t *testing.T, takes Takes, heads []int32, hold bool) *stage {
	p := hall(t)
	p.Ease = clock.Second
	p.LevelInputs = []LevelInput{{Name: "house desk", Hold: hold}}
	p.Faders = []Fader{{Slot: 3, Name: "group", Heads: heads, Takes: takes}}
	p.Looks = []Cue{
		named("one", cue(snap, dims(lamps, 0.6), dims(washes, 0.5), dim(front, 0.4))),
		named("two", cue(snap, dims(lamps, 0.2), dims(washes, 0.5))), // leaves the kept front as it is
	}
	p.WalkIn, p.WalkOut, p.Talk = 0, None, None
	return newStage(p)
}

func (s *stage) levelAt(head int32, later clock.Time) float64 {
	s.pos.At += later
	s.engine.Frame(s.pos)
	return s.engine.sentLight[head][fixtures.Intensity]
}

// The higher of fader and show counts. The desk's levels fade in when it comes and out
// when it goes.
func TestFaderTakesHighest(t *testing.T) {
	s := faderStage(t, TakesHighest, lamps, false)
	assert.Equal(t, 0.6, s.levelAt(lamp1, clock.Second))
	assert.True(t, s.desk(0, 204)) // 80 %
	assert.False(t, s.desk(0, 204), "the same levels again")
	assert.InDelta(t, 0.6, s.levelAt(lamp1, 0), 1e-9, "no jump when a desk comes")
	assert.InDelta(t, 0.7, s.levelAt(lamp1, clock.Second/2), 1e-9)
	assert.Equal(t, 0.8, s.levelAt(lamp1, clock.Second/2))
	assert.Equal(t, 0.4, s.levelAt(front, 0), "another group")
	s.desk(0, 102) // 40 %
	assert.Equal(t, 0.6, s.levelAt(lamp1, clock.Second), "the show is higher")
	s.desk(0, 255)
	assert.Equal(t, 1.0, s.levelAt(lamp1, 0), "a fader that moves is followed at once")
	s.send(Command{Kind: GrandMaster, Level: 0.5})
	assert.Equal(t, 0.5, s.levelAt(lamp1, 0), "masters act on it")
	s.send(Command{Kind: Blackout})
	assert.Zero(t, s.levelAt(lamp1, 0), "and blackout")
	s.send(Command{Kind: Restore})
	s.send(Command{Kind: GrandMaster, Level: 1})
	s.levelAt(lamp1, 2*clock.Second)
	assert.True(t, s.deskGone(0))
	assert.False(t, s.deskGone(0), "it is gone already")
	assert.InDelta(t, 0.8, s.levelAt(lamp1, clock.Second/2), 1e-9)
	assert.Equal(t, 0.6, s.levelAt(lamp1, clock.Second/2))
}

// Held, the last levels stay when the desk goes.
func TestFaderIsHeld(t *testing.T) {
	s := faderStage(t, TakesHighest, lamps, true)
	s.desk(0, 204)
	s.levelAt(lamp1, 2*clock.Second)
	s.deskGone(0)
	assert.Equal(t, 0.8, s.levelAt(lamp1, 20*clock.Second))
	st := s.engine.Status(s.pos)
	assert.Equal(t, InputState{Heard: true, Present: false, Amount: 1}, st.Inputs[0])
}

// The fader is a master of its group.
func TestFaderScales(t *testing.T) {
	s := faderStage(t, TakesScale, lamps, false)
	s.desk(0, 51) // 20 %
	assert.InDelta(t, 0.12, s.levelAt(lamp1, 2*clock.Second), 1e-9)
	s.deskGone(0)
	assert.Equal(t, 0.6, s.levelAt(lamp1, 2*clock.Second))
}

// Who moved last has the light: the fader once it moves, the show from its next cue.
func TestFaderTakesLast(t *testing.T) {
	s := faderStage(t, TakesLast, lamps, false)
	s.desk(0, 10)
	assert.Equal(t, 0.6, s.levelAt(lamp1, 2*clock.Second), "where it stands is no move")
	s.desk(0, 12)
	assert.Equal(t, 0.6, s.levelAt(lamp1, 2*clock.Second), "a fader that wavers is no move")
	s.desk(0, 51)
	assert.InDelta(t, 0.6, s.levelAt(lamp1, 0), 1e-9)
	assert.InDelta(t, 0.4, s.levelAt(lamp1, faderTakesOver/2), 1e-9)
	assert.Equal(t, 0.2, s.levelAt(lamp1, faderTakesOver/2))
	s.desk(0, 52)
	assert.Equal(t, 52.0/255, s.levelAt(lamp1, 0), "from then on each step counts")
	s.desk(0, 153)
	s.send(Command{Kind: ShowLook, Index: 1}) // lamps at 20 %
	assert.InDelta(t, 0.4, s.levelAt(lamp1, clock.Second/2), 1e-9)
	assert.Equal(t, 0.2, s.levelAt(lamp1, clock.Second/2))
	s.desk(0, 152)
	assert.Equal(t, 0.2, s.levelAt(lamp1, clock.Second))
	s.desk(0, 255)
	assert.Equal(t, 1.0, s.levelAt(lamp1, clock.Second))
	s.deskGone(0)
	assert.Equal(t, 0.2, s.levelAt(lamp1, clock.Second))
	s.desk(0, 100)
	assert.Equal(t, 0.2, s.levelAt(lamp1, 2*clock.Second), "a desk that comes back has not moved")
}

// Kept heads stay with the fader until a cue names them.
func TestFaderKeepsKeptHeads(t *testing.T) {
	s := faderStage(t, TakesLast, []int32{front}, false)
	s.desk(0, 0)
	s.desk(0, 204)
	s.send(Command{Kind: ShowLook, Index: 1})
	assert.Equal(t, 0.8, s.levelAt(front, 5*clock.Second), "the look does not name the front")
	s.send(Command{Kind: ShowLook, Index: 0})
	assert.Equal(t, 0.4, s.levelAt(front, 5*clock.Second))
}

// The flash limiter sees what a desk does: a fader that goes up and down ten times a
// second does not flash the stage.
func TestFaderCannotFlash(t *testing.T) {
	s := faderStage(t, TakesHighest, lamps, false)
	s.send(Command{Kind: ShowLook, Index: 1})
	s.desk(0, 0)
	s.levelAt(lamp1, 5*clock.Second)
	held := false
	for n := range 88 {
		if n%2 == 0 {
			s.desk(0, byte(n/2%2)*255)
		}
		s.levelAt(lamp1, clock.Second/44)
		held = held || s.engine.limiter.holding
	}
	assert.True(t, held, "the limiter never held light back")
}

// An edited show goes on with the same levels, on the new heads of a group; another
// input needs a restart.
func TestFadersOfAnEditedShow(t *testing.T) {
	s := faderStage(t, TakesLast, []int32{lamp1}, false)
	s.desk(0, 0)
	s.desk(0, 255)
	assert.Equal(t, 1.0, s.levelAt(lamp1, 5*clock.Second))
	p := *s.engine.prog
	p.Faders = []Fader{{Slot: 9, Name: "new", Heads: []int32{front}, Takes: TakesLast}, {Slot: 3, Name: "group", Heads: lamps, Takes: TakesLast}}
	r, err := NewReload(s.engine.prog, &p)
	require.NoError(t, err)
	require.True(t, s.engine.Reload(r, s.pos))
	assert.Equal(t, 1.0, s.levelAt(lamp1+1, 0))
	assert.True(t, s.desk(0, 255), "slot 9 is new")
	assert.Equal(t, 0.4, s.levelAt(front, 5*clock.Second), "where a new fader stands is no move")
	s.desk(0, 204)
	assert.Equal(t, 0.8, s.levelAt(front, 5*clock.Second))
	q := p
	q.LevelInputs = []LevelInput{{Name: "house desk", Wire: "sACN 99"}}
	_, err = NewReload(s.engine.prog, &q)
	require.ErrorIs(t, err, ErrRestart)
	assert.ErrorContains(t, err, "the inputs have changed")
}

// A box gives the latest levels once, and again after refresh.
func TestLevelBox(t *testing.T) {
	var b LevelBox
	var got InputLevels
	assert.False(t, b.take(&got))
	var levels [512]byte
	for i := range byte(9) {
		levels[2] = i
		b.Put(true, &levels)
	}
	require.True(t, b.take(&got))
	assert.EqualValues(t, 8, got.Levels[2], "the latest")
	assert.True(t, got.Present)
	assert.False(t, b.take(&got))
	b.refresh()
	assert.True(t, b.take(&got))
	b.Put(false, nil)
	require.True(t, b.take(&got))
	assert.False(t, got.Present)
	assert.Zero(t, testing.AllocsPerRun(100, func() { b.Put(true, &levels); b.take(&got) }))
}
