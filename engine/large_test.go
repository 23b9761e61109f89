package engine

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
)

// rigOf builds a program of heads in fours to a universe (of 512 slots), four
// slots a head: a dimmer and three colours. In its one song two cues take
// turns each bar with fades of two beats, and every head has an effect, the
// waves in turn, half of them on colour.
func rigOf(t testing.TB, heads, universes int) *Program {
	t.Helper()
	profile, err := fixtures.NewProfile("dimmer-rgb", "", []fixtures.Channel{
		{Param: fixtures.Intensity}, {Param: fixtures.Red}, {Param: fixtures.Green}, {Param: fixtures.Blue},
	})
	require.NoError(t, err)
	p := &Program{Name: "large", WalkIn: None, WalkOut: None, Notes: NewNotes(), ReleaseFade: clock.Second}
	at := make([]fixtures.Placement, heads)
	all := make([]int32, heads)
	for h := range heads {
		name := fmt.Sprint("head ", h+1)
		at[h] = fixtures.Placement{Name: name, Profile: profile, Universe: h % universes, Address: 1 + 4*(h/universes), Head: h}
		p.Heads = append(p.Heads, Head{Name: name, Fixture: int32(h), At: Point{X: float64(h % 64)}})
		all[h] = int32(h)
	}
	p.Patch, err = fixtures.NewPatch(universes, at)
	require.NoError(t, err)
	var effects []int32
	for k := range 2 * NumWaves { // every head is in one of them
		var mine []int32
		for h := int(k); h < heads; h += int(2 * NumWaves) {
			mine = append(mine, int32(h))
		}
		if len(mine) == 0 {
			break
		}
		points := make([]Point, len(mine))
		for i, h := range mine {
			points[i] = p.Heads[h].At
		}
		effects = append(effects, int32(k))
		p.Effects = append(p.Effects, Effect{
			Name: (k % NumWaves).String(), Heads: mine, Offsets: LeftRight.Offsets(points, 1, Even),
			Wave: PlainWave(k % NumWaves), Period: Length{Num: 2, Den: 1}, Pulses: 1, Depth: 0.8, Blend: Blend(k) % NumBlends,
			MovesColour: k%2 == 0, From: Colour{Role: Main}, To: Colour{Role: Second},
		})
	}
	song := Song{
		Name: "all", Tempo: clock.BPM(120), Meter: common, Program: -1,
		Palette: Palette{Main: {1, 0.2, 0}, Second: {0, 0.4, 1}}, Sections: sections(common, "one", 64.0, "two", 64.0),
	}
	for bar := range 128 {
		role := Role(bar % 2)
		c := with(cue(beats(2), level(all, 0.5+0.5*float64(role), role)), effects...)
		song.Cues = append(song.Cues, at4(bar, c))
	}
	p.Songs, p.SetList = []Song{song}, []int32{0}
	return p
}

// at4 puts a cue on a bar of 4/4.
func at4(bar int, c Cue) Cue { return at(beat(bar)*4*quarter, c) }

// Steps 3 to 9 of a frame on a large show: events, commands, light, snapshot.
// Garbage makes late frames. Warm-up is a bar, in which a cue is taken, fades
// and settles.
func TestFramesDoNotTouchTheHeap(t *testing.T) {
	input := make(chan Input, 64)
	journal := NewJournal(1 << 12) // takes all, then is full
	e := New(rigOf(t, 2048, 256))
	l := NewLoop(LoopConfig{Engine: e, Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase(), Input: input, Leads: []clock.Time{60 * clock.Millisecond, 30 * clock.Millisecond}, Journal: journal})
	now := clock.Second
	l.start(now)
	tick := now
	notes := 0
	commands := []Command{
		{Kind: ArmSection, Index: 1},
		{Kind: Disarm},
		{Kind: Hold},
		{Kind: Release},
		{Kind: Blackout},
		{Kind: Restore},
		{Kind: GrandMaster, Level: 0.5, Over: clock.Second},
		{Kind: NextSong},
		{Kind: FireNote, Index: 61},
		{Kind: SelectSong, Index: 0},
		{Kind: FireNote, Index: 99},
		{Kind: ShowLook, Index: 0},
		{Kind: FireSection, Index: 0},
	}
	frame := func() {
		for ; tick <= now; tick += clock.Second / 48 {
			input <- Input{Event: clock.Event{At: tick, Kind: clock.Tick24}}
		}
		input <- Input{Command: commands[notes%len(commands)]}
		notes++
		l.step(now)
		now = l.nextWake()
	}
	input <- Input{Command: Command{Kind: SelectSong}}
	input <- Input{Event: clock.Event{At: now, Kind: clock.Start}}
	for range 88 {
		frame()
	}
	assert.Zero(t, testing.AllocsPerRun(300, frame), "allocations a frame")
	assert.NotEmpty(t, journal.Records(), "the journal is empty")
	assert.NotEqual(t, None, e.Status(l.clock.At(now)).Song, "nothing was playing")
	assert.True(t, l.clock.At(now).Playing, "nothing was playing")
	var snapshot Snapshot
	l.Snapshot(&snapshot)
	assert.Zero(t, testing.AllocsPerRun(100, func() { l.Snapshot(&snapshot) }), "allocations a snapshot")
}
