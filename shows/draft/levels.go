package draft

import (
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
)

// balance estimates how bright sections are in a song's colours, so that light follows
// the energies: a look in a deep blue is darker than a calm one in warm white. What it
// cannot foresee, measuring puts right (improve.go).
type balance struct {
	*song
	heads   []flash.Head
	stage   []int32
	flux    float64 // of the stage at full
	trusses []truss
	most    map[int]float64 // by energy: the highest L* that its sections are to have
}

const (
	// leastStep is by how much L* is to rise with each energy at least; 2 is seen side
	// by side (CIE 15: 1 is just seen).
	leastStep = 2.5
	// An energy has at most this L*, so that energies mean the same in every song of a
	// set: mostAtZero, and mostEach for each energy. Common practice, no source.
	mostAtZero, mostEach = 26, 5
	leastLight           = 12 // L*: nothing is made darker than this
)

func newBalance(s *song, c *climb) *balance {
	b := &balance{song: s, heads: flash.Heads(s.show.Program.Patch), stage: shows.StageHeads(s.show.Program), trusses: trussesOf(s.show), most: map[int]float64{}}
	for _, h := range b.stage {
		b.flux += b.heads[h].Flux
	}
	above, last := math.Inf(1), 0
	for _, e := range slices.Backward(energies(s)) {
		i := slices.IndexFunc(s.parts, func(p part) bool { return p.energy == e })
		own := b.lightness(c.picture(c.at[e], s.parts[i].name), 1)
		most := min(own, mostAtZero+mostEach*float64(e))
		if !math.IsInf(above, 1) {
			most = min(most, above-leastStep*float64(last-e))
		}
		b.most[e] = max(leastLight, most)
		above, last = b.most[e], e
	}
	return b
}

// scale returns the share of its level, up to 1, that all light of a section is to have,
// so that it is no brighter than its energy may be.
func (b *balance) scale(energy int, p picture) float64 {
	most, ok := b.most[energy]
	if !ok || len(b.trusses) == 0 || b.lightness(p, 1) <= most+0.5 {
		return 1
	}
	low, high := 0.05, 1.0
	for range 12 {
		middle := (low + high) / 2
		if b.lightness(p, middle) > most {
			high = middle
		} else {
			low = middle
		}
	}
	return low
}

// lightness returns the L* of the stage, 0..100, in a picture whose levels are scaled:
// without the fade into it, its effects in the mean.
func (b *balance) lightness(p picture, scale float64) float64 {
	if b.flux == 0 {
		return 0
	}
	return fixtures.Lightness(max(0, b.light(p, scale, b.stage)/b.flux))
}

// share returns the share of the stage's light that a truss has in a picture, 0..1.
func (b *balance) share(p picture, t *truss) float64 {
	if all := b.light(p, 1, b.stage); all > 0 {
		return b.light(p, 1, t.heads) / all
	}
	return 0
}

// light returns the light of some heads in a picture, in the units of their flux.
func (b *balance) light(p picture, scale float64, heads []int32) (sum float64) {
	look := b.lookCalled(p.look)
	if look == nil {
		return 0
	}
	states := make([]fixtures.State, len(b.heads))
	for i := range look.Parts {
		part := &look.Parts[i]
		for _, h := range part.Heads {
			if part.Sets(fixtures.Intensity) {
				states[h][fixtures.Intensity] = part.Values[fixtures.Intensity] * scale
			}
			if part.SetsColour {
				states[h].SetColour(part.Colour.In(&b.song.song.Palette))
			}
		}
	}
	for _, name := range p.effects {
		if e := b.effect(name); e != nil && !e.MovesColour && e.Param == fixtures.Intensity {
			for _, h := range e.Heads {
				states[h][fixtures.Intensity] = meanOf(e, states[h][fixtures.Intensity])
			}
		}
	}
	for _, h := range heads {
		sum += float64(b.heads[h].Flux * flash.Luminance(b.heads[h].Light(&states[h])))
	}
	return sum
}

// meanOf returns the mean level that an effect makes of a level over its cycle.
func meanOf(e *engine.Effect, level float64) float64 {
	const points = 16
	sum := 0.0
	for i := range points {
		w := e.Wave.At(clock.OneTurn * clock.Turn(i) / points)
		sum += e.Blend.Apply(level, w, e.Depth)
	}
	return sum / points
}

// lookCalled returns the look of a name, or nil.
func (s *song) lookCalled(name string) *engine.Cue {
	for i := range s.show.Program.Looks {
		if c := &s.show.Program.Looks[i]; c.Name == name {
			return c
		}
	}
	return nil
}
