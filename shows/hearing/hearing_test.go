package hearing

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/hearing/sound"
)

// The running filters give what their definitions give.
func TestFilters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), 1, 40).Draw(t, "x")
		half := rapid.IntRange(0, 9).Draw(t, "half")
		median, most := medianFilter(x, 2*half+1), maxFilter(x, half)
		for i := range x {
			around := slices.Sorted(slices.Values(x[max(0, i-half):min(len(x), i+half+1)]))
			require.Equal(t, around[len(around)/2], median[i])
			require.Equal(t, around[len(around)-1], most[i])
		}
	})
	flat := smooth([]float64{3, 3, 3, 3, 3}, 2)
	for _, v := range flat {
		assert.InDelta(t, 3, v, 1e-12)
	}
}

// Beats are found where onsets are, also through a bar without any, and through a tempo that
// slowly changes.
func TestFollow(t *testing.T) {
	var want []float64
	at := 0.5
	for i := range 80 {
		want = append(want, at)
		at += 0.5 + 0.001*float64(i)
	}
	onset := make([]float64, int((at+1)*frameRate))
	for i, b := range want {
		if i/4%5 != 3 {
			onset[int(math.Round(b*frameRate))] = 1
		}
	}
	beats, _ := follow(onset, 90, 150)
	got := refine(beats, onset)
	assert.GreaterOrEqual(t, fMeasure(want, got, 0.03), 0.95)
}

// A song in one tempo has one piece, as played by people; one that changes has one more; whole
// numbers are written where they fit as well.
func TestPieces(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	beats := slices.Repeat([]int{4}, 60)
	beats[20] = 2 // an odd bar is no change of tempo
	lines, at := []float64{0.7}, 0.7
	for i, b := range beats {
		bpm := 118.0
		if i >= 40 {
			bpm = 92
		}
		at += 60 / bpm * float64(b)
		lines = append(lines, at+0.008*random.NormFloat64())
	}
	list := pieces(lines, beats)
	require.Len(t, list, 2)
	assert.Equal(t, 118.0, list[0].BPM())
	assert.Equal(t, 92.0, list[1].BPM())
	assert.Equal(t, 40, list[1].Bar)
	assert.InDelta(t, 0.7, list[0].Start, 0.01)
}

func TestTuning(t *testing.T) {
	for _, cents := range []float64{0, 30, -40} {
		samples := make([]float32, 20*rate)
		for i := range samples {
			for _, pitch := range []float64{60, 64, 67, 72} {
				samples[i] += float32(0.1 * math.Sin(2*math.Pi*440*math.Exp2((pitch-69+cents/100)/12)*float64(i)/rate))
			}
		}
		f := hear(samples, func(float64) {})
		c := unit(f.chroma[len(f.chroma)/2])
		assert.Greater(t, c[0]*c[0]+c[4]*c[4]+c[7]*c[7], 0.75, "C major, %g cents off", cents)
	}
}

// What is no song is said so, and nothing panics.
func TestNoSong(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 9))
	noise := make([]float64, 30*rate)
	for i := range noise {
		noise[i] = 0.1 * random.NormFloat64()
	}
	_, err := Open(recording(make([]float64, 30*rate), 0, 1), nil)
	require.ErrorIs(t, err, ErrNoSong)
	assert.ErrorContains(t, err, "silent")
	_, err = Open(recording(noise[:rate], 0, 1), nil)
	require.ErrorIs(t, err, ErrNoSong)
	assert.ErrorContains(t, err, "1.0 s long, want 8 at least")
	_, err = Open(strings.NewReader("song: Long Shore"), nil)
	require.ErrorIs(t, err, sound.ErrKind)
	take, err := Open(recording(noise, 0, 1), nil)
	require.NoError(t, err)
	_, err = take.Song(Asked{BPM: 100, Upper: 2, Lower: 8})
	assert.ErrorIs(t, err, ErrNoSong)
}

// 20 minutes are taken, and not a sample more.
func TestLong(t *testing.T) {
	f, block := sound.Format{Rate: rate, Channels: 1}, [][]float32{make([]float32, 1000)}
	in := &intake{frames: Longest*rate - 1000}
	require.NoError(t, in.write(f, block))
	assert.ErrorIs(t, in.write(f, [][]float32{{0}}), ErrLong)
	assert.ErrorContains(t, ErrLong, "longer than 20 minutes")
}

// Ways to count that are told alike are told once.
func TestTell(t *testing.T) {
	h := &Heard{}
	for _, r := range []reading{{120, 2, 4, 0, 0.5}, {122, 3, 4, 0, 0.25}, {60, 2, 4, 0, 0.25}} {
		h.tell(r.told(r.beats))
	}
	assert.Equal(t, []Reading{{120, 4, 4, 0.75}, {60, 4, 4, 0.25}}, h.Readings)
}

// One song is counted as it is asked to be.
func TestAsked(t *testing.T) {
	tr, samples := made(t, "paper-boats") // 3/4 at 102
	_, h := heardOf(t, recording(samples, 0, 0.5), Asked{BPM: 51, Upper: 3, Lower: 4})
	assert.Equal(t, 3, h.Readings[0].Upper)
	assert.InDelta(t, tr.Tempo/2, h.Readings[0].BPM, 4)
	require.Error(t, CheckMeter(5, 4))
	require.NoError(t, CheckMeter(12, 8))
}
