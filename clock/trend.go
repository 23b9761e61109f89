package clock

// trend draws a smooth curve through the last bar, through the middle of the
// ticks: how they lie about it is their noise as it is seen over a bar, whatever
// pattern it has from tick to tick.
type trend struct {
	late [trendStep]float64
}

const (
	trendTicks = 96
	trendStep  = 4
	trendFirst = 24
)

// tick returns true when there is something new to learn.
func (t *trend) tick(l *lock, at Time) bool {
	if l.count < trendFirst || l.count%trendStep != 0 {
		return false
	}
	w, order := trendTicks, 3
	for w > l.count {
		w, order = w/2, order-1
	}
	// Gram's polynomials, which are orthogonal over evenly spaced points.
	var m2, m4 float64
	mid := float64(w-1) / 2
	for i := range w {
		x := float64(i) - mid
		m2 += x * x
		m4 += x * x * x * x
	}
	m2, m4 = m2/float64(w), m4/float64(w)
	basis := func(x float64) [4]float64 {
		return [4]float64{1, x, float64(x*x) - m2, x * (float64(x*x) - m4/m2)}
	}
	var c, norm [4]float64
	for i := range w {
		p := basis(float64(i) - mid)
		y := float64(l.back(w-1-i).at - at)
		if i == w-1 {
			y = 0
		}
		for k := range order + 1 {
			c[k] += float64(p[k] * y)
			norm[k] += float64(p[k] * p[k])
		}
	}
	for i := range t.late {
		j := w/2 - trendStep/2 + i
		p := basis(float64(j) - mid)
		y := float64(l.back(w-1-j).at - at)
		for k := range order + 1 {
			y -= float64(p[k] * c[k] / norm[k])
		}
		t.late[i] = y
	}
	return true
}
