package shows

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
	"tactus/shows/position"
)

// cueBuilder makes a song's cues complete. A cue in a file says what changes; a cue of
// the engine has all of the light, so that a jump to it gives the same light as
// playing up to it.
type cueBuilder struct {
	c      *compiler
	song   *engine.Song
	at     map[spot]*language.Value
	sheets []sheet

	// The light after the last cue.
	look    *look
	name    string
	effects []*effect
	build   *engine.Build // until the end of its section
	levels  []engine.Part // over the look, until the next look
	kept    map[int32]level
	order   []int32         // keys of kept as they came
	end     *language.Value // the look after the last section
	fade    engine.Span
	tint    *engine.Span
}

// sheet is a cue as written.
type sheet struct {
	at     clock.Beat
	v      *language.Value
	pickup int32 // 1 + the section it leads to
}

// passes names the passes of its section that it is for; "" for all.
func (s *sheet) passes() string { return s.v.Get("in").Word() }

// level is what a kept head was last set to.
type level struct {
	params uint16
	values fixtures.State
	tinted bool
	colour engine.Colour
}

// spot is where a cue is, and in which passes.
type spot struct {
	at clock.Beat
	in string
}

// collect finds the cues in sections and in the list of cues.
func (t *cueBuilder) collect(v *language.Value) {
	i := 0
	for _, item := range v.Get("sections").Items() {
		for _, e := range item.All() {
			if s := e.Value; changesLight(s) || s.Get("send") != nil {
				t.add(t.song.Sections[i].Start, s, e.Key, 0)
			}
			i++
		}
	}
	for _, cue := range v.Get("cues").Items() {
		place := cue.Get("at")
		if place == nil {
			t.add(-1, cue, nil, 0)
			continue
		}
		at, fault := position.FindForCue(t.song, place.Text)
		if fault != nil {
			t.c.placeFault(place, fault)
			t.add(-1, cue, nil, 0)
			continue
		}
		at, pickup := t.pickupOf(at, cue, place)
		if end := v.Get("after the end"); end != nil && at == t.song.Length() {
			t.c.Clash(place, "a second cue at the song's end", fmt.Sprintf("\"after the end\" on line %d is one", end.Line), end.Line)
		}
		t.add(at, cue, place, pickup)
	}
	if v := v.Get("after the end"); v != nil {
		t.end = v
	}
	slices.SortStableFunc(t.sheets, func(a, b sheet) int { return int(clockSign(a.at - b.at)) })
}

func clockSign(b clock.Beat) clock.Beat { return max(-1, min(1, b)) }

// pickupOf returns where a cue that is written at a place begins: earlier, if its fade is
// to end there.
// pickup is 1 + the section that it is a pickup into, or 0: it lies a length before
// the section's start, or its fade lands there.
func (t *cueBuilder) pickupOf(at clock.Beat, cue, place *language.Value) (clock.Beat, int32) {
	pickup := int32(0)
	end := at
	if m := position.Shift.FindStringSubmatch(place.Text); m != nil && m[2] == "-" {
		end = -1 // inside a section
		if !strings.Contains(m[1], ", bar ") {
			end, _ = position.FindBar(t.song, m[1])
		}
	}
	if fade := cue.Get("fade"); fade != nil && cue.Get("lands").IsYes(false) {
		span := fade.Span()
		if span.Time > 0 {
			t.c.At(fade, "a fade that lands on a place has to be musical", "a length such as 2 beats", "")
		}
		back := span.Length
		back.Num = -back.Num
		if at = t.song.PlaceAfter(at, back); at < 0 {
			t.c.At(fade, "the fade would begin before the song", "", "")
			at = 0
		}
	}
	if end > at {
		for i := range t.song.Sections {
			if t.song.Sections[i].Start == end {
				pickup = int32(i) + 1
			}
		}
	}
	return at, pickup
}

func (t *cueBuilder) add(begin clock.Beat, v, place *language.Value, pickup int32) {
	at := spot{begin, v.Get("in").Word()}
	if other := t.at[at]; other != nil && place != nil {
		t.c.Clash(place, fmt.Sprintf("a second cue at %s", position.Name(t.song, begin)), fmt.Sprintf("the first is on line %d", other.Line), other.Line)
	}
	if place != nil {
		t.at[at] = place
	}
	t.sheets = append(t.sheets, sheet{begin, v, pickup})
}

// cues returns the song's cues, and those of later passes of sections that differ.
// Each pass of a section begins from the light before the section as planned.
func (t *cueBuilder) cues() ([]engine.Cue, []engine.Variant) {
	t.kept = map[int32]level{}
	var cues []engine.Cue
	before := make([]cueBuilder, 0, len(t.song.Sections))
	for _, s := range forPass(t.sheets, "first") {
		for n := len(before); n < len(t.song.Sections) && t.song.Sections[n].Start <= s.at; n++ {
			before = append(before, t.copy())
		}
		cues = append(cues, t.cue(s))
	}
	for len(before) < len(t.song.Sections) {
		before = append(before, t.copy())
	}
	if t.end != nil {
		cues = append(cues, t.afterTheEnd())
	}
	var variants []engine.Variant
	for i := range t.song.Sections {
		variants = append(variants, before[i].variants(int32(i), t.sheets)...)
	}
	return cues, variants
}

// afterTheEnd returns the cue of the look after the last section.
func (t *cueBuilder) afterTheEnd() engine.Cue {
	l := t.c.look[t.end.Text]
	if l == nil {
		if t.c.looks.Get("looks") != nil {
			t.c.Unknown(t.end, "look", "looks", t.c.lookNames)
		}
		return engine.Cue{At: t.song.Length()}
	}
	t.look, t.name, t.effects, t.levels, t.build = l, t.end.Text, l.effects, nil, nil
	t.recordKept(l.parts)
	cue := t.complete(t.song.Length(), l.fade)
	cue.Source = t.end.Where()
	cue.Sends = l.sends
	return cue
}

// variants returns the cues of a section for each pass that has cues of its own.
func (t *cueBuilder) variants(section int32, sheets []sheet) []engine.Variant {
	s := &t.song.Sections[section]
	var inside []sheet
	passes := []string{"again"}
	own := false
	for _, sheet := range sheets {
		if sheet.at < s.Start || sheet.at >= s.Start+s.Length {
			continue
		}
		inside = append(inside, sheet)
		if in := sheet.passes(); in != "" {
			own = true
			if in != "first" && !slices.Contains(passes, in) {
				passes = append(passes, in)
			}
		}
	}
	if !own {
		return nil
	}
	var all []engine.Variant
	for _, pass := range passes {
		run := t.copy()
		v := engine.Variant{Section: section, Pass: passOf(pass)}
		for _, sheet := range forPass(inside, pass) {
			v.Cues = append(v.Cues, run.cue(sheet))
		}
		all = append(all, v)
	}
	return all
}

// passOf reads "again", "last" or "pass 3".
func passOf(pass string) engine.Pass {
	switch pass {
	case "again":
		return engine.AgainPass
	case "last":
		return engine.LastPass
	}
	n, _ := strconv.Atoi(strings.TrimPrefix(pass, "pass "))
	return engine.Pass(n)
}

// forPass returns the cues of a pass: those for all passes, and its own, which replace
// them at the same place. Cues for "again" are for pass 2 and later too.
func forPass(sheets []sheet, pass string) []sheet {
	rank := func(in string) int {
		switch {
		case in == pass:
			return 3
		case in == "again" && strings.HasPrefix(pass, "pass ") && pass != "pass 1":
			return 2
		case in == "first" && pass == "pass 1":
			return 2
		case in == "":
			return 1
		}
		return 0
	}
	var list []sheet
	for _, s := range sheets {
		r := rank(s.passes())
		switch last := len(list) - 1; {
		case r == 0:
		case last >= 0 && list[last].at == s.at && s.at >= 0:
			if r > rank(list[last].passes()) {
				list[last] = s
			}
		default:
			list = append(list, s)
		}
	}
	return list
}

// copy returns an independent copy.
func (t *cueBuilder) copy() cueBuilder {
	c := *t
	c.kept, c.order, c.levels = maps.Clone(t.kept), slices.Clone(t.order), slices.Clone(t.levels)
	return c
}

func (t *cueBuilder) cue(s sheet) engine.Cue {
	fade := s.v.Get("fade").Span()
	var sends []int32
	if name := s.v.Get("look"); name != nil {
		if l := t.c.look[name.Text]; l != nil {
			t.look, t.name, t.effects, t.levels = l, name.Text, l.effects, nil
			t.recordKept(l.parts)
			sends = l.sends
			if s.v.Get("fade") == nil {
				fade = l.fade
			}
		} else if t.c.looks.Get("looks") != nil {
			t.c.Unknown(name, "look", "looks", t.c.lookNames)
		}
	}
	if v := s.v.Get("effects"); v != nil {
		t.effects = t.c.effectsOf(v)
	}
	t.setBuild(s)
	if v := s.v.Get("set"); v != nil {
		parts := t.c.readLevels(v)
		t.levels = append(slices.Clip(t.levels), t.c.withoutKept(parts)...)
		t.recordKept(parts)
	}
	cue := t.complete(s.at, fade)
	cue.Source = s.v.Where()
	cue.Sends = sends
	if v := s.v.Get("send"); v != nil {
		cue.Sends = t.c.sends(v)
	}
	if !changesLight(s.v) {
		cue.SendsOnly, cue.Fade, cue.ColourFade = true, t.fade, t.tint
		return cue
	}
	cue.Pickup = s.pickup
	if v := s.v.Get("colour fade"); v != nil {
		tint := v.Span()
		cue.ColourFade = &tint
	}
	t.fade, t.tint = cue.Fade, cue.ColourFade
	return cue
}

// changesLight reports whether a cue changes the light; else it only sends.
func changesLight(v *language.Value) bool {
	return v.Get("look") != nil || v.Get("effects") != nil || v.Get("set") != nil || v.Get("build") != nil
}

// complete returns a cue with all of the light.
func (t *cueBuilder) complete(at clock.Beat, fade engine.Span) engine.Cue {
	cue := engine.Cue{At: at, Name: t.name, Fade: fade, Build: t.build}
	if t.look != nil {
		cue.Parts = append(cue.Parts, t.look.stage...)
	}
	cue.Parts = append(cue.Parts, t.levels...)
	cue.Parts = append(cue.Parts, t.keptParts()...)
	for _, e := range t.effects {
		cue.Effects = append(cue.Effects, e.index)
	}
	return cue
}

// withoutKept returns the parts without kept heads, which cueBuilder.recordKept handles.
func (c *compiler) withoutKept(parts []engine.Part) []engine.Part {
	var rest []engine.Part
	for _, p := range parts {
		p.Heads = slices.DeleteFunc(slices.Clone(p.Heads), func(h int32) bool { return c.program.Heads[h].Keep })
		if len(p.Heads) > 0 {
			rest = append(rest, p)
		}
	}
	return rest
}

// recordKept records the levels that parts set on kept heads.
func (t *cueBuilder) recordKept(parts []engine.Part) {
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
			if p.SetsColour {
				l.tinted, l.colour = true, p.Colour
			}
			t.kept[h] = l
		}
	}
}

// keptParts returns the kept heads, those with the same levels in one part.
func (t *cueBuilder) keptParts() []engine.Part {
	var parts []engine.Part
	index := map[level]int{}
	for _, h := range t.order {
		l := t.kept[h]
		i, ok := index[l]
		if !ok {
			i = len(parts)
			index[l] = i
			parts = append(parts, engine.Part{Params: l.params, Values: l.values, SetsColour: l.tinted, Colour: l.colour})
		}
		parts[i].Heads = append(parts[i].Heads, h)
	}
	return parts
}
