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

// However many log in to watch, those who control stay logged in.
func TestWatchersEvictNoController(t *testing.T) {
	var d sessions
	control := d.newToken(Control, 0)
	first := d.newToken(Watch, 1)
	for range 1000 {
		d.newToken(Watch, 2)
	}
	assert.Equal(t, Control, d.rightOf(control, 3), "the controller's token")
	assert.Equal(t, Nothing, d.rightOf(first, 3), "the first watcher's")
	assert.Len(t, d.tokens, 1+maxTokens)
}
