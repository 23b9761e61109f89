package engine

import (
	"context"

	"tactus/clock"
	"tactus/fixtures"
)

// View is a copy of an engine after a frame, by which View.Explain explains the light
// while the engine goes on.
type View struct {
	engine Engine
	pos    clock.Position
}

// View copies the engine after the frame at pos. It allocates, and is for the
// goroutine that owns the engine.
func (e *Engine) View(pos clock.Position) *View {
	v := &View{}
	v.copyEngine(e, pos)
	return v
}

// copyEngine copies an engine. Like memory.copy it allocates nothing once v has had
// that size.
func (v *View) copyEngine(e *Engine, pos clock.Position) {
	v.engine.memory.copy(&e.memory)
	v.engine.prog, v.engine.isCopy, v.pos = e.prog, true, pos
	v.engine.sentLight = append(v.engine.sentLight[:0], e.sentLight...)
	if len(v.engine.fadeWays) != len(e.fadeWays) {
		v.engine.fadeWays = make([]fixtures.Arc, len(e.fadeWays))
	}
	v.engine.universes = append(v.engine.universes[:0], e.universes...)
}

// Program returns the program that was played.
func (v *View) Program() *Program { return v.engine.prog }

// Position returns the position of the frame.
func (v *View) Position() clock.Position { return v.pos }

// copyRequest asks the loop for a copy of the next frame.
type copyRequest struct {
	view *View
	done chan struct{}
}

// View waits for the next frame and returns a copy of it, or the context's error. The
// loop makes one copy after each frame at most.
func (l *Loop) View(ctx context.Context) (*View, error) {
	l.board.mu.Lock()
	p := l.board.last.Program
	l.board.mu.Unlock()
	w := &copyRequest{view: &View{engine: *New(p)}, done: make(chan struct{})} // with all buffers, so that the loop allocates none
	l.board.mu.Lock()
	l.board.requests = append(l.board.requests, w)
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
	if len(b.requests) == 0 {
		return
	}
	w := b.requests[0]
	b.requests = b.requests[1:]
	w.view.copyEngine(e, pos)
	close(w.done)
}
