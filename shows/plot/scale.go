package plot

import "tactus/clock"

// scale lays time along a length of paper.
type scale struct {
	x, wide float64 // millimetres
	length  clock.Time
}

// at returns where a moment lies, within the scale's ends.
func (s scale) at(t clock.Time) float64 {
	if s.length <= 0 {
		return s.x
	}
	share := float64(min(max(t, 0), s.length)) / float64(s.length)
	return s.x + float64(s.wide*share)
}

// step returns every how many bars a number stands, so that numbers are at least so
// many millimetres apart: a power of two, as musicians count in fours.
func (s scale) step(bars int, apart float64) int {
	if bars == 0 || s.wide <= 0 {
		return 1
	}
	each := s.wide / float64(bars)
	for _, n := range []int{1, 2, 4, 8, 16, 32, 64, 128, 256, 512} {
		if each*float64(n) >= apart {
			return n
		}
	}
	return 1024
}

// minutes returns the time between two marks of the scale, so that marks are at least
// so many millimetres apart.
func (s scale) minutes(apart float64) clock.Time {
	for _, seconds := range []clock.Time{5, 10, 30, 60, 120, 300, 600, 1800} {
		if step := seconds * clock.Second; float64(s.wide*float64(step)/float64(max(1, s.length))) >= apart {
			return step
		}
	}
	return max(clock.Second, s.length)
}
