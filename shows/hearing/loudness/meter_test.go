package loudness

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// tone is a sine of 1 kHz at a peak level, for a time.
type tone struct{ dBFS, seconds float64 }

// measured plays tones one after another through a meter at a rate, on some channels.
func measured(rate, channels int, tones ...tone) *Meter {
	m := NewMeter(rate, channels)
	block, n := make([][]float32, channels), 0
	for i := range block {
		block[i] = make([]float32, 1)
	}
	for _, x := range tones {
		peak := math.Pow(10, x.dBFS/20)
		for range int(math.Round(x.seconds * float64(rate))) {
			v := float32(peak * math.Sin(2*math.Pi*1000*float64(n)/float64(rate)))
			for c := range block {
				block[c][0] = v
			}
			m.Write(block)
			n++
		}
	}
	return m
}

func repeated(n int, tones ...tone) (list []tone) {
	for range n {
		list = append(list, tones...)
	}
	return list
}

func highest(list []float64) float64 {
	most := math.Inf(-1)
	for _, v := range list {
		most = max(most, v)
	}
	return most
}

// The signals and tolerances of EBU Tech 3341, table 1, cases 1 to 5, 9, 10, 12 and 13.
func TestTech3341(t *testing.T) {
	const within = 0.1
	for _, rate := range []int{44100, 48000} {
		for _, level := range []float64{-23, -33} { // cases 1 and 2
			m := measured(rate, 2, tone{level, 20})
			assert.InDelta(t, level, m.Integrated(), within)
			assert.InDelta(t, level, highest(m.Momentary()), within)
			assert.InDelta(t, level, highest(m.ShortTerm()), within)
		}
		assert.InDelta(t, -23, measured(rate, 2, tone{-36, 10}, tone{-23, 60}, tone{-36, 10}).Integrated(), within, "case 3")
		assert.InDelta(t, -23, measured(rate, 2, tone{-72, 10}, tone{-36, 10}, tone{-23, 60}, tone{-36, 10}, tone{-72, 10}).Integrated(), within, "case 4")
		assert.InDelta(t, -23, measured(rate, 2, tone{-26, 20}, tone{-20, 20.1}, tone{-26, 20}).Integrated(), within, "case 5")
		for i, v := range measured(rate, 2, repeated(5, tone{-20, 1.34}, tone{-30, 1.66})...).ShortTerm() {
			assert.InDelta(t, -23, v, within, "case 9, value %d", i)
		}
		for i, v := range measured(rate, 2, repeated(25, tone{-20, 0.18}, tone{-30, 0.22})...).Momentary() {
			if i > 6 { // constant after 1 s
				assert.InDelta(t, -23, v, within, "case 12, value %d", i)
			}
		}
	}
	for i := range 20 {
		m := measured(48000, 2, tone{-200, 0.15 * float64(i)}, tone{-23, 3}, tone{-200, 1})
		assert.InDelta(t, -23, highest(m.ShortTerm()), within, "case 10, file %d", i+1)
		m = measured(48000, 2, tone{-200, 0.02 * float64(i)}, tone{-23, 0.4}, tone{-200, 1})
		if i%5 == 0 { // a meter of 100 ms steps sees all of a tone of 400 ms when it begins on one
			assert.InDelta(t, -23, highest(m.Momentary()), within, "case 13, file %d", i+1)
		}
	}
}

// One channel is one channel: 3 LU less than the same on two (BS.1770-4, annex 1).
func TestOneChannel(t *testing.T) {
	assert.InDelta(t, -26.0, measured(48000, 1, tone{-23, 5}).Integrated(), 0.1)
}

// The coefficients that BS.1770-4 prints for 48 kHz, annex 1, tables 1 and 2.
func TestCoefficients(t *testing.T) {
	s, h := shelf(48000), highPass(48000)
	for want, got := range map[float64]float64{
		1.53512485958697: s.b0, -2.69169618940638: s.b1, 1.19839281085285: s.b2, -1.69065929318241: s.a1, 0.73248077421585: s.a2,
		-1.99004745483398: h.a1, 0.99007225036621: h.a2,
	} {
		assert.InDelta(t, want, got, 1e-9)
	}
}

func TestSilence(t *testing.T) {
	m := measured(48000, 2, tone{-300, 3})
	assert.Equal(t, Silence, m.Integrated())
	assert.Equal(t, Silence, m.Between(1, 2))
	assert.Equal(t, Silence, NewMeter(48000, 2).Integrated())
	assert.Equal(t, Silence, m.Between(50, 60))
}
