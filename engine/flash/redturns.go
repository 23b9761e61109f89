package flash

import "tactus/fixtures"

// addedWhite is white light, as a share of full, that is added before a hue is
// taken, so that light near black has the hue of white.
const addedWhite = 0.004

// hue is what decides whether a light is red.
type hue struct {
	u, v  float64 // CIE 1976 u', v'
	ratio float64 // R/(R+G+B)
}

// hueOf returns the hue of a light with addedWhite.
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
func (h *hue) distanceSquared(o hue) float64 {
	u, v := h.u-o.u, h.v-o.v
	return float64(u*u) + float64(v*v)
}

// pureRed is the red of sRGB, x 0.64, y 0.33: 4x/(-2x+12y+3), 9y/(-2x+12y+3).
func pureRed() hue { return hue{u: 2.56 / 5.68, v: 2.97 / 5.68, ratio: 1} }

// redTurns finds the changes to and from red between the turning points of the
// hue: to red from the least red since it was left, from red from the reddest
// since it was entered.
type redTurns struct {
	turn      hue // from which the next change counts
	from      hue // from which the last change came
	started   bool
	uncertain bool // see luminanceTurns
	way       Way  // of the last change; Rise: in red
}

// redStepSquared is the square of the distance in u'v' that a change exceeds.
func redStepSquared(margin float64) float64 { d := RedStep - 4*margin; return d * d }

// predict returns the change that a hue completes.
func (r *redTurns) predict(h *hue, margin float64) Way {
	if !r.started || h.distanceSquared(r.turn) <= redStepSquared(margin) {
		return Level
	}
	switch minRatio := RedRatio - 4*margin - rounding; {
	case r.way == Rise && r.turn.ratio >= minRatio:
		return Fall
	case r.way != Rise && h.ratio >= minRatio:
		return Rise
	case r.way == Level && r.turn.ratio >= minRatio:
		return Fall
	}
	return Level
}

// observe takes the hue of the next light. It returns the change that it completes, or Level
// and whether an uncertain change is going on.
func (r *redTurns) observe(h *hue, margin float64) (way Way, ongoing bool) {
	way = r.predict(h, margin)
	switch {
	case !r.started:
		*r = redTurns{started: true, turn: *h}
	case way != Level:
		r.way, r.from, r.turn = way, r.turn, *h
		r.uncertain = margin > 0 && !r.certain(h, margin)
	default:
		toRed, before := h.distanceSquared(pureRed()), r.turn.distanceSquared(pureRed())
		further := r.way == Rise && toRed < before || r.way == Fall && toRed > before
		if r.uncertain {
			ongoing, r.uncertain = true, !r.certain(h, margin)
		}
		if further || r.way == Level && r.turn.ratio < RedRatio && toRed > before {
			r.turn = *h
		}
	}
	return way, ongoing
}

// certain reports whether every counter within the margin has the last change.
func (r *redTurns) certain(h *hue, margin float64) bool {
	red := *h
	if r.way == Fall {
		red = r.from
	}
	return h.distanceSquared(r.from) > redStepSquared(-margin) && red.ratio >= RedRatio+4*margin
}
