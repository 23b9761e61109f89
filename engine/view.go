package engine

import (
	"context"
	"slices"

	"tactus/clock"
	"tactus/fixtures"
)

// View is a copy of all that the light of one frame was made of. It is for those
// who ask why: the engine goes on without it.
type View struct {
	engine Engine
	pos    clock.Position
}

// View copies where the show stands at a position, mostly that of the last
// Frame. It allocates, and is for the goroutine that owns the engine.
func (e *Engine) View(pos clock.Position) *View {
	v := &View{}
	v.take(e, pos)
	return v
}

// take copies an engine. It touches no heap once v has had one of that size,
// unless a revision of the show has lost the cue in force.
func (v *View) take(e *Engine, pos clock.Position) {
	own := v.engine
	v.engine, v.pos = *e, pos
	for _, c := range []struct {
		to       *[]fixtures.State
		own, its []fixtures.State
	}{
		{&v.engine.kept, own.kept, e.kept},
		{&v.engine.still, own.still, e.still},
		{&v.engine.from, own.from, e.from},
		{&v.engine.light, own.light, e.light},
		{&v.engine.lit, own.lit, e.lit},
		{&v.engine.gap, own.gap, e.gap},
		{&v.engine.limit.shown, own.limit.shown, e.limit.shown},
	} {
		*c.to = append(c.own[:0], c.its...)
	}
	v.engine.limit.retold = true
	v.engine.under = append(own.under[:0], e.under...)
	v.engine.out = append(own.out[:0], e.out...)
	v.engine.waves = slices.Clone(e.waves) // mostly nil; a later revision writes to them
	for i := range v.engine.waves {
		v.engine.waves[i].Heads = slices.Clone(v.engine.waves[i].Heads)
	}
}

// Program returns the show that was being played.
func (v *View) Program() *Program { return v.engine.prog }

// Position returns the frame's place in the music.
func (v *View) Position() clock.Position { return v.pos }

// wish is for a copy of the next frame.
type wish struct {
	view *View
	done chan struct{}
	next *wish
}

// View waits for the next frame and returns a copy of it. It is made between
// frames, one a frame, so that light never waits. Without a frame it returns the
// context's error.
func (l *Loop) View(ctx context.Context) (*View, error) {
	w := &wish{view: &View{}, done: make(chan struct{})}
	l.board.mu.Lock()
	n, u := len(l.board.last.Heads), len(l.board.last.Universes)
	w.view.engine.room(n, u)
	w.view.engine.gap, w.view.engine.limit.shown = make([]fixtures.State, n), make([]fixtures.State, n)
	last := &l.board.wishes
	for *last != nil {
		last = &(*last).next
	}
	*last = w
	l.board.mu.Unlock()
	select {
	case <-w.done:
		return w.view, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// grant makes the first copy that is wished for.
func (b *board) grant(e *Engine, pos clock.Position) {
	if w := b.wishes; w != nil {
		b.wishes = w.next
		w.view.take(e, pos)
		close(w.done)
	}
}
