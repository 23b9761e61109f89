package sacn_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
)

// listen runs a receiver until the test ends and returns what it hears.
func listen(t *testing.T, c sacn.ReceiverConfig) <-chan heard {
	t.Helper()
	c.Clock = clock.NewBase()
	r, err := sacn.NewReceiver(c)
	require.NoError(t, err)
	out := make(chan heard, 10_000)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = r.Run(ctx, func(p sacn.Packet) { // ends with ctx
			h := heard{Packet: p}
			if p.Data != nil {
				h.data = *p.Data
				h.data.Slots = append([]byte(nil), p.Data.Slots...)
			}
			if p.Discovery != nil {
				h.list = append(h.list, p.Discovery.Universes...)
			}
			select {
			case out <- h:
			default: // nobody reads any more
			}
		})
	}()
	t.Cleanup(func() { cancel(); <-done })
	return out
}

// heard is a packet with its contents copied.
type heard struct {
	sacn.Packet
	data sacn.DataPacket
	list []uint16
}

// next waits for the next packet that fits.
func next(t *testing.T, from <-chan heard, what string, fits func(h heard) bool) heard {
	t.Helper()
	deadline := time.After(10 * time.Second)
	for {
		select {
		case h := <-from:
			if fits(h) {
				return h
			}
		case <-deadline:
			require.Fail(t, fmt.Sprintf("no %s within 10 s", what))
		}
	}
}

// Sender to receiver over real sockets on loopback, unicast.
func TestLoopback(t *testing.T) {
	port := freePort(t)
	packets := listen(t, sacn.ReceiverConfig{Port: port})
	to := netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), port)
	s, err := sacn.NewSender(sacn.SenderConfig{
		CID: sacn.CheckCID, SourceName: "Harbour Hall", OnExit: sacn.Terminate, Sync: 3,
		Universes: append(universe(1, nil), universe(2, func(u *sacn.UniverseConfig) { u.Source = 1; u.Slots = 24 })...),
	}.ToAddress(to))
	require.NoError(t, err)
	levels := make([]dmx.Universe, 2)
	for i := range dmx.Slots {
		levels[0].Slots[i], levels[1].Slots[i] = byte(i), byte(3*i)
	}
	require.NoError(t, s.Send(0, levels, nil))
	for n := range uint16(2) {
		h := next(t, packets, "data", func(h heard) bool { return h.Data != nil })
		assert.Equal(t, n+1, h.data.Universe)
		assert.Equal(t, levels[n].Slots[5], h.data.Slots[5])
		assert.Equal(t, "Harbour Hall", h.data.SourceName.String())
		assert.Equal(t, "127.0.0.1", h.From.Addr().String())
		assert.Greater(t, h.At, clock.Time(0))
	}
	assert.NoError(t, next(t, packets, "sync", func(h heard) bool { return h.Sync != nil }).Err, "sync packet with an error")
	c, err := net.Dial("udp4", to.String())
	require.NoError(t, err)
	defer c.Close()
	for _, bad := range [][]byte{[]byte("hello"), make([]byte, 2000), {}} {
		_, err := c.Write(bad)
		require.NoError(t, err)
		h := next(t, packets, "bad packet", func(h heard) bool { return h.Err != nil })
		assert.True(t, errors.Is(h.Err, sacn.ErrShort) || errors.Is(h.Err, sacn.ErrPreamble), "%d octets: %v", len(bad), h.Err)
	}
	require.NoError(t, s.Close())
	for range 6 {
		next(t, packets, "last packet", func(h heard) bool { return h.Data != nil && h.data.Options == sacn.StreamTerminated })
	}
}

// Two programs on this machine may listen at the same time.
func TestPortIsShared(t *testing.T) {
	port := freePort(t)
	listen(t, sacn.ReceiverConfig{Port: port})
	listen(t, sacn.ReceiverConfig{Port: port})
}

func TestPortIsTaken(t *testing.T) {
	c, err := net.ListenPacket("udp4", "0.0.0.0:0") // does not share
	require.NoError(t, err)
	defer c.Close()
	_, err = sacn.NewReceiver(sacn.ReceiverConfig{Port: uint16(c.LocalAddr().(*net.UDPAddr).Port)})
	require.Error(t, err)
	t.Log(err)
}

func TestReceiverFaults(t *testing.T) {
	for _, c := range []sacn.ReceiverConfig{
		{Universes: []uint16{0}}, {Universes: []uint16{64000}}, {Interface: "no such interface", Universes: []uint16{1}},
	} {
		c.Port = freePort(t)
		_, err := sacn.NewReceiver(c)
		assert.Error(t, err, "%+v", c)
	}
}

func freePort(t *testing.T) uint16 {
	t.Helper()
	c, err := net.ListenPacket("udp4", "127.0.0.1:0")
	require.NoError(t, err)
	defer c.Close()
	return uint16(c.LocalAddr().(*net.UDPAddr).Port)
}

// The real socket path allocates nothing either.
func TestSendAllocsOnSocket(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector makes sync.Pool forget, and x/net pools its headers")
	}
	hole, err := net.ListenPacket("udp4", "127.0.0.1:0") // nobody reads it
	require.NoError(t, err)
	defer hole.Close()
	var us []sacn.UniverseConfig
	for i := range 64 {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 1)})
	}
	s, err := sacn.NewSender(sacn.SenderConfig{CID: sacn.CheckCID, Universes: us}.ToAddress(hole.LocalAddr().(*net.UDPAddr).AddrPort()))
	require.NoError(t, err)
	defer s.Close()
	levels := make([]dmx.Universe, 1)
	var now clock.Time
	frame := func() {
		now += clock.Second / 44
		if err := s.Send(now, levels, nil); err != nil {
			require.NoError(t, err)
		}
	}
	frame() // the batch and the pool of headers grow once
	assert.Zero(t, testing.AllocsPerRun(200, frame), "allocations a frame: garbage makes frames late")
}
