package sacn

import (
	"bytes"
	"math/rand/v2"
	"net/netip"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

var peer = netip.MustParseAddrPort("10.0.0.5:5568")

func dataAt(at clock.Time, edit func(p *DataPacket)) Packet {
	return Packet{At: at, From: peer, Data: checkPacket(edit)}
}

func TestMonitorStream(t *testing.T) {
	m := NewMonitor()
	for i := range 441 {
		at := clock.Time(i) * clock.Second / 44
		require.Equal(t, Accepted, m.Take(dataAt(at, func(p *DataPacket) { p.Sequence = uint8(i) })), "packet %d", i)
	}
	list := m.Sources()
	require.Len(t, list, 1, "sources")
	s := list[0]
	assert.EqualValues(t, 1, s.Universe)
	assert.Equal(t, checkCID, s.CID)
	assert.Equal(t, "Check Source", s.Name.String())
	assert.Equal(t, peer, s.From)
	assert.EqualValues(t, 100, s.Priority)
	assert.Equal(t, 8, s.Slots)
	assert.EqualValues(t, 441, s.Packets)
	assert.Equal(t, Live, s.Status)
	assert.Zero(t, s.Late)
	assert.Zero(t, s.Missing)
	assert.GreaterOrEqual(t, s.Rate, 43.99, "rate")
	assert.LessOrEqual(t, s.Rate, 44.01, "rate")
	assert.Equal(t, checkSlots, s.Levels[:8], "levels")
	assert.Zero(t, slices.Max(s.Levels[8:]), "levels")
}

// 6.7.2: late packets are dropped, gaps counted, and a source that restarts is
// taken again.
func TestMonitorSequence(t *testing.T) {
	m := NewMonitor()
	step := func(seq uint8) Verdict {
		return m.Take(dataAt(0, func(p *DataPacket) { p.Sequence = seq }))
	}
	for i, c := range []struct {
		seq  uint8
		want Verdict
	}{{250, Accepted}, {251, Accepted}, {254, Accepted}, {253, Late}, {254, Late}, {1, Accepted}, {255, Late}, {100, Accepted}, {80, Accepted}} {
		assert.Equal(t, c.want, step(c.seq), "step %d, number %d", i, c.seq)
	}
	s := m.Sources()[0]
	assert.EqualValues(t, 3, s.Late)
	assert.EqualValues(t, 2+2+98, s.Missing)
}

// A universe, a CID and the kind of packet are counted apart.
func TestMonitorCountsApart(t *testing.T) {
	m := NewMonitor()
	other := checkCID
	other[0] = 0
	for i, p := range []Packet{
		dataAt(0, func(p *DataPacket) { p.Sequence = 10 }),
		dataAt(0, func(p *DataPacket) { p.Sequence = 10; p.Universe = 2 }),
		dataAt(0, func(p *DataPacket) { p.Sequence = 10; p.CID = other }),
		{From: peer, Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 10}},
		{From: peer, Sync: &SyncPacket{CID: checkCID, Address: 2, Sequence: 10}},
	} {
		v := m.Take(p)
		assert.Contains(t, []Verdict{Accepted, Synchronizing}, v, "packet %d", i)
	}
	assert.Equal(t, Late, m.Take(Packet{Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 10}}), "sync packet again")
	assert.Equal(t, Synchronizing, m.Take(Packet{At: 3 * clock.Second, Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 9}}), "sync packet after a silence")
	if s := m.Syncs(); assert.Len(t, s, 2) {
		assert.EqualValues(t, 2, s[0].Packets)
		assert.EqualValues(t, 1, s[0].Late)
	}
	if s := m.Sources(); assert.Len(t, s, 3, "order of sources") {
		assert.Equal(t, other, s[0].CID, "order of sources")
		assert.Equal(t, checkCID, s[1].CID, "order of sources")
		assert.EqualValues(t, 2, s[2].Universe, "order of sources")
	}
}

// 0xDD, previews and the last packets carry no levels for live output.
func TestMonitorNotLevels(t *testing.T) {
	m := NewMonitor()
	m.Take(dataAt(0, func(p *DataPacket) {}))
	no := []byte{9, 9, 9, 9, 9, 9, 9, 9}
	for i, c := range []struct {
		edit func(p *DataPacket)
		want Verdict
	}{
		{func(p *DataPacket) { p.StartCode = PriorityPerSlot }, NotLevels},
		{func(p *DataPacket) { p.StartCode = 0x17 }, NotLevels},
		{func(p *DataPacket) { p.Options = PreviewData }, PreviewOnly},
		{func(p *DataPacket) { p.Options = StreamTerminated }, Ended},
	} {
		v := m.Take(dataAt(0, func(p *DataPacket) { p.Sequence, p.Slots = uint8(i+1), no; c.edit(p) }))
		assert.Equal(t, c.want, v, "case %d", i)
	}
	s := m.Sources()[0]
	assert.Equal(t, checkSlots, s.Levels[:8], "levels")
	assert.EqualValues(t, 1, s.Packets)
	assert.EqualValues(t, 2, s.Alternate)
	assert.EqualValues(t, 1, s.Per0xDD)
	assert.EqualValues(t, 1, s.Previews)
	assert.EqualValues(t, 1, s.Ends)
	assert.Equal(t, Terminated, s.Status)
}

// 2.5 s without a packet is data loss (6.7.1); termination is at once (6.2.6).
func TestMonitorLoss(t *testing.T) {
	m := NewMonitor()
	m.Take(dataAt(0, func(p *DataPacket) { p.Sequence = 50 }))
	assert.Zero(t, m.Expire(2500*clock.Millisecond), "lost at 2.5 s")
	assert.Equal(t, Live, m.Sources()[0].Status, "lost at 2.5 s")
	assert.Equal(t, 1, m.Expire(2501*clock.Millisecond), "not lost after 2.5 s")
	assert.Equal(t, Lost, m.Sources()[0].Status, "not lost after 2.5 s")
	assert.Zero(t, m.Expire(2502*clock.Millisecond), "lost twice")
	assert.Equal(t, Accepted, m.Take(dataAt(3*clock.Second, func(p *DataPacket) { p.Sequence = 49 })), "a source that comes back")
	assert.Equal(t, Live, m.Sources()[0].Status, "a source that comes back")
	assert.Equal(t, Accepted, m.Take(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = 48 })), "a source that comes back between two calls of Expire")
	end := func(seq uint8) Verdict {
		return m.Take(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = seq; p.Options = StreamTerminated }))
	}
	assert.Equal(t, Ended, end(49), "termination")
	assert.Equal(t, Ended, end(50), "termination")
	assert.Equal(t, Ended, end(51), "termination")
	assert.Equal(t, Terminated, m.Sources()[0].Status, "termination")
	assert.Equal(t, Late, m.Take(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = 48 })), "a packet that the last one overtook")
	assert.Equal(t, Accepted, m.Take(dataAt(7*clock.Second, func(p *DataPacket) { p.Sequence = 52 })), "a source that starts again")
	assert.Equal(t, Live, m.Sources()[0].Status, "a source that starts again")
	m.Expire(10 * clock.Second)
	m.Expire(68 * clock.Second)
	assert.Empty(t, m.Sources(), "sources kept for ever")
}

func TestMonitorLists(t *testing.T) {
	m := NewMonitor()
	page := func(at clock.Time, page, last uint8, u ...uint16) {
		m.Take(Packet{At: at, From: peer, Discovery: &DiscoveryPacket{CID: checkCID, SourceName: NewSourceName("A"), Page: page, Last: last, Universes: u}})
	}
	page(0, 1, 1, 600, 601)
	page(0, 0, 1, 1, 2)
	if a := m.Announcements(); assert.Len(t, a, 1) {
		assert.Equal(t, []uint16{1, 2, 600, 601}, a[0].Universes)
		assert.Equal(t, "A", a[0].Name.String())
	}
	page(10*clock.Second, 0, 0, 3)
	assert.Equal(t, []uint16{3}, m.Announcements()[0].Universes, "shorter list")
	m.Expire(30*clock.Second + 1)
	assert.Empty(t, m.Announcements(), "still listed after two intervals")
}

// A flood of garbage and of invented sources is counted and bounded.
func TestMonitorFlood(t *testing.T) {
	m, d := NewMonitor(), decoder{}
	rng := rand.New(rand.NewPCG(3, 4))
	good := referencePacket(t, "sacn-data-8slots")
	for i := range 3 * maxSources {
		cid := checkCID
		cid[0], cid[1] = byte(i), byte(i>>8)
		m.Take(dataAt(0, func(p *DataPacket) { p.CID = cid }))
		m.Take(Packet{Sync: &SyncPacket{CID: cid, Address: 1}})
		m.Take(Packet{Discovery: &DiscoveryPacket{CID: cid}})
		b := bytes.Clone(good[:rng.IntN(len(good))])
		for j := range b {
			if rng.IntN(40) == 0 {
				b[j] = byte(rng.Uint32())
			}
		}
		require.Equal(t, Malformed, m.Take(d.decode(b)), "for % x", b)
	}
	var bad uint64
	for _, c := range m.Discarded() {
		assert.Error(t, c.Cause, "a packet was dropped for no known cause")
		bad += c.Count
	}
	assert.EqualValues(t, 3*maxSources, bad)
	assert.NotZero(t, m.Overflowed())
	assert.LessOrEqual(t, len(m.Sources()), maxSources)
	assert.LessOrEqual(t, len(m.Syncs()), maxSources)
	assert.LessOrEqual(t, len(m.Announcements()), maxLists)
}
