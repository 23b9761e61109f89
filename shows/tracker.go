package shows

import (
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// tracker makes cues complete. A cue on paper says what changes; a cue of the
// engine says all there is, so that jumping to it and playing up to it come to
// the same light.
type tracker struct {
	c      *compiler
	song   *engine.Song
	at     map[clock.Beat]*value
	sheets []sheet

	// What stands after the last cue.
	look    *look
	name    string
	effects []*effect
	levels  []engine.Part // over the look, until the next look
	kept    map[int32]level
	order   []int32 // keys of kept as they came
}

// sheet is a cue as written.
type sheet struct {
	at clock.Beat
	v  *value
}

// level is what a kept head was last told.
type level struct {
	params uint16
	values fixtures.State
	tinted bool
	colour engine.Colour
}

// collect finds the cues in sections and in the list of cues.
func (t *tracker) collect(v *value) {
	i := 0
	for _, item := range v.get("sections").items() {
		for _, e := range item.all() {
			if s := e.value; s.get("look") != nil || s.get("effects") != nil || s.get("set") != nil {
				t.add(t.song.Sections[i].Start, s, e.key)
			}
			i++
		}
	}
	for _, cue := range v.get("cues").items() {
		place := cue.get("at")
		if place == nil {
			t.add(-1, cue, nil)
			continue
		}
		at, fault := FindPosition(t.song, place.text)
		if fault != nil {
			t.c.at(place, fault.What, fault.Allowed, fault.Nearest)
			t.add(-1, cue, nil)
			continue
		}
		t.add(at, cue, place)
	}
	slices.SortStableFunc(t.sheets, func(a, b sheet) int { return int(clockSign(a.at - b.at)) })
}

func clockSign(b clock.Beat) clock.Beat { return max(-1, min(1, b)) }

func (t *tracker) add(at clock.Beat, v, place *value) {
	if other := t.at[at]; other != nil && place != nil {
		t.c.at(place, fmt.Sprintf("a second cue at %s", PositionName(t.song, at)), fmt.Sprintf("the first is on line %d", other.line), "")
	}
	if place != nil {
		t.at[at] = place
	}
	t.sheets = append(t.sheets, sheet{at, v})
}

func (t *tracker) cues() []engine.Cue {
	t.kept = map[int32]level{}
	var cues []engine.Cue
	for _, s := range t.sheets {
		cues = append(cues, t.cue(s))
	}
	return cues
}

func (t *tracker) cue(s sheet) engine.Cue {
	fade := s.v.get("fade").span()
	if name := s.v.get("look"); name != nil {
		if l := t.c.look[name.text]; l != nil {
			t.look, t.name, t.effects, t.levels = l, name.text, l.effects, nil
			t.keep(l.parts)
			if s.v.get("fade") == nil {
				fade = l.fade
			}
		} else if t.c.looks.get("looks") != nil {
			t.c.unknown(name, "look", "looks", t.c.lookNames)
		}
	}
	if v := s.v.get("effects"); v != nil {
		t.effects = t.c.effectsOf(v)
	}
	if v := s.v.get("set"); v != nil {
		parts := t.c.parts(v)
		t.levels = append(slices.Clip(t.levels), t.stage(parts)...)
		t.keep(parts)
	}
	cue := engine.Cue{At: s.at, Name: t.name, Fade: fade}
	if t.look != nil {
		cue.Parts = append(cue.Parts, t.stage(t.look.parts)...)
	}
	cue.Parts = append(cue.Parts, t.levels...)
	cue.Parts = append(cue.Parts, t.keptParts()...)
	for _, e := range t.effects {
		cue.Effects = append(cue.Effects, e.index)
	}
	return cue
}

// stage returns the parts without the kept heads, which go by what keep noted.
func (t *tracker) stage(parts []engine.Part) []engine.Part {
	var rest []engine.Part
	for _, p := range parts {
		p.Heads = slices.DeleteFunc(slices.Clone(p.Heads), func(h int32) bool { return t.c.program.Heads[h].Keep })
		if len(p.Heads) > 0 {
			rest = append(rest, p)
		}
	}
	return rest
}

// keep notes what parts tell the heads that songs otherwise leave alone.
func (t *tracker) keep(parts []engine.Part) {
	for i := range parts {
		p := &parts[i]
		for _, h := range p.Heads {
			if !t.c.program.Heads[h].Keep {
				continue
			}
			l, ok := t.kept[h]
			if !ok {
				t.order = append(t.order, h)
			}
			for q := range fixtures.NumParams {
				if p.Sets(q) {
					l.values[q] = p.Values[q]
				}
			}
			l.params |= p.Params
			if p.Tinted {
				l.tinted, l.colour = true, p.Colour
			}
			t.kept[h] = l
		}
	}
}

// keptParts puts the kept heads that were told the same into one part.
func (t *tracker) keptParts() []engine.Part {
	var parts []engine.Part
	index := map[level]int{}
	for _, h := range t.order {
		l := t.kept[h]
		i, ok := index[l]
		if !ok {
			i = len(parts)
			index[l] = i
			parts = append(parts, engine.Part{Params: l.params, Values: l.values, Tinted: l.tinted, Colour: l.colour})
		}
		parts[i].Heads = append(parts[i].Heads, h)
	}
	return parts
}
