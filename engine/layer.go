package engine

import "tactus/clock"

// Layer is a stage in making the light of a frame. Layers are laid in the order
// of their numbers: that is the order of precedence of the whole program, said
// in words in doc.go. Nothing else writes to what is encoded.
type Layer uint8

// The layers, from the lowest.
const (
	LookLayer     Layer = iota // the cue's settled light; kept groups as they were left
	EffectLayer                // waves over it
	FadeLayer                  // the cue's fade, from wherever the light was
	FloorLayer                 // floors under kept groups while someone speaks
	HazeLayer                  // the hazers' own cycle
	HoldLayer                  // what is held: none of the above is laid anew
	OverrideLayer              // operator overrides, house lights
	MasterLayer                // group masters, then the grand master
	BlackoutLayer              // all but what it spares
	WorkLayer                  // work light, over everything
	FlashLayer                 // what would flash too often is held back; nothing goes round it
	NumLayers
)

var layerNames = [NumLayers]string{
	"look", "effect", "fade", "floor", "haze cycle", "hold", "override", "master", "blackout", "work light",
	"flash limiter",
}

// String names the layer.
func (l Layer) String() string { return nameOf(layerNames[:], int(l)) }

// renderLayers makes the light of a frame.
func (e *Engine) renderLayers(pos clock.Position) {
	for l := range NumLayers {
		e.renderLayer(l, pos)
	}
}

// renderLayer lays one layer over those below it.
func (e *Engine) renderLayer(l Layer, pos clock.Position) {
	if e.held && l < HoldLayer {
		return
	}
	switch l {
	case LookLayer:
		e.renderLook()
	case EffectLayer:
		e.renderEffects(pos)
	case FadeLayer:
		e.renderFade(pos)
	case FloorLayer:
		e.renderFloors(pos.At)
	case HazeLayer:
		e.prog.pauseHaze(e.showLight, pos)
	case HoldLayer:
		copy(e.sentLight, e.showLight)
	case OverrideLayer:
		e.overrides.apply(e.sentLight, e.prog, pos.At)
	case MasterLayer:
		e.masters.apply(e.sentLight, e.prog, pos.At)
	case BlackoutLayer:
		e.masters.black(e.sentLight, e.prog)
	case WorkLayer:
		e.renderWorkLight(pos.At)
	case FlashLayer:
		e.limitFlashes(pos.At)
	}
}
