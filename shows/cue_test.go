package shows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

// hall is the demo's program, and a part that sets some of its heads to a level.
func hall(t *testing.T) (*engine.Program, func(level float64, heads ...int32) engine.Part) {
	t.Helper()
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.Empty(t, problems)
	return show.Program, func(level float64, heads ...int32) engine.Part {
		p := engine.Part{Heads: heads, Params: 1 << fixtures.Intensity}
		p.Values[fixtures.Intensity] = level
		return p
	}
}

// What songs light is neither front light, which is kept, nor house lights, nor haze.
func TestStageHeads(t *testing.T) {
	p, _ := hall(t)
	var names []string
	for _, h := range shows.StageHeads(p) {
		names = append(names, p.Heads[h].Name)
	}
	assert.Equal(t, []string{
		"wash 1", "wash 2", "wash 3", "wash 4", "wash 5", "wash 6", "wash 7", "wash 8", "warmer 1", "warmer 2", "warmer 3", "warmer 4",
	}, names)
}

// Dark is up to 5 % on every head, whatever front light does and effects scale.
func TestIsDark(t *testing.T) {
	p, at := hall(t)
	stage := shows.StageHeads(p)
	var kept []int32
	for h := range p.Heads {
		if p.Heads[h].Keep {
			kept = append(kept, int32(h))
		}
	}
	effect := func(blend engine.Blend, depth float64) []int32 {
		p.Effects = append(p.Effects, engine.Effect{Heads: stage[:1], Param: fixtures.Intensity, Blend: blend, Depth: depth})
		return []int32{int32(len(p.Effects) - 1)}
	}
	for name, c := range map[string]struct {
		cue  engine.Cue
		dark bool
	}{
		"nothing":            {engine.Cue{}, true},
		"5 % on all":         {engine.Cue{Parts: []engine.Part{at(0.05, stage...)}}, true},
		"6 % on one":         {engine.Cue{Parts: []engine.Part{at(0.06, stage[3])}}, false},
		"the last part wins": {engine.Cue{Parts: []engine.Part{at(1, stage...), at(0, stage...)}}, true},
		"front light":        {engine.Cue{Parts: []engine.Part{at(1, kept...)}}, true},
		"only sends":         {engine.Cue{SendsOnly: true}, false},
		"scaled":             {engine.Cue{Parts: []engine.Part{at(0.05, stage...)}, Effects: effect(engine.Scale, 1)}, true},
		"added":              {engine.Cue{Parts: []engine.Part{at(0.05, stage...)}, Effects: effect(engine.Add, 0.01)}, false},
		"highest":            {engine.Cue{Effects: effect(engine.Highest, 0.06)}, false},
		"swing":              {engine.Cue{Effects: effect(engine.Swing, 0.08)}, true}, // half of it upwards
		"replaced":           {engine.Cue{Effects: effect(engine.Replace, 0.06)}, false},
	} {
		assert.Equal(t, c.dark, shows.IsDark(p, &c.cue), name)
	}
}

// Two sections of two bars of 4/4 at 120: a bar takes 2 s.
func TestLongFade(t *testing.T) {
	bar := 4 * clock.Quarter
	s := &engine.Song{Meter: engine.Meter{Upper: 4, Lower: 4}, Tempo: clock.BPM(120), Sections: []engine.Section{{Length: 2 * bar}, {Start: 2 * bar, Length: 2 * bar}}}
	bars := func(n int32) engine.Span { return engine.Span{Length: engine.Length{Num: n, Den: 1, Bars: true}} }
	seconds := func(n float64) engine.Span { return engine.Span{Time: clock.Time(n * float64(clock.Second))} }
	for name, c := range map[string]struct {
		cue  engine.Cue
		end  clock.Beat
		long bool
	}{
		"as long as the section": {engine.Cue{Fade: bars(2)}, 2 * bar, false},
		"longer":                 {engine.Cue{Fade: bars(3)}, 2 * bar, true},
		"from its second bar":    {engine.Cue{At: bar, Fade: bars(2)}, 2 * bar, true},
		"in seconds":             {engine.Cue{Fade: seconds(4)}, 2 * bar, false},
		"under a frame longer":   {engine.Cue{Fade: seconds(4.02)}, 2 * bar, false},
		"a frame longer":         {engine.Cue{Fade: seconds(4.03)}, 2 * bar, true},
		"a pickup":               {engine.Cue{At: bar, Fade: bars(3), Pickup: 2}, 4 * bar, false},
		"a pickup, too long":     {engine.Cue{At: bar, Fade: bars(4), Pickup: 2}, 4 * bar, true},
		"only sends":             {engine.Cue{Fade: bars(3), SendsOnly: true}, 0, false},
		"after the end":          {engine.Cue{At: 4 * bar, Fade: bars(3)}, 0, false},
		"before the song":        {engine.Cue{At: -bar, Fade: bars(8)}, 0, false},
	} {
		end, long := shows.LongFade(s, &c.cue)
		assert.Equal(t, c.long, long, name)
		assert.Equal(t, c.end, end, name)
	}
	late := engine.Cue{At: bar, Fade: seconds(1)}
	assert.Equal(t, clock.Second, shows.FadeTime(s, &late))
	assert.Equal(t, bar+bar/2, shows.FadeEnd(s, &late))
	late.Fade = bars(2)
	assert.Equal(t, 4*clock.Second, shows.FadeTime(s, &late))
	assert.Equal(t, 3*bar, shows.FadeEnd(s, &late))
}
