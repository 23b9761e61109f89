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

	cue         *Cue     // in force, of a song or a look; nil at first; read-only
	lostEffects []Effect // its effects when the program no longer has it; else nil
	lookPalette *Palette // of looks outside songs; read-only
	palette     *Palette // of the cue in force; read-only
	meter       Meter    // of the song that the cue is of

	// One state a head:
	keptLight       []fixtures.State // what kept heads show unless a cue names them
	settledLight    []fixtures.State // the cue in force, settled and without effects
	fadeFrom        []fixtures.State // the light when the fade began
	lightBelowFloor []float64        // intensity when the floors began to hold or to let go
	showLight       []fixtures.State // of the frame before, below the operator and the masters

	reloadGap  []fixtures.State // from the light to what was lit before a revision of the show
	reloadFade slide            // how much of that is left

	limiter limiter // the flash limiter: the changes of the last second, and the frame before
}

// newMemory is the memory before the first frame. All that frames need is made
// here.
func newMemory(p *Program) memory {
	n := len(p.Heads)
	m := memory{
		State: p.StartState(), palette: &plain, meter: common,
		keptLight: make([]fixtures.State, n), settledLight: make([]fixtures.State, n), fadeFrom: make([]fixtures.State, n),
		showLight: make([]fixtures.State, n), reloadGap: make([]fixtures.State, n), lightBelowFloor: make([]float64, n),
		limiter: newLimiter(p),
	}
	if p.House != (Palette{}) {
		m.palette = &p.House
	}
	m.lookPalette = m.palette
	return m
}

// copy makes m equal to another memory, and share nothing with it that is written
// to. It touches no heap once m has had one of that size, unless a revision of the
// show has lost the cue in force.
func (m *memory) copy(from *memory) {
	own := *m
	*m = *from
	m.keptLight = append(own.keptLight[:0], from.keptLight...)
	m.settledLight = append(own.settledLight[:0], from.settledLight...)
	m.fadeFrom = append(own.fadeFrom[:0], from.fadeFrom...)
	m.lightBelowFloor = append(own.lightBelowFloor[:0], from.lightBelowFloor...)
	m.showLight = append(own.showLight[:0], from.showLight...)
	m.reloadGap = append(own.reloadGap[:0], from.reloadGap...)
	m.limiter = own.limiter
	m.limiter.copy(&from.limiter)
	m.lostEffects = slices.Clone(from.lostEffects) // mostly nil
	for i := range m.lostEffects {
		m.lostEffects[i].Heads = slices.Clone(m.lostEffects[i].Heads)
	}
}
