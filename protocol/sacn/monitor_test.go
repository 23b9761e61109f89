package sacn_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/sacn"
)

func TestMonitorStream(t *testing.T) {
	m := sacn.NewMonitor()
	for i := range 441 {
		at := clock.Time(i) * clock.Second / 44
		require.Equal(t, sacn.Accepted, m.Add(sacn.DataAt(at, func(p *sacn.DataPacket) { p.Sequence = uint8(i) })), "packet %d", i)
	}
	list := m.Sources()
	require.Len(t, list, 1, "sources")
	s := list[0]
	assert.EqualValues(t, 1, s.Universe)
	assert.Equal(t, sacn.CheckCID, s.CID)
	assert.Equal(t, "Check Source", s.Name.String())
	assert.Equal(t, sacn.Peer, s.From)
	assert.EqualValues(t, 100, s.Priority)
	assert.Equal(t, 8, s.Slots)
	assert.EqualValues(t, 441, s.Packets)
	assert.Equal(t, sacn.Live, s.Status)
	assert.Zero(t, s.Late)
	assert.Zero(t, s.Missing)
	assert.GreaterOrEqual(t, s.Rate, 43.99, "rate")
	assert.LessOrEqual(t, s.Rate, 44.01, "rate")
	assert.Equal(t, sacn.CheckSlots, s.Levels[:8], "levels")
	assert.Zero(t, slices.Max(s.Levels[8:]), "levels")
}

// 6.7.2: late packets are dropped, gaps counted, and a source that restarts is
// taken again.
func TestMonitorSequence(t *testing.T) {
	m := sacn.NewMonitor()
	step := func(seq uint8) sacn.Verdict {
		return m.Add(sacn.DataAt(0, func(p *sacn.DataPacket) { p.Sequence = seq }))
	}
	for i, c := range []struct {
		seq  uint8
		want sacn.Verdict
	}{{250, sacn.Accepted}, {251, sacn.Accepted}, {254, sacn.Accepted}, {253, sacn.Late}, {254, sacn.Late}, {1, sacn.Accepted}, {255, sacn.Late}, {100, sacn.Accepted}, {80, sacn.Accepted}} {
		assert.Equal(t, c.want, step(c.seq), "step %d, number %d", i, c.seq)
	}
	s := m.Sources()[0]
	assert.EqualValues(t, 3, s.Late)
	assert.EqualValues(t, 2+2+98, s.Missing)
}

// A universe, a CID and the kind of packet are counted apart.
func TestMonitorCountsApart(t *testing.T) {
	m := sacn.NewMonitor()
	other := sacn.CheckCID
	other[0] = 0
	for i, p := range []sacn.Packet{
		sacn.DataAt(0, func(p *sacn.DataPacket) { p.Sequence = 10 }),
		sacn.DataAt(0, func(p *sacn.DataPacket) { p.Sequence = 10; p.Universe = 2 }),
		sacn.DataAt(0, func(p *sacn.DataPacket) { p.Sequence = 10; p.CID = other }),
	} {
		assert.Equal(t, sacn.Accepted, m.Add(p), "packet %d", i)
	}
	assert.Equal(t, sacn.NotData, m.Add(sacn.Packet{From: sacn.Peer, Sync: &sacn.SyncPacket{CID: sacn.CheckCID, Address: 1, Sequence: 10}}))
	if s := m.Sources(); assert.Len(t, s, 3, "order of sources") {
		assert.Equal(t, other, s[0].CID, "order of sources")
		assert.Equal(t, sacn.CheckCID, s[1].CID, "order of sources")
		assert.EqualValues(t, 2, s[2].Universe, "order of sources")
	}
}

// 0xDD, previews and the last packets carry no levels for live output.
func TestMonitorNotLevels(t *testing.T) {
	m := sacn.NewMonitor()
	m.Add(sacn.DataAt(0, func(p *sacn.DataPacket) {}))
	no := []byte{9, 9, 9, 9, 9, 9, 9, 9}
	for i, c := range []struct {
		edit func(p *sacn.DataPacket)
		want sacn.Verdict
	}{
		{func(p *sacn.DataPacket) { p.StartCode = 0xDD }, sacn.NotLevels},
		{func(p *sacn.DataPacket) { p.StartCode = 0x17 }, sacn.NotLevels},
		{func(p *sacn.DataPacket) { p.Options = sacn.PreviewData }, sacn.PreviewOnly},
		{func(p *sacn.DataPacket) { p.Options = sacn.StreamTerminated }, sacn.Ended},
	} {
		v := m.Add(sacn.DataAt(0, func(p *sacn.DataPacket) { p.Sequence, p.Slots = uint8(i+1), no; c.edit(p) }))
		assert.Equal(t, c.want, v, "case %d", i)
	}
	s := m.Sources()[0]
	assert.Equal(t, sacn.CheckSlots, s.Levels[:8], "levels")
	assert.EqualValues(t, 1, s.Packets)
	assert.EqualValues(t, 1, s.Ends)
	assert.Equal(t, sacn.Terminated, s.Status)
}

// 2.5 s without a packet is data loss (6.7.1); termination is at once (6.2.6).
func TestMonitorLoss(t *testing.T) {
	m := sacn.NewMonitor()
	m.Add(sacn.DataAt(0, func(p *sacn.DataPacket) { p.Sequence = 50 }))
	assert.Zero(t, m.Expire(2500*clock.Millisecond), "lost at 2.5 s")
	assert.Equal(t, sacn.Live, m.Sources()[0].Status, "lost at 2.5 s")
	assert.Equal(t, 1, m.Expire(2501*clock.Millisecond), "not lost after 2.5 s")
	assert.Equal(t, sacn.Lost, m.Sources()[0].Status, "not lost after 2.5 s")
	assert.Zero(t, m.Expire(2502*clock.Millisecond), "lost twice")
	assert.Equal(t, sacn.Accepted, m.Add(sacn.DataAt(3*clock.Second, func(p *sacn.DataPacket) { p.Sequence = 49 })), "a source that comes back")
	assert.Equal(t, sacn.Live, m.Sources()[0].Status, "a source that comes back")
	assert.Equal(t, sacn.Accepted, m.Add(sacn.DataAt(6*clock.Second, func(p *sacn.DataPacket) { p.Sequence = 48 })), "a source that comes back between two calls of Expire")
	end := func(seq uint8) sacn.Verdict {
		return m.Add(sacn.DataAt(6*clock.Second, func(p *sacn.DataPacket) { p.Sequence = seq; p.Options = sacn.StreamTerminated }))
	}
	assert.Equal(t, sacn.Ended, end(49), "termination")
	assert.Equal(t, sacn.Ended, end(50), "termination")
	assert.Equal(t, sacn.Ended, end(51), "termination")
	assert.Equal(t, sacn.Terminated, m.Sources()[0].Status, "termination")
	assert.Equal(t, sacn.Late, m.Add(sacn.DataAt(6*clock.Second, func(p *sacn.DataPacket) { p.Sequence = 48 })), "a packet that the last one overtook")
	assert.Equal(t, sacn.Accepted, m.Add(sacn.DataAt(7*clock.Second, func(p *sacn.DataPacket) { p.Sequence = 52 })), "a source that starts again")
	assert.Equal(t, sacn.Live, m.Sources()[0].Status, "a source that starts again")
	m.Expire(10 * clock.Second)
	m.Expire(68 * clock.Second)
	assert.Empty(t, m.Sources(), "sources kept for ever")
}
