package engine

import (
	"context"
	"fmt"
	"slices"
	"sync"

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

// MaxViews is how many callers of Loop.View may wait at a time. Each waits with
// buffers for all heads.
const MaxViews = 8

// ErrManyViews means that MaxViews callers wait for a copy of a frame.
var ErrManyViews = fmt.Errorf("%d copies of a frame are being waited for, no more can be; try again", MaxViews)

// copyRequest asks the loop for a copy of the next frame.
type copyRequest struct {
	view *View
	done chan struct{}
}

// copyRequests are those whose callers still wait.
type copyRequests struct {
	mu      sync.Mutex
	waiting int            // callers, at most MaxViews
	list    []*copyRequest // theirs, as far as their buffers are made
}

// View waits for the next frame and returns a copy of it, or the context's error, or
// ErrManyViews at once. The loop makes one copy after each frame at most.
func (l *Loop) View(ctx context.Context) (*View, error) {
	q := &l.board.requests
	if !q.enter() {
		return nil, ErrManyViews
	}
	l.board.mu.Lock()
	p := l.board.last.Program
	l.board.mu.Unlock()
	w := &copyRequest{view: &View{engine: *New(p)}, done: make(chan struct{})} // with all buffers, so that the loop allocates none
	q.add(w)
	defer q.leave(w)
	select {
	case <-w.done:
		return w.view, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// enter counts a caller, if there is room.
func (q *copyRequests) enter() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.waiting >= MaxViews {
		return false
	}
	q.waiting++
	return true
}

func (q *copyRequests) add(w *copyRequest) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.list = append(q.list, w)
}

// leave drops a request, unless it was served.
func (q *copyRequests) leave(w *copyRequest) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.waiting--
	if i := slices.Index(q.list, w); i >= 0 {
		q.list = slices.Delete(q.list, i, i+1)
	}
}

// serve makes the first copy that was asked for, unless a caller holds the lock: light
// never waits for it.
func (q *copyRequests) serve(e *Engine, pos clock.Position) {
	if !q.mu.TryLock() {
		return
	}
	defer q.mu.Unlock()
	if len(q.list) == 0 {
		return
	}
	w := q.list[0]
	q.list = slices.Delete(q.list, 0, 1)
	w.view.copyEngine(e, pos)
	close(w.done)
}
