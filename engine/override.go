package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// MaxOverrides is how many overrides hold at a time.
const MaxOverrides = 32

// overrides are what an operator holds by hand, over what the show says: parameters
// of groups, and the house lights.
type overrides struct {
	list  [MaxOverrides]override
	house override
}

// override is one override. Amount is how far it has taken over, 0..1: it comes in
// and goes over a time, so that nothing jumps.
type override struct {
	group  int32
	param  fixtures.Param
	level  slide
	amount slide
	until  clock.Time // 0: until released
}

// stands returns the override as it is now.
func (h *override) stands(now clock.Time) Level {
	return Level{Group: h.group, Param: h.param, Level: h.level.levelAt(now), Amount: h.amount.levelAt(now)}
}

// released reports whether it has let go.
func (h *override) released(now clock.Time) bool {
	return h.amount.goal == 0 && h.amount.levelAt(now) == 0
}

// takeOver sets the level and takes over, or only moves the level if it holds.
func (h *override) takeOver(level float64, over, now clock.Time) {
	if h.released(now) {
		h.level = slide{from: level, goal: level}
	}
	h.level.moveTo(level, over, now)
	h.amount.moveTo(1, over, now)
}

// hold holds a parameter of a group. It reports whether there was room.
func (s *overrides) hold(c *Command, now clock.Time) bool {
	free := -1
	for i := range s.list {
		h := &s.list[i]
		if h.released(now) {
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
	if h.released(now) {
		*h = override{group: c.Index, param: c.Param}
	}
	h.takeOver(max(0, min(1, c.Level)), c.Over, now)
	h.until = 0
	if c.For > 0 {
		h.until = now + c.For
	}
	return true
}

// release lets go of a group, or of all for None.
func (s *overrides) release(group int32, over, now clock.Time) {
	for i := range s.list {
		if h := &s.list[i]; !h.released(now) && (group == None || h.group == group) {
			h.amount.moveTo(0, over, now)
			h.until = 0
		}
	}
}

// releaseExpired lets go of what was set for a time.
func (s *overrides) releaseExpired(now, over clock.Time) {
	for i := range s.list {
		if h := &s.list[i]; h.until != 0 && now >= h.until {
			h.amount.moveTo(0, over, h.until)
			h.until = 0
		}
	}
}

// active returns how many hold.
func (s *overrides) active(now clock.Time) (n int) {
	for i := range s.list {
		if !s.list[i].released(now) {
			n++
		}
	}
	if !s.house.released(now) {
		n++
	}
	return n
}

// apply lays the overrides over the light.
func (s *overrides) apply(lit []fixtures.State, p *Program, now clock.Time) {
	for i := range s.list {
		h := &s.list[i]
		x := h.amount.levelAt(now)
		if x == 0 || int(h.group) >= len(p.Groups) {
			continue
		}
		level := h.level.levelAt(now)
		for _, n := range p.Groups[h.group].Heads {
			v := &lit[n][h.param]
			*v = float64(*v*(1-x)) + float64(level*x)
		}
	}
	x := s.house.amount.levelAt(now)
	if x == 0 {
		return
	}
	level := s.house.level.levelAt(now)
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
		s.overrides.house.takeOver(1, p.Ease, pos.At)
	case HouseHalf:
		s.overrides.house.takeOver(0.5, p.Ease, pos.At)
	case HouseOut:
		s.overrides.house.takeOver(0, p.Ease, pos.At)
	case HouseFree:
		s.overrides.house.amount.moveTo(0, p.Ease, pos.At)
	case ReleaseOverride:
		if c.Index < None || int(c.Index) >= len(p.Groups) {
			s.unknownCommands++
			return
		}
		s.overrides.release(c.Index, max(c.Over, p.Ease), pos.At)
	default:
		ok := c.Level == c.Level && c.Index >= 0 && int(c.Index) < len(p.Groups) && c.Param < fixtures.NumParams
		if !ok || !s.overrides.hold(c, pos.At) {
			s.unknownCommands++
		}
	}
}
