package hearing

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// reading is one way to count a song: how long a beat is, into how many parts it divides,
// and how many make a bar.
type reading struct {
	bpm   float64
	parts int // 2 or 3
	beats int // 2, 3 or 4 a bar
	score float64
	share float64 // how likely it is among those that are likely, 0..1
}

// autocorrelation of values, each against itself later, up to a number of seconds later;
// 1 at 0, and made up for the part that has no later.
func autocorrelation(x []float64, longest float64) []float64 {
	m := mean(x)
	n := 1
	for n < 2*len(x) {
		n *= 2
	}
	fft := fourier.NewFFT(n)
	in := make([]float64, n)
	for i, v := range x {
		in[i] = v - m
	}
	c := fft.Coefficients(nil, in)
	for i, v := range c {
		c[i] = complex(float64(real(v)*real(v))+float64(imag(v)*imag(v)), 0)
	}
	r := fft.Sequence(nil, c)
	out := make([]float64, min(int(longest*frameRate), len(x)-1))
	for i := range out {
		out[i] = r[i] / (r[0] + 1e-9) / (1 - float64(i)/float64(len(x)))
	}
	return out
}

// chordChange returns by frame how much the harmony changes.
func (f *features) chordChange() []float64 {
	n := len(f.chroma)
	columns := make([][]float64, 12)
	for p := range columns {
		columns[p] = make([]float64, n)
	}
	for i, c := range f.chroma {
		for p, v := range unit(c) {
			columns[p][i] = v
		}
	}
	for p := range columns {
		columns[p] = smooth(columns[p], 2)
	}
	out := make([]float64, len(f.bands))
	for i := range out {
		k := min(i/slow, n-2)
		sum := 0.0
		for p := range columns {
			d := columns[p][k+1] - columns[p][k]
			sum += float64(d * d)
		}
		out[i] = math.Sqrt(sum)
	}
	return out
}

// lag is a time at which a reading looks for repetition.
const (
	lagPart      = iota // a part of the beat: half of it, or a third
	lagOtherPart        // the same of the other division
	lagBeat
	lagTwoBeats
	lagBar
	lagHalfBar
	lags
)

// levelWeights is what each repetition says for a reading, in logarithms of likelihood: of
// onsets, of those in the bass, above 2 kHz and from 200 Hz to 2 kHz, and of changes of
// harmony. They and those below were fitted by regression on 40 made songs whose beats are
// known, of two synthesisers; leaving out one song at a time, tempo and meter of 38 of the 40
// came out right.
func levelWeights() [5][lags]float64 {
	return [5][lags]float64{
		{1.01, -2.31, 10.31, -0.76, 6.7, -4.88},
		{5.81, -3.01, -1.19, 4.82, 7.09, 2.87},
		{1.42, -0.4, 2.44, 2.71, 0.66, -0.22},
		{-4.66, -3.04, -1.18, 2.94, 8.06, -1.8},
		{-1.41, -7.33, 3.12, -2.3, 8.36, -2.08},
	}
}

// usual says how usual a reading is whatever is heard: beats around 96 BPM (Moelants 2002 has
// people's centre between 100 and 130; slow songs move it), and meters by how common they are.
func (r reading) usual() float64 {
	octaves := math.Log2(r.bpm / 96)
	u := float64(-1.54*square(octaves)) + float64(2.23*octaves) - float64(0.41*square(math.Log2(60/r.bpm*float64(r.beats)/2.3)))
	switch [2]int{r.parts, r.beats} {
	case [2]int{2, 2}:
		return u - 2.59
	case [2]int{2, 3}:
		return u + 0.08
	case [2]int{2, 4}:
		return u + 4.62
	case [2]int{3, 2}:
		return u + 1.85
	}
	return u
}

// readings returns the ways to count the song, the likeliest first. Which of the periods
// that are there is the beat is decided together with what divides it and what it makes up
// (Klapuri, Eronen and Astola, "Analysis of the Meter of Acoustic Musical Signals", TASLP
// 2006): by how much onsets, bass and harmony repeat at the beat, at its parts and at the
// bar, and by how common such beats and bars are. Only those that are asked for count. score is the logarithm of how likely one is.
func (f *features) readings(asked Asked) []reading {
	heard := f.repetitions()
	weights := levelWeights()
	const steps = 400
	var list []reading
	for i := range steps {
		bpm := Slowest * math.Pow(float64(Fastest)/Slowest, float64(i)/(steps-1))
		for _, kind := range [][2]int{{2, 2}, {2, 3}, {2, 4}, {3, 2}, {3, 4}} {
			r := reading{bpm: bpm, parts: kind[0], beats: kind[1]}
			beat, bar := 60/bpm, 60/bpm*float64(r.beats)
			if bar < 1.15 || bar > 4.6 || !asked.allows(r) {
				continue
			}
			r.score = r.usual()
			at := [lags]float64{beat / float64(r.parts), beat / float64(5-r.parts), beat, 2 * beat, bar, bar / 2}
			for k := range heard {
				for l, seconds := range at {
					r.score += float64(weights[k][l] * peakAt(heard[k], seconds))
				}
			}
			list = append(list, r)
		}
	}
	return likeliest(list)
}

// repetitions returns how much what levelWeights names repeats, by how much later.
func (f *features) repetitions() [5][]float64 {
	high, middle := make([]float64, len(f.flux)), make([]float64, len(f.flux))
	for i, row := range f.flux {
		for b, v := range row {
			switch {
			case f.centre[b] >= 2000:
				high[i] += v
			case f.centre[b] >= 200:
				middle[i] += v
			}
		}
	}
	const longest = 6     // seconds
	from, to := f.music() // silence around it would count as likeness
	a, z := f.frameAt(from), f.frameAt(to)+1
	of := func(x []float64) []float64 { return autocorrelation(smooth(x, 1.5)[a:z], longest) }
	return [5][]float64{of(f.onset), of(f.low), of(standOut(high)), of(standOut(middle)), autocorrelation(f.chordChange()[a:z], longest)}
}

// peakAt returns the largest value within 1.5 % of a time.
func peakAt(x []float64, seconds float64) float64 {
	i := seconds * frameRate
	a, z := int(i*0.985), int(math.Ceil(i*1.015))+1
	if z >= len(x) {
		return 0
	}
	return slices.Max(x[a:z])
}

// likeliest returns the best readings that differ, with the shares of likelihood that they
// have among themselves.
func likeliest(list []reading) []reading {
	slices.SortStableFunc(list, func(a, b reading) int { return cmp.Compare(b.score, a.score) })
	var best []reading
	for _, r := range list {
		same := func(b reading) bool {
			return b.parts == r.parts && b.beats == r.beats && math.Abs(math.Log2(b.bpm/r.bpm)) <= sameTempo
		}
		if !slices.ContainsFunc(best, same) {
			best = append(best, r)
		}
		if len(best) == maxReadings {
			break
		}
	}
	sum := 0.0
	for i := range best {
		best[i].share = math.Exp(best[i].score - best[0].score)
		sum += best[i].share
	}
	for i := range best {
		best[i].share /= sum
	}
	return best
}

// sameTempo is how far apart tempi may be that are one, in octaves: 4 %.
const sameTempo = 0.06

// maxReadings is how many ways to count a song are looked at.
const maxReadings = 4

func square(x float64) float64 { return float64(x * x) }
