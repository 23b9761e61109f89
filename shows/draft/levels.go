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
// the energies, and an energy means the same in every song: a look in a deep blue is
// darker than a calm one in warm white. What it cannot foresee, measuring puts right
// (improve.go).
type balance struct {
	*song
	heads   []flash.Head
	stage   []int32
	flux    float64 // of the stage at full
	trusses []truss
	wanted  map[int]float64 // by energy: the L* that its sections are to have
}

// shares are the shares of its level, by truss, that a section keeps before it is scaled;
// 1 for those that are missing.
type shares map[string]float64

const (
	// leastStep is by how much L* is to rise with each energy at least; 1 is just seen
	// side by side (CIE 15).
	leastStep = 2.5
	// An energy has about this L*, so that energies mean the same in every song of a
	// set: wantedAtZero, and wantedEach for each energy. Common practice, no source.
	wantedAtZero, wantedEach = 20, 5
	wantedWithin             = 2  // L*: a look that is so near keeps its own levels
	leastLight               = 12 // L*: nothing is made darker than this
	leastScale, mostScale    = 0.2, 2.2
)

// newBalance sets the lightness of each energy. from is what every section keeps of its
// levels.
func newBalance(s *song, c *climb, from func([]truss) shares) *balance {
	b := &balance{song: s, heads: flash.Heads(s.show.Program.Patch), stage: shows.StageHeads(s.show.Program), trusses: trussesOf(s.show), wanted: map[int]float64{}}
	for _, h := range b.stage {
		b.flux += b.heads[h].Flux
	}
	keep, list := from(b.trusses), energies(s)
	reach := map[int]float64{}
	for i, e := range slices.Backward(list) { // from the strongest: each is darker than the next
		p := b.pictureOf(c, e)
		reach[e] = b.lightness(p, keep, mostScale)
		b.wanted[e] = min(reach[e], wantedAtZero+wantedEach*float64(e))
		if i+1 < len(list) {
			next := list[i+1]
			b.wanted[e] = min(b.wanted[e], b.wanted[next]-leastStep*float64(next-e))
		}
		b.wanted[e] = max(leastLight, b.wanted[e], b.lightness(p, keep, leastScale))
	}
	for i, e := range list[min(1, len(list)):] { // and brighter than the one before, as far as its light goes
		before := list[i]
		b.wanted[e] = max(b.wanted[e], min(reach[e], b.wanted[before]+leastStep/2*float64(e-before)))
	}
	return b
}

// pictureOf returns the light of the first section of an energy.
func (b *balance) pictureOf(c *climb, energy int) picture {
	i := slices.IndexFunc(b.parts, func(p part) bool { return p.energy == energy })
	return c.picture(c.at[energy], b.parts[i].name)
}

// scale returns by how much all levels of a section are scaled, so that it is about as
// bright as its energy is to be.
func (b *balance) scale(energy int, p picture, keep shares) float64 {
	wanted, ok := b.wanted[energy]
	if !ok || len(b.trusses) == 0 || math.Abs(b.lightness(p, keep, 1)-wanted) <= wantedWithin {
		return 1
	}
	low, high := leastScale, mostScale
	for range 12 {
		middle := (low + high) / 2
		if b.lightness(p, keep, middle) > wanted {
			high = middle
		} else {
			low = middle
		}
	}
	return low
}

// lightness returns the L* of the stage, 0..100, in a picture whose levels are scaled:
// without the fade into it, its effects in the mean.
func (b *balance) lightness(p picture, keep shares, scale float64) float64 {
	if b.flux == 0 {
		return 0
	}
	return fixtures.Lightness(max(0, b.light(p, keep, scale, b.stage)/b.flux))
}

// share returns the share of the stage's light that a truss has in a picture, 0..1.
func (b *balance) share(p picture, t *truss) float64 {
	if all := b.light(p, nil, 1, b.stage); all > 0 {
		return b.light(p, nil, 1, t.heads) / all
	}
	return 0
}

// light returns the light of some heads in a picture, in the units of their flux.
func (b *balance) light(p picture, keep shares, scale float64, heads []int32) (sum float64) {
	look := b.lookCalled(p.look)
	if look == nil {
		return 0
	}
	states := make([]fixtures.State, len(b.heads))
	for i := range look.Parts {
		part := &look.Parts[i]
		for _, h := range part.Heads {
			if part.Sets(fixtures.Intensity) {
				states[h][fixtures.Intensity] = part.Values[fixtures.Intensity]
			}
			if part.SetsColour {
				states[h].SetColour(b.colour(part.Colour, h))
			}
		}
	}
	for i := range b.trusses {
		t := &b.trusses[i]
		for _, h := range t.heads {
			v := &states[h][fixtures.Intensity]
			*v = keep.level(t, *v, scale)
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

// colour returns a colour of the song as a head shows it.
func (b *balance) colour(c engine.Colour, head int32) fixtures.RGB {
	rgb, deep := c.In(&b.song.song.Palette), &b.song.song.Deep
	bright := deep.Fixed && c.Fixed || !c.Fixed && deep.Roles[c.Role]
	if m := b.heads[head].Mixer; bright && m != nil {
		return rgb.Scaled(m.DeepGain(rgb))
	}
	return rgb
}

// level returns the level, 0..1, of a truss that a look sets to a level: never so low that
// it counts as dark, if it is lit.
func (k shares) level(t *truss, level, scale float64) float64 {
	return max(min(level, leastTruss), min(1, float64(level*k.of(t.name)*scale)))
}

func (k shares) of(truss string) float64 {
	if share, ok := k[truss]; ok {
		return share
	}
	return 1
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
