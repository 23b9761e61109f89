package main

import (
	"io"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/sacn"
)

// The walk goes out by the show's own wire: wash 1's dimmer rises on slot 1.
func TestWalkOnTheWire(t *testing.T) {
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	defer conn.Close()
	keys, typed := io.Pipe()
	done := make(chan int)
	go func() {
		done <- run([]string{"walk", "demo", "--to", conn.LocalAddr().String(), "--state", t.TempDir(), "--rise", "0s", "--for", "20s"}, keys, io.Discard, io.Discard)
	}()
	io.WriteString(typed, "find wash 1\n")
	conn.SetReadDeadline(time.Now().Add(15 * time.Second))
	buf := make([]byte, 1500)
	top := byte(0)
	for top < 76 {
		n, err := conn.Read(buf)
		require.NoError(t, err, "slot 1 came to %d only", top)
		var p sacn.DataPacket
		if p.Parse(buf[:n]) == nil && p.Universe == 1 {
			top = max(top, p.Slots[0])
		}
	}
	io.WriteString(typed, "quit\n")
	assert.Equal(t, exitOK, <-done, "slot 1")
	assert.LessOrEqual(t, top, byte(77), "slot 1")
}
