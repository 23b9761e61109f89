package senders

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
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

func TestPriorityNotes(t *testing.T) {
	notes := PriorityNotes(&shows.Outputs{Universes: []shows.Universe{
		{Name: "stage", Protocol: shows.SACN, Priority: 100}, {Name: "low", Protocol: shows.SACN}, {Name: "high", Protocol: shows.SACN, Priority: 200}, {Name: "node", Protocol: shows.ArtNet},
	}})
	require.Len(t, notes, 2)
	assert.Contains(t, notes[0], `"low" has priority 0`)
	assert.Contains(t, notes[1], `"high" has priority 200`)
}
