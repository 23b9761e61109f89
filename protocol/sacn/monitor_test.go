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
		require.Equal(t, Accepted, m.Add(dataAt(at, func(p *DataPacket) { p.Sequence = uint8(i) })), "packet %d", i)
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
		return m.Add(dataAt(0, func(p *DataPacket) { p.Sequence = seq }))
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
	} {
		assert.Equal(t, Accepted, m.Add(p), "packet %d", i)
	}
	assert.Equal(t, NotData, m.Add(Packet{From: peer, Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 10}}))
	if s := m.Sources(); assert.Len(t, s, 3, "order of sources") {
		assert.Equal(t, other, s[0].CID, "order of sources")
		assert.Equal(t, checkCID, s[1].CID, "order of sources")
		assert.EqualValues(t, 2, s[2].Universe, "order of sources")
	}
}

// 0xDD, previews and the last packets carry no levels for live output.
func TestMonitorNotLevels(t *testing.T) {
	m := NewMonitor()
	m.Add(dataAt(0, func(p *DataPacket) {}))
	no := []byte{9, 9, 9, 9, 9, 9, 9, 9}
	for i, c := range []struct {
		edit func(p *DataPacket)
		want Verdict
	}{
		{func(p *DataPacket) { p.StartCode = 0xDD }, NotLevels},
		{func(p *DataPacket) { p.StartCode = 0x17 }, NotLevels},
		{func(p *DataPacket) { p.Options = PreviewData }, PreviewOnly},
		{func(p *DataPacket) { p.Options = StreamTerminated }, Ended},
	} {
		v := m.Add(dataAt(0, func(p *DataPacket) { p.Sequence, p.Slots = uint8(i+1), no; c.edit(p) }))
		assert.Equal(t, c.want, v, "case %d", i)
	}
	s := m.Sources()[0]
	assert.Equal(t, checkSlots, s.Levels[:8], "levels")
	assert.EqualValues(t, 1, s.Packets)
	assert.EqualValues(t, 1, s.Ends)
	assert.Equal(t, Terminated, s.Status)
}

// 2.5 s without a packet is data loss (6.7.1); termination is at once (6.2.6).
func TestMonitorLoss(t *testing.T) {
	m := NewMonitor()
	m.Add(dataAt(0, func(p *DataPacket) { p.Sequence = 50 }))
	assert.Zero(t, m.Expire(2500*clock.Millisecond), "lost at 2.5 s")
	assert.Equal(t, Live, m.Sources()[0].Status, "lost at 2.5 s")
	assert.Equal(t, 1, m.Expire(2501*clock.Millisecond), "not lost after 2.5 s")
	assert.Equal(t, Lost, m.Sources()[0].Status, "not lost after 2.5 s")
	assert.Zero(t, m.Expire(2502*clock.Millisecond), "lost twice")
	assert.Equal(t, Accepted, m.Add(dataAt(3*clock.Second, func(p *DataPacket) { p.Sequence = 49 })), "a source that comes back")
	assert.Equal(t, Live, m.Sources()[0].Status, "a source that comes back")
	assert.Equal(t, Accepted, m.Add(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = 48 })), "a source that comes back between two calls of Expire")
	end := func(seq uint8) Verdict {
		return m.Add(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = seq; p.Options = StreamTerminated }))
	}
	assert.Equal(t, Ended, end(49), "termination")
	assert.Equal(t, Ended, end(50), "termination")
	assert.Equal(t, Ended, end(51), "termination")
	assert.Equal(t, Terminated, m.Sources()[0].Status, "termination")
	assert.Equal(t, Late, m.Add(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = 48 })), "a packet that the last one overtook")
	assert.Equal(t, Accepted, m.Add(dataAt(7*clock.Second, func(p *DataPacket) { p.Sequence = 52 })), "a source that starts again")
	assert.Equal(t, Live, m.Sources()[0].Status, "a source that starts again")
	m.Expire(10 * clock.Second)
	m.Expire(68 * clock.Second)
	assert.Empty(t, m.Sources(), "sources kept for ever")
}

// A flood of garbage and of invented sources is counted and bounded.
func TestMonitorFlood(t *testing.T) {
	m, d := NewMonitor(), decoder{}
	rng := rand.New(rand.NewPCG(3, 4))
	good := referencePacket(t, "sacn-data-8slots")
	for i := range 3 * maxSources {
		cid := checkCID
		cid[0], cid[1] = byte(i), byte(i>>8)
		m.Add(dataAt(0, func(p *DataPacket) { p.CID = cid }))
		b := bytes.Clone(good[:rng.IntN(len(good))])
		for j := range b {
			if rng.IntN(40) == 0 {
				b[j] = byte(rng.Uint32())
			}
		}
		p := d.decode(b)
		require.Error(t, p.Err, "for % x", b)
		require.Equal(t, NotData, m.Add(p), "for % x", b)
	}
	assert.EqualValues(t, 2*maxSources, m.Overflow())
	assert.Len(t, m.Sources(), maxSources)
}
