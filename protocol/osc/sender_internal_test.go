package osc

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSendAllocs(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	s, err := NewSender(netip.MustParseAddrPort("127.0.0.1:9"))
	require.NoError(t, err)
	defer s.conn.Close()
	m := &Message{Address: "/foo", Args: []Arg{Int(1000), Int(-1), Text("hello"), Float(1.234), Float(5.678)}}
	assert.Zero(t, testing.AllocsPerRun(1000, func() {
		m.Args[0].Bits++
		if s.Send(m) {
			s.free <- <-s.ready
		}
	}), "allocations")
	assert.Zero(t, testing.AllocsPerRun(100, func() { Match("/{a,b}*/[c-d]?", "/abc/dx") }), "Match")
}
