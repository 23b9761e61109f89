package draw

import (
	"math"

	"tactus/fixtures"
)

// glow is the light around the lamps. A cell is two pixels, one above the
// other. Each lamp lights the same pixels by the same shares all the time, so
// that they are worked out once; a frame is a sum.
type glow struct {
	w, h   int // pixels
	shares [][]share
	sum    []light
	base   []light
}

// share is what of a lamp's light reaches a pixel: always, and along the beam
// as far as haze shows it.
type share struct {
	pixel      int32
	near, beam float32
}

// How the picture of light falls off; all by eye.
const (
	nearShare  = 0.16
	beamShare  = 0.34
	poolShare  = 0.30
	beamSpread = 0.30 // half width a pixel of length
	floorRows  = 4    // pixels
	leastShare = 0.004
	manyLamps  = 24.0 // from here on each lamp's light reaches less far
)

func newGlow(w, rows int, lamps []lamp) *glow {
	g := &glow{w: w, h: 2 * rows, shares: make([][]share, len(lamps))}
	g.sum = make([]light, g.w*g.h)
	g.base = make([]light, g.w*g.h)
	for y := range g.h {
		for x := range g.w {
			g.base[y*w+x] = light{0.0035, 0.0035, 0.006}
			if y >= g.h-floorRows {
				g.base[y*w+x] = light{0.012, 0.010, 0.008}
			}
		}
	}
	least := float32(leastShare * max(1, min(6, float64(len(lamps))/manyLamps)))
	pool := poolShare * min(1, manyLamps/2/float64(len(lamps)))
	for i := range lamps {
		g.shares[i] = g.spread(&lamps[i], least, pool)
	}
	return g
}

// spread lists the pixels that a lamp lights by more than least, and takes that
// off, so that no edge shows.
func (g *glow) spread(l *lamp, least float32, pool float64) (list []share) {
	cx, half := float64(l.x)+float64(l.w-1)/2, float64(l.w)/2
	top, bottom := 2*l.y, 2*(l.y+l.h)-1
	cy := float64(top+bottom) / 2
	for y := range g.h {
		length := float64(y - bottom)
		reach := float64(g.h - bottom)
		if !l.hung {
			length, reach = float64(top-y), float64(top+1)
		}
		for x := range g.w {
			dx := float64(x) - cx
			s := share{pixel: int32(y*g.w + x)}
			far := 1.2 + half/2
			if l.post { // along the upright more than across
				dx *= 1.5
				far *= 2
			}
			r := math.Hypot(max(0, math.Abs(dx)-half), float64(y)-cy) / far
			s.near = float32(nearShare * math.Exp(-r*r))
			if length > 0 && !l.post {
				across := dx / (half + float64(beamSpread*length))
				fade := max(0, 1-length/max(reach, 10))
				s.beam = float32(beamShare * fade * math.Exp(-across*across*1.6))
			}
			if l.hung && !l.post && y >= g.h-floorRows {
				across := dx / (half + float64(beamSpread*reach))
				s.near += float32(pool * math.Exp(-across*across*1.6))
			}
			if all := s.near + s.beam; all > least {
				s.near *= (all - least) / all
				s.beam *= (all - least) / all
				list = append(list, s)
			}
		}
	}
	return list
}

// light sums up a frame. haze, 0..1, is how much of the beams shows.
func (g *glow) light(lamps []lamp, heads []fixtures.State, haze float32) {
	copy(g.sum, g.base)
	for i := range lamps {
		l := lamps[i].output.light(&heads[lamps[i].head])
		if l[0]+l[1]+l[2] < 0.002 {
			continue
		}
		for _, s := range g.shares[i] {
			k := s.near + float32(s.beam*haze)
			p := &g.sum[s.pixel]
			p[0] += float32(l[0] * k)
			p[1] += float32(l[1] * k)
			p[2] += float32(l[2] * k)
		}
	}
}

// paint puts the light on the canvas from row top on: upper pixels as
// foreground of half blocks, lower ones as background.
func (g *glow) paint(c *canvas, top int, e *encoder) {
	for y := 0; y < g.h; y += 2 {
		for x := range g.w {
			p := c.at(x, top+y/2)
			upper, lower := e.colour(g.sum[y*g.w+x]), e.colour(g.sum[(y+1)*g.w+x])
			p.bg = lower
			if upper == lower {
				p.r, p.fg = ' ', unset
			} else {
				p.r, p.fg = '▀', upper
			}
		}
	}
}
