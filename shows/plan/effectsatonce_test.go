package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine"
)

// What goes with the beat, worked out by hand: common practice, no source.
func TestGoesWithBeat(t *testing.T) {
	four, three, six, seven := engine.Meter{Upper: 4, Lower: 4}, engine.Meter{Upper: 3, Lower: 4}, engine.Meter{Upper: 6, Lower: 8}, engine.Meter{Upper: 7, Lower: 8}
	beats := func(num, den int32) engine.Length { return engine.Length{Num: num, Den: den} }
	bars := func(num, den int32) engine.Length { return engine.Length{Num: num, Den: den, Bars: true} }
	for _, c := range []struct {
		name   string
		meter  engine.Meter
		period engine.Length
		pulses int32
		steps  int
		want   bool
	}{
		{"a bar", four, bars(1, 1), 1, 0, true},
		{"five bars", four, bars(5, 1), 1, 0, true},
		{"a beat", four, beats(1, 1), 1, 0, true},
		{"half a bar of four", four, bars(1, 2), 1, 0, true},
		{"two beats in three", three, beats(2, 1), 1, 0, false},
		{"half a bar of three", three, bars(1, 2), 1, 0, false},
		{"three beats in three", three, beats(3, 1), 1, 0, true},
		{"three beats in four", four, beats(3, 1), 1, 0, false},
		{"six beats in four", four, beats(6, 1), 1, 0, false},
		{"eight beats in four", four, beats(8, 1), 1, 0, true},
		{"a bar and a half", four, bars(3, 2), 1, 0, false},
		{"eighths", four, beats(1, 2), 1, 0, true},
		{"triplets of a beat", four, beats(1, 3), 1, 0, true},
		{"three over two beats", four, beats(2, 3), 1, 0, false},
		{"a dotted beat", four, beats(3, 2), 1, 0, false},
		{"a dotted quarter in 6/8", six, beats(1, 1), 1, 0, true},
		{"an eighth in 6/8", six, beats(1, 3), 1, 0, true},
		{"a quarter in 6/8", six, beats(2, 3), 1, 0, false},
		{"a bar of seven", seven, bars(1, 1), 1, 0, true},
		{"half a bar of seven", seven, bars(1, 2), 1, 0, false},
		{"four pulses in a bar", four, bars(1, 1), 4, 0, true},
		{"three pulses in a bar of four", four, bars(1, 1), 3, 0, false},
		{"four steps in a bar", four, bars(1, 1), 1, 4, true},
		{"three steps in a bar of four", four, bars(1, 1), 1, 3, false},
		{"three steps in a beat", four, beats(1, 1), 1, 3, true},
	} {
		e := engine.Effect{Period: c.period, Pulses: c.pulses}
		if c.steps > 0 {
			e.Wave = engine.Wave{Kind: engine.Steps, Levels: make([]float64, c.steps)}
		}
		assert.Equal(t, c.want, goesWithBeat(&e, c.meter), c.name)
	}
	noise := engine.Effect{Period: beats(7, 5), Wave: engine.Wave{Kind: engine.Noise}}
	assert.True(t, goesWithBeat(&noise, four), "noise has no cycle")
}

// Whatever the meter: what goes with the beat comes round with every bar, or takes a
// whole number of bars.
func TestWhatGoesWithTheBeatComesRoundWithBars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := engine.Meter{Upper: rapid.Uint8Range(1, 16).Draw(t, "upper"), Lower: rapid.SampledFrom([]uint8{2, 4, 8, 16}).Draw(t, "lower")}
		e := engine.Effect{Pulses: rapid.Int32Range(1, 8).Draw(t, "pulses"), Period: engine.Length{
			Num: rapid.Int32Range(1, 32).Draw(t, "num"), Den: rapid.Int32Range(1, 8).Draw(t, "den"), Bars: rapid.Bool().Draw(t, "bars"),
		}}
		unit := m.Beat()
		if e.Period.Bars {
			unit = m.Bar()
		}
		period, bar := int64(unit)*int64(e.Period.Num), int64(m.Bar())*int64(e.Period.Den)*int64(e.Pulses)
		if goesWithBeat(&e, m) {
			require.True(t, period%bar == 0 || bar%period == 0, "%+v in %v", e.Period, m)
		}
	})
}
