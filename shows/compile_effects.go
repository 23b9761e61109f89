package shows

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// effect is an effect of the looks file.
type effect struct {
	made  engine.Effect
	index int32 // in Program.Effects
}

// maxPeriod is the longest cycle in quarter notes that the engine counts
// exactly (clock.TurnOf).
const maxPeriod = 319

func (c *compiler) compileEffects(v *language.Value) {
	c.effects = map[string]*effect{}
	for _, e := range v.All() {
		name := e.Key.Text
		if name == "none" {
			c.At(e.Key, `an effect cannot be called "none"`, "none stands for no effects", "")
		}
		c.effectNames = append(c.effectNames, name)
		c.effects[name] = &effect{made: c.effect(name, e.Value), index: int32(len(c.program.Effects))}
		c.effects[name].made.Source = e.Key.Where()
		c.program.Effects = append(c.program.Effects, c.effects[name].made)
	}
}

func (c *compiler) effect(name string, v *language.Value) engine.Effect {
	e := engine.Effect{
		Name: name, Heads: c.heads.targets(v.Get("on")), Wave: waveOf(v),
		Pulses: int32(v.Get("pulses").Num(1)), Depth: v.Get("depth").Share(1),
		Period: engine.Length{Num: 1, Den: 1, Bars: true},
	}
	if p := v.Get("period"); p != nil {
		e.Period = language.LengthOf(p.Text)
		c.checkPeriod(p, e.Period)
	}
	if moves := v.Get("moves"); moves.Word() == "colour" {
		e.MovesColour, e.Blend = true, engine.Replace
		e.From, e.To = c.colour(v.Get("from")), c.colour(v.Get("to"))
		c.checkHeadsHave(v.Get("on"), e.Heads, "colour", fixtures.Red)
	} else if param, ok := fixtures.ParamByName(moves.Word()); ok {
		if e.Param = param; param == fixtures.Pan || param == fixtures.Tilt {
			e.Blend = engine.Swing
		}
		c.checkHeadsHave(v.Get("on"), e.Heads, moves.Text, param)
	}
	if blend := v.Get("blend"); blend != nil {
		e.Blend, _ = engine.BlendByName(blend.Text)
	}
	points := make([]engine.Point, len(e.Heads))
	for i, h := range e.Heads {
		points[i] = c.program.Heads[h].At
	}
	e.Path, e.Spread = pathOf(v)
	e.Offsets = e.Path.Offsets(points, e.Wave.Seed, e.Spread)
	return e
}

// checkHeadsHave reports a parameter that no head of a target has.
func (c *compiler) checkHeadsHave(at *language.Value, heads []int32, what string, param fixtures.Param) {
	if len(heads) > 0 && !c.anyHeadHas(heads, param) {
		c.At(at, fmt.Sprintf("none of these fixtures has %s", what), "", "")
	}
}

// checkPeriod checks a period in the meters of all songs: an effect may play in any.
func (c *compiler) checkPeriod(at *language.Value, l engine.Length) {
	for _, m := range c.meters {
		if q := l.In(m).Quarters(); q > maxPeriod {
			c.At(at, fmt.Sprintf("%s are %.4g quarter notes in %s", at.Text, q, m),
				fmt.Sprintf("at most %d", maxPeriod), "")
			return
		}
	}
}

func waveOf(v *language.Value) engine.Wave {
	kind, _ := engine.WaveByName(v.Get("wave").Word())
	w := engine.Wave{
		Kind: kind, Low: v.Get("low").Share(0), High: v.Get("high").Share(1),
		Duty: v.Get("duty").Share(0.5), Skew: v.Get("skew").Share(0.5),
		Seed: uint64(v.Get("seed").Num(1)), Cells: int32(v.Get("cells").Num(engine.DefaultCells)),
	}
	for _, l := range v.Get("levels").Items() {
		w.Levels = append(w.Levels, l.Share(0))
	}
	return w
}

// pathOf returns the path of an effect and its spread in cycles. Without either, all
// heads move together.
func pathOf(v *language.Value) (engine.Path, float64) {
	path, spread := engine.AsListed, 0.0
	if p := v.Get("path"); p != nil {
		path, _ = engine.PathByName(p.Text)
		spread = engine.Even
	}
	s := v.Get("spread")
	switch {
	case s == nil:
	case s.Text == "even":
		spread = engine.Even
	case strings.HasSuffix(s.Text, "%"):
		spread = s.Share(0)
	default:
		amount, _ := language.Measure(s.Text)
		spread = language.Float(amount)
	}
	return path, spread
}
