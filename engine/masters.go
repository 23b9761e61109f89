package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// slide is a level, 0..1, on its way to another.
type slide struct {
	from, goal float64
	start      clock.Time
	over       clock.Time
}

// moveTo starts towards a level, which it reaches after a time.
func (l *slide) moveTo(level float64, over, now clock.Time) {
	l.from = l.levelAt(now)
	l.goal = max(0, min(1, level))
	l.start, l.over = now, over
}

func (l *slide) levelAt(now clock.Time) float64 {
	if now >= l.start+l.over {
		return l.goal
	}
	x := max(0, float64(now-l.start)/float64(l.over))
	return l.from + float64(x*(l.goal-l.from))
}

// masters scale intensity: a group master that of its group, the grand master that
// of all heads but the spared ones. Blackout acts like a grand master at zero.
type masters struct {
	all      slide
	groups   [MaxGroups]slide
	blackout bool
}

func fullMasters() masters {
	m := masters{all: slide{from: 1, goal: 1}}
	for i := range m.groups {
		m.groups[i] = m.all
	}
	return m
}

// apply scales the heads by their groups' masters and the grand master.
func (m *masters) apply(lit []fixtures.State, p *Program, now clock.Time) {
	for i := range p.Groups[:min(len(p.Groups), MaxGroups)] {
		if g := m.groups[i].levelAt(now); g != 1 {
			for _, h := range p.Groups[i].Heads {
				lit[h][fixtures.Intensity] *= g
			}
		}
	}
	scale(lit, p.Heads, m.all.levelAt(now))
}

// scale multiplies the intensity of all heads but the spared ones by g.
func scale(lit []fixtures.State, heads []Head, g float64) {
	if g == 1 {
		return
	}
	for h := range lit {
		if !heads[h].Spared {
			lit[h][fixtures.Intensity] *= g
		}
	}
}
