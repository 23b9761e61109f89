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

// A large frame leaves in slices beside another run too: the loop finds what sends them.
func TestFramesLeaveInSlicesBesideAnotherRun(t *testing.T) {
	const universes = 2 * int(udp.DefaultSpread)
	sent := 0
	take := func(netip.AddrPort, []byte) { sent++ }
	sacnConfig := sacn.SenderConfig{CID: [16]byte{1}, Spread: udp.DefaultSpread, Open: func() (udp.Conn, error) { return udp.Capture(take), nil }}
	artNetConfig := artnet.SenderConfig{Spread: udp.DefaultSpread}
	for i := range universes {
		sacnConfig.Universes = append(sacnConfig.Universes, sacn.UniverseConfig{
			Source: i, Number: uint16(i + 1), Priority: 100, Destinations: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.7:5568")},
		})
		artNetConfig.Universes = append(artNetConfig.Universes, artnet.UniverseConfig{
			Source: i, PortAddress: uint16(i), Nodes: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.7:6454")},
		})
	}
	s, err := sacn.NewSender(sacnConfig)
	require.NoError(t, err)
	a, err := artnet.Capture(artNetConfig, take)
	require.NoError(t, err)
	standing := NewStanding(Place{OnLamps: true})
	for name, output := range map[string]engine.Output{"sACN": placeSACN(standing, s), "Art-Net": placeArtNet(standing, a)} {
		sent = 0
		slices, ok := output.(engine.Spreader)
		require.True(t, ok, name)
		require.NoError(t, output.Send(0, make([]dmx.Universe, universes), nil), name)
		for at, left := slices.NextSlice(); left; at, left = slices.NextSlice() {
			assert.Less(t, sent, universes, "%s: slices are left, so packets are", name)
			slices.SendSlice(at)
		}
		assert.Equal(t, universes, sent, name)
	}
}

// faultySender is a sender without carrier.
type faultySender struct {
	*sacn.Sender
	fault udp.LinkError
}

func (s faultySender) LinkFault() *udp.LinkError { return &s.fault }

// What keeps packets in is known beside another run too.
func TestLinkFaultsBesideAnotherRun(t *testing.T) {
	fault := udp.LinkError{Interface: "eth7"}
	set := Set{List: []engine.Output{&placed{sender: faultySender{fault: fault}}, &placed{sender: faultySender{fault: fault}}}}
	assert.Equal(t, []*udp.LinkError{&fault}, set.LinkFaults(), "each interface once")
}

func TestPriorityNotes(t *testing.T) {
	notes := PriorityNotes(&shows.Outputs{Universes: []shows.Universe{
		{Name: "stage", Protocol: shows.SACN, Priority: 100}, {Name: "low", Protocol: shows.SACN}, {Name: "high", Protocol: shows.SACN, Priority: 200}, {Name: "node", Protocol: shows.ArtNet},
	}})
	require.Len(t, notes, 2)
	assert.Contains(t, notes[0], `"low" has priority 0`)
	assert.Contains(t, notes[1], `"high" has priority 200`)
}
