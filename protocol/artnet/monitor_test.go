package artnet

import (
	"bytes"
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

func dmxPacket(at clock.Time, from netip.AddrPort, address uint16, sequence uint8, data ...byte) Packet {
	return Packet{At: at, From: from, Op: OpDmx, Dmx: Dmx{Sequence: sequence, PortAddress: address, Data: data}}
}

func TestMonitor(t *testing.T) {
	m := NewMonitor()
	m.Add(dmxPacket(0, nodeB, 4, 250, 1, 2, 3, 4))
	m.Add(dmxPacket(1, nodeA, 4, 0, 9, 9))
	m.Add(dmxPacket(1, nodeA, 4, 0, 9, 9)) // not numbered: no order to keep
	m.Add(dmxPacket(2, nodeA, 3, 1, 7, 7))
	for _, c := range []struct {
		sequence   uint8
		gaps, late uint64
	}{
		{251, 0, 0},
		{251, 0, 1}, // repeated
		{250, 0, 2}, // behind
		{1, 4, 2},   // 252 to 255 never came
		{255, 4, 3}, // just behind, past the wrap
		{2, 4, 3},
		{200, 4, 3}, // far behind: started anew
	} {
		m.Add(dmxPacket(clock.Second, nodeB, 4, c.sequence, c.sequence, 6))
		got := m.Universes(0)[2]
		assert.Equal(t, c.gaps, got.Missing, "after %d", c.sequence)
		assert.Equal(t, c.late, got.Late, "after %d", c.sequence)
	}
	list := m.Universes(clock.Second + 1)
	require.Len(t, list, 3, "order")
	require.EqualValues(t, 3, list[0].PortAddress, "order")
	require.Equal(t, nodeA.Addr(), list[1].From, "order")
	require.Equal(t, nodeB.Addr(), list[2].From, "order")
	b := list[2]
	assert.EqualValues(t, 5, b.Packets, "stream")
	assert.Equal(t, 4, b.Rate, "stream")
	assert.Equal(t, 2, b.Slots, "stream")
	assert.EqualValues(t, 200, b.Levels[0], "stream")
	assert.EqualValues(t, 6, b.Levels[1], "stream")
	assert.Zero(t, b.Levels[2], "stream")
	assert.Equal(t, clock.Second, b.LastAt, "stream")
	a := list[1]
	assert.EqualValues(t, 2, a.Packets, "without numbers")
	assert.Zero(t, a.Late, "without numbers")
}

// Bad packets, and other kinds, change nothing; a flood of streams is bounded and
// counted, and makes room when it stops.
func TestMonitorFlood(t *testing.T) {
	m := NewMonitor()
	b := readHex(t, "artnet-artdmx-8")
	for _, c := range []struct {
		at  int
		v   byte
		err error
	}{{0, 'X', ErrID}, {11, 13, ErrVersion}, {17, 7, ErrLength}, {15, 0x80, ErrAddress}, {17, 10, ErrShort}, {9, 0x97, nil}} {
		bad := bytes.Clone(b)
		bad[c.at] = c.v
		var p Packet
		p.Decode(bad)
		require.ErrorIs(t, p.Err, c.err)
		m.Add(p)
	}
	assert.Empty(t, m.Universes(0))
	for i := range maxReceived + 3 {
		m.Add(dmxPacket(0, nodeA, uint16(i), 1, 0, 0))
	}
	m.Add(dmxPacket(0, nodeA, 0, 1, 0, 0))
	list := m.Universes(60 * clock.Second)
	assert.Len(t, list, maxReceived)
	assert.EqualValues(t, 1, list[0].Late)
	assert.EqualValues(t, 3, m.Overflow())
	assert.Empty(t, m.Universes(60*clock.Second+1), "a minute after the flood")
}

func TestMonitorRate(t *testing.T) {
	m := NewMonitor()
	seq := uint8(0)
	for n := range 44 * 10 {
		seq = NextSequence(seq)
		m.Add(dmxPacket(frame(n), nodeA, 1, seq, 0, 0))
	}
	got := m.Universes(frame(44*10 - 1))[0]
	assert.Equal(t, 44, got.Rate)
	assert.Zero(t, got.Missing)
	assert.Zero(t, m.Universes(frame(44*12) + 1)[0].Rate, "rate two seconds after the last packet")
}

// Walking n steps along the ring of 255 numbers is n steps ahead.
func TestSequenceStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Uint8Range(1, 255).Draw(t, "a")
		n := rapid.IntRange(0, 127).Draw(t, "n")
		b := a
		for range n {
			b = NextSequence(b)
		}
		require.Equal(t, n, sequenceStep(a, b), "%d to %d", a, b)
		require.Equal(t, -n, sequenceStep(b, a), "%d to %d", b, a)
	})
}
