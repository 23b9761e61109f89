package engine

import (
	"slices"

	"tactus/fixtures"
)

// memory is all that a frame depends on besides the program, its position in the
// music and the commands since the frame before. Engines with equal programs and
// memories make equal frames from equal commands and positions.
//
// It is copied as a whole (copy), carried over to an edited program as a whole
// (Reload.carryOver), and rebuilt from a journal as a whole (Replay).
type memory struct {
	State // playback, fades, masters, overrides: a value

	cue         *Cue        // the present one, of a song or a look; nil at first; read-only
	lostEffects []Effect    // effects of a cue that an edited program lacks; else nil
	lookPalette *Palette    // of looks outside songs; read-only
	palette     *Palette    // of the present cue; read-only
	deep        DeepColours // of the present cue
	meter       Meter       // of the present cue's song

	// By head:
	keptLight       []fixtures.State // of kept heads, unless a cue names them
	settledLight    []fixtures.State // of the present cue, without fade and effects
	fadeFrom        []fixtures.State // when the fade began
	lightBelowFloor []float64        // intensity, 0..1, when the floors began to act or to release
	showLight       []fixtures.State // of the frame before, without overrides and all layers after

	reloadGap  []fixtures.State // light before the last reload minus light after it
	reloadFade slide            // the part of it that is left, 1..0
	reloadTop  float64          // largest component of a colour before the last reload, at least 1

	levelInputs []levelInput // by Program.LevelInputs
	faders      []faderState // by Program.Faders

	limiter limiter // the flash limiter: the changes of the last second, and the frame before
}

// newMemory returns the memory before the first frame, with all its buffers.
func newMemory(p *Program) memory {
	n := len(p.Heads)
	p.prepareDeepColours()
	m := memory{
		State: p.StartState(), palette: &plain, deep: p.HouseDeep, meter: common,
		keptLight: make([]fixtures.State, n), settledLight: make([]fixtures.State, n), fadeFrom: make([]fixtures.State, n),
		showLight: make([]fixtures.State, n), reloadGap: make([]fixtures.State, n), lightBelowFloor: make([]float64, n),
		levelInputs: make([]levelInput, len(p.LevelInputs)), faders: make([]faderState, len(p.Faders)),
		limiter: newLimiter(p),
	}
	if p.HousePalette != (Palette{}) {
		m.palette = &p.HousePalette
	}
	m.lookPalette = m.palette
	return m
}

// copy makes m equal to another memory; they share only what is read-only. It
// allocates nothing once m has had that size, unless the present cue was lost in a
// reload.
func (m *memory) copy(from *memory) {
	own := *m
	*m = *from
	m.keptLight = append(own.keptLight[:0], from.keptLight...)
	m.settledLight = append(own.settledLight[:0], from.settledLight...)
	m.fadeFrom = append(own.fadeFrom[:0], from.fadeFrom...)
	m.lightBelowFloor = append(own.lightBelowFloor[:0], from.lightBelowFloor...)
	m.showLight = append(own.showLight[:0], from.showLight...)
	m.reloadGap = append(own.reloadGap[:0], from.reloadGap...)
	m.levelInputs = append(own.levelInputs[:0], from.levelInputs...)
	m.faders = append(own.faders[:0], from.faders...)
	m.limiter = own.limiter
	m.limiter.copy(&from.limiter)
	m.lostEffects = slices.Clone(from.lostEffects) // mostly nil
	for i := range m.lostEffects {
		m.lostEffects[i].Heads = slices.Clone(m.lostEffects[i].Heads)
	}
}
