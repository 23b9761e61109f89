package shows

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/fixtures"
)

// effect is an effect of the looks file and where the program has it.
type effect struct {
	made  engine.Effect
	index int32 // in Program.Effects
}

// maxPeriod is the longest cycle in quarter notes that the engine counts
// exactly (clock.TurnOf).
const maxPeriod = 319

func (c *compiler) compileEffects(v *value) {
	c.effects = map[string]*effect{}
	for _, e := range v.all() {
		name := e.key.text
		if name == "none" {
			c.at(e.key, `an effect cannot be called "none"`, "none stands for no effects", "")
		}
		c.effectNames = append(c.effectNames, name)
		c.effects[name] = &effect{made: c.effect(name, e.value), index: int32(len(c.program.Effects))}
		c.effects[name].made.Written = e.key.where()
		c.program.Effects = append(c.program.Effects, c.effects[name].made)
	}
}

func (c *compiler) effect(name string, v *value) engine.Effect {
	e := engine.Effect{
		Name: name, Heads: c.heads.targets(v.get("on")), Wave: waveOf(v),
		Pulses: int32(v.get("pulses").num(1)), Depth: v.get("depth").share(1),
		Period: engine.Length{Num: 1, Den: 1, Bars: true},
	}
	if p := v.get("period"); p != nil {
		e.Period = lengthOf(p.text)
		c.checkPeriod(p, e.Period)
	}
	if moves := v.get("moves"); moves.word() == "colour" {
		e.Tinted, e.Blend = true, engine.Replace
		e.From, e.To = c.colour(v.get("from")), c.colour(v.get("to"))
		c.able(v.get("on"), e.Heads, "colour", fixtures.Red)
	} else if param, ok := fixtures.ParamByName(moves.word()); ok {
		if e.Param = param; param == fixtures.Pan || param == fixtures.Tilt {
			e.Blend = engine.Swing
		}
		c.able(v.get("on"), e.Heads, moves.text, param)
	}
	if blend := v.get("blend"); blend != nil {
		e.Blend, _ = engine.BlendByName(blend.text)
	}
	points := make([]engine.Point, len(e.Heads))
	for i, h := range e.Heads {
		points[i] = c.program.Heads[h].At
	}
	path, spread := pathOf(v)
	e.Offsets = path.Offsets(points, e.Wave.Seed, spread)
	return e
}

// able reports levels that no head of a target could show.
func (c *compiler) able(at *value, heads []int32, what string, param fixtures.Param) {
	if len(heads) > 0 && !c.has(heads, param) {
		c.at(at, fmt.Sprintf("none of these fixtures has %s", what), "", "")
	}
}

// checkPeriod holds the period against the meters of all songs, for an effect
// may come up in any.
func (c *compiler) checkPeriod(at *value, l engine.Length) {
	for _, m := range c.meters {
		if q := l.In(m).Quarters(); q > maxPeriod {
			c.at(at, fmt.Sprintf("%s are %.4g quarter notes in %s", at.text, q, m),
				fmt.Sprintf("at most %d", maxPeriod), "")
			return
		}
	}
}

func waveOf(v *value) engine.Wave {
	kind, _ := engine.WaveByName(v.get("wave").word())
	w := engine.Wave{
		Kind: kind, Low: v.get("low").share(0), High: v.get("high").share(1),
		Duty: v.get("duty").share(0.5), Skew: v.get("skew").share(0.5),
		Seed: uint64(v.get("seed").num(1)), Cells: int32(v.get("cells").num(engine.DefaultCells)),
	}
	for _, l := range v.get("levels").items() {
		w.Levels = append(w.Levels, l.share(0))
	}
	return w
}

// pathOf returns how the effect visits its heads. Without a path or a spread
// they move together.
func pathOf(v *value) (engine.Path, float64) {
	path, spread := engine.AsListed, 0.0
	if p := v.get("path"); p != nil {
		path, _ = engine.PathByName(p.text)
		spread = engine.Even
	}
	s := v.get("spread")
	switch {
	case s == nil:
	case s.text == "even":
		spread = engine.Even
	case strings.HasSuffix(s.text, "%"):
		spread = s.share(0)
	default:
		amount, _ := measure(s.text)
		spread = float(amount)
	}
	return path, spread
}
