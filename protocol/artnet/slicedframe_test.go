package artnet

import (
	"net/netip"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

func nodeAt(n int) netip.AddrPort {
	return netip.AddrPortFrom(netip.AddrFrom4([4]byte{10, 0, byte(n >> 8), byte(n)}), Port)
}

// unicastTo is four universes to each node.
func unicastTo(nodes int) (list []UniverseConfig) {
	for i := range 4 * nodes {
		list = append(list, UniverseConfig{Source: i, PortAddress: uint16(i), Nodes: []netip.AddrPort{nodeAt(i / 4)}})
	}
	return list
}

// 1,024 universes to 256 nodes leave within 10 ms, evenly in all and to each node, and
// ArtSync after all of them. A small frame leaves at once.
func TestLargeFrameLeavesInSlices(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: unicastTo(256), Sync: true, Spread: udp.DefaultSpread})
	u := make([]dmx.Universe, 1024)
	for n := range 3 {
		w.sent = nil
		w.send(t, s, frame(n), u)
		require.Empty(t, w.sent, "before the first slice")
		total := map[uint16]bool{}
		syncs := 0
		for i := range udp.MaxSlices {
			at, ok := s.NextSlice()
			require.True(t, ok, "slice %d", i)
			require.Equal(t, frame(n)+clock.Time(i)*clock.Millisecond, at)
			w.sent = nil
			s.SendSlice(at)
			byNode := map[netip.AddrPort]int{}
			data := 0
			for _, p := range w.sent {
				var d Dmx
				if d.Parse(p.b) != nil {
					syncs++
					continue
				}
				require.Zero(t, syncs, "levels after an ArtSync")
				require.False(t, total[d.PortAddress])
				total[d.PortAddress] = true
				byNode[p.to]++
				data++
			}
			assert.InDelta(t, 1024/11, data, 70, "packets in slice %d", i)
			for to, n := range byNode {
				assert.Equal(t, 1, n, "packets to %v in slice %d", to, i)
			}
		}
		_, ok := s.NextSlice()
		require.False(t, ok)
		assert.Len(t, total, 1024)
		assert.Equal(t, 256, syncs)
	}
	s, w = startSender(t, SenderConfig{Universes: unicastTo(8), Sync: true, Spread: udp.DefaultSpread})
	w.send(t, s, 0, u)
	assert.Len(t, w.sent, 32+8)
}

// What has not left leaves before the next frame, and an error of a slice is returned then.
func TestSlicesThatAreLate(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: unicastTo(64), Spread: udp.DefaultSpread})
	u := make([]dmx.Universe, 256)
	w.send(t, s, 0, u)
	s.SendSlice(0)
	first := len(w.sent)
	assert.InDelta(t, 32, first, 32)
	w.send(t, s, frame(1), u)
	assert.Len(t, w.sent, 256)
	w.refuse = func(to netip.AddrPort) error {
		if to == nodeAt(3) {
			return syscall.EHOSTUNREACH
		}
		return nil
	}
	for at, ok := s.NextSlice(); ok; at, ok = s.NextSlice() {
		s.SendSlice(at)
	}
	require.ErrorIs(t, s.Send(frame(2), u, nil), syscall.EHOSTUNREACH)
	assert.Len(t, w.sent, 2*256-4)
	require.NoError(t, s.Close())
	assert.Len(t, w.sent, 3*256-8, "the rest leaves with Close")
}

// A node that misses levels of a frame gets no ArtSync, the others do; by broadcast none
// does. After half a second it is sent all the same.
func TestNoSyncAfterPartOfAFrame(t *testing.T) {
	for _, nic := range []string{"", "lo"} {
		s, w := startSender(t, SenderConfig{Interface: nic, Universes: unicastTo(2), Sync: true})
		u := make([]dmx.Universe, 8)
		tries := 0
		w.refuse = func(to netip.AddrPort) error { // the first packet of a frame to the first node
			if to == nodeAt(0) {
				if tries++; tries == 1 {
					return syscall.EPERM
				}
			}
			return nil
		}
		syncs := map[netip.AddrPort]int{}
		for n := range 44 {
			w.sent, tries = nil, 0
			require.Error(t, s.Send(frame(n), u, nil))
			for _, p := range w.sent {
				if op, _ := OpCodeOf(p.b); op == OpSync {
					syncs[p.to]++
				}
			}
		}
		if nic != "" {
			assert.Equal(t, map[netip.AddrPort]int{netip.MustParseAddrPort("10.1.2.255:6454"): 22}, syncs)
		} else {
			assert.Equal(t, 44, syncs[nodeAt(1)])
			assert.Equal(t, 22, syncs[nodeAt(0)])
		}
	}
}
