package hearing

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/hearing/sound"
)

// Kinds of sound that are no song, or hardly one.
const (
	oddSilence = iota
	oddConstant
	oddTone
	oddNoise
	oddClicks
	oddOneClick
	oddNumbers // any bits at all: no numbers, infinities, the largest
	oddKinds
)

// odd is a recording that nobody made for music: a kind, its rate, channels and length, a period
// in seconds, and how loud it is.
type odd struct {
	kind, rate, channels  int
	seconds, period, gain float64
	cut                   bool // the file ends in the middle of a sample
}

// file writes it as a WAV file of floats.
func (o odd) file() []byte {
	random := rand.New(rand.NewPCG(uint64(o.kind), uint64(o.rate)))
	n := int(math.Round(o.seconds * float64(o.rate)))
	b := []byte("RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00\x03\x00")
	b = binary.LittleEndian.AppendUint16(b, uint16(o.channels))
	b = binary.LittleEndian.AppendUint32(b, uint32(o.rate))
	b = binary.LittleEndian.AppendUint32(b, uint32(4*o.rate*o.channels))
	b = binary.LittleEndian.AppendUint16(b, uint16(4*o.channels))
	b = append(b, "\x20\x00data"...)
	b = binary.LittleEndian.AppendUint32(b, uint32(4*n*o.channels))
	every := max(1, int(o.period*float64(o.rate)))
	for i := range n {
		v := 0.0
		switch o.kind {
		case oddConstant:
			v = 1
		case oddTone:
			v = math.Sin(2 * math.Pi * float64(i) / float64(o.rate) / o.period * 100)
		case oddNoise:
			v = random.NormFloat64()
		case oddClicks:
			if i%every < 20 {
				v = random.NormFloat64()
			}
		case oddOneClick:
			if i == every {
				v = 1
			}
		}
		for range o.channels {
			bits := math.Float32bits(float32(o.gain * v))
			if o.kind == oddNumbers {
				bits = random.Uint32()
			}
			b = binary.LittleEndian.AppendUint32(b, bits)
		}
	}
	if o.cut {
		b = b[:len(b)-3]
	}
	return b
}

// listened hears it out, and reports whether there was a song.
func (o odd) listened(t require.TestingT) bool {
	take, err := Open(bytes.NewReader(o.file()), nil)
	if err != nil {
		require.True(t, errors.Is(err, ErrNoSong) || errors.Is(err, sound.ErrEmpty), "%v", err)
		return false
	}
	require.Equal(t, o.cut, take.Cut)
	require.False(t, math.IsNaN(take.Loudness()))
	h, err := take.Song(Asked{})
	if err != nil {
		require.ErrorIs(t, err, ErrNoSong)
		return false
	}
	requireWhole(t, take, h)
	return true
}

// requireWhole says that a song is one: bars in their order, each in one section, all numbers in
// the ranges that the fields' comments give.
func requireWhole(t require.TestingT, take *Take, h *Heard) {
	require.Len(t, h.Places, len(h.Beats))
	require.Len(t, h.BarBeats, len(h.Lines)-1)
	for i := range h.Beats[1:] {
		require.Less(t, h.Beats[i], h.Beats[i+1])
	}
	for i, n := range h.BarBeats {
		require.Less(t, h.Lines[i], h.Lines[i+1])
		require.True(t, n >= 1 && n <= h.Readings[0].beats(), "%d beats", n)
	}
	require.LessOrEqual(t, h.Lines[len(h.Lines)-1], take.Seconds)
	likely := 0.0
	for _, r := range h.Readings {
		require.NoError(t, CheckMeter(r.Upper, r.Lower))
		require.True(t, r.BPM >= Slowest-1e-9 && r.BPM <= Fastest+1e-9, "%g BPM", r.BPM)
		likely += r.Likely
	}
	require.InDelta(t, 1, likely, 1e-9)
	bar := 0
	for i := range h.Sections {
		s := &h.Sections[i]
		require.Equal(t, bar, s.First)
		require.Positive(t, s.Bars)
		bar += s.Bars
		require.True(t, s.Energy >= 1 && s.Energy <= 9 && s.Energy == math.Round(s.Energy), "energy %g", s.Energy)
		require.False(t, math.IsNaN(s.Edge))
		require.GreaterOrEqual(t, s.Group, 0)
	}
	require.Equal(t, len(h.BarBeats), bar)
	for i := range h.Pieces {
		bpm := h.Pieces[i].BPM()
		require.True(t, bpm > 10 && bpm < 500, "%g BPM", bpm) // what a song's file can say
	}
	require.NotEmpty(t, h.Import("Odd").AppendTo(nil))
	require.NotEmpty(t, take.Picture(h, "Odd").SVG())
}

// Whatever sounds, there is either a whole song or the error that says there is none.
func TestOddRecordings(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 2))
	rates, channels, gains := []int{sound.MinRate, 8000, 11025, 22050}, []int{1, 2, 6, 8}, []float64{1e-30, 1e-4, 0.3, 1, 1e30}
	songs := 0
	for i := range 5 * oddKinds {
		o := odd{
			kind: i % oddKinds, rate: rates[random.IntN(len(rates))], channels: channels[random.IntN(len(channels))],
			seconds: 6 + 8*random.Float64(), period: 0.1 + 2*random.Float64(),
			gain: gains[random.IntN(len(gains))], cut: random.IntN(2) == 0,
		}
		t.Logf("%+v", o) // printed where the test fails
		if o.listened(t) {
			songs++
		}
	}
	assert.NotZero(t, songs, "recordings that were heard to their end")
}

// Those at the edges: a sample alone, just long enough, just too short, clicks alone.
func TestOddEdges(t *testing.T) {
	for name, c := range map[string]struct {
		odd  odd
		song bool
	}{
		"one sample":         {odd{oddNoise, 44100, 1, 1.0 / 44100, 1, 1, false}, false},
		"a sample cut":       {odd{oddNoise, 44100, 1, 3.0 / 44100, 1, 1, true}, false},
		"8 s of clicks":      {odd{oddClicks, 22050, 1, 8, 0.5, 0.5, false}, false},
		"12 s of clicks":     {odd{oddClicks, 22050, 1, 12, 0.5, 0.5, false}, true},
		"the slowest rate":   {odd{oddClicks, sound.MinRate, 1, 12, 0.5, 0.5, false}, true},
		"numbers of no kind": {odd{oddNumbers, 8000, 2, 9, 0.5, 1, false}, true},
	} {
		assert.Equal(t, c.song, c.odd.listened(t), name)
	}
}
