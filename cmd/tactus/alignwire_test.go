package main

import (
	"bytes"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/sacn"
)

// The real thing on loopback: packets with a flash, clicks in a file, the line
// for the rig. Only sanity: real time is not the test's to promise.
func TestAlignOnLoopback(t *testing.T) {
	in, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	defer in.Close()
	clicks := filepath.Join(t.TempDir(), "clicks")
	lit := make(chan int, 1)
	go func() {
		buf, rises, was := make([]byte, 2048), 0, false
		for {
			n, err := in.Read(buf)
			if err != nil {
				lit <- rises
				return
			}
			var p sacn.DataPacket
			if p.Parse(buf[:n]) != nil {
				continue
			}
			bright := p.Slots[demoDimmer-1] > 0
			if bright && !was {
				rises++
			}
			was = bright
		}
	}()
	var out bytes.Buffer
	var errOut shared
	code := run([]string{
		"align", "demo", "--fixture", demoFixture, "--to", in.LocalAddr().String(), "--state", t.TempDir(),
		"--tempo", "120", "--lead", "40ms", "--for", "2200ms", "--click", "file:" + clicks, "--note", "76", "--real-time=false",
	}, strings.NewReader(""), &out, &errOut)
	in.Close()
	b, err := os.ReadFile(clicks)
	require.NoError(t, err, "exit code: %s", &errOut)
	require.Equal(t, exitOK, code, "exit code: %s", &errOut)
	on, off := bytes.Count(b, []byte{0x99, 76, 100}), bytes.Count(b, []byte{0x89, 76, 64})
	n := <-lit
	assert.GreaterOrEqual(t, on, 3)
	assert.LessOrEqual(t, on, 6)
	assert.Equal(t, off, on)
	assert.GreaterOrEqual(t, n, 3)
	assert.LessOrEqual(t, n, 6)
	assert.Contains(t, out.String(), "lead: 40 ms", "said %q and %q", &out, &errOut)
	assert.Contains(t, errOut.String(), "CAUTION", "said %q and %q", &out, &errOut)
}

func TestAlignRefuses(t *testing.T) {
	for _, args := range [][]string{
		{"--tempo", "121"}, {"--tempo", "NaN"}, {"--tempo", "5"}, {"--note", "128"}, {"--channel", "0"}, {"--lead", "1s"},
	} {
		assert.Equal(t, exitUsage, run(append([]string{"align", "demo", "--fixture", demoFixture}, args...), strings.NewReader(""), io.Discard, io.Discard), "%v: exit code", args)
	}
}

// shared is a buffer that ports and the session log to, as they do to a terminal.
type shared struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *shared) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(b)
}

func (s *shared) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}
