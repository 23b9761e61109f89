package panel

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"tactus/engine"
	"tactus/shows/explain"
)

// viewWait is the longest wait for the next frame.
const viewWait = 2 * time.Second

// explain answers with the layers that decide the present light of a head.
func (p *Panel) explain(w http.ResponseWriter, r *http.Request) {
	text := r.URL.Query().Get("head")
	head, err := strconv.Atoi(text)
	if program, _ := p.current(); err != nil || head < 0 || head >= len(program.Heads) {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("head=%.20q: want a head's place in the show's list, from 0 to %d", text, len(program.Heads)-1))
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), viewWait)
	defer cancel()
	view, err := p.c.View(ctx)
	switch {
	case errors.Is(err, engine.ErrManyViews):
		w.Header().Set("Retry-After", "1") // each is served within MaxViews frames
		refuse(w, http.StatusServiceUnavailable, err)
		return
	case err != nil:
		refuse(w, http.StatusServiceUnavailable, errors.New("no frame could be made"))
		return
	}
	show := p.showOf(view.Program())
	if head >= len(show.Program.Heads) {
		refuse(w, http.StatusConflict, errors.New("the show has just been edited; try again"))
		return
	}
	at := int(show.Program.Heads[head].Fixture)
	first := show.Program.Patch.Placements()[at].Head
	send(w, http.StatusOK, explain.Fixture(&show, view, int32(at), head-first+1))
}
