package engine

import (
	"slices"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Step is what one layer, or one part of a layer, made of a head.
type Step struct {
	Layer Layer
	// Part is the effect of an EffectLayer, the floor of a FloorLayer, and the
	// group of an OverrideLayer or MasterLayer: None for the house lights there,
	// for the grand master here.
	Part        int32
	Param       fixtures.Param // OverrideLayer
	Level       float64        // floor, override, master, work light: 0..1
	Share       float64        // how far a fade, floor or override has come, 0..1
	ColourShare float64        // how far a fade of colour has, 0..1
	Spared      bool           // it leaves this head alone
	From, To    fixtures.State // of the head; From is dark in the first step
}

// Explanation says how the light of a head was made.
type Explanation struct {
	Head    int32
	Pos     clock.Position
	Status  Status
	Song    int32          // that the cue in force is of, or None for a look
	Cue     *Cue           // in force, or nil; read-only
	Effects []Effect       // that the steps' effects are of; read-only
	Pass    Pass           // the cue is of a list of its own for this pass; 0: of the song's
	Named   uint16         // bit 1<<Param: the cue names it for this head
	Steps   []Step         // in order; the layers that act, or that spare the head
	State   fixtures.State // as encoded
	Limiter LimiterStatus  // of what holds this head back, or would: see Decider for whether it does
	Slots   []Slot         // of the head, in order, with what never changes
}

// Slot is one encoded value of a head.
type Slot struct {
	Universe  int // index into Program.Universes
	Address   int // 1..512
	Value     byte
	Fine      int // address of the low byte of 16 bits; 0: 8 bits
	FineValue byte
	Channel   fixtures.Channel
	MadeOf    []fixtures.Param // what it is made of
}

// Decider returns which of the steps has the word over a parameter: the last
// that changed it, or the first of all.
func (x *Explanation) Decider(q fixtures.Param) int {
	for i := len(x.Steps) - 1; i > 0; i-- {
		if x.Steps[i].From[q] != x.Steps[i].To[q] {
			return i
		}
	}
	return 0
}

// Explain lays the layers of the frame again, one by one and part by part, and
// notes what each makes of some heads, 0..len(Program.Heads)-1. It returns an
// explanation a head.
func (v *View) Explain(heads ...int32) []Explanation {
	e := &v.engine.View(v.pos).engine // v may be asked again
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

// namedParams returns a bit for each parameter of a head that the cue says.
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

// explainPart lays a part of a layer and notes what it makes of heads.
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

// layerParts returns how many parts a layer has, which are laid one after another.
func (e *Engine) layerParts(l Layer) int {
	switch l {
	case EffectLayer:
		if e.cue == nil {
			return 0
		}
		return len(e.cue.Effects)
	case FloorLayer:
		return len(e.prog.Floors)
	case OverrideLayer:
		return MaxOverrides + 1 // and the house lights
	case MasterLayer:
		return min(len(e.prog.Groups), MaxGroups) + 1 // and the grand master
	}
	return 1
}

// withOnly returns an engine that lights the same heads, but of a layer has only
// one part.
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

// describeStep says what a part of a layer is, of an engine that has it alone, and
// whether it acts on a head. What it makes of the head, the layer itself tells.
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
	case FadeLayer:
		f, t := e.fade, e.colourFade
		s.Share, s.ColourShare = f.progress(pos), t.progress(pos)
		return s, e.fade.active || e.colourFade.active || e.reloadFade.levelAt(pos.At) > 0
	case FloorLayer:
		f := &e.prog.Floors[0]
		s.Part, s.Level, s.Share = int32(i), f.Level, e.floorFade.levelAt(pos.At)
		return s, (s.Share > 0 || e.floorFade.goal > 0) && slices.Contains(f.Heads, head)
	case HazeLayer:
		return s, !e.prog.Haze.on(pos.At) && e.showLight[head][fixtures.Haze] > 0
	case HoldLayer:
		return s, e.held
	case OverrideLayer:
		return e.describeOverride(s, i, pos.At, head)
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
		return s, e.sentLight[head] != e.limiter.statesBefore[head]
	case WorkLayer:
		s.Level = e.workFade.levelAt(pos.At)
		return s, s.Level > 0 && (h.Work || h.House)
	}
	return s, false
}

// describeOverride is about an override.
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

// slots returns the encoded values of a head.
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
		s.MadeOf = madeOf(f.Profile, c, dimmer)
		list = append(list, s)
	}
	return list
}

// madeOf returns the parameters that a channel is made of.
func madeOf(p *fixtures.Profile, c fixtures.Channel, dimmer bool) []fixtures.Param {
	colour := []fixtures.Param{fixtures.Red, fixtures.Green, fixtures.Blue}
	var by []fixtures.Param
	switch {
	case c.Use == fixtures.Steady:
		return nil
	case c.Use == fixtures.Shutter:
		return []fixtures.Param{fixtures.Strobe}
	case c.Param.Emits() && p.Emitters != nil:
		by = colour
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
