package senders

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/artnet"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
	"tactus/shows"
)

func TestStandingHoldsAPlace(t *testing.T) {
	for _, p := range []Place{{}, {-1, false}, {1, true}, {2, true}, {-128, true}, {127, false}} {
		assert.Equal(t, p, NewStanding(p).Place())
	}
}

// The senders follow a standing with the next frame: sACN by its priority, Art-Net by
// its silence.
func TestSendersFollowAStanding(t *testing.T) {
	var priorities []uint8
	artNet := 0
	take := func(_ netip.AddrPort, b []byte) {
		var p sacn.DataPacket
		if p.Parse(b) == nil {
			priorities = append(priorities, p.Priority)
		}
	}
	s, err := sacn.NewSender(sacn.SenderConfig{CID: [16]byte{1}, Open: func() (udp.Conn, error) { return udp.Capture(take), nil }, Universes: []sacn.UniverseConfig{
		{Number: 1, Priority: 100, Destinations: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.7:5568")}},
	}})
	require.NoError(t, err)
	a, err := artnet.Capture(artnet.SenderConfig{Universes: []artnet.UniverseConfig{{Nodes: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.7:6454")}}}},
		func(netip.AddrPort, []byte) { artNet++ })
	require.NoError(t, err)
	standing := NewStanding(Place{Raised: -1})
	one, two := placeSACN(standing, s), placeArtNet(standing, a)
	var sent []int
	for i, p := range []Place{{-1, false}, {-1, false}, {1, true}, {0, false}, {0, true}} {
		standing.Set(p)
		now, levels := clock.Time(i)*clock.Second/40, make([]dmx.Universe, 1)
		require.NoError(t, one.Send(now, levels, nil))
		require.NoError(t, two.Send(now, levels, nil))
		sent = append(sent, artNet)
	}
	assert.Equal(t, []uint8{99, 99, 101, 100, 100}, priorities)
	assert.Equal(t, []int{0, 0, 1, 1, 2}, sent)
	assert.Same(t, s, placeSACN(nil, s), "without a standing nothing changes")
}

// A large frame of a sender that follows a standing leaves in slices, each when it is due:
// what is left of it does not wait for the next frame.
func TestSendersThatFollowAStandingSendSlices(t *testing.T) {
	const universes = 2 * int(udp.DefaultSpread)
	to, packets := netip.MustParseAddr("10.0.0.7"), 0
	take := func(netip.AddrPort, []byte) { packets++ }
	var number []sacn.UniverseConfig
	var address []artnet.UniverseConfig
	for i := range universes {
		number = append(number, sacn.UniverseConfig{Source: i, Number: uint16(i + 1), Priority: 100, Destinations: []netip.AddrPort{netip.AddrPortFrom(to, 5568)}})
		address = append(address, artnet.UniverseConfig{Source: i, PortAddress: uint16(i), Nodes: []netip.AddrPort{netip.AddrPortFrom(to, 6454)}})
	}
	s, err := sacn.NewSender(sacn.SenderConfig{CID: [16]byte{1}, Open: func() (udp.Conn, error) { return udp.Capture(take), nil }, Universes: number, Spread: udp.DefaultSpread})
	require.NoError(t, err)
	a, err := artnet.Capture(artnet.SenderConfig{Universes: address, Spread: udp.DefaultSpread}, take)
	require.NoError(t, err)
	standing := NewStanding(Place{OnLamps: true})
	for name, o := range map[string]engine.Output{"sACN": placeSACN(standing, s), "Art-Net": placeArtNet(standing, a)} {
		spreader, ok := o.(engine.Spreader)
		require.True(t, ok, "%s: the loop asks an output whether it sends slices", name)
		packets = 0
		require.NoError(t, o.Send(clock.Second, make([]dmx.Universe, universes), nil))
		slices := 0
		for at, left := spreader.NextSlice(); left; at, left = spreader.NextSlice() {
			spreader.SendSlice(at)
			slices++
		}
		assert.Greater(t, slices, 1, "%s: slices of a frame", name)
		assert.GreaterOrEqual(t, packets, universes, "%s: packets of the frame without the next one", name)
	}
}

func TestPriorityNotes(t *testing.T) {
	notes := PriorityNotes(&shows.Outputs{Universes: []shows.Universe{
		{Name: "stage", Protocol: shows.SACN, Priority: 100}, {Name: "low", Protocol: shows.SACN}, {Name: "high", Protocol: shows.SACN, Priority: 200}, {Name: "node", Protocol: shows.ArtNet},
	}})
	require.Len(t, notes, 2)
	assert.Contains(t, notes[0], `"low" has priority 0`)
	assert.Contains(t, notes[1], `"high" has priority 200`)
}
