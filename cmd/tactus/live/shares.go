package live

import (
	"sync/atomic"

	"github.com/rs/zerolog"

	"tactus/engine"
)

// Sizes of the queues of those who ask beside the MIDI port of the clock, and how much of
// each a frame takes, 44 times a second. A hand on ten faders sends some hundred messages
// a second.
const (
	padQueue     = 256
	padsPerFrame = 64
	oscQueue     = 256
	oscPerFrame  = 32
	pageQueue    = 64
	pagePerFrame = 8
)

// shares are the queues of MIDI ports without the clock, of OSC and of the page into the
// loop. The port of the clock has its own, so that they never cost it a tick or a note.
type shares struct {
	pads        chan engine.Input
	osc, page   chan engine.Input
	pageRefused atomic.Uint64 // requests of the page that its queue had no room for
	pageLogged  uint64        // of them
}

func newShares() shares {
	return shares{pads: make(chan engine.Input, padQueue), osc: make(chan engine.Input, oscQueue), page: make(chan engine.Input, pageQueue)}
}

// list is what the loop takes from.
func (s *shares) list() []engine.Share {
	return []engine.Share{{From: s.pads, PerFrame: padsPerFrame}, {From: s.osc, PerFrame: oscPerFrame}, {From: s.page, PerFrame: pagePerFrame}}
}

// askByPage passes on a request of the page without waiting; it returns false, and counts,
// when its queue is full.
func (s *shares) askByPage(in engine.Input) bool {
	select {
	case s.page <- in:
		return true
	default:
		s.pageRefused.Add(1)
		return false
	}
}

// report logs how many requests of the page were refused since the last time.
func (s *shares) report(log zerolog.Logger) {
	if n := s.pageRefused.Load(); n > s.pageLogged {
		log.Warn().Uint64("requests", n-s.pageLogged).Msg("the page asked for more than the show takes; those who asked were told")
		s.pageLogged = n
	}
}
