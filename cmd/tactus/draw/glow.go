package draw

import (
	"math"

	"tactus/fixtures"
)

// glow is the light around the lamps. A cell is two pixels, one above the other. A
// lamp's share of each pixel never changes, so it is calculated once; a frame adds
// up lamps times shares.
type glow struct {
	w, h   int // pixels
	shares [][]share
	sum    []light
	base   []light
}

// share is the part of a lamp's light that reaches a pixel: near always, beam in
// proportion to the haze.
type share struct {
	pixel      int32
	near, beam float32
}

// Constants of the picture, all chosen by eye. Shares are parts of a lamp's light.
const (
	nearShare  = 0.16
	beamShare  = 0.34
	poolShare  = 0.30
	beamSpread = 0.30 // growth of a beam's half width for each pixel of length
	floorRows  = 4    // pixels
	leastShare = 0.004
	manyLamps  = 24.0 // with more lamps, each lamp's light reaches less far
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
		g.shares[i] = g.reachedPixels(&lamps[i], least, pool)
	}
	return g
}

// reachedPixels lists the pixels that get more than least of a lamp's light. It subtracts
// least from each share, so that the light has no visible edge.
func (g *glow) reachedPixels(l *lamp, least float32, pool float64) (list []share) {
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
			if l.post { // the light spreads more along the upright than across it
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

// addLamps adds up the light of one frame. haze, 0..1, is the part of the beams that
// shows.
func (g *glow) addLamps(lamps []lamp, heads []fixtures.State, haze float32) {
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

// paint draws the light on the canvas from row top on: the upper pixel as the
// foreground of a half block, the lower one as its background.
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
