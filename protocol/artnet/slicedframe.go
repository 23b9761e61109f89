package artnet

import (
	"tactus/clock"
	"tactus/protocol/udp"
)

// slicedFrame is the batches of the links on their way: ArtDmx in slices (udp.Spread), then
// ArtSync.
type slicedFrame struct {
	left   bool       // something is left to send
	due    clock.Time // when the next slice may leave
	slices int        // how many there are
	sent   int        // of them
	sync   bool       // ArtSync follows
	err    error      // the first since the last Send
}

// maxWithheld is how many ArtSyncs in a row a node does not get because it misses levels of
// the frame: half a second at 44 frames a second. After 4 s without one nodes show levels
// as they come (Art-Net 4, ArtSync).
const maxWithheld = 22

// startFrame sends the batches if they are small; else SendSlice does. The error includes
// that of the slices since the last call.
func (s *Sender) startFrame(now clock.Time, sync bool) error {
	packets, most := 0, 0
	for _, l := range s.links {
		l.tried, l.lost, l.some = 0, false, false
		packets, most = packets+len(l.batch), max(most, len(l.batch))
	}
	s.frame = slicedFrame{left: true, due: now, slices: s.cfg.Spread.Slices(packets, most), sync: sync, err: s.frame.err}
	if s.frame.slices == 1 {
		s.sendRest(now)
	}
	err := s.frame.err
	s.frame.err = nil
	return err
}

// NextSlice returns when more of the last frame is due, if not all of it has left.
func (s *Sender) NextSlice() (at clock.Time, ok bool) { return s.frame.due, s.frame.left }

// SendSlice sends the next slice of the last frame, if one is due at now. The one after it
// is due udp.SliceEvery later. The next Send returns the first error.
func (s *Sender) SendSlice(now clock.Time) {
	if s.frame.left && now >= s.frame.due {
		s.frame.due = now + clock.Time(udp.SliceEvery)
		s.sendSlice(now)
	}
}

// sendRest sends all that is left of the last frame: packets are never a whole frame late.
func (s *Sender) sendRest(now clock.Time) {
	for s.frame.left {
		s.sendSlice(now)
	}
}

// sendSlice sends to each node its share of the frame, and after the last slice ArtSync.
func (s *Sender) sendSlice(now clock.Time) {
	f := &s.frame
	f.sent++
	for k, l := range s.links {
		upTo := len(l.batch)
		if f.sent < f.slices { // links take turns with their rest of a packet
			turn := (float64(k) + 0.5) / float64(len(s.links))
			upTo = min(upTo, int(float64(upTo*f.sent)/float64(f.slices)+turn))
		}
		if err := s.flushLink(now, l, upTo); err != nil {
			f.fail(err)
		}
	}
	if f.sent < f.slices {
		return
	}
	f.left = false
	lost, some := false, false
	for _, l := range s.links {
		l.batch = l.batch[:0]
		lost, some = lost || l.lost, some || l.some
	}
	if f.sync {
		s.sendSyncs(now, lost && some)
	}
}

// sendSyncs sends ArtSync, but not to nodes that miss levels of the frame: they show the
// whole frame before until the next whole one. lost says that any node does. Where nothing
// of a frame was sent, nothing can tear, and ArtSync is tried, which opens its socket.
func (s *Sender) sendSyncs(now clock.Time, lost bool) {
	for _, l := range s.syncLinks {
		if !l.broadcast {
			lost = l.lost && l.some
		}
		if lost && l.withheld < maxWithheld {
			l.withheld++
			continue
		}
		if !lost {
			l.withheld = 0
		}
		l.add(s.sync)
		l.tried = 0
		if err := s.flushLink(now, l, len(l.batch)); err != nil {
			s.frame.fail(err)
		}
		l.batch = l.batch[:0]
	}
}

// fail keeps the first error.
func (f *slicedFrame) fail(err error) {
	if f.err == nil {
		f.err = err
	}
}
