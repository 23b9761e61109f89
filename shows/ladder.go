package shows

import "fmt"

// Ladder is the rig's looks and effects ordered by energy. A song is drafted
// from it.
type Ladder struct {
	Rungs     []Rung  // by energy, weakest first; at least one
	Begin     []Level // set with a song's first light, such as fronts and house lights
	Pickup    *Moment // what a beat before a large lift goes to, or nil
	Breakdown *Moment // for breakdowns, or nil
	Spoken    *Moment // while someone speaks, or nil
	End       *Moment // what the song's last bars fade to, or nil
}

// Rung is what a section of an energy looks like.
type Rung struct {
	Energy  int // 0..10; the sections of this energy and more, up to the next rung
	Look    string
	Effects []string // none if empty
	// Own says that the effects are those of the look, which nobody need name.
	Own bool
}

// Moment is light for one kind of place in a song.
type Moment struct {
	Look    string
	Effects []string // none if empty
	Own     bool     // the effects are those of the look
	Set     []Level  // over the look
}

// Level is what a group or fixture is set to, in the words of the file.
type Level struct {
	On     string
	Values []Word
}

// Word is a key and the text under it, such as intensity and 40 %.
type Word struct{ Key, Text string }

// compileLadder reads the ladder; nil where there is none.
func (c *compiler) compileLadder(v *value) *Ladder {
	if v == nil {
		return nil
	}
	l := &Ladder{
		Begin: c.wordsOf(v.get("begin")), Pickup: c.moment(v.get("pickup")), Breakdown: c.moment(v.get("breakdown")),
		Spoken: c.moment(v.get("spoken")), End: c.moment(v.get("end")),
	}
	seen := map[string]*value{}
	for _, item := range v.get("rungs").items() {
		m := c.moment(item)
		r := Rung{Energy: int(item.get("energy").num(0)), Look: m.Look, Effects: m.Effects, Own: m.Own}
		if n := len(l.Rungs); n > 0 && item.get("energy") != nil && r.Energy < l.Rungs[n-1].Energy {
			c.at(item.get("energy"), fmt.Sprintf("energy %d comes after %d", r.Energy, l.Rungs[n-1].Energy), "rungs go from the calmest to the strongest", "")
		}
		l.Rungs = append(l.Rungs, r)
		if item.get("energy") == nil || c.look[r.Look] == nil || !m.Own && item.get("effects").word() != "none" && len(r.Effects) < len(item.get("effects").items()) {
			continue // a fault already
		}
		key := fmt.Sprintf("%q %q", r.Look, r.Effects)
		if other := seen[key]; other != nil {
			c.at(item.get("look"), "a second rung with this look and these effects", fmt.Sprintf("the first is on line %d", other.line), "")
		}
		seen[key] = item
	}
	return l
}

// moment reads a look's name, or a mapping with a look in it.
func (c *compiler) moment(v *value) *Moment {
	if v == nil {
		return nil
	}
	at := v
	if v.entries != nil {
		at = v.get("look")
	}
	m := &Moment{Look: at.word(), Own: true, Set: c.wordsOf(v.get("set"))}
	l := c.look[m.Look]
	if l == nil && at != nil && c.looks.get("looks") != nil {
		c.unknown(at, "look", "looks", c.lookNames)
	}
	if v := v.get("effects"); v != nil {
		m.Own = false
		for _, e := range c.effectsOf(v) {
			m.Effects = append(m.Effects, c.program.Effects[e.index].Name)
		}
	} else if l != nil {
		for _, e := range l.effects {
			m.Effects = append(m.Effects, c.program.Effects[e.index].Name)
		}
	}
	return m
}

// wordsOf checks levels as looks have them and keeps their words.
func (c *compiler) wordsOf(v *value) []Level {
	c.parts(v)
	var levels []Level
	for _, e := range v.all() {
		l := Level{On: e.key.text}
		for _, w := range e.value.all() {
			if w.value != nil {
				l.Values = append(l.Values, Word{w.key.text, w.value.text})
			}
		}
		levels = append(levels, l)
	}
	return levels
}
