package sacn

import (
	"bytes"
	"cmp"
	"slices"

	"tactus/clock"
)

// defaultMerged is how many sources of a universe a Merger follows.
const defaultMerged = 16

// MergerConfig configures a Merger.
type MergerConfig struct {
	// Universes are those to merge, 1..63999; packets of others are refused. Nil: all.
	Universes []uint16
	// Latest selects how sources of equal priority are combined. False: each slot has
	// its highest level among them (highest takes precedence). True: each slot has the
	// level of the source that changed it last (latest takes precedence). Of changes by
	// the same sync packet the highest level counts.
	Latest bool
	// Release sets all slots to 0 when the last source is lost. False: they stay as
	// they are (E1.31-2018 leaves it to the receiver, 6.7.1).
	Release bool
	// Sources is how many sources of a universe are followed; 0: 16. A source beyond
	// them is refused, unless its priority is above that of one that is followed: then
	// it takes its place (6.2.3, "sources exceeded").
	Sources int
}

// Merger decides for each universe which of its sources count, and combines their
// levels (E1.31-2018, 6.2.3): those with the highest priority, from the first packet
// until 2.5 s without levels, or until the source ends its stream. It follows
// synchronization (see mergesync.go). It reads no clock, and allocates only for
// sources and addresses that are new. Only one goroutine may use it.
type Merger struct {
	config    MergerConfig
	universes map[uint16]*Merged
	sync      syncStreams
	streams   int // sources in all universes
	refused   uint64
	changes   uint64 // of levels, counted for MergerConfig.Latest
}

// NewMerger returns a Merger that has heard nothing.
func NewMerger(c MergerConfig) *Merger {
	if c.Sources <= 0 {
		c.Sources = defaultMerged
	}
	return &Merger{config: c, universes: map[uint16]*Merged{}, sync: newSyncStreams()}
}

// Add takes a packet and returns its verdict. Held means that its levels wait for a
// sync packet. The packet is copied.
func (m *Merger) Add(p Packet) Verdict {
	if p.Sync != nil {
		return m.addSync(p.At, p.Sync)
	}
	if p.Data == nil {
		return NotData
	}
	u := m.universe(p.Data.Universe)
	if u == nil {
		m.refused++
		return TooMany
	}
	m.expire(u, p.At)
	u.heardAt = p.At
	s := m.source(u, p.Data)
	if s == nil {
		u.Refused++
		m.refused++
		return TooMany
	}
	s.name, s.from = p.Data.SourceName, p.From
	v := s.add(p.At, p.Data, m)
	if v == Accepted || v == Ended {
		u.resolve(&m.config)
	}
	return v
}

// universe returns the universe of a number, made if need be; nil: it is not merged.
func (m *Merger) universe(n uint16) *Merged {
	if u := m.universes[n]; u != nil {
		return u
	}
	if m.config.Universes != nil && !slices.Contains(m.config.Universes, n) || len(m.universes) >= maxSources {
		return nil
	}
	u := &Merged{Universe: n, Status: Lost}
	m.universes[n] = u
	return u
}

// source returns the place of a packet's source; nil: there is none for it.
func (m *Merger) source(u *Merged, p *DataPacket) *mergeSource {
	lowest := -1
	for i := range u.sources {
		s := &u.sources[i]
		if s.cid == p.CID {
			return s
		}
		if lowest < 0 || s.rank() < u.sources[lowest].rank() {
			lowest = i
		}
	}
	if p.Options&StreamTerminated != 0 {
		return nil // of a source that was not followed
	}
	if len(u.sources) < m.config.Sources && m.streams < maxSources {
		m.streams++
		u.sources = append(u.sources, mergeSource{cid: p.CID, priority: p.Priority})
		return &u.sources[len(u.sources)-1]
	}
	if lowest < 0 || u.sources[lowest].rank() >= int(p.Priority) {
		return nil
	}
	s := &u.sources[lowest]
	*s = mergeSource{cid: p.CID, priority: p.Priority, changed: s.changed}
	clear(s.changed)
	u.resolve(&m.config)
	return s
}

// Expire drops sources whose levels have not come for 2.5 s (6.7.1). Call it some
// times a second. It returns whether what a universe shows has changed. Without
// MergerConfig.Universes it forgets universes that have had no source for a minute.
func (m *Merger) Expire(now clock.Time) (changed bool) {
	for n, u := range m.universes {
		changed = m.expire(u, now) || changed
		if m.config.Universes == nil && len(u.sources) == 0 && now-u.heardAt > forgetAfter {
			delete(m.universes, n)
		}
	}
	m.sync.expire(now)
	return changed
}

// expire drops the lost sources of a universe.
func (m *Merger) expire(u *Merged, now clock.Time) (changed bool) {
	lost := false
	for i := len(u.sources) - 1; i >= 0; i-- {
		s := &u.sources[i]
		if s.live && now-s.levelsAt > dataLoss {
			s.live, lost = false, true
			u.Status = Lost
		}
		if !s.live && now-s.lastAt > dataLoss { // its sequence numbers count no longer
			u.sources = slices.Delete(u.sources, i, i+1)
			m.streams--
		}
	}
	if !lost {
		return false
	}
	was := u.Changes
	u.resolve(&m.config)
	return u.Changes != was
}

// Universe returns what a universe shows, or nil if it has no source yet. The Merger
// owns it; the next Add or Expire changes it.
func (m *Merger) Universe(n uint16) *Merged { return m.universes[n] }

// Refused returns how many packets came from sources beyond those that are followed.
func (m *Merger) Refused() uint64 { return m.refused }

// Controls returns the part that each source plays, by universe, then by falling
// priority, then by CID.
func (m *Merger) Controls() []Control {
	var list []Control
	for _, u := range m.universes {
		for i := range u.sources {
			s := &u.sources[i]
			list = append(list, Control{
				Universe: u.Universe, CID: s.cid, Name: s.name, From: s.from, Priority: s.priority, Role: u.role(s),
			})
		}
	}
	slices.SortFunc(list, func(a, b Control) int {
		return cmp.Or(cmp.Compare(a.Universe, b.Universe), cmp.Compare(b.Priority, a.Priority), bytes.Compare(a.CID[:], b.CID[:]))
	})
	return list
}
