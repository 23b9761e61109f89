package waveform_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/showtest"
	"tactus/shows/waveform"
)

// with returns the demo's program with one more effect, and its index.
func with(t testing.TB, e engine.Effect) (*engine.Program, int32) {
	p := *showtest.Demo(t).Program
	p.Effects = append(slices.Clone(p.Effects), e)
	return &p, int32(len(p.Effects) - 1)
}

// plainWave is a wave from 0 to 1.
func plainWave(k engine.WaveKind) engine.Wave {
	return engine.Wave{Kind: k, High: 1, Duty: 0.5, Skew: 0.5, Cells: 1}
}

// washes are the first heads of the demo that mix colours.
func washes(p *engine.Program) (heads []int32) {
	for i := range p.Heads {
		if p.Patch.Placements()[p.Heads[i].Fixture].Profile.Coloured() {
			heads = append(heads, int32(i))
		}
	}
	return heads
}

// The drawn light is the light that a frame has, for every wave, blend, depth and delay.
func TestDrawnLightIsTheFramesLight(t *testing.T) {
	heads := washes(showtest.Demo(t).Program)[:4]
	rapid.Check(t, func(r *rapid.T) {
		share := func(name string) float64 { return rapid.Float64Range(0, 1).Draw(r, name) }
		e := engine.Effect{
			Name: "drawn", Heads: heads, Offsets: []clock.Phase{0, clock.OneTurn.Phase(), clock.PhaseOf(0.25), clock.PhaseOf(0.5)},
			Wave: engine.Wave{
				Kind: rapid.SampledFrom([]engine.WaveKind{engine.Sine, engine.Triangle, engine.Ramp, engine.Fall, engine.Square, engine.HalfSine, engine.Gaussian, engine.Decay, engine.Noise, engine.Steps}).Draw(r, "wave"),
				Low:  share("low"), High: share("high"), Duty: share("duty"), Skew: rapid.Float64Range(0.01, 0.99).Draw(r, "skew"),
				Seed: rapid.Uint64().Draw(r, "seed"), Cells: rapid.Int32Range(1, 40).Draw(r, "cells"),
				Levels: rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 12).Draw(r, "levels"),
			},
			Period: engine.Length{Num: 4, Den: 1}, Pulses: rapid.SampledFrom([]int32{1, 2, 4, 8}).Draw(r, "pulses"),
			Depth: share("depth"), Blend: engine.Blend(rapid.IntRange(0, int(engine.NumBlends)-1).Draw(r, "blend")), Param: fixtures.Intensity,
		}
		p, i := with(t, e)
		period := rapid.Int32Range(0, 5).Draw(r, "period")
		d := waveform.Of(p, i, engine.None, period)
		n := len(d.Light) - 1
		part := engine.Part{Heads: heads, Params: 1 << fixtures.Intensity}
		part.Values[fixtures.Intensity] = d.Over
		alone := engine.New(p.Alone(engine.Cue{Parts: []engine.Part{part}, Effects: []int32{i}}, engine.None))
		for f := range 12 { // far apart, so that nothing flashes
			k := rapid.IntRange(0, n-1).Draw(r, "place")
			beat := clock.Beat(period)*4*clock.Quarter + 4*clock.Quarter*clock.Beat(k)/clock.Beat(n)
			pos := clock.Position{At: clock.Time(f) * 5 * clock.Second, Tempo: clock.BPM(120), Beat: beat, Pulse: beat, Playing: true}
			alone.Frame(pos)
			status := alone.Status(pos)
			require.False(r, status.Limiter.Acting)
			require.InDelta(r, float64(period)*4+4*float64(k)/float64(n), status.Waves.Beats, 1e-9)
			require.InDelta(r, float64(period)+float64(k)/float64(n), status.Waves.Bars, 1e-9)
			for h := range heads {
				from := k - int(d.Heads[h].Delay*float64(n)/float64(e.Pulses))
				if from < 0 && !d.Repeats {
					continue
				}
				require.InDelta(r, d.Light[(from+n)%n], alone.SentLight()[heads[h]][fixtures.Intensity], 1e-9, "head %d at %d of %d", h, k, n)
			}
		}
	})
}

// The edge of the depth lies where the light goes furthest.
func TestEdgeOfTheDepth(t *testing.T) {
	for blend, want := range map[engine.Blend][2]float64{engine.Scale: {1, 0}, engine.Add: {0, 1}, engine.Replace: {0, 1}, engine.Highest: {0, 1}, engine.Swing: {0.5, 1}} {
		for _, depth := range []float64{0, 0.25, 1} {
			p, i := with(t, engine.Effect{Wave: engine.Wave{Kind: engine.Triangle, High: 1, Skew: 0.5}, Period: engine.Length{Num: 1, Bars: true}, Pulses: 1, Depth: depth, Blend: blend})
			d := waveform.Of(p, i, engine.None, 0)
			assert.Equal(t, want, d.Edge, blend)
			furthest := d.Over
			for _, v := range d.Light {
				if math.Abs(v-d.Over) > math.Abs(furthest-d.Over)+1e-12 && (v-d.Over)*(want[1]-d.Over) > 0 {
					furthest = v
				}
			}
			assert.InDelta(t, want[0]+depth*(want[1]-want[0]), furthest, 1e-9, "%s at depth %v", blend, depth)
		}
	}
}

// The wave reaches heads in the order of their places: for the paths that follow one
// direction the places are sorted here once more.
func TestOrderOfHeads(t *testing.T) {
	p := showtest.Demo(t).Program
	heads := washes(p)
	for path, along := range map[engine.Path]func(engine.Point) float64{
		engine.LeftRight: func(at engine.Point) float64 { return at.X }, engine.RightLeft: func(at engine.Point) float64 { return -at.X },
		engine.FrontBack: func(at engine.Point) float64 { return at.Y }, engine.BackFront: func(at engine.Point) float64 { return -at.Y },
	} {
		points := make([]engine.Point, len(heads))
		for i, h := range heads {
			points[i] = p.Heads[h].At
		}
		with, i := with(t, engine.Effect{Heads: heads, Path: path, Spread: engine.Even, Offsets: path.Offsets(points, 0, engine.Even), Wave: plainWave(engine.Sine), Period: engine.Length{Num: 1}, Pulses: 1})
		d := waveform.Of(with, i, engine.None, 0)
		require.Len(t, d.Heads, len(heads))
		for a, x := range d.Heads {
			assert.Equal(t, heads[a], x.Head)
			assert.InDelta(t, float64(x.Step)/float64(d.Steps), x.Delay, 1e-6, path)
			for b, y := range d.Heads {
				if along(points[a]) < along(points[b])-0.02 {
					assert.Less(t, x.Step, y.Step, "%s: heads %d and %d", path, a, b)
				}
			}
		}
	}
	together, i := with(t, engine.Effect{Heads: heads, Offsets: make([]clock.Phase, len(heads)), Wave: plainWave(engine.Sine), Period: engine.Length{Num: 1}, Pulses: 1})
	d := waveform.Of(together, i, engine.None, 0)
	assert.Equal(t, 1, d.Steps)
	for _, h := range d.Heads {
		assert.Zero(t, h.Step)
	}
}

// The colours go from the bottom of the wave to its top, in the song's palette.
func TestColoursOfTheSong(t *testing.T) {
	p := showtest.Demo(t).Program
	i := int32(slices.IndexFunc(p.Effects, func(e engine.Effect) bool { return e.Name == "colour swing" }))
	for song := range p.Songs {
		d := waveform.Of(p, i, int32(song), 0)
		require.NotEmpty(t, d.Colours)
		for c := range 3 {
			assert.InDelta(t, p.Songs[song].Palette[engine.Main][c], d.Colours[0][c], 1e-6)
			assert.InDelta(t, p.Songs[song].Palette[engine.Second][c], d.Colours[len(d.Colours)-1][c], 1e-6)
		}
	}
}

// A square wave flashes once a period (WCAG 2.2, 2.3.1: no more than three flashes within
// any second). The demo's effects do not flash.
func TestFlashes(t *testing.T) {
	demo := showtest.Demo(t).Program
	for i := range demo.Effects {
		f, err := waveform.FlashesOf(t.Context(), demo, int32(i))
		require.NoError(t, err)
		assert.False(t, f.Held, demo.Effects[i].Name)
	}
	heads := washes(demo)
	for _, c := range []struct {
		period engine.Length
		pulses int32
		depth  float64
		held   bool
	}{
		{engine.Length{Num: 1}, 1, 1, false},        // 2 flashes a second
		{engine.Length{Num: 1, Den: 2}, 1, 1, true}, // 4
		{engine.Length{Num: 1}, 2, 1, true},         // likewise
		{engine.Length{Num: 1, Bars: true}, 8, 1, true},
		{engine.Length{Num: 1, Bars: true}, 4, 1, false},
		{engine.Length{Num: 1, Den: 2}, 1, 0.02, false}, // too little to count
	} {
		e := engine.Effect{Name: "flashing", Heads: heads, Offsets: make([]clock.Phase, len(heads)), Wave: plainWave(engine.Square), Period: c.period, Pulses: c.pulses, Depth: c.depth, Param: fixtures.Intensity}
		p, i := with(t, e)
		p.Songs = slices.Clone(p.Songs)
		for s := range p.Songs {
			p.Songs[s].Tempo, p.Songs[s].Tempos, p.Songs[s].Meter = clock.BPM(120), nil, engine.Meter{Upper: 4, Lower: 4}
		}
		f, err := waveform.FlashesOf(t.Context(), p, i)
		require.NoError(t, err)
		assert.Equal(t, c.held, f.Held, "%+v", c)
		if c.held {
			assert.InDelta(t, 4, f.Wanted, 0.51)
			assert.Equal(t, 3, f.Limit)
			assert.NotEmpty(t, f.Area)
		}
		// In 6/8 with as many bars a second it is the same.
		for s := range p.Songs {
			p.Songs[s].Meter, p.Songs[s].Tempo = engine.Meter{Upper: 6, Lower: 8}, clock.BPM(90)
		}
		if c.period.Bars {
			again, err := waveform.FlashesOf(t.Context(), p, i)
			require.NoError(t, err)
			assert.Equal(t, c.held, again.Held, "%+v in 6/8", c)
		}
	}
}

// Who no longer asks is not answered.
func TestFlashesGivenUp(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	end()
	_, err := waveform.FlashesOf(ctx, showtest.Demo(t).Program, 0)
	assert.ErrorIs(t, err, context.Canceled)
}

// The fastest song in which an effect plays counts.
func TestFlashesAtTheFastestTempo(t *testing.T) {
	p := *showtest.Demo(t).Program
	p.Songs = slices.Clone(p.Songs)
	for s := range p.Songs {
		cues := slices.Clone(p.Songs[s].Cues)
		for i := range cues {
			cues[i].Effects = nil
		}
		p.Songs[s].Cues, p.Songs[s].Variants = cues, nil
		p.Songs[s].Tempo, p.Songs[s].Tempos = clock.BPM(100+float64(s)), nil
	}
	f, err := waveform.FlashesOf(t.Context(), &p, 0)
	require.NoError(t, err)
	assert.Equal(t, int32(len(p.Songs)-1), f.Song, "it plays in none")
	p.Songs[0].Cues[0].Effects = []int32{0}
	f, err = waveform.FlashesOf(t.Context(), &p, 0)
	require.NoError(t, err)
	assert.Equal(t, int32(0), f.Song)
	assert.Equal(t, clock.BPM(100), f.Tempo)
}

func BenchmarkFlashes(b *testing.B) {
	p := showtest.Demo(b).Program
	for _, name := range []string{"sway", "round the stage"} {
		i := int32(slices.IndexFunc(p.Effects, func(e engine.Effect) bool { return e.Name == name }))
		b.Run(fmt.Sprint(name), func(b *testing.B) {
			for b.Loop() {
				_, err := waveform.FlashesOf(b.Context(), p, i)
				require.NoError(b, err)
			}
		})
	}
}
