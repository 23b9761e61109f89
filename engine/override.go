package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// MaxOverrides is how many overrides hold at a time.
const MaxOverrides = 32

// hands are what an operator holds by hand, over what the show says: parameters
// of groups, and the house lights.
type hands struct {
	list  [MaxOverrides]hand
	house hand
}

// hand is one override. Amount is how far it has taken over, 0..1: it comes in
// and goes over a time, so that nothing jumps.
type hand struct {
	group  int32
	param  fixtures.Param
	level  slide
	amount slide
	until  clock.Time // 0: until released
}

// gone reports whether it has let go.
func (h *hand) gone(now clock.Time) bool { return h.amount.goal == 0 && h.amount.at(now) == 0 }

// grip sets the level and takes over, or only moves the level if it holds.
func (h *hand) grip(level float64, over, now clock.Time) {
	if h.gone(now) {
		h.level = slide{from: level, goal: level}
	}
	h.level.to(level, over, now)
	h.amount.to(1, over, now)
}

// set holds a parameter of a group. It reports whether there was room.
func (s *hands) set(c *Command, now clock.Time) bool {
	free := -1
	for i := range s.list {
		h := &s.list[i]
		if h.gone(now) {
			if free < 0 {
				free = i
			}
			continue
		}
		if h.group == c.Index && h.param == c.Param {
			free = i
			break
		}
	}
	if free < 0 {
		return false
	}
	h := &s.list[free]
	if h.gone(now) {
		*h = hand{group: c.Index, param: c.Param}
	}
	h.grip(max(0, min(1, c.Level)), c.Over, now)
	h.until = 0
	if c.For > 0 {
		h.until = now + c.For
	}
	return true
}

// release lets go of a group, or of all for None.
func (s *hands) release(group int32, over, now clock.Time) {
	for i := range s.list {
		if h := &s.list[i]; !h.gone(now) && (group == None || h.group == group) {
			h.amount.to(0, over, now)
			h.until = 0
		}
	}
}

// expire lets go of what was set for a time.
func (s *hands) expire(now, over clock.Time) {
	for i := range s.list {
		if h := &s.list[i]; h.until != 0 && now >= h.until {
			h.amount.to(0, over, h.until)
			h.until = 0
		}
	}
}

// count returns how many hold.
func (s *hands) count(now clock.Time) (n int) {
	for i := range s.list {
		if !s.list[i].gone(now) {
			n++
		}
	}
	if !s.house.gone(now) {
		n++
	}
	return n
}

// apply lays the overrides over the light.
func (s *hands) apply(lit []fixtures.State, p *Program, now clock.Time) {
	for i := range s.list {
		h := &s.list[i]
		x := h.amount.at(now)
		if x == 0 || int(h.group) >= len(p.Groups) {
			continue
		}
		level := h.level.at(now)
		for _, n := range p.Groups[h.group].Heads {
			v := &lit[n][h.param]
			*v = float64(*v*(1-x)) + float64(level*x)
		}
	}
	x := s.house.amount.at(now)
	if x == 0 {
		return
	}
	level := s.house.level.at(now)
	for n := range lit {
		if p.Heads[n].House {
			v := &lit[n][fixtures.Intensity]
			*v = float64(*v*(1-x)) + float64(level*x)
		}
	}
}

func (s *State) doOverride(p *Program, c *Command, pos clock.Position) {
	switch c.Kind {
	case HouseUp:
		s.hands.house.grip(1, p.Ease, pos.At)
	case HouseHalf:
		s.hands.house.grip(0.5, p.Ease, pos.At)
	case HouseOut:
		s.hands.house.grip(0, p.Ease, pos.At)
	case HouseFree:
		s.hands.house.amount.to(0, p.Ease, pos.At)
	case ReleaseOverride:
		if c.Index < None || int(c.Index) >= len(p.Groups) {
			s.unknown++
			return
		}
		s.hands.release(c.Index, max(c.Over, p.Ease), pos.At)
	default:
		ok := c.Level == c.Level && c.Index >= 0 && int(c.Index) < len(p.Groups) && c.Param < fixtures.NumParams
		if !ok || !s.hands.set(c, pos.At) {
			s.unknown++
		}
	}
}
