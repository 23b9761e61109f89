package panel

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"sync"

	"tactus/shows/compose"
	"tactus/shows/plan"
	"tactus/shows/plot"
)

// Measured is the measured light of one song as it is edited, with what "check" finds in it.
type Measured struct {
	Tag      string `json:"tag"` // of the state that was measured
	Revision uint64 `json:"revision"`
	File     string `json:"file"` // of the song
	SongPlanned
}

// measuring measures songs on request, one at a time.
type measuring struct {
	turn chan struct{} // one request measures, the others wait

	mu       sync.Mutex
	ends     map[int]running // requests that measure or wait, by number
	next     int
	revision uint64               // of the results
	results  map[string]*Measured // by file
}

// running is a request that measures or waits.
type running struct {
	revision uint64
	end      context.CancelCauseFunc
}

var (
	errNewer  = errors.New("a newer edit has come; ask again")
	errFaulty = errors.New("the show's files have faults; correct them first")
)

// giveUpBefore ends the requests for revisions before one.
func (m *measuring) giveUpBefore(revision uint64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, r := range m.ends {
		if r.revision < revision {
			r.end(errNewer)
		}
	}
}

// begin returns a context that ends with ctx, or when a newer revision comes.
func (m *measuring) begin(ctx context.Context, revision uint64) (context.Context, func()) {
	ctx, end := context.WithCancelCause(ctx)
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.ends == nil {
		m.ends = map[int]running{}
	}
	number := m.next
	m.next++
	m.ends[number] = running{revision, end}
	return ctx, func() {
		m.mu.Lock()
		defer m.mu.Unlock()
		delete(m.ends, number)
		end(nil)
	}
}

// result returns an earlier result, or nil.
func (m *measuring) result(revision uint64, file string) *Measured {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.revision != revision {
		return nil
	}
	return m.results[file]
}

// keep keeps a result until a newer revision has one.
func (m *measuring) keep(r *Measured) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.revision != r.Revision {
		m.revision, m.results = r.Revision, map[string]*Measured{}
	}
	m.results[r.File] = r
}

// measured answers with the measured light of a song. It is given up when a newer edit
// comes.
func (p *Panel) measured(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	song, ok := songAsked(w, r, v)
	if !ok {
		return
	}
	ctx, end, ok := p.turnToMeasure(w, r, v)
	if !ok {
		return
	}
	defer end()
	m := &p.composing.measuring
	file := v.Show.Files[song]
	out := m.result(v.State.Revision, file)
	if out == nil {
		night, err := plan.Measure(ctx, v.Show, plan.Options{Songs: []int32{song}, InShort: true})
		if err != nil {
			refuse(w, http.StatusConflict, context.Cause(ctx))
			return
		}
		out = &Measured{Tag: p.composing.tag(v.State.Revision), Revision: v.State.Revision, File: file, SongPlanned: planningOf(night, 0).Songs[0]}
		m.keep(out)
	}
	send(w, http.StatusOK, out)
}

// untilNewer returns a context that ends with a request, or when an edit comes that is newer
// than the view.
func (p *Panel) untilNewer(r *http.Request, v *compose.View) (ctx context.Context, end func()) {
	m := &p.composing.measuring
	ctx, end = m.begin(r.Context(), v.State.Revision)
	if now := p.c.Composer.View(); now != v { // changed before begin
		m.giveUpBefore(now.State.Revision)
	}
	return ctx, end
}

// turnToMeasure waits until no other request measures. The context ends when a newer edit
// comes; then it refuses the request.
func (p *Panel) turnToMeasure(w http.ResponseWriter, r *http.Request, v *compose.View) (ctx context.Context, end func(), ok bool) {
	m := &p.composing.measuring
	ctx, done := p.untilNewer(r, v)
	select {
	case m.turn <- struct{}{}:
		return ctx, func() { <-m.turn; done() }, true
	case <-ctx.Done():
		refuse(w, http.StatusConflict, context.Cause(ctx))
		done()
		return nil, nil, false
	}
}

// songAsked returns the song that a request names by its file, or refuses the request.
func songAsked(w http.ResponseWriter, r *http.Request, v *compose.View) (song int32, ok bool) {
	if v.Show == nil {
		refuse(w, http.StatusConflict, errFaulty)
		return 0, false
	}
	file := r.URL.Query().Get("song")
	i := slices.Index(v.Show.Files, file)
	if i < 0 {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("song=%.60q: want the file of a song, such as songs/lanterns.yaml", file))
		return 0, false
	}
	return int32(i), true
}

// lookPicture answers with a small picture of a look, in the colours of a song or of the
// show.
func (p *Panel) lookPicture(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	etag := p.composing.etag(v.State.Revision)
	w.Header().Set("ETag", etag)
	w.Header().Set("Cache-Control", "private, no-cache") // kept, and asked for again with If-None-Match
	if r.Header.Get("If-None-Match") == etag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	what, ok := lookAsked(w, r, v)
	if !ok {
		return
	}
	src := plot.LookLight(v.Show, what).SVG()
	w.Header().Set("Content-Type", "image/svg+xml")
	_, _ = w.Write(src) // the client may have disconnected
}
