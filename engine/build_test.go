package engine

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
)

// buildOf makes the cue at a section's start grow, the lamps one after another, the
// washes together.
func buildOf(s *Song, section int) *Build {
	c := &s.Sections[section]
	b := &Build{
		From: c.Start, Until: c.Start + c.Length, Middle: c.Start + c.Length/2, Low: 0.2, Depth: 0.5, Span: 0.5,
		Joins: make([]float64, hallHeads),
	}
	for h := range b.Joins {
		b.Joins[h] = -1
	}
	for _, h := range washes {
		b.Joins[h] = 0
	}
	for i, h := range lamps {
		b.Joins[h] = 0.5 * float64(i) / 3
	}
	return b
}

// withBuilds gives every cue in a section a build: they grow and ebb in turn, every
// third in double time.
func withBuilds(songs []Song) []Song {
	songs = slices.Clone(songs)
	for i := range songs {
		s := &songs[i]
		s.Cues = slices.Clone(s.Cues)
		for k := range s.Cues {
			if at := s.sectionAt(s.Cues[k].At); at != None {
				b := buildOf(s, int(at))
				b.Ebbs, b.DoubleTime = at%2 == 1, at%3 == 2
				s.Cues[k].Build = b
			}
		}
	}
	return songs
}

// The light of chorus 1 of Long Shore, 24 to 40 quarters, as it grows, ebbs, and does
// neither. Levels follow from the places by hand: a lamp that joins at j has 0.2 + 0.8 ·
// (x − j) / 0.5 at x.
func TestBuildGrowsAndEbbs(t *testing.T) {
	for _, c := range []struct {
		ebbs    bool
		quarter clock.Beat
		want    [5]float64 // wash 1, lamps 1 to 4
	}{
		{false, 24, [5]float64{0.2, 0.2, 0.2, 0.2, 0.2}},
		{false, 28, [5]float64{0.6, 0.6, 0.3333, 0.2, 0.2}},
		{false, 32, [5]float64{1, 1, 0.7333, 0.4667, 0.2}},
		{false, 36, [5]float64{1, 1, 1, 0.8667, 0.6}},
		{true, 24, [5]float64{1, 1, 1, 1, 1}},
		{true, 28, [5]float64{1, 1, 1, 0.8667, 0.6}},
		{true, 36, [5]float64{0.6, 0.6, 0.3333, 0.2, 0.2}},
	} {
		p := hall(t)
		song := &p.Songs[0]
		for i := range song.Cues {
			if x := &song.Cues[i]; x.At == 24*quarter {
				x.Build, x.Effects = buildOf(song, 2), nil
				x.Build.Ebbs = c.ebbs
			}
		}
		s := playing(t, p, c.quarter*quarter)
		s.frame()
		for i, h := range []int32{wash1, lamp1, lamp2, lamp3, lamp4} {
			assert.InDelta(t, c.want[i], s.engine.SentLight()[h][fixtures.Intensity], 0.001, "ebbs: %v, %d quarters, %s", c.ebbs, c.quarter, p.Heads[h].Name)
		}
		assert.InDelta(t, 0.3, s.engine.SentLight()[front][fixtures.Intensity], 0.4, "kept heads have no part in it")
	}
}

// Effects have half their depth at the weak end, and all of it at the strong one.
func TestBuildDeepensEffects(t *testing.T) {
	p := hall(t)
	song := &p.Songs[0]
	for i := range song.Cues {
		if x := &song.Cues[i]; x.At == 24*quarter { // the lamps are dark but for a beat of the bar each
			x.Build = buildOf(song, 2)
			x.Build.Low = 1
		}
	}
	for at, want := range map[clock.Beat]float64{25: 15. / 32, 37: 3. / 32} { // 1 - depth
		s := playing(t, p, at*quarter)
		s.frame()
		assert.InDelta(t, want, s.engine.SentLight()[lamp1][fixtures.Intensity], 0.001, "%d quarters", at)
	}
}

// Double time runs effects twice as fast from the middle on, or up to it in an ebb, on
// the beat.
func TestBuildDoubleTime(t *testing.T) {
	b := Build{From: 24 * quarter, Until: 40 * quarter, Middle: 32 * quarter, DoubleTime: true}
	for _, c := range []struct {
		ebbs, ended bool
		at, want    clock.Beat // quarters
	}{
		{false, false, 24, 24},
		{false, false, 32, 32},
		{false, false, 36, 40},
		{false, false, 40, 48},
		{true, false, 24, 24},
		{true, false, 28, 32},
		{true, false, 32, 40},
		{true, false, 40, 48},
		{false, true, 24, 24},
		{false, true, 28, 32},
		{true, true, 28, 28},
	} {
		b.Ebbs = c.ebbs
		assert.Equal(t, c.want*quarter, b.effectPlace(c.at*quarter, c.ended), "%+v", c)
	}
}

// A section that loops stays as its build has left it.
func TestBuildOfALoopStaysAtItsEnd(t *testing.T) {
	p := asPlayed(t)
	fogBell := slices.IndexFunc(p.Songs, func(s Song) bool { return s.Name == "Fog Bell" })
	song := &p.Songs[fogBell]
	chorus := &song.Cues[len(song.Cues)-1]
	require.Equal(t, 8*quarter, chorus.At)
	chorus.Build = buildOf(song, 1)
	s := newStage(p)
	require.NoError(t, s.send(Command{Kind: SelectSong, Index: int32(fogBell)}))
	require.NoError(t, s.transport("start", ""))
	var levels []float64
	for _, at := range []clock.Beat{8, 15, 16, 17, 23, 24} {
		require.NoError(t, s.play(at*quarter))
		s.frame()
		levels = append(levels, s.engine.SentLight()[lamp1][fixtures.Intensity])
	}
	assert.InDeltaSlice(t, []float64{0.08, 0.4, 0.4, 0.4, 0.4, 0.4}, levels, 0.001)
}

// A cue that an edit removes keeps the light that its build had grown to.
func TestReloadKeepsABuildThatIsLost(t *testing.T) {
	p := hall(t)
	for i := range p.Songs[0].Cues {
		if x := &p.Songs[0].Cues[i]; x.At == 24*quarter {
			x.Build, x.Effects = buildOf(&p.Songs[0], 2), nil
		}
	}
	s := playing(t, p, 28*quarter)
	before := slices.Clone(s.engine.SentLight())
	to := edited(p)
	to.Songs[0].Cues = nil
	s.reload(t, to)
	require.NoError(t, s.play(38*quarter))
	for h, was := range before {
		assert.InDelta(t, was[fixtures.Intensity], s.engine.SentLight()[h][fixtures.Intensity], 1e-9, p.Heads[h].Name)
	}
}

// A build goes on over an edit while a cue that only sends is present, whether playing
// reached that cue or a jump did.
func TestReloadDuringSendsKeepsBuilding(t *testing.T) {
	for _, jump := range []bool{false, true} {
		p := asPlayed(t)
		p.Songs = withBuilds(p.Songs)
		fogBell := slices.IndexFunc(p.Songs, func(s Song) bool { return s.Name == "Fog Bell" })
		sending := func() *stage {
			s := newStage(p)
			require.NoError(t, s.send(Command{Kind: SelectSong, Index: int32(fogBell)}))
			require.NoError(t, s.transport("start", ""))
			if jump {
				s.frame()
				s.pos.Beat = 5 * quarter
				s.pos.Jumps++
			}
			require.NoError(t, s.play(5*quarter+clock.Tick))
			require.True(t, s.engine.shown.cueIn(p).SendsOnly)
			return s
		}
		s, twin := sending(), sending()
		s.reload(t, edited(p))
		for range 40 {
			require.NoError(t, s.play(s.pos.Beat+clock.Tick))
			require.NoError(t, twin.play(twin.pos.Beat+clock.Tick))
			require.Equal(t, twin.engine.SentLight(), s.engine.SentLight(), "jumped: %v, beat %v", jump, s.pos.Beat.Quarters())
		}
	}
}

// The build is a layer that can be explained, and costs the frame no memory.
func TestBuildIsALayer(t *testing.T) {
	p := hall(t)
	for i := range p.Songs[0].Cues {
		if x := &p.Songs[0].Cues[i]; x.At == 24*quarter {
			x.Build = buildOf(&p.Songs[0], 2)
		}
	}
	s := playing(t, p, 28*quarter)
	s.frame()
	x := s.engine.View(s.pos).Explain(lamp2)[0]
	i := slices.IndexFunc(x.Steps, func(s Step) bool { return s.Layer == BuildLayer })
	require.GreaterOrEqual(t, i, 0, fmt.Sprint(x.Steps))
	assert.InDelta(t, 0.3333, x.Steps[i].Level, 0.001)
	assert.InDelta(t, 0.25, x.Steps[i].Share, 0.001)
	assert.Equal(t, "build", BuildLayer.String())
	if !raceDetector {
		assert.Zero(t, testing.AllocsPerRun(50, func() { s.engine.Frame(s.pos) }))
	}
}
