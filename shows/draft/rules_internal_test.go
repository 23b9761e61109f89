package draft

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
)

// How often a second a head goes through a wave, worked out by hand.
func TestTurns(t *testing.T) {
	four, six := engine.Meter{Upper: 4, Lower: 4}, engine.Meter{Upper: 6, Lower: 8}
	bars := func(n int32) engine.Length { return engine.Length{Num: n, Bars: true} }
	for _, c := range []struct {
		name  string
		e     engine.Effect
		meter engine.Meter
		tempo float64 // quarter notes a minute
		want  float64
	}{
		{"2 bars of 4/4 at 120 are 4 s", engine.Effect{Period: bars(2), Pulses: 1}, four, 120, 0.25},
		{"twice in a period", engine.Effect{Period: bars(2), Pulses: 2}, four, 120, 0.5},
		{"a beat of 6/8 at 60 dotted quarters is 1 s", engine.Effect{Period: engine.Length{Num: 1}, Pulses: 1}, six, 90, 1},
		{"16 cells, a quarter of them lit, in 8 s", engine.Effect{Period: bars(4), Pulses: 1, Wave: engine.Wave{Kind: engine.Noise, Cells: 16, Duty: 0.25}}, four, 120, 0.5},
		{"4 levels in 8 s: up and down twice", engine.Effect{Period: bars(4), Pulses: 1, Wave: engine.Wave{Kind: engine.Steps, Levels: make([]float64, 4)}}, four, 120, 0.25},
	} {
		assert.InDelta(t, c.want, turns(&c.e, c.meter, clock.BPM(c.tempo)), 1e-6, c.name)
	}
}
