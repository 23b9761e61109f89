package artnet

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// A silent sender sends nothing; afterwards its levels leave with the first frame.
func TestSilent(t *testing.T) {
	sent := 0
	s, err := Capture(SenderConfig{Sync: true, Universes: []UniverseConfig{{OnChange: true, Nodes: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.7:6454")}}}},
		func(netip.AddrPort, []byte) { sent++ })
	require.NoError(t, err)
	levels, now := make([]dmx.Universe, 1), clock.Time(0)
	frames := func(n int) int {
		before := sent
		for range n {
			require.NoError(t, s.Send(now, levels, nil))
			now += clock.Second / 44
		}
		return sent - before
	}
	s.SetSilent(true)
	assert.Zero(t, frames(44))
	s.SetSilent(false)
	assert.Equal(t, 2, frames(1), "the data and its sync")
	frames(10)
	s.SetSilent(true)
	assert.Zero(t, frames(44))
	s.SetSilent(false)
	assert.Equal(t, 2, frames(1), "unchanged levels too")
}
