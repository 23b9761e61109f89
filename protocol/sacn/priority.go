package sacn

import "encoding/binary"

// SetPriority moves the priorities of all universes by a number of steps from those of
// the configuration, from the next packets on. Where the result would be above 200 it
// is 200. Where it would be below 0 the universe is not sent: its stream is terminated
// by three packets (6.2.6), so that receivers drop it at once, and goes on when the
// priority allows.
//
// With syncs false no sync packets are sent: those of the source that receivers follow
// are the ones that count, and a second source's would release half a frame.
//
// Levels are sent at once after a change, with OnChange too. It allocates nothing.
func (s *Sender) SetPriority(by int, syncs bool) {
	s.sendRest() // packets that wait are those that are changed here
	s.withoutSync = !syncs
	for i := range s.streams {
		st := &s.streams[i]
		to := int(s.config.Universes[i].Priority) + by
		st.setPaused(to < 0)
		if to >= 0 {
			st.resume(&s.config)
		}
		st.packet[offPriority] = uint8(min(max(to, 0), MaxPriority))
		st.resend()
	}
}

// terminations is how many packets end a stream (6.2.6).
const terminations = 3

// setPaused ends a stream that is on its way, or begins it again.
func (s *stream) setPaused(paused bool) {
	if paused == s.paused {
		return
	}
	s.paused, s.endings = paused, 0
	if paused && s.started {
		s.endings = terminations
	}
}

// ending prepares the next packet that ends a paused stream, if one is left to send.
func (s *stream) ending() bool {
	if s.endings == 0 {
		return false
	}
	s.endings--
	s.started = false
	s.terminate()
	s.countUp()
	return true
}

// resume makes the packet of a stream that was terminated ordinary again.
func (s *stream) resume(c *SenderConfig) {
	if Options(s.packet[offOptions])&StreamTerminated != 0 {
		s.packet[offOptions] = byte(c.options())
		binary.BigEndian.PutUint16(s.packet[offSyncAddr:], c.Sync)
	}
}

// options returns the options of data packets.
func (c *SenderConfig) options() Options {
	if c.Sync != 0 {
		return ForceSynchronization
	}
	return 0
}
