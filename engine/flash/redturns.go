package flash

import "tactus/fixtures"

// addedWhite is white light, of full, that lies over everything when hues are taken:
// light near black has none.
const addedWhite = 0.004

// hue is what counts of a light for red.
type hue struct {
	u, v  float64 // CIE 1976
	ratio float64 // R/(R+G+B)
}

// hueOf returns the hue of a light under the veil. Black has that of white.
func hueOf(l fixtures.RGB) hue {
	r, g, b := l[0]+addedWhite, l[1]+addedWhite, l[2]+addedWhite
	// IEC 61966-2-1, the three rows of RGB to XYZ; CIE 15, u' and v'.
	x := float64(0.4123907993*r) + float64(0.3575843394*g) + float64(0.1804807884*b)
	y := float64(0.2126390059*r) + float64(0.7151686788*g) + float64(0.0721923154*b)
	z := float64(0.0193308187*r) + float64(0.1191947798*g) + float64(0.9505321522*b)
	h := hue{u: 0.1978398, v: 0.4683363}
	if d := x + float64(15*y) + float64(3*z); d > 0 {
		h.u, h.v = 4*x/d, 9*y/d
	}
	r, g, b = max(r, 0), max(g, 0), max(b, 0)
	if sum := r + g + b; sum > 0 {
		h.ratio = r / sum
	}
	return h
}

// distanceSquared returns the square of the distance in u'v'.
func (h hue) distanceSquared(o hue) float64 {
	u, v := h.u-o.u, h.v-o.v
	return float64(u*u) + float64(v*v)
}

// pureRed is the red of sRGB in u'v': 4x/(-2x+12y+3), 9y/(-2x+12y+3) of x 0.64,
// y 0.33.
func pureRed() hue { return hue{u: 2.56 / 5.68, v: 2.97 / 5.68, ratio: 1} }

// redTurns follows hue between its turning points: into red is a change from the
// least red since it was left, out of red is one from the reddest since it was
// entered.
type redTurns struct {
	started   bool
	way       Way // Rise: in red
	turn      hue // what the next change counts from
	from      hue // where the last one came from
	uncertain bool
	ongoing   bool
}

// redStepSquared is the square of how far a change has to go; tight counts early.
func redStepSquared(margin float64) float64 { d := RedStep - 4*margin; return d * d }

// predict returns the change that a hue completes.
func (r *redTurns) predict(h hue, margin float64) Way {
	if !r.started || h.distanceSquared(r.turn) <= redStepSquared(margin) {
		return Level
	}
	switch floor := RedRatio - 4*margin - rounding; {
	case r.way == Rise && r.turn.ratio >= floor:
		return Fall
	case r.way != Rise && h.ratio >= floor:
		return Rise
	case r.way == Level && r.turn.ratio >= floor:
		return Fall
	}
	return Level
}

// observe moves on to a light.
func (r *redTurns) observe(l fixtures.RGB, margin float64) Way {
	h := hueOf(l)
	way := r.predict(h, margin)
	r.ongoing = false
	switch {
	case !r.started:
		*r = redTurns{started: true, turn: h}
	case way != Level:
		r.way, r.from, r.turn = way, r.turn, h
		r.uncertain = margin > 0 && !r.certain(h, margin)
	default:
		near, was := h.distanceSquared(pureRed()), r.turn.distanceSquared(pureRed())
		further := r.way == Rise && near < was || r.way == Fall && near > was
		if r.uncertain {
			r.ongoing, r.uncertain = true, !r.certain(h, margin)
		}
		if further || r.way == Level && r.turn.ratio < RedRatio && near > was {
			r.turn = h
		}
	}
	return way
}

// certain reports whether any meter has the last change by now.
func (r *redTurns) certain(h hue, margin float64) bool {
	red := h
	if r.way == Fall {
		red = r.from
	}
	return h.distanceSquared(r.from) > redStepSquared(-margin) && red.ratio >= RedRatio+4*margin
}
