package engine

import (
	"context"

	"tactus/clock"
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
	v.copyEngine(e, pos)
	return v
}

// copyEngine copies an engine. It touches no heap once v has had one of that size,
// unless a revision of the show has lost the cue in force.
func (v *View) copyEngine(e *Engine, pos clock.Position) {
	v.engine.memory.copy(&e.memory)
	v.engine.prog, v.engine.isCopy, v.pos = e.prog, true, pos
	v.engine.sentLight = append(v.engine.sentLight[:0], e.sentLight...)
	v.engine.universes = append(v.engine.universes[:0], e.universes...)
}

// Program returns the show that was being played.
func (v *View) Program() *Program { return v.engine.prog }

// Position returns the frame's place in the music.
func (v *View) Position() clock.Position { return v.pos }

// copyRequest is for a copy of the next frame.
type copyRequest struct {
	view *View
	done chan struct{}
	next *copyRequest
}

// View waits for the next frame and returns a copy of it. It is made between
// frames, one a frame, so that light never waits. Without a frame it returns the
// context's error.
func (l *Loop) View(ctx context.Context) (*View, error) {
	l.board.mu.Lock()
	p := l.board.last.Program
	l.board.mu.Unlock()
	w := &copyRequest{view: &View{engine: *New(p)}, done: make(chan struct{})} // the loop has nothing to make
	l.board.mu.Lock()
	last := &l.board.requests
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

// serveRequest makes the first copy that was asked for.
func (b *board) serveRequest(e *Engine, pos clock.Position) {
	if w := b.requests; w != nil {
		b.requests = w.next
		w.view.copyEngine(e, pos)
		close(w.done)
	}
}
