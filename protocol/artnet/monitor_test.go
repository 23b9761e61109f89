package artnet

import (
	"net/netip"
	"testing"

	"pgregory.net/rapid"

	"tactus/clock"
)

func dmxPacket(at clock.Time, from netip.AddrPort, address uint16, sequence uint8, data ...byte) Packet {
	return Packet{At: at, From: from, Op: OpDmx, Dmx: Dmx{Sequence: sequence, PortAddress: address, Data: data}}
}

func TestMonitor(t *testing.T) {
	m := NewMonitor()
	m.Take(dmxPacket(0, nodeB, 4, 250, 1, 2, 3, 4))
	m.Take(dmxPacket(1, nodeA, 4, 0, 9, 9))
	m.Take(dmxPacket(1, nodeA, 4, 0, 9, 9)) // not numbered: no order to keep
	m.Take(dmxPacket(2, nodeA, 3, 1, 7, 7))
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
		m.Take(dmxPacket(clock.Second, nodeB, 4, c.sequence, c.sequence, 6))
		got := m.Universes(0)[2]
		if got.Gaps != c.gaps || got.Late != c.late {
			t.Errorf("after %d: gaps %d, late %d; want %d, %d", c.sequence, got.Gaps, got.Late, c.gaps, c.late)
		}
	}
	list := m.Universes(clock.Second + 1)
	if len(list) != 3 || list[0].PortAddress != 3 || list[1].From != nodeA.Addr() || list[2].From != nodeB.Addr() {
		t.Fatalf("order of %+v", list)
	}
	if b := list[2]; b.Packets != 5 || b.Rate != 4 || b.Slots != 2 || b.Levels[0] != 200 || b.Levels[1] != 6 ||
		b.Levels[2] != 0 || b.Sequence != 200 || b.LastSeen != clock.Second {
		t.Errorf("stream %+v", b)
	}
	if a := list[1]; a.Packets != 2 || a.Late != 0 {
		t.Errorf("without numbers: %d packets, %d late", a.Packets, a.Late)
	}
}

func TestMonitorDiscardsByCause(t *testing.T) {
	m := NewMonitor()
	b := readHex(t, "artnet-artdmx-8")
	for _, c := range []struct {
		at int
		v  byte
	}{{0, 'X'}, {11, 13}, {17, 7}, {15, 0x80}, {17, 10}} {
		bad := append([]byte(nil), b...)
		bad[c.at] = c.v
		var p Packet
		p.Decode(bad)
		m.Take(p)
	}
	for i := range maxReceived + 3 {
		m.Take(dmxPacket(0, nodeA, uint16(i), 1, 0, 0))
	}
	m.Take(dmxPacket(0, nodeA, 0, 1, 0, 0))
	want := Discards{NotArtNet: 1, Version: 1, Length: 1, Address: 1, Short: 1, Late: 1, Overflow: 3}
	if got := m.Discards(); got != want {
		t.Errorf("have %+v, want %+v", got, want)
	}
}

func TestMonitorRate(t *testing.T) {
	m := NewMonitor()
	seq := uint8(0)
	for n := range 44 * 10 {
		seq = NextSequence(seq)
		m.Take(dmxPacket(frame(n), nodeA, 1, seq, 0, 0))
	}
	if got := m.Universes(frame(44*10 - 1))[0]; got.Rate != 44 || got.Gaps != 0 {
		t.Errorf("rate %d, gaps %d", got.Rate, got.Gaps)
	}
	if got := m.Universes(frame(44*12) + 1)[0]; got.Rate != 0 {
		t.Errorf("rate %d two seconds after the last packet", got.Rate)
	}
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
		if got := sequenceStep(a, b); got != n {
			t.Fatalf("%d to %d: %d, want %d", a, b, got, n)
		}
		if got := sequenceStep(b, a); got != -n {
			t.Fatalf("%d to %d: %d, want %d", b, a, got, -n)
		}
	})
}
