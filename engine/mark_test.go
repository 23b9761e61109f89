package engine

import (
	"math/rand/v2"
	"sync/atomic"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// change is a moment when slot 1 changed.
type change struct {
	pos   clock.Position
	level byte
}

// changes is an output that notes where in the music slot 1 changed.
type changes struct {
	loop atomic.Pointer[Loop] // set once the loop runs
	list []change
	last byte
}

func (c *changes) Send(now clock.Time, u []dmx.Universe, _ []bool) error {
	l := c.loop.Load()
	if level := u[0].Slots[0]; l != nil && level != c.last {
		c.last = level
		c.list = append(c.list, change{l.clock.At(now + l.lead), level})
	}
	return nil
}

func (c *changes) Close() error { return nil }

// part returns n/d quarters.
func part(n, d clock.Beat) clock.Beat { return n * quarter / d }

// lit is a cue that sets the first head to a level of its own.
func lit(at clock.Beat, level byte) Cue {
	return Cue{At: at, Parts: []Part{{
		Heads: []int32{0}, Params: 1 << fixtures.Intensity,
		Values: fixtures.State{fixtures.Intensity: float64(level) / 255},
	}}}
}

// markedProgram has nearly all of its boundaries between beats.
func markedProgram(t testing.TB) *Program {
	p := rigOf(t, 4, 1)
	p.Window = 120 * clock.Millisecond
	p.Looks = []Cue{lit(0, 70)}
	pickup := lit(part(29, 4), 12)
	pickup.Pickup = 2
	first := Song{
		Name: "first", Tempo: clock.BPM(100), Meter: Meter{4, 4}, Program: -1,
		Sections: []Section{
			{Name: "verse", Length: 8 * quarter, Note: 60, Loop: true},
			{Name: "chorus", Start: 8 * quarter, Length: part(20, 3), Note: 61},
			{Name: "bridge", Start: part(44, 3), Length: 8 * quarter, Note: 62},
		},
		Cues: []Cue{
			lit(0, 10), lit(part(7, 3), 11), pickup, lit(8*quarter, 13), lit(part(66, 5), 14),
			lit(part(44, 3), 15), lit(part(113, 7), 16),
		},
		Variants: []Variant{
			{Section: 0, Pass: 2, Cues: []Cue{lit(0, 20), lit(part(11, 3), 21)}},
			{Section: 0, Pass: AgainPass, Cues: []Cue{lit(0, 30), lit(part(8, 7), 31)}},
			{Section: 0, Pass: LastPass, Cues: []Cue{lit(0, 31), lit(part(27, 5), 41)}},
		},
	}
	second := Song{
		Name: "second", Tempo: clock.BPM(100), Meter: Meter{4, 4}, Program: -1,
		Sections: []Section{
			{Name: "one", Length: 8 * quarter, Note: 60},
			{Name: "two", Start: 8 * quarter, Length: 8 * quarter, Note: 61},
			{Name: "three", Start: 16 * quarter, Length: 8 * quarter, Note: 62}, // goes on with a cue of two
		},
		Cues: []Cue{lit(0, 50), lit(part(4, 3), 51), lit(8*quarter, 60), lit(part(49, 3), 61)},
	}
	p.Songs, p.SetList = []Song{first, second}, []int32{0, 1}
	return p
}

// What is played on markedProgram by tick, and what it has to show where, in
// beats of the transport.
var (
	markedScript = map[int]Command{
		53 * 12:     {Kind: ArmSection, Index: 1, When: SectionEnd}, // at 26½, from pass 4 of the verse
		41 * 24:     {Kind: ArmSection, Index: 1, When: NextBar},    // from the bridge
		52 * 24:     {Kind: ArmNote, Index: 60, When: NextBeat},     // from the bridge
		109*12 - 3:  {Kind: SelectSong, Index: 1},                   // a little before 54½
		57*24 - 3:   {Kind: FireNote, Index: 62},                    // a little before 57
		59 * 24:     {Kind: ShowLook, Index: 0},                     // at once
		121*12 - 3:  {Kind: SelectSong, Index: 0},                   // a little before 60½
		66*24 + 1:   {Kind: ArmSection, Index: 2, When: NextBeat},   // from the verse, at 66½
		70 * 24:     {Kind: ArmSection, Index: 0, When: SectionEnd}, // the bridge's end, 74½
		124*12 + 13: {Kind: FireNote, Index: 99},                    // names nothing
	}
	markedPlaces = []struct {
		what  string
		at    clock.Beat // notKnown: whenever the command came
		level byte
	}{
		{"the start", notKnown, 10},
		{"a cue", part(7, 3), 11},
		{"pass 2", 8 * quarter, 20},
		{"a cue of pass 2", part(35, 3), 21},
		{"pass 3", 16 * quarter, 30},
		{"a cue of pass 3", part(120, 7), 31},
		{"pass 4", 24 * quarter, 30},
		{"a cue of pass 4", part(176, 7), 31},
		{"a cue of the last pass", part(147, 5), 41},
		{"a pickup into the section that is armed", part(125, 4), 12},
		{"the section that was armed", 32 * quarter, 13},
		{"a cue of it", part(186, 5), 14},
		{"the end of a section cut short", part(116, 3), 15},
		{"a cue after it", part(281, 7), 16},
		{"a pickup out of its place", part(503, 12), 12},
		{"the section that was armed for a bar", part(128, 3), 13},
		{"a cue of it", part(718, 15), 14},
		{"the end of the section", part(148, 3), 15},
		{"a cue after it", part(1067, 21), 16},
		{"the section that was armed for a beat", part(157, 3), 30},
		{"a cue of its pass", part(1123, 21), 31},
		{"the song that was armed", part(109, 2), 50},
		{"a cue of it", part(335, 6), 51},
		{"the section of a note a little early", 57 * quarter, 60},
		{"a cue of it", part(172, 3), 61},
		{"a look", notKnown, 70},
		{"the song that was armed from a look", part(121, 2), 10},
		{"a cue of it", part(377, 6), 11},
		{"the section that was armed out of a loop", part(133, 2), 15},
		{"a cue of it", part(2855, 42), 16},
		{"the section that was armed for the end", part(149, 2), 20},
		{"a cue of its pass", part(469, 6), 21},
	}
)

// Every boundary that is known ahead is a frame: the first light of an armed
// section or song, of a pickup, of a cue of some pass leaves with it, or within
// a millisecond after, however late the ticks are (the 5 ms model).
func TestEveryBoundaryIsAFrame(t *testing.T) {
	seeds := uint64(12)
	if raceDetector {
		seeds = 3
	}
	for seed := range seeds {
		synctest.Test(t, func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 17))
			bpm := 84 + 30*r.Float64()
			c := &changes{}
			g := play(t, func(l *LoopConfig) {
				l.Engine, l.Outputs = New(markedProgram(t)), []Output{c}
				l.Lead = []clock.Time{0, 15}[seed%2] * clock.Millisecond
			})
			c.loop.Store(g.loop)
			g.command(Command{Kind: SelectSong, Index: 0})
			g.wander(r, clock.Second, clock.Second+clock.Time(80*60e9/bpm), bpm, bpm, func(n int) {
				if n == 0 {
					g.event(clock.Start)
				}
				if what, ok := markedScript[n]; ok {
					g.command(what)
				}
			})
			g.end()
			c.check(t)
		})
	}
}

// check holds the changes to the places.
func (c *changes) check(t *testing.T) {
	t.Helper()
	for i, want := range markedPlaces {
		require.Less(t, i, len(c.list), "%s, %d: never shown", want.what, want.level)
		got := &c.list[i]
		require.Equal(t, want.level, got.level, "%s: shown at beat %.4f, want %d at %.4f", want.what, got.pos.Beat.Quarters(), want.level, want.at.Quarters())
		past := got.pos.Tempo.Span(got.pos.Beat - want.at)
		if want.at != notKnown {
			assert.GreaterOrEqual(t, past, clock.Time(0), "%s at beat %.4f", want.what, want.at.Quarters())
			assert.Less(t, past, clock.Millisecond, "%s at beat %.4f", want.what, want.at.Quarters())
		}
	}
	assert.LessOrEqual(t, len(c.list), len(markedPlaces))
}
