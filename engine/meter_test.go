package engine_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
)

func TestMeter(t *testing.T) {
	const q = clock.Quarter
	cases := []struct {
		upper, lower int
		bar, beat    clock.Beat
		beats        int
	}{
		{4, 4, 4 * q, q, 4},
		{3, 4, 3 * q, q, 3},
		{2, 2, 4 * q, 2 * q, 2},
		{6, 8, 3 * q, q + q/2, 2}, // dotted quarters
		{12, 8, 6 * q, q + q/2, 4},
		{3, 8, q + q/2, q / 2, 3},
		{5, 4, 5 * q, q, 5},
		{7, 8, 7 * q / 2, q / 2, 7},
	}
	for _, c := range cases {
		m, err := engine.NewMeter(c.upper, c.lower)
		require.NoError(t, err)
		assert.Equal(t, c.bar, m.Bar())
		assert.Equal(t, c.beat, m.Beat())
		assert.Equal(t, c.beats, m.Beats())
	}
	for _, bad := range [][2]int{{4, 3}, {0, 4}, {33, 4}, {4, 0}, {-1, 8}} {
		_, err := engine.NewMeter(bad[0], bad[1])
		assert.ErrorIs(t, err, engine.ErrMeter, bad)
	}
}

func TestTempoOfTheBeat(t *testing.T) {
	six, _ := engine.NewMeter(6, 8)
	assert.Equal(t, clock.BPM(90), six.Quarters(clock.BPM(60)), "60 dotted quarters a minute")
	assert.Equal(t, clock.BPM(60), six.PerBeat(clock.BPM(90)), "90 quarters a minute")
}

func TestLengthIn(t *testing.T) {
	six, four := engine.Meter{6, 8}, engine.Meter{4, 4}
	half := engine.Length{Num: 1, Den: 2}
	assert.Equal(t, clock.Quarter/2, half.In(four), "half a beat of 4/4")
	assert.Equal(t, 3*clock.Quarter/4, half.In(six), "half a beat of 6/8")
	assert.Equal(t, 6*clock.Quarter, (engine.Length{Num: 2, Den: 1, Bars: true}).In(six), "two bars of 6/8")
}
