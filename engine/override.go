package engine

import (
	"slices"

	"tactus/clock"
	"tactus/fixtures"
)

// MaxOverrides is how many parameters of groups can be overridden at a time.
const MaxOverrides = 32

// overrides are what an operator sets in place of the show: parameters of groups,
// and the house lights.
type overrides struct {
	list  [MaxOverrides]override
	house override
}

// override sets one parameter of a group.
type override struct {
	group  int32
	param  fixtures.Param
	level  slide
	amount slide      // how far it replaces the show's level, 0..1
	until  clock.Time // 0: until released
}

// released reports whether it has no effect any more.
func (h *override) released(now clock.Time) bool {
	return h.amount.goal == 0 && h.amount.levelAt(now) == 0
}

func (h *override) apply(v *float64, now clock.Time) {
	x := h.amount.levelAt(now)
	*v = float64(*v*(1-x)) + float64(h.level.levelAt(now)*x)
}

// takeOver fades to a level: from the show's, or from its own if it acts already.
func (h *override) takeOver(level float64, over, now clock.Time) {
	if h.released(now) {
		h.level = slide{from: level, goal: level}
	}
	h.level.moveTo(level, over, now)
	h.amount.moveTo(1, over, now)
}

// hold overrides a parameter of a group. It returns false if MaxOverrides act.
func (s *overrides) hold(c *Command, now clock.Time) bool {
	i := slices.IndexFunc(s.list[:], func(h override) bool {
		return !h.released(now) && h.group == c.Index && h.param == c.Param
	})
	if i < 0 {
		i = slices.IndexFunc(s.list[:], func(h override) bool { return h.released(now) })
	}
	if i < 0 {
		return false
	}
	h := &s.list[i]
	if h.released(now) {
		*h = override{group: c.Index, param: c.Param}
	}
	h.takeOver(max(0, min(1, c.Level)), c.Over, now)
	if h.until = 0; c.For > 0 {
		h.until = now + c.For
	}
	return true
}

// release ends the overrides of a group, or all of them for None.
func (s *overrides) release(group int32, over, now clock.Time) {
	for i := range s.list {
		if h := &s.list[i]; !h.released(now) && (group == None || h.group == group) {
			h.amount.moveTo(0, over, now)
			h.until = 0
		}
	}
}

// releaseExpired ends overrides that were set for a time which is over.
func (s *overrides) releaseExpired(now, over clock.Time) {
	for i := range s.list {
		if h := &s.list[i]; h.until != 0 && now >= h.until {
			h.amount.moveTo(0, over, h.until)
			h.until = 0
		}
	}
}

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

func (s *overrides) apply(lit []fixtures.State, p *Program, now clock.Time) {
	for i := range s.list {
		h := &s.list[i]
		if h.amount.levelAt(now) == 0 || int(h.group) >= len(p.Groups) {
			continue
		}
		for _, n := range p.Groups[h.group].Heads {
			h.apply(&lit[n][h.param], now)
		}
	}
	for n := range lit {
		if p.Heads[n].House {
			s.house.apply(&lit[n][fixtures.Intensity], now)
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
