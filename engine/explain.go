package engine

import (
	"slices"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Step is what one layer, or one part of a layer, did to a head.
type Step struct {
	Layer Layer
	// Part is the index of an effect, a floor, or a group with an override or a master.
	// None in an OverrideLayer is the house lights, in a MasterLayer the grand master.
	// In an InputLayer it is an index into Program.Faders.
	Part        int32
	Param       fixtures.Param // of an override
	Level       float64        // of a build, floor, override, fader, master or work light, 0..1
	Share       float64        // how far a build, fade, floor or override is, 0..1
	ColourShare float64        // how far a fade of colour is, 0..1
	Spared      bool           // the layer does not act on this head
	From, To    fixtures.State // of the head; From is dark in the first step
}

// Explanation is how the light of a head was made.
type Explanation struct {
	Head    int32
	Pos     clock.Position
	Status  Status
	Song    int32          // of the present cue, or None for a look
	Cue     *Cue           // the present one, or nil; read-only
	Effects []Effect       // that Step.Part is an index into; read-only
	Pass    Pass           // of the list that the cue is in; 0: the song's own
	Named   uint16         // bit 1<<Param for each parameter that the cue sets
	Steps   []Step         // in order: the layers that act on the head, or spare it
	State   fixtures.State // as encoded
	Limiter LimiterStatus  // of the worst area that the head is in; Steps say whether it acts
	Slots   []Slot         // of the head, in order, constant ones too
}

// Slot is one encoded value of a head.
type Slot struct {
	Universe  int // index into Program.Universes
	Address   int // 1..512
	Value     byte
	Fine      int // address of the low byte of 16 bits; 0: 8 bits
	FineValue byte
	Channel   fixtures.Channel
	MadeOf    []fixtures.Param // parameters that it depends on
}

// Decider returns the index of the step that decides a parameter: the last one that
// changed it, else the first.
func (x *Explanation) Decider(q fixtures.Param) int {
	for i := len(x.Steps) - 1; i > 0; i-- {
		if x.Steps[i].From[q] != x.Steps[i].To[q] {
			return i
		}
	}
	return 0
}

// Explain renders the layers of the frame again, part by part, and returns for each of
// the heads, 0..len(Program.Heads)-1, what they did to it.
func (v *View) Explain(heads ...int32) []Explanation {
	e := &v.engine.View(v.pos).engine // so that v does not change
	list := make([]Explanation, len(heads))
	for i, h := range heads {
		x := &list[i]
		*x = Explanation{Head: h, Pos: v.pos, Status: e.Status(v.pos), Song: e.shown.song, Cue: e.cue, Effects: e.cueEffects()}
		if e.shown.list != 0 {
			x.Pass = e.prog.Songs[e.shown.song].Variants[e.shown.list-1].Pass
		}
		if e.cue != nil {
			x.Named = e.cue.namedParams(h)
		}
	}
	for l := range NumLayers {
		for i := range e.layerParts(l) {
			e.explainPart(l, i, v.pos, list)
		}
	}
	out := make([]dmx.Universe, e.prog.Patch.Universes())
	e.prog.Patch.Encode(out, e.sentLight)
	for i := range list {
		list[i].State = e.sentLight[heads[i]]
		list[i].Slots = e.prog.slots(heads[i], out)
		list[i].Limiter = e.limiter.headStatus(heads[i], v.pos.At)
	}
	return list
}

// namedParams returns a bit for each parameter of a head that the cue sets.
func (c *Cue) namedParams(head int32) (bits uint16) {
	for i := range c.Parts {
		if p := &c.Parts[i]; slices.Contains(p.Heads, head) {
			bits |= p.Params
			if p.SetsColour {
				bits |= 1<<fixtures.Red | 1<<fixtures.Green | 1<<fixtures.Blue
			}
		}
	}
	return bits
}

// explainPart renders a part of a layer and adds what it did to the explanations.
func (e *Engine) explainPart(l Layer, i int, pos clock.Position, list []Explanation) {
	one := e.withOnly(l, i)
	light := e.showLight
	if l >= HoldLayer {
		light = e.sentLight
	}
	steps := make([]Step, len(list))
	acts := make([]bool, len(list))
	for n := range list {
		steps[n], acts[n] = one.describeStep(l, i, pos, list[n].Head)
		if l != LookLayer && l != HoldLayer {
			steps[n].From = light[list[n].Head]
		}
	}
	one.renderLayer(l, pos)
	for n := range list {
		if acts[n] {
			steps[n].To = light[list[n].Head]
			list[n].Steps = append(list[n].Steps, steps[n])
		}
	}
}

// layerParts returns how many parts a layer has, which are rendered in order.
func (e *Engine) layerParts(l Layer) int {
	switch l {
	case EffectLayer:
		if e.cue == nil {
			return 0
		}
		return len(e.cue.Effects)
	case BuildLayer:
		if e.cue == nil || e.cue.Build == nil {
			return 0
		}
	case FloorLayer:
		return len(e.prog.Floors)
	case OverrideLayer:
		return MaxOverrides + 1 // and the house lights
	case InputLayer:
		return len(e.prog.Faders)
	case MasterLayer:
		return min(len(e.prog.Groups), MaxGroups) + 1 // and the grand master
	}
	return 1
}

// withOnly returns a copy of the engine, with the same light, in which layer l has only
// part i.
func (e *Engine) withOnly(l Layer, i int) *Engine {
	one := *e
	switch l {
	case EffectLayer:
		cue := *e.cue
		cue.Effects = cue.Effects[i : i+1]
		one.cue = &cue
	case FloorLayer:
		prog := *e.prog
		prog.Floors = prog.Floors[i : i+1]
		one.prog = &prog
	case OverrideLayer:
		one.overrides = overrides{}
		if i < MaxOverrides {
			one.overrides.list[i] = e.overrides.list[i]
		} else {
			one.overrides.house = e.overrides.house
		}
	case InputLayer:
		prog := *e.prog
		prog.Faders = prog.Faders[i : i+1]
		one.prog, one.faders = &prog, e.faders[i:i+1]
	case MasterLayer:
		one.masters = fullMasters()
		if i < e.layerParts(l)-1 {
			one.masters.groups[i] = e.masters.groups[i]
		} else {
			one.masters.all = e.masters.all
		}
	}
	return &one
}

// describeStep describes part i of a layer, without From and To, in an engine that has
// only that part. acts reports whether the part changes a head or spares it.
func (e *Engine) describeStep(l Layer, i int, pos clock.Position, head int32) (s Step, acts bool) {
	s = Step{Layer: l, Part: None}
	h := &e.prog.Heads[head]
	if e.held && l < HoldLayer {
		return s, false
	}
	switch l {
	case LookLayer:
		return s, true
	case EffectLayer:
		s.Part = e.cue.Effects[0]
		return s, slices.Contains(e.cueEffects()[s.Part].Heads, head)
	case BuildLayer:
		b, strength, _ := e.build(pos)
		if b == nil {
			return s, false
		}
		s.Level, s.Share = b.level(int(head), strength), strength
		return s, b.Joins[head] >= 0
	case FadeLayer:
		f, t := e.fade, e.colourFade
		s.Share, s.ColourShare = f.progress(pos), t.progress(pos)
		return s, e.fade.active || e.colourFade.active || e.reloadFade.levelAt(pos.At) > 0
	case FloorLayer:
		f := &e.prog.Floors[0]
		s.Part, s.Level, s.Share = int32(i), f.Level, e.floorFade.levelAt(pos.At)
		return s, (s.Share > 0 || e.floorFade.goal > 0) && slices.Contains(f.Heads, head)
	case HazeLayer:
		return s, !e.prog.Haze.isOn(pos.At) && e.showLight[head][fixtures.Haze] > 0
	case HoldLayer:
		return s, e.held
	case OverrideLayer:
		return e.describeOverride(s, i, pos.At, head)
	case InputLayer:
		s.Part = int32(i)
		s.Level, s.Share = e.faderAt(0, pos.At)
		return s, s.Share > 0 && slices.Contains(e.prog.Faders[0].Heads, head)
	case MasterLayer:
		if i < e.layerParts(l)-1 {
			s.Part, s.Level = int32(i), e.masters.groups[i].levelAt(pos.At)
			return s, s.Level != 1 && slices.Contains(e.prog.Groups[i].Heads, head)
		}
		s.Level, s.Spared = e.masters.all.levelAt(pos.At), h.Spared
		return s, s.Level != 1
	case BlackoutLayer:
		s.Spared = h.Spared
		return s, e.masters.blackout
	case FlashLayer:
		lit := e.sentLight[head]
		e.limiter.heads[head].LimitColour(&lit)
		return s, lit != e.limiter.statesBefore[head]
	case WorkLayer:
		s.Level = e.workFade.levelAt(pos.At)
		return s, s.Level > 0 && (h.Work || h.House)
	}
	return s, false
}

func (e *Engine) describeOverride(s Step, i int, now clock.Time, head int32) (Step, bool) {
	mine := e.prog.Heads[head].House
	h := &e.overrides.house
	if i < MaxOverrides {
		h = &e.overrides.list[i]
		if h.released(now) {
			return s, false
		}
		s.Part, s.Param = h.group, h.param
		mine = int(h.group) < len(e.prog.Groups) && slices.Contains(e.prog.Groups[h.group].Heads, head)
	}
	s.Level, s.Share = h.level.levelAt(now), h.amount.levelAt(now)
	return s, mine && !h.released(now)
}

func (p *Program) slots(head int32, out []dmx.Universe) (list []Slot) {
	f := &p.Patch.Placements()[p.Heads[head].Fixture]
	own := uint8(int(head) - f.Head)
	dimmer := slices.ContainsFunc(f.Profile.Channels, func(c fixtures.Channel) bool {
		return c.Use == fixtures.Level && c.Param == fixtures.Intensity && c.Head == own
	})
	for i, c := range f.Profile.Channels {
		if c.Use == fixtures.Fine || c.Use != fixtures.Steady && c.Head != own {
			continue
		}
		s := Slot{Universe: f.Universe, Address: f.Address + i, Channel: c}
		s.Value = out[f.Universe].Slots[s.Address-1]
		for j, fine := range f.Profile.Channels {
			if c.Use == fixtures.Level && fine.Use == fixtures.Fine && fine.Head == own && fine.Param == c.Param {
				s.Fine, s.FineValue = f.Address+j, out[f.Universe].Slots[f.Address+j-1]
			}
		}
		s.MadeOf = paramsOf(f.Profile, c, dimmer)
		list = append(list, s)
	}
	return list
}

// paramsOf returns the parameters that a channel depends on.
func paramsOf(p *fixtures.Profile, c fixtures.Channel, dimmer bool) []fixtures.Param {
	var by []fixtures.Param
	switch {
	case c.Use == fixtures.Steady:
		return nil
	case c.Use == fixtures.Shutter:
		return []fixtures.Param{fixtures.Strobe}
	case c.Param.Emits() && p.Emitters != nil:
		by = []fixtures.Param{fixtures.Red, fixtures.Green, fixtures.Blue}
	case c.Param < fixtures.NumParams:
		by = []fixtures.Param{c.Param}
	default:
		return nil // an emitter that nothing mixes
	}
	if !dimmer && (c.Param.Emits() || c.Param == fixtures.UV) {
		by = append(by, fixtures.Intensity)
	}
	return by
}
