package draw

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

func TestTitle(t *testing.T) {
	p := harbour(t)
	for _, c := range []struct {
		s    *engine.Snapshot
		room int
		want string
	}{
		{playing(p, 0, 4, 8*quarter), 100, "Lanterns on the Pier · chorus 2, bar 3 beat 1 · 96.0 BPM · midi locked"},
		{playing(p, 0, 4, 8*quarter-1), 100, "Lanterns on the Pier · chorus 2, bar 2 beat 4 · 96.0 BPM · midi locked"},
		{playing(p, 0, 4, 8*quarter), 58, "Lantern… · chorus 2, bar 3 beat 1 · 96.0 BPM · midi locked"},
		{playing(p, 0, 4, 8*quarter), 20, "Lantern… · chorus 2, bar 3 beat 1 · 96.0 BPM · midi locked"},
		// 6/8 at 90 quarters: two dotted quarters a bar, 60 a minute.
		{playing(p, 1, 1, 3*quarter+3*quarter/2), 100, "Tide Table Waltz · verse 1, bar 2 beat 2 · 60.0 BPM · midi locked"},
		{playing(p, 1, 7, 4*3*quarter), 100, "Tide Table Waltz · outro end · 60.0 BPM · midi locked"},
		{playing(p, 0, 0, -quarter), 100, "Lanterns on the Pier · intro - 1 beat · 96.0 BPM · midi locked"},
	} {
		assert.Equal(t, c.want, string(appendTitle(nil, p, c.s, c.room)))
	}
	s := playing(p, 0, 0, 0)
	s.Status.Section, s.Pos.Playing, s.Pos.Source, s.Pos.Sync = engine.None, false, clock.Internal, clock.Free
	assert.Equal(t, "Lanterns on the Pier · waits for play · 96.0 BPM · internal free", string(appendTitle(nil, p, s, 100)))
}

func TestState(t *testing.T) {
	p := harbour(t)
	armed := playing(p, 0, 4, quarter)
	armed.Status.Armed, armed.Status.ArmedAt = 5, armed.Status.Beat+3*quarter
	for _, c := range []struct {
		s    *engine.Snapshot
		want string
	}{
		{playing(p, 0, 4, 0), "playing · energy 8 · then bridge in 8 bars"},
		{playing(p, 0, 4, 1), "playing · energy 8 · then bridge in 8 bars"},
		{playing(p, 0, 4, 28*quarter), "playing · energy 8 · then bridge in 4 beats"},
		{playing(p, 0, 4, 32*quarter-1), "playing · energy 8 · then bridge in 1 beat"},
		{playing(p, 0, 7, 0), "playing · energy 3 · then the end in 4 bars"},
		{armed, "playing · energy 8 · armed bridge at chorus 2, bar 2 beat 1, in 3 beats"},
	} {
		assert.Equal(t, c.want, string(appendState(nil, p, c.s)))
	}
	armed.Status.Held, armed.Status.Blackout, armed.Pos.Sync = true, true, clock.Holdover
	armed.Health.LastErr = errors.New("no route")
	assert.Equal(t, "BLACKOUT · HOLD · CLOCK LOST, carrying on · OUTPUT FAILING", string(appendAlarm(nil, armed)))
}

func TestHealth(t *testing.T) {
	s := &engine.Snapshot{Health: engine.Health{Frames: 1, WorstAt: 1_260_000}}
	for _, c := range []struct {
		change func()
		want   string
	}{
		{func() {}, "output well · 1 frame, none missed · worst wake 1.3 ms late"},
		{func() { s.Health.Missed, s.Health.Errors = 2, 3 }, "output well again after 3 errors · 1 frame, 2 MISSED · worst wake 1.3 ms late"},
		{
			func() { s.Health.LastErr = errors.New("no route"); s.Status.Unknown = 1 },
			"output fails: no route · 1 frame, 2 MISSED · worst wake 1.3 ms late · 1 command not understood",
		},
	} {
		c.change()
		assert.Equal(t, c.want, string(appendHealth(nil, s, false)))
	}
}

// The clock has a row of its own, or the second place; what the DAW's notes have
// shown comes first, and all of it before a row of 80 ends.
func TestClockWords(t *testing.T) {
	s := playing(harbour(t), 0, 4, 0)
	assert.Equal(t, "clock: even, beat within 0.4 ms", string(appendClock(nil, s)))
	assert.Equal(t, "output well · 8228 frames, none missed · worst wake 0.3 ms late · clock: even, beat within 0.4 ms", string(appendHealth(nil, s, true)))
	s.Pos.Err = 8 * clock.Millisecond
	assert.Equal(t, "output well · clock: even, beat within 8 ms · 8228 frames, none missed · worst wake 0.3 ms late", string(appendHealth(nil, s, true)))
	s.Pos.Err = 400 * clock.Microsecond
	s.Health.BarOffset = engine.BarOffset{Ticks: 2, Notes: 3, By: 42 * clock.Millisecond}
	got := string(appendClock(nil, s))
	assert.Equal(t, "the DAW's bars are 42 ms later than counted (3 notes agree): press Align bars to follow them · clock: even, beat within 0.4 ms", got)
	assert.Contains(t, got[:78], "press Align bars")
}

func TestVoices(t *testing.T) {
	p := harbour(t)
	s := playing(p, 0, 4, 0)
	want := []string{"wash 25-95 % blue+violet", "warmer 40 % warm white", "front 62 %", "house 5 %", "haze 35 % fan 50 %"}
	got := headGroups(p)
	require.Len(t, got, len(want))
	for i := range got {
		assert.Equal(t, want[i], string(got[i].appendTo(nil, s.Heads)))
	}
	for h := range s.Heads {
		s.Heads[h][fixtures.Intensity] = 0
	}
	assert.Equal(t, "wash dark", string(got[0].appendTo(nil, s.Heads)))
	s.Heads[3][fixtures.Intensity] = 0.002
	assert.Equal(t, "wash 1 % violet", string(got[0].appendTo(nil, s.Heads)), "a glimmer is not dark")
}

func TestVoiceNames(t *testing.T) {
	for name, want := range map[string][2]string{
		"wash 3": {"wash", "3"}, "bar 1 head 2": {"bar", "1.2"}, "bar 12 head 10": {"bar", "12.10"}, "moving head 2": {"moving head", "2"}, "house": {"house", ""}, "7": {"7", ""}, "truss-4": {"truss", "4"},
	} {
		assert.Equal(t, want, [2]string{baseName(name), headNumber(name)}, "%q", name)
	}
}

// The borders of the words are ours; that these words fit these colours is what
// people would say.
func TestColourWords(t *testing.T) {
	for want, c := range map[string]fixtures.RGB{
		"":           {0, 0, 0},
		"white":      {0.5, 0.5, 0.5},
		"red":        {1, 0, 0},
		"green":      {0, 1, 0},
		"blue":       {0, 0, 1},
		"yellow":     {1, 1, 0},
		"cyan":       {0, 1, 1},
		"magenta":    {1, 0, 1},
		"amber":      {1, 0.4, 0},
		"orange":     {1, 0.15, 0},
		"violet":     {0.25, 0, 1},
		"warm white": {1, 0.7, 0.4},
		"cool white": {0.5, 0.7, 1},
		"pink":       {1, 0.3, 0.5},
	} {
		assert.Equal(t, want, colourWord(c), c)
	}
}
