package artnet

import (
	"net"
	"net/netip"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// sinks returns loopback addresses with sockets that take packets and drop what
// they cannot hold.
func sinks(t testing.TB, n int) (to []netip.AddrPort) {
	t.Helper()
	for range n {
		conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
		require.NoError(t, err)
		t.Cleanup(func() { conn.Close() })
		to = append(to, conn.LocalAddr().(*net.UDPAddr).AddrPort())
	}
	return to
}

func universes(n int, to []netip.AddrPort) (cfg SenderConfig, u []dmx.Universe) {
	for i := range n {
		cfg.Universes = append(cfg.Universes, UniverseConfig{
			Source: i, PortAddress: uint16(i), Nodes: []netip.AddrPort{to[i%len(to)]},
		})
	}
	return cfg, make([]dmx.Universe, n)
}

// After one frame, which opens the sockets and sizes the batches, a frame costs
// no allocation: data, syncs, and asking for polls.
func TestSendDoesNotAllocate(t *testing.T) {
	if raceEnabled {
		t.Skip("needs a build without the race detector")
	}
	cfg, u := universes(1024, sinks(t, 64))
	cfg.Sync = true
	for i := range cfg.Universes {
		cfg.Universes[i].OnChange = i%2 == 0
		cfg.Universes[i].Rate = 40 + i%5
	}
	s, err := NewSender(cfg)
	require.NoError(t, err)
	defer s.Close()
	s.discovery = &discovery{pollDue: make(chan struct{}, 1), found: make(chan Node, foundDepth)}
	defer func() { s.discovery = nil }()
	n := 0
	send := func() {
		n++
		u[n%len(u)].Slots[n%512]++
		if err := s.Send(frame(n), u, nil); err != nil {
			panic(err)
		}
	}
	for range 44 {
		send()
	}
	s.watch.Close() // it reads the interfaces in its own goroutines, which are not counted
	assert.Zero(t, testing.AllocsPerRun(440, send), "allocations a frame")
}

// BenchmarkSend compares a frame of 1,024 universes to one socket with the
// floor: sendmmsg of packets that are ready, to the same socket, in turns.
func BenchmarkSend(b *testing.B) {
	for _, c := range []struct {
		name  string
		nodes int
	}{{"1024universes-1node", 1}, {"1024universes-256nodes", 256}} {
		b.Run(c.name, func(b *testing.B) {
			to := sinks(b, c.nodes)
			cfg, u := universes(1024, to)
			s, err := NewSender(cfg)
			require.NoError(b, err)
			defer s.Close()
			conn, err := net.ListenUDP("udp4", &net.UDPAddr{})
			require.NoError(b, err)
			defer conn.Close()
			floor, err := udp.NewConn(conn, false)
			require.NoError(b, err)
			ready := make([]ipv4.Message, len(u))
			for i := range ready {
				d := Dmx{PortAddress: uint16(i), Sequence: 1, Data: make([]byte, dmx.Slots)}
				ready[i] = ipv4.Message{Buffers: [][]byte{d.AppendTo(nil)}, Addr: net.UDPAddrFromAddrPort(to[i%len(to)])}
			}
			var ours, theirs time.Duration
			var now clock.Time
			base := clock.NewBase()
			require.NoError(b, s.Send(now, u, nil)) // opens the sockets
			b.ReportAllocs()
			for b.Loop() {
				now += clock.Second / 44
				t0 := base.Now()
				if err := s.Send(now, u, nil); err != nil {
					require.NoError(b, err)
				}
				t1 := base.Now()
				for ms := ready; len(ms) > 0; {
					n, err := floor.WriteBatch(ms)
					if err != nil {
						require.NoError(b, err)
					}
					ms = ms[n:]
				}
				ours, theirs = ours+t1.Sub(t0), theirs+base.Now().Sub(t1)
			}
			b.ReportMetric(float64(ours)/float64(theirs), "x-floor")
			b.ReportMetric(float64(ours.Nanoseconds())/float64(b.N)/1024, "ns/universe")
		})
	}
}
