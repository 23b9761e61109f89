package engine

import (
	"slices"

	"tactus/fixtures"
)

// memory is all that a frame depends on besides the program, its position in the
// music and the commands since the frame before. Engines with equal programs and
// equal memories make equal frames of equal commands and positions from then on.
//
// It is copied as one (copy), taken over by another program as one
// (Reload.carry), and made again from a journal as one (Replay). What is not in
// here is either the program, which nobody writes to, or worked out anew for each
// frame.
type memory struct {
	State // playback, fades, masters, overrides: a value

	cue     *Cue     // in force, of a song or a look; nil at first; read-only
	waves   []Effect // its effects when the program no longer has it; else nil
	house   *Palette // of looks outside songs; read-only
	palette *Palette // of the cue in force; read-only
	meter   Meter    // of the song that the cue is of

	// One state a head:
	kept  []fixtures.State // what kept heads show unless a cue names them
	still []fixtures.State // the cue in force, settled and without effects
	from  []fixtures.State // the light when the fade began
	under []float64        // intensity when the floors began to hold or to let go
	light []fixtures.State // of the frame before, below the operator and the masters

	gap   []fixtures.State // from the light to what was lit before a revision of the show
	apart slide            // how much of that is left

	limit limiter // the flash limiter: the changes of the last second, and the frame before
}

// newMemory is the memory before the first frame. All that frames need is made
// here.
func newMemory(p *Program) memory {
	n := len(p.Heads)
	m := memory{
		State: p.StartState(), palette: &plain, meter: common,
		kept: make([]fixtures.State, n), still: make([]fixtures.State, n), from: make([]fixtures.State, n),
		light: make([]fixtures.State, n), gap: make([]fixtures.State, n), under: make([]float64, n),
		limit: newLimiter(p),
	}
	if p.House != (Palette{}) {
		m.palette = &p.House
	}
	m.house = m.palette
	return m
}

// copy makes m equal to another memory, and share nothing with it that is written
// to. It touches no heap once m has had one of that size, unless a revision of the
// show has lost the cue in force.
func (m *memory) copy(from *memory) {
	own := *m
	*m = *from
	m.kept = append(own.kept[:0], from.kept...)
	m.still = append(own.still[:0], from.still...)
	m.from = append(own.from[:0], from.from...)
	m.under = append(own.under[:0], from.under...)
	m.light = append(own.light[:0], from.light...)
	m.gap = append(own.gap[:0], from.gap...)
	m.limit = own.limit
	m.limit.copy(&from.limit)
	m.waves = slices.Clone(from.waves) // mostly nil
	for i := range m.waves {
		m.waves[i].Heads = slices.Clone(m.waves[i].Heads)
	}
}
