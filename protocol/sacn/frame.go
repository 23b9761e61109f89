package sacn

import (
	"errors"
	"net"
	"net/netip"

	"tactus/clock"
	"tactus/protocol/udp"
)

// frame is the batch on its way: the data in slices (udp.Spread), then the sync packets
// and the list of universes.
//
//	slice    0      1      2      3
//	data     ▪▪▪▪   ▪▪▪▪   ▪▪▪▪   ▪▪▪
//	sync                             ▪   without it where data of this frame was lost
//	         └ 1 ms ┘
type frame struct {
	left   bool       // something is left to send
	due    clock.Time // when the next slice may leave
	slices int        // how many there are
	next   int        // the next one
	size   int        // packets in a slice
	data   int        // messages of the batch that carry levels; the rest follows them
	ended  bool       // the last slice ended with a full buffer or a closed socket
	late   outcome    // of what has left since the last Send
}

// maxWithheld is how many sync packets in a row are withheld from a receiver: half a
// second at 44 frames a second. Then light that tears is better than light that stands
// still: after 2.5 s without sync packets receivers no longer wait for them (6.2.6, 6.7.1).
const maxWithheld = 22

// syncState is what is known of the receivers of one sync packet.
type syncState struct {
	lost     bool // data of this frame did not reach the network
	withheld int  // sync packets withheld in a row
}

// startFrame sends the batch if it is small; else SendSlices does. The outcome includes
// that of the slices since the last call.
func (s *Sender) startFrame(now clock.Time) outcome {
	b := &s.batch
	f := frame{left: true, due: now, data: len(b.messages), late: s.frame.late}
	for f.data > 0 && b.owners[f.data-1] < 0 {
		f.data--
	}
	for k := range s.syncStates {
		s.syncStates[k].lost = false
	}
	f.slices = s.config.Spread.Slices(f.data, b.mostToOne(s, f.data))
	if f.size = f.data; f.slices > 1 {
		b.interleave(s, f.data)
		f.size = (f.data + f.slices - 1) / f.slices
	}
	s.frame = f
	if f.slices == 1 {
		s.sendRest()
	}
	o := s.frame.late
	s.frame.late = outcome{}
	return o
}

// NextSlice returns when more of the last frame is due, if not all of it has left.
func (s *Sender) NextSlice() (at clock.Time, ok bool) { return s.frame.due, s.frame.left }

// SendSlice sends the next slice of the last frame, if one is due at now. The one after it
// is due udp.SliceEvery later: slices that are late do not leave together. The next Send
// returns the first error.
func (s *Sender) SendSlice(now clock.Time) {
	if s.frame.left && now >= s.frame.due {
		s.frame.due = now + clock.Time(udp.SliceEvery)
		s.sendSlice()
	}
}

// sendRest sends all that is left of the last frame: packets are never a whole frame late.
func (s *Sender) sendRest() {
	for s.frame.left {
		s.sendSlice()
	}
}

// sendSlice sends the next slice, and after the last one the packets that end the frame.
func (s *Sender) sendSlice() {
	f := &s.frame
	f.ended = false
	s.write(f.next*f.size, min((f.next+1)*f.size, f.data))
	f.next++
	if f.next < f.slices {
		return
	}
	f.left = false
	s.withholdSync()
	if f.ended { // the rest would fail too, after a wait for room
		s.stats.Failed += uint64(len(s.batch.messages) - f.data)
		return
	}
	s.write(f.data, len(s.batch.messages))
}

// loseSync notes that the receivers of a packet miss levels of this frame.
func (s *Sender) loseSync(to netip.AddrPort, err error) {
	for k := range s.syncStates {
		sync := s.sync[k].Addr.(*net.UDPAddr).AddrPort()
		multicast := sync.Addr().Unmap().IsMulticast() && to.Addr().Unmap().IsMulticast()
		if sync == to || multicast || errors.Is(err, udp.ErrFull) {
			s.syncStates[k].lost = true
		}
	}
}

// withholdSync takes the sync packets out of the batch whose receivers miss levels of this
// frame. They show the whole frame before until the next whole one.
func (s *Sender) withholdSync() {
	b, kept := &s.batch, s.frame.data
	for i := kept; i < len(b.messages); i++ {
		if k := syncOwner - int(b.owners[i]); k >= 0 {
			st := &s.syncStates[k]
			if st.lost && st.withheld < maxWithheld {
				st.withheld++
				s.stats.Withheld++
				continue
			}
			if !st.lost {
				st.withheld = 0
			}
		}
		b.messages[kept], b.owners[kept] = b.messages[i], b.owners[i]
		kept++
	}
	b.messages, b.owners = b.messages[:kept], b.owners[:kept]
}
