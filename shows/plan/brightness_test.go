package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// All heads of the stage at full white are 100, dark is 0, and house lights do not count.
func TestBrightness(t *testing.T) {
	p := showtest.Demo(t).Program
	states := make([]fixtures.State, len(p.Heads))
	assert.InDelta(t, 0, plan.Brightness(p, states), 0)
	for _, h := range shows.StageHeads(p) {
		states[h].SetColour(fixtures.RGB{1, 1, 1})
		states[h][fixtures.Intensity] = 1
	}
	full := plan.Brightness(p, states)
	assert.InDelta(t, 100, full, 0.5)
	for h := range p.Heads {
		if p.Heads[h].House {
			states[h][fixtures.Intensity] = 1
		}
	}
	assert.InDelta(t, full, plan.Brightness(p, states), 0)
}
