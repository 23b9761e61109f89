package shows

import (
	"fmt"

	"tactus/shows/language"
)

// Ladder has the rig's looks and effects ordered by energy, for drafting songs.
type Ladder struct {
	Rungs        []Rung  // by energy, weakest first; at least one
	Begin        []Level // set with a song's first light, such as fronts and house lights
	Instrumental []Level // set where nobody sings or speaks
	Breath       *Moment // what a beat before a large lift goes to, or nil
	Breakdown    *Moment // for breakdowns, or nil
	Spoken       *Moment // while someone speaks, or nil
	End          *Moment // what the song's last bars fade to, or nil
}

// BreathLook returns the look for a breath of dark: that of the ladder's breath, or the
// show's first dark look; "" if it has none.
func BreathLook(s *Show) string {
	if s.Ladder != nil && s.Ladder.Breath != nil && s.Ladder.Breath.Look != "" {
		return s.Ladder.Breath.Look
	}
	for i := range s.Program.Looks {
		if c := &s.Program.Looks[i]; IsDark(s.Program, c) {
			return c.Name
		}
	}
	return ""
}

// Rung is what a section of an energy looks like.
type Rung struct {
	Energy  int // 0..10; the sections of this energy and more, up to the next rung
	Look    string
	Effects []string // none if empty
	Own     bool     // the effects are those of the look
}

// Moment is light for one kind of place in a song.
type Moment struct {
	Look    string
	Effects []string // none if empty
	Own     bool     // the effects are those of the look
	Set     []Level  // over the look
}

// Level is what a group or fixture is set to, as written.
type Level struct {
	On     string
	Values []Word
}

// Word is a key and the text under it, such as intensity and 40 %.
type Word struct{ Key, Text string }

// compileLadder reads the ladder; nil where there is none.
func (c *compiler) compileLadder(v *language.Value) *Ladder {
	if v == nil {
		return nil
	}
	l := &Ladder{
		Begin: c.wordsOf(v.Get("begin")), Instrumental: c.wordsOf(v.Get("instrumental")), Breath: c.moment(v.Get("breath")), Breakdown: c.moment(v.Get("breakdown")),
		Spoken: c.moment(v.Get("spoken")), End: c.moment(v.Get("end")),
	}
	seen := map[string]*language.Value{}
	for _, item := range v.Get("rungs").Items() {
		m := c.moment(item)
		r := Rung{Energy: int(item.Get("energy").Num(0)), Look: m.Look, Effects: m.Effects, Own: m.Own}
		if n := len(l.Rungs); n > 0 && item.Get("energy") != nil && r.Energy < l.Rungs[n-1].Energy {
			c.At(item.Get("energy"), fmt.Sprintf("energy %d comes after %d", r.Energy, l.Rungs[n-1].Energy), "rungs go from the calmest to the strongest", "")
		}
		l.Rungs = append(l.Rungs, r)
		if item.Get("energy") == nil || c.look[r.Look] == nil || !m.Own && item.Get("effects").Word() != "none" && len(r.Effects) < len(item.Get("effects").Items()) {
			continue // a fault already
		}
		key := fmt.Sprintf("%q %q", r.Look, r.Effects)
		if other := seen[key]; other != nil {
			c.Clash(item.Get("look"), "a second rung with this look and these effects", fmt.Sprintf("the first is on line %d", other.Line), other.Line)
		}
		seen[key] = item
	}
	return l
}

// moment reads a look's name, or a mapping with a look in it.
func (c *compiler) moment(v *language.Value) *Moment {
	if v == nil {
		return nil
	}
	at := v
	if v.Entries != nil {
		at = v.Get("look")
	}
	m := &Moment{Look: at.Word(), Own: true, Set: c.wordsOf(v.Get("set"))}
	l := c.look[m.Look]
	if l == nil && at != nil && c.looks.Get("looks") != nil {
		c.Unknown(at, "look", "looks", c.lookNames)
	}
	if v := v.Get("effects"); v != nil {
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
func (c *compiler) wordsOf(v *language.Value) []Level {
	c.readLevels(v)
	var levels []Level
	for _, e := range v.All() {
		l := Level{On: e.Key.Text}
		for _, w := range e.Value.All() {
			if w.Value != nil {
				l.Values = append(l.Values, Word{w.Key.Text, w.Value.Text})
			}
		}
		levels = append(levels, l)
	}
	return levels
}
