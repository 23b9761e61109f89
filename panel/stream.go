package panel

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"time"

	"tactus/clock"
	"tactus/engine"
)

// stream sends the same messages to all open connections.
type stream struct {
	mu      sync.Mutex
	viewers map[*viewer]struct{}
	joined  chan struct{} // a connection opened
	visited bool          // a connection has ever been open
}

// viewer is one connection. It holds one message of each kind: a newer message
// replaces one that was not sent yet.
type viewer struct {
	every  int // gets one of this many snapshots
	slots  bool
	moment chan []byte
	report chan []byte
	edited chan []byte // of the compose revision
}

// Limits of the stream.
const (
	maxViewers = 256
	looks      = 30 // snapshots a second
	stallLimit = 5 * clock.Second
)

var errFull = errors.New("too many browsers are connected")

// Run reads snapshots until ctx ends, while any connection is open.
func (p *Panel) Run(ctx context.Context) {
	tick := time.NewTicker(time.Second / looks)
	defer tick.Stop()
	var snap engine.Snapshot
	for n := 0; ; n++ {
		if p.stream.count() == 0 {
			select {
			case <-ctx.Done():
				return
			case <-p.stream.joined:
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		p.c.Snapshot(&snap)
		if snap.Program == nil {
			continue // no frame yet
		}
		p.stream.sendMoment(n, &snap, p.revisionOf(snap.Program), p.playing())
		if n%looks == 0 {
			p.stream.sendReport(message("report", p.report(&snap)))
		}
	}
}

// playing returns the state of the player, or nil without a player.
func (p *Panel) playing() *Playing {
	if p.c.Player == nil {
		return nil
	}
	at := p.c.Player.Playing()
	return &at
}

func (s *stream) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.viewers)
}

// sendMoment passes snapshot number n to the connections that want it.
func (s *stream) sendMoment(n int, snap *engine.Snapshot, revision uint64, player *Playing) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var with, without []byte
	for v := range s.viewers {
		if n%v.every != 0 {
			continue
		}
		text := &without
		if v.slots {
			text = &with
		}
		if *text == nil {
			m := momentOf(snap, revision, v.slots)
			m.Player = player
			*text = message("moment", m)
		}
		replace(v.moment, *text)
	}
}

func (s *stream) sendReport(text []byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for v := range s.viewers {
		replace(v.report, text)
	}
}

// replace puts text into a channel in place of an unread text.
func replace(c chan []byte, text []byte) {
	select {
	case c <- text:
		return
	default:
	}
	select {
	case <-c:
	default:
	}
	select {
	case c <- text:
	default:
	}
}

func (s *stream) addViewer(who *viewer) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.viewers) >= maxViewers {
		return errFull
	}
	if s.viewers == nil {
		s.viewers = map[*viewer]struct{}{}
	}
	s.viewers[who] = struct{}{}
	s.visited = true
	select {
	case s.joined <- struct{}{}:
	default:
	}
	return nil
}

func (s *stream) removeViewer(v *viewer) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.viewers, v)
}

// message is one event (WHATWG HTML, 9.2.6).
func message(kind string, v any) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "event: %s\ndata: ", kind)
	if err := json.NewEncoder(&b).Encode(v); err != nil {
		panic(err) // all types sent can be encoded
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// events sends moments, reports and new compose revisions until the client disconnects or stalls.
func (p *Panel) events(w http.ResponseWriter, r *http.Request) {
	v := &viewer{every: 1, slots: r.URL.Query().Get("slots") == "1", moment: make(chan []byte, 1), report: make(chan []byte, 1), edited: make(chan []byte, 1)}
	if text := r.URL.Query().Get("rate"); text != "" {
		rate, err := strconv.Atoi(text)
		if err != nil || rate < 1 || rate > looks {
			refuse(w, http.StatusBadRequest, fmt.Errorf("rate=%.20q: want 1 to %d moments a second", text, looks))
			return
		}
		v.every = looks / rate
	}
	if err := p.stream.addViewer(v); err != nil {
		refuse(w, http.StatusServiceUnavailable, err)
		return
	}
	defer p.stream.removeViewer(v)
	p.tellEdited(v)
	head := w.Header()
	head.Set("Content-Type", "text/event-stream")
	head.Set("Cache-Control", "no-store")
	out := http.NewResponseController(w)
	write := func(text []byte) bool {
		if out.SetWriteDeadline(p.c.Base.Wall(p.c.Base.Now()+stallLimit)) != nil {
			return false
		}
		if _, err := w.Write(text); err != nil {
			return false
		}
		return out.Flush() == nil
	}
	// After a lost connection a browser tries again in a second.
	if !write([]byte("retry: 1000\n\n")) {
		return
	}
	for {
		var text []byte
		select {
		case <-r.Context().Done():
			return
		case text = <-v.moment:
		case text = <-v.report:
		case text = <-v.edited:
		}
		// Nothing more is sent after a logout or an expired token.
		if p.rightNow(r) < Watch || !write(text) {
			return
		}
	}
}
