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

// moveTo sends it to a level over a time.
func (l *slide) moveTo(level float64, over, now clock.Time) {
	l.from = l.levelAt(now)
	l.goal = max(0, min(1, level))
	l.start, l.over = now, over
}

// levelAt returns where it stands.
func (l *slide) levelAt(now clock.Time) float64 {
	if now >= l.start+l.over {
		return l.goal
	}
	x := max(0, float64(now-l.start)/float64(l.over))
	return l.from + float64(x*(l.goal-l.from))
}

// masters scale intensity: the grand master all but the spared heads, a group
// master its group. Blackout is the grand master at zero, at once.
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

// move sends the grand master to a level, 0..1, over a time.
func (m *masters) move(level float64, over, now clock.Time) { m.all.moveTo(level, over, now) }

// grand returns where the grand master stands, 0..1.
func (m *masters) grand(now clock.Time) float64 { return m.all.levelAt(now) }

// apply scales every head by its groups' masters, and those that are not spared
// by the grand master.
func (m *masters) apply(lit []fixtures.State, p *Program, now clock.Time) {
	for i := range p.Groups[:min(len(p.Groups), MaxGroups)] {
		if g := m.groups[i].levelAt(now); g != 1 {
			for _, h := range p.Groups[i].Heads {
				lit[h][fixtures.Intensity] *= g
			}
		}
	}
	scale(lit, p.Heads, m.grand(now))
}

// black puts out every head that is not spared, if asked for.
func (m *masters) black(lit []fixtures.State, p *Program) {
	if m.blackout {
		scale(lit, p.Heads, 0)
	}
}

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
