package compose

import (
	"maps"
	"slices"
	"sync"

	"tactus/shows/draft"
	"tactus/shows/language"
)

// drafts keeps the last draft under all that it depends on, so that a draft that somebody
// has looked at is there when it is taken. The zero value is ready.
type drafts struct {
	mu      sync.Mutex
	sources map[string][]byte
	unread  language.Problems
	song    string
	last    *draft.Draft
	err     error
}

// of drafts a song.
func (d *drafts) of(sources map[string][]byte, unread language.Problems, song string) (*draft.Draft, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.sources == nil || d.song != song || !sameSources(d.sources, sources) || !slices.Equal(d.unread, unread) {
		d.last, d.err = draft.Of(sources, unread, song)
		d.sources, d.unread, d.song = maps.Clone(sources), unread, song
	}
	return d.last, d.err
}
