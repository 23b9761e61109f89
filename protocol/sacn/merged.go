package sacn

import (
	"net/netip"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// Merged is what one universe shows: its sources of the highest priority, combined.
type Merged struct {
	Universe uint16
	Levels   [dmx.Slots]byte // slots that no source sends are 0
	Slots    int             // the most that a source in control sends
	Priority uint8           // of the sources in control, 0..200
	Sources  int             // in control; 0: none, and Levels are held or released
	Status   Status          // Live while Sources is above 0; else how the last source went
	Changes  uint64          // grows when anything above changes
	Refused  uint64          // packets of sources beyond those that are followed

	heardAt clock.Time // when a packet for it last came
	sources []mergeSource
}

// Role is the part that a source plays in its universe.
type Role uint8

// The roles.
const (
	InControl Role = iota // alone at the highest priority
	Shares                // one of several at the highest priority
	Overruled             // a source with a higher priority is there
	Waits                 // its first levels wait for a sync packet (6.2.4.1)
	Silent                // it sends no levels for live output, or none any more
)

// String says the role in words.
func (r Role) String() string {
	return [...]string{"in control", "shares control", "overruled", "waits for a sync packet", "sends no levels", "?", "?", "?"}[r&7]
}

// Control describes the part that a source plays in a universe.
type Control struct {
	Universe uint16
	CID      [16]byte
	Name     SourceName
	From     netip.AddrPort
	Priority uint8
	Role     Role
}

// mergeSource is a source's stream of one universe.
type mergeSource struct {
	cid      [16]byte
	name     SourceName
	from     netip.AddrPort
	priority uint8 // of the levels that act; before the first: of the packet
	sequence uint8
	heard    bool // a packet came: sequence is set
	live     bool // levels act
	lastAt   clock.Time
	levelsAt clock.Time // when levels for live output last came, held or not

	levels  [dmx.Slots]byte
	slots   int
	changed []uint64 // count of changes at which each slot last changed; nil unless Latest

	// The packet that waits for its sync packet:
	holds        bool
	heldLevels   [dmx.Slots]byte
	heldSlots    int
	heldPriority uint8
	syncAddress  uint16
	synced       bool // a sync packet for syncAddress has come during this stream
}

// rank orders sources by what is lost if they are not followed: -1 without levels,
// else the priority.
func (s *mergeSource) rank() int {
	if !s.live && !s.holds {
		return -1
	}
	return int(max(s.priority, s.heldPriority))
}

func (u *Merged) role(s *mergeSource) Role {
	switch {
	case s.live && s.priority == u.Priority && u.Sources == 1:
		return InControl
	case s.live && s.priority == u.Priority:
		return Shares
	case s.live:
		return Overruled
	case s.holds:
		return Waits
	}
	return Silent
}

// add takes a packet of the stream. Accepted and Ended mean that what acts may have
// changed.
func (s *mergeSource) add(at clock.Time, p *DataPacket, m *Merger) Verdict {
	if s.heard && at-s.lastAt <= dataLoss && !accept(s.sequence, p.Sequence) {
		return Late // 6.7.2
	}
	s.heard, s.sequence, s.lastAt = true, p.Sequence, at
	switch {
	case p.Options&StreamTerminated != 0: // at once; its slots are ignored (6.2.6)
		*s = mergeSource{
			cid: s.cid, name: s.name, from: s.from, priority: p.Priority,
			heard: true, sequence: p.Sequence, lastAt: at, changed: s.changed,
		}
		clear(s.changed)
		return Ended
	case p.StartCode != NullStart:
		return NotLevels
	case p.Options&PreviewData != 0: // not for live output (6.2.6)
		return PreviewOnly
	}
	s.levelsAt = at
	if m.sync.holdBack(s, at, p) {
		s.holds = true
		s.heldPriority, s.heldSlots = p.Priority, len(p.Slots)
		clear(s.heldLevels[copy(s.heldLevels[:], p.Slots):])
		return Held
	}
	s.holds = false
	m.changes++
	s.take(p.Slots, p.Priority, m)
	return Accepted
}

// take has levels act, as the change that m.changes counts. Levels before the first are 0, so that a source that comes in
// has changed the slots that it does not leave at 0.
func (s *mergeSource) take(slots []byte, priority uint8, m *Merger) {
	s.priority = priority
	if m.config.Latest {
		if s.changed == nil {
			s.changed = make([]uint64, dmx.Slots)
		}
		for i := range s.levels {
			v := byte(0)
			if i < len(slots) {
				v = slots[i]
			}
			if v != s.levels[i] {
				s.changed[i] = m.changes
			}
		}
	}
	clear(s.levels[copy(s.levels[:], slots):])
	s.slots, s.live = len(slots), true
}

// resolve combines the sources of the highest priority.
func (u *Merged) resolve(c *MergerConfig) {
	was, levels := *u, u.Levels
	u.Priority, u.Sources = 0, 0
	for i := range u.sources {
		if s := &u.sources[i]; s.live && (u.Sources == 0 || s.priority >= u.Priority) {
			if s.priority > u.Priority {
				u.Sources = 0
			}
			u.Priority = s.priority
			u.Sources++
		}
	}
	switch {
	case u.Sources > 0:
		u.Status = Live
		u.combine(c.Latest)
	default:
		if u.Status == Live {
			u.Status = Terminated // expire has set Lost
		}
		if c.Release {
			u.Levels, u.Slots = [dmx.Slots]byte{}, 0
		}
	}
	if u.Levels != levels || u.Slots != was.Slots || u.Priority != was.Priority || u.Sources != was.Sources || u.Status != was.Status {
		u.Changes++
	}
}

// combine sets the levels from the sources in control. Where several of them changed a
// slot last by the same sync packet, the highest of their levels counts.
func (u *Merged) combine(latest bool) {
	u.Slots = 0
	u.Levels = [dmx.Slots]byte{}
	var at [dmx.Slots]uint64
	for i := range u.sources {
		s := &u.sources[i]
		if !s.live || s.priority != u.Priority {
			continue
		}
		u.Slots = max(u.Slots, s.slots)
		if !latest {
			for n, v := range s.levels {
				u.Levels[n] = max(u.Levels[n], v)
			}
			continue
		}
		for n, v := range s.levels {
			switch {
			case s.changed[n] > at[n]:
				at[n], u.Levels[n] = s.changed[n], v
			case s.changed[n] == at[n]:
				u.Levels[n] = max(u.Levels[n], v)
			}
		}
	}
}
