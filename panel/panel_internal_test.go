package panel

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/showtest"
)

// What was edited is what plays once the loop has it, and not before.
func TestEdited(t *testing.T) {
	p := New(Config{Show: showtest.Demo(t)})
	e := *p.c.Show
	e.Program = &engine.Program{Name: "edited"}
	e.Accepted = []shows.Accepted{{Finding: "flat"}}
	p.Edited(&e)
	got := p.showOf(p.c.Show.Program)
	assert.Same(t, p.c.Show.Program, got.Program, "before")
	assert.Empty(t, got.Accepted, "before")
	got = p.showOf(e.Program)
	assert.Same(t, e.Program, got.Program, "after")
	assert.Len(t, got.Accepted, 1, "after")
	other := (&engine.Program{})
	assert.Same(t, other, p.showOf(other).Program, "an unknown program is taken for another")
}
