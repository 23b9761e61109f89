package explain

import (
	"fmt"
	"slices"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

// Explanation says in words what lights a fixture at a moment, and which layer
// decides each of its parameters and slots.
type Explanation struct {
	At      string            `json:"at"`
	Cue     string            `json:"cue"`
	Fixture string            `json:"fixture"`
	Profile string            `json:"profile"`
	Heads   []HeadExplanation `json:"heads"`
}

// HeadExplanation is about one head.
type HeadExplanation struct {
	Head   string             `json:"head"`
	Params []ParamExplanation `json:"parameters"`
	Slots  []SlotExplanation  `json:"slots"`
}

// ParamExplanation is about a parameter, or the three of colour.
type ParamExplanation struct {
	Name    string    `json:"name"`
	Value   []float64 `json:"value"` // 0..1, of pan and tilt -1..1; a colour's red, green and blue in linear light
	Decider string    `json:"decided_by"`
	Layers  []Reason  `json:"layers"`
}

// Reason is what one layer made of a parameter. Layers without effect on it are left
// out.
type Reason struct {
	Layer   string    `json:"layer"`
	Value   []float64 `json:"value"`
	Words   string    `json:"because"`
	Decides bool      `json:"decides"`
}

// SlotExplanation is about one encoded value.
type SlotExplanation struct {
	Universe string   `json:"universe"`
	SentAs   string   `json:"sent_as"` // "sACN 1", "Art-Net 0.0.1", "virtual"
	Protocol string   `json:"protocol"`
	Number   int      `json:"number"` // of the universe on the wire
	Address  int      `json:"address"`
	Value    int      `json:"value"` // 0..255
	Fine     int      `json:"fine_address,omitempty"`
	FineIs   int      `json:"fine_value"`
	Channel  string   `json:"channel"`
	From     []string `json:"from"` // the parameters it is made of, with who decides them
}

// Fixture explains a fixture, or only its head number head if that is above 0. The
// view must be of this show's program.
func Fixture(s *shows.Show, v *engine.View, fixture int32, head int) Explanation {
	f := &s.Program.Patch.Placements()[fixture]
	var heads []int32
	for h := range f.Profile.Heads {
		if head == 0 || head == h+1 {
			heads = append(heads, int32(f.Head+h))
		}
	}
	w := Explanation{Fixture: f.Name, Profile: f.Profile.Name}
	for _, x := range v.Explain(heads...) {
		b := explainer{show: s, x: &x}
		w.At, w.Cue = b.place(), b.cue()
		w.Heads = append(w.Heads, b.head())
	}
	return w
}

// aspects are the parameters as people see them: colour is one.
func aspects() [][]fixtures.Param {
	list := [][]fixtures.Param{{fixtures.Intensity}, {fixtures.Red, fixtures.Green, fixtures.Blue}}
	for q := fixtures.Blue + 1; q < fixtures.NumParams; q++ {
		list = append(list, []fixtures.Param{q})
	}
	return list
}

func aspectName(qs []fixtures.Param) string {
	if len(qs) > 1 {
		return "colour"
	}
	return qs[0].String()
}

// head explains what the head's slots are made of.
func (b *explainer) head() HeadExplanation {
	h := HeadExplanation{Head: b.show.Program.Heads[b.x.Head].Name}
	decides := map[string]string{}
	for _, qs := range aspects() {
		used := slices.ContainsFunc(b.x.Slots, func(s engine.Slot) bool {
			return slices.ContainsFunc(s.MadeOf, func(q fixtures.Param) bool { return slices.Contains(qs, q) })
		})
		if !used {
			continue
		}
		p := b.param(qs)
		decides[p.Name] = p.Decider
		h.Params = append(h.Params, p)
	}
	for _, s := range b.x.Slots {
		h.Slots = append(h.Slots, b.slot(&s, decides))
	}
	return h
}

// param explains a parameter.
func (b *explainer) param(qs []fixtures.Param) ParamExplanation {
	p := ParamExplanation{Name: aspectName(qs), Value: valuesOf(&b.x.State, qs)}
	decider := 0
	for _, q := range qs {
		decider = max(decider, b.x.Decider(q))
	}
	for i := range b.x.Steps {
		step := &b.x.Steps[i]
		if i > 0 && i != decider && !b.concerns(step, qs) {
			continue
		}
		r := Reason{Layer: step.Layer.String(), Value: valuesOf(&step.To, qs), Words: b.words(step, qs), Decides: i == decider}
		if r.Decides {
			p.Decider = r.Layer
		}
		p.Layers = append(p.Layers, r)
	}
	return p
}

func valuesOf(s *fixtures.State, qs []fixtures.Param) (v []float64) {
	for _, q := range qs {
		v = append(v, s[q])
	}
	return v
}

// concerns reports whether a layer that acts on the head is about a parameter.
func (b *explainer) concerns(s *engine.Step, qs []fixtures.Param) bool {
	switch s.Layer {
	case engine.EffectLayer:
		e := &b.x.Effects[s.Part]
		return e.MovesColour == (len(qs) > 1) && (e.MovesColour || slices.Contains(qs, e.Param))
	case engine.FadeLayer, engine.LookLayer, engine.HoldLayer:
		return true
	case engine.HazeLayer:
		return qs[0] == fixtures.Haze
	case engine.OverrideLayer:
		return slices.Contains(qs, s.Param)
	case engine.FlashLayer:
		return false // only where it decides
	}
	return qs[0] == fixtures.Intensity
}

// slot explains an encoded value.
func (b *explainer) slot(s *engine.Slot, decides map[string]string) SlotExplanation {
	u := &b.show.Outputs.Universes[s.Universe]
	w := SlotExplanation{
		Universe: u.Name, SentAs: u.Wire(), Protocol: u.Protocol.String(), Number: u.Number, Address: s.Address, Value: int(s.Value),
		Fine: s.Fine, FineIs: int(s.FineValue), Channel: s.Channel.Param.String(), From: []string{},
	}
	switch s.Channel.Use {
	case fixtures.Steady:
		w.Channel = "fixed"
	case fixtures.Shutter:
		w.Channel = "shutter"
	}
	for _, qs := range aspects() {
		if slices.ContainsFunc(s.MadeOf, func(q fixtures.Param) bool { return slices.Contains(qs, q) }) {
			name := aspectName(qs)
			w.From = append(w.From, fmt.Sprintf("%s, decided by %s", name, decides[name]))
		}
	}
	return w
}
