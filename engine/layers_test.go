package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
)

// TestPrecedence is the order of precedence as a table: every layer in turn
// takes lamp 1 (of the stage) and the front light (kept, and in the work light)
// from all that are below it, and gives them back to the next below when it goes.
func TestPrecedence(t *testing.T) {
	p := asPlayed(t)
	p.Ease = 0
	p.ReleaseFade = 0
	p.Looks = append(p.Looks, named("two", cue(seconds(10), dims([]int32{lamp1}, 1), dim(front, 0.9))))
	two := int32(len(p.Looks) - 1)
	s := newStage(p)
	e := s.engine
	e.limiter = limiter{} // all of this happens within nanoseconds; limiter_test.go has it
	level := func() [2]float64 {
		s.pos.At++ // what takes no time has happened
		s.frame()
		return [2]float64{e.sentLight[lamp1][fixtures.Intensity], e.sentLight[front][fixtures.Intensity]}
	}
	// up to each layer, from the lowest
	for _, step := range []struct {
		layer string
		do    func()
		want  [2]float64 // lamp 1, front
	}{
		{"look", func() { s.send(Command{Kind: ShowLook, Index: 3}); e.cue.Effects = nil }, [2]float64{1, 0.6}},
		{"effect", func() { e.cue.Effects = []int32{rock}; s.pos.Pulse = 0 }, [2]float64{0, 0.6}},
		{"cue's fade", func() { s.send(Command{Kind: ShowLook, Index: two}) }, [2]float64{0, 0.6}},
		{"floor", func() { e.prog.Talk = two; e.prog.Floors[0].Level = 0.7 }, [2]float64{0, 0.7}},
		{"hold", func() { s.send(Command{Kind: Hold}); s.pos.At += 5 * clock.Second }, [2]float64{0, 0.7}},
		{"hand on lamps", func() { s.send(Command{Kind: Override, Index: 1, Level: 0.8}) }, [2]float64{0.8, 0.7}},
		{"hand on front", func() { s.send(Command{Kind: Override, Index: 2, Level: 0.4}) }, [2]float64{0.8, 0.4}},
		{"group master", func() { s.send(Command{Kind: GroupMaster, Index: 1, Level: 0.5}) }, [2]float64{0.4, 0.4}},
		{"grand master", func() { s.send(Command{Kind: GrandMaster, Level: 0.5}) }, [2]float64{0.2, 0.2}},
		{"blackout", func() { s.send(Command{Kind: Blackout}) }, [2]float64{0, 0}},
		{"work light", func() { s.send(Command{Kind: WorkLight}) }, [2]float64{0, 1}},
		// and down again
		{"work light off", func() { s.send(Command{Kind: WorkLightOff}) }, [2]float64{0, 0}},
		{"restore", func() { s.send(Command{Kind: Restore}) }, [2]float64{0.2, 0.2}},
		{"grand master full", func() { s.send(Command{Kind: GrandMaster, Level: 1}) }, [2]float64{0.4, 0.4}},
		{"group master full", func() { s.send(Command{Kind: GroupMaster, Index: 1, Level: 1}) }, [2]float64{0.8, 0.4}},
		{"hands let go", func() { s.send(Command{Kind: ReleaseOverride, Index: None}) }, [2]float64{0, 0.7}},
		{"released", func() { s.send(Command{Kind: Release}); s.pos.At += 10 * clock.Second }, [2]float64{1, 0.9}},
	} {
		step.do()
		got := level()
		for i := range got {
			if !assert.InDelta(t, step.want[i], got[i], 1e-6, "%s: lamp 1 and front", step.layer) {
				break
			}
		}
	}
}

// Colour has a time of its own where a cue says so.
func TestColourInItsOwnTime(t *testing.T) {
	p := hall(t)
	tint := snap
	c := named("own", cue(seconds(4), level(washes, 1, Main)))
	c.ColourFade = &tint
	p.Looks = append(p.Looks, named("from", cue(snap, level(washes, 0.2, Second))), c)
	s := newStage(p)
	for i := range int32(2) {
		s.send(Command{Kind: ShowLook, Index: int32(len(p.Looks)) - 2 + i})
		s.frame()
	}
	s.pos.At += 2 * clock.Second
	s.frame()
	w := s.engine.sentLight[wash1]
	assert.Equal(t, p.HousePalette[Main], w.Colour(), "half way")
	assert.GreaterOrEqual(t, w[fixtures.Intensity], 0.55, "half way")
	assert.LessOrEqual(t, w[fixtures.Intensity], 0.65, "half way")
}

// busy is a stage and what keeps every layer of it at work, in turn.
func busy(t *testing.T) (s *stage, next func(n int)) {
	p := asPlayed(t)
	p.Haze = DutyCycle{On: clock.Second, Every: 2 * clock.Second}
	p.Songs[4].Sections[0].Spoken = true // with its front light under the floor
	p.Songs[4].Cues[0].Parts = append(p.Songs[4].Cues[0].Parts, dim(front, 0.1))
	const flicker = rock + 1 + int32(Square)
	p.Effects[flicker].Period = Length{Num: 1, Den: 2} // 8 Hz in double time, for the limiter
	for i := range p.Songs[4].Cues {
		p.Songs[4].Cues[i].Effects = []int32{flicker}
	}
	p.Songs = withBuilds(p.Songs)
	s = newStage(p)
	for _, c := range []Command{
		{Kind: SelectSong, Index: 4},
		{Kind: HouseHalf},
		{Kind: DoubleTime},
		{Kind: GroupMaster, Index: 0, Level: 0.5},
		{Kind: GroupMaster, Index: 1, Level: 0.9},
		{Kind: GrandMaster, Level: 0.7},
	} {
		s.send(c)
	}
	s.transport("start", "")
	keys := []CommandKind{Hold, Release, Blackout, Restore, WorkLight, WorkLightOff}
	return s, func(n int) {
		s.move(s.pos.Tempo.Span(quarter/8), quarter/8)
		if n%6 == 0 {
			s.send(Command{Kind: keys[n/6%len(keys)]})
		}
		if n%16 == 0 {
			s.send(Command{Kind: ArmSection, Index: int32(n / 16 % 5), When: NextBeat})
		}
		if n%5 == 0 {
			s.send(Command{Kind: Override, Index: int32(n % 3), Level: 0.5, Over: clock.Second / 8, For: clock.Second / 8})
		}
		if n%7 == 0 {
			l := InputLevels{Input: int32(n / 7 % 2), Present: n%21 != 0, Changed: AllSlots()}
			l.Levels[0], l.Levels[2], l.Levels[511] = byte(40*n), byte(9*n), byte(5*n)
			s.engine.TakeLevels(&l, s.pos)
		}
		s.engine.Frame(s.pos)
	}
}

// A frame with every layer at work touches no heap, nor does a command.
func TestEveryLayerWithoutHeap(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	_, play := busy(t)
	n := 0
	assert.Zero(t, testing.AllocsPerRun(1000, func() { play(n); n++ }), "allocations a frame")
	// That they were at work: the same again, and each layer laid alone.
	s, next := busy(t)
	var moved [NumLayers]int
	e := s.engine
	for n := range 1000 {
		next(n)
		if e.limiter.holding { // it has been laid, and sees a moment once
			moved[FlashLayer]++
		}
		for l := range FlashLayer {
			light, lit := slices.Clone(e.showLight), slices.Clone(e.sentLight)
			if e.renderLayer(l, s.pos); !slices.Equal(light, e.showLight) || !slices.Equal(lit, e.sentLight) {
				moved[l]++
			}
		}
	}
	for l, n := range moved {
		assert.NotZero(t, n, "the layer %q never moved the light", Layer(l))
	}
	t.Logf("frames in which each layer moved the light, of 1000: %v", moved)
}

// A floor that began to act while the light was held comes in gently after the release.
func TestFloorAfterAHoldDoesNotJump(t *testing.T) {
	for _, held := range []clock.Time{300 * clock.Millisecond, 3 * clock.Second} {
		p := hall(t)
		p.ReleaseFade, p.WalkIn = 4*clock.Second, None
		e, pos := New(p), clock.Position{At: clock.Second, Tempo: clock.BPM(120)}
		e.Frame(pos)
		before := e.sentLight[front][fixtures.Intensity]
		require.Less(t, before, 0.01, "the front before the talk look")
		e.Do(Command{Kind: Hold}, pos)
		e.Do(Command{Kind: ShowLook, Index: p.Talk}, pos)
		e.Frame(pos)
		pos.At += held
		e.Do(Command{Kind: Release}, pos)
		for range 200 {
			e.Frame(pos)
			now := e.sentLight[front][fixtures.Intensity]
			assert.InDelta(t, before, now, 0.02, "%v after the release", pos.At)
			before = now
			pos.At += 20 * clock.Millisecond
		}
		assert.GreaterOrEqual(t, before, 0.3, "the floor")
	}
}
