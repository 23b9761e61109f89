package plan

import (
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
)

// Brightness returns how bright states of all heads make the stage, 0..100, or more where
// deep colours are brighter than white: lightness L* (CIE 15) of the mean light of the
// heads that songs light, by their share of it. Sections are measured by the same.
func Brightness(p *engine.Program, states []fixtures.State) float64 {
	heads := flash.Heads(p.Patch)
	lights := make([]fixtures.RGB, len(heads))
	for h := range heads {
		lights[h] = heads[h].Light(&states[h])
	}
	stage := flash.NewArea("stage", heads, shows.StageHeads(p))
	return fixtures.Lightness(flash.Luminance(stage.Light(lights)))
}
