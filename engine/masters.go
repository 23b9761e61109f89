package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// masters are the last word on intensity: grand master and blackout.
type masters struct {
	from, to float64
	start    clock.Time
	over     clock.Time
	blackout bool
}

// move sends the grand master to a level, 0..1, over a time.
func (m *masters) move(level float64, over, now clock.Time) {
	m.from = m.grand(now)
	m.to = max(0, min(1, level))
	m.start, m.over = now, over
}

// grand returns where the grand master stands, 0..1.
func (m *masters) grand(now clock.Time) float64 {
	if now >= m.start+m.over {
		return m.to
	}
	x := max(0, float64(now-m.start)/float64(m.over))
	return m.from + float64(x*(m.to-m.from))
}

// apply copies light to lit and scales every head that is not spared.
func (m *masters) apply(lit, light []fixtures.State, heads []Head, now clock.Time) {
	copy(lit, light)
	g := m.grand(now)
	if m.blackout {
		g = 0
	}
	if g == 1 {
		return
	}
	for h := range lit {
		if !heads[h].Spared {
			lit[h][fixtures.Intensity] *= g
		}
	}
}
