package hearing

import (
	"math"
	"slices"
)

// Piece is a part of the song in one tempo.
type Piece struct {
	Bar     int     // the first, from 0
	Beats   int     // until the next piece
	Start   float64 // seconds
	Seconds float64 // a beat
}

// BPM returns the tempo of the piece, in beats a minute: a whole number where that keeps its
// bar lines where they are as well, else to a hundredth.
func (p *Piece) BPM() float64 {
	bpm := 60 / p.Seconds
	off := func(to float64) float64 { return p.Seconds * float64(p.Beats) * math.Abs(bpm/to-1) }
	for _, step := range []float64{1, 0.5, 0.1} {
		if to := math.Round(bpm/step) * step; off(to) < within {
			return math.Round(to*100) / 100
		}
	}
	return math.Round(bpm*100) / 100
}

const (
	// within is how far a bar line may lie from the tempo map before a person hears it, in
	// seconds.
	within = 0.02
	// played is how far a bar line of people who play may lie from an even tempo, in seconds:
	// a song's file is to have the changes that somebody meant (common practice, no source).
	played = 0.03
	// pieceCost is what one more piece costs, as that many bar lines off by played.
	pieceCost = 14
)

// pieces returns the tempo map: as few pieces of constant tempo as explain the bar lines well,
// by least squares (dynamic programming over where pieces begin). beats has the beats of each
// bar. The last line is not heard but reckoned, and does not count.
func pieces(lines []float64, beats []int) []Piece {
	n := len(beats) - 1
	at := []int{0} // beats before each line
	for _, b := range beats {
		at = append(at, at[len(at)-1]+b)
	}
	best, from := make([]float64, n+1), make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j] = math.Inf(1)
		var sum lineFit
		sum.add(0, 0)
		for i := j - 1; i >= 0; i-- { // the piece has bars i to j-1 and lines i to j
			sum.add(float64(at[i]-at[j]), lines[i]-lines[j])
			if v := best[i] + pieceCost + sum.residual()/square(played); v < best[j] {
				best[j], from[j] = v, i
			}
		}
	}
	var list []Piece
	for j, end := n, len(beats); j > 0; j, end = from[j], from[j] {
		i := from[j]
		var sum lineFit
		for k := i; k <= j; k++ {
			sum.add(float64(at[k]-at[i]), lines[k]-lines[i])
		}
		slope, start := sum.line()
		list = append(list, Piece{i, at[end] - at[i], lines[i] + start, slope})
	}
	slices.Reverse(list)
	return list
}

// lineFit sums what a line of least squares needs.
type lineFit struct{ n, x, y, xx, xy, yy float64 }

func (s *lineFit) add(x, y float64) {
	s.n++
	s.x, s.y = s.x+x, s.y+y
	s.xx, s.xy, s.yy = s.xx+float64(x*x), s.xy+float64(x*y), s.yy+float64(y*y)
}

// line returns the slope, and the value at 0.
func (s *lineFit) line() (slope, at float64) {
	d := float64(s.n*s.xx) - float64(s.x*s.x)
	if d == 0 {
		return 0, s.y / s.n
	}
	slope = (float64(s.n*s.xy) - float64(s.x*s.y)) / d
	return slope, (s.y - float64(slope*s.x)) / s.n
}

// residual returns the sum of squares that the line leaves.
func (s *lineFit) residual() float64 {
	slope, at := s.line()
	return max(0, s.yy-float64(slope*s.xy)-float64(at*s.y))
}
