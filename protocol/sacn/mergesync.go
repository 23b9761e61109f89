package sacn

import "tactus/clock"

// syncStreams is what is known of sync packets.
//
//	address of the data   sync packets for it     Force_Synchronization   levels
//	0                                                                     act at once (6.2.4.1)
//	above 0               none came               any                     act at once (6.2.4.1, 11.1.1)
//	above 0               within 2.5 s            any                     wait for the next one
//	above 0               none for 2.5 s          0                       wait until they come again (6.2.6)
//	above 0               none for 2.5 s          1                       act at once (6.2.6)
//
// A sync packet counts for its address whoever sends it: the standard names no source
// for it (reading of 6.3; from memory).
type syncStreams struct {
	at      map[uint16]clock.Time // when one last came, by address: at most 63,999
	numbers map[sourceKey]syncNumber
}

// syncNumber is the last sequence number of a source's sync packets for an address.
type syncNumber struct {
	at       clock.Time
	sequence uint8
}

func newSyncStreams() syncStreams {
	return syncStreams{at: map[uint16]clock.Time{}, numbers: map[sourceKey]syncNumber{}}
}

// holdBack reports whether a packet's levels wait for a sync packet.
func (y *syncStreams) holdBack(s *mergeSource, at clock.Time, p *DataPacket) bool {
	if p.SyncAddress == 0 {
		s.syncAddress, s.synced = 0, false
		return false
	}
	last, came := y.at[p.SyncAddress]
	fresh := came && at-last <= dataLoss
	if s.syncAddress != p.SyncAddress {
		s.syncAddress, s.synced = p.SyncAddress, fresh
	}
	return s.synced && (fresh || p.Options&ForceSynchronization == 0)
}

// accept reports whether a sync packet is in sequence: its numbers are apart from those
// of data (6.3.2, 6.7.2). ok is false if there are too many sources.
func (y *syncStreams) accept(at clock.Time, p *SyncPacket) (inSequence, ok bool) {
	key := sourceKey{p.Address, p.CID}
	last, known := y.numbers[key]
	if !known && len(y.numbers) >= maxSources {
		return false, false
	}
	if known && at-last.at <= dataLoss && !accept(last.sequence, p.Sequence) {
		return false, true
	}
	y.numbers[key] = syncNumber{at, p.Sequence}
	return true, true
}

// expire forgets numbers that count no longer.
func (y *syncStreams) expire(now clock.Time) {
	for key, n := range y.numbers {
		if now-n.at > dataLoss {
			delete(y.numbers, key)
		}
	}
}

// addSync lets the levels that wait for a sync packet act, all at the same time.
func (m *Merger) addSync(at clock.Time, p *SyncPacket) Verdict {
	inSequence, ok := m.sync.accept(at, p)
	switch {
	case !ok:
		m.refused++
		return TooMany
	case !inSequence:
		return Late
	}
	m.sync.at[p.Address] = at
	m.changes++ // all levels that wait for this packet change at the same time
	for _, u := range m.universes {
		m.expire(u, at)
		acts := false
		for i := range u.sources {
			s := &u.sources[i]
			if s.syncAddress != p.Address {
				continue
			}
			s.synced = true
			if s.holds {
				s.holds, acts = false, true
				s.take(s.heldLevels[:s.heldSlots], s.heldPriority, m)
			}
		}
		if acts {
			u.resolve(&m.config)
		}
	}
	return Accepted
}
