package main

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/senders"
)

// listen collects what comes to a port on loopback until the test asks for it.
func listen(t *testing.T) (addr string, packets func() []string) {
	t.Helper()
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	t.Cleanup(func() { c.Close() })
	require.NoError(t, c.SetReadBuffer(4<<20))
	var list []string
	done := make(chan struct{})
	go func() {
		defer close(done)
		buf := make([]byte, 2048)
		for {
			n, err := c.Read(buf)
			if err != nil {
				return
			}
			list = append(list, hex.EncodeToString(buf[:n]))
		}
	}()
	return c.LocalAddr().String(), func() []string {
		c.SetReadDeadline(time.Now().Add(200 * time.Millisecond))
		<-done
		return list
	}
}

// What is exported from a journal is what came over a real wire, packet for
// packet and byte for byte, as an independent analyser reads it. With universes
// of different leads, too.
func TestCaptureIsWhatWentOverTheWire(t *testing.T) {
	for _, protocol := range []string{senders.SACN, senders.ArtNet} {
		t.Run(protocol, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			hall := filepath.Join(dir, "hall")
			call(t, 0, "new", hall)
			staggered(t, hall)
			night, film := filepath.Join(dir, "night"), filepath.Join(dir, "night.pcapng")
			to, packets := listen(t)
			call(t, 0, "run", hall, "--midi", "plan", "--protocol", protocol, "--to", to, "--state", dir, "--for", "1s", "--journal", night)
			sent := packets()
			call(t, 0, "replay", night, "--pcapng", film)
			if _, err := exec.LookPath("tshark"); err != nil {
				require.NotEqual(t, "true", os.Getenv("CI"), "needs tshark")
				t.Skip("needs tshark: install the tshark package")
			}
			kind := map[string]string{senders.SACN: "acn", senders.ArtNet: "artnet"}[protocol]
			out, err := exec.Command("tshark", "-r", film, "-o", "acn.dmx_enable:TRUE", "--enable-heuristic", "acn",
				"-T", "fields", "-e", "udp.payload", "-e", "frame.protocols", "-e", "_ws.malformed").Output()
			require.NoError(t, err)
			lines := strings.Split(strings.TrimRight(string(out), "\n"), "\n")
			require.GreaterOrEqual(t, len(sent), 80)
			require.Len(t, lines, len(sent))
			for i, line := range lines {
				f := strings.Split(line, "\t")
				require.Equal(t, sent[i], f[0], "packet %d: %s", i, line)
				require.Contains(t, f[1], kind, "packet %d: %s", i, line)
				require.Empty(t, f[2], "packet %d: %s", i, line)
			}
		})
	}
}

// staggered gives a show's second universe more lead than the first.
func staggered(t *testing.T, hall string) {
	t.Helper()
	name := filepath.Join(hall, "rig.yaml")
	src, err := os.ReadFile(name)
	require.NoError(t, err)
	at := bytes.Index(src, []byte("universes:"))
	first := bytes.Index(src[at:], []byte("{"))
	require.GreaterOrEqual(t, at, 0, "the demo's universes are written otherwise")
	require.GreaterOrEqual(t, first, 0, "the demo's universes are written otherwise")
	src = bytes.Join([][]byte{src[:at+first+1], src[at+first+1:]}, []byte("lead: 30 ms, "))
	require.NoError(t, os.WriteFile(name, src, 0o600))
}

// call runs the program and returns what it printed, the errors last.
func call(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	var errOut printed
	require.Equal(t, want, run(args, nil, &out, &errOut), "%v: exit code\n%s%s", args, &out, &errOut.text)
	return out.String() + errOut.text.String()
}

// printed is standard error: many write to it.
type printed struct {
	mu   sync.Mutex
	text strings.Builder
}

func (p *printed) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.text.Write(b)
}

// A journal that a power cut has left is good for what it holds; one that was
// altered is told from the frame on where it differs.
func TestReplayOfACutAndOfAnAlteredJournal(t *testing.T) {
	night := filepath.Join(t.TempDir(), "night")
	call(t, 0, "run", "demo", "--midi", "plan", "--protocol", "virtual", "--for", "1s", "--journal", night)
	whole, err := os.ReadFile(night)
	require.NoError(t, err)
	cut := bytes.LastIndex(whole, []byte(" frame "))
	rewrite(t, night, whole[:cut+3])
	text := call(t, 0, "replay", night)
	assert.Contains(t, text, "cut off in line", "cut")
	assert.Contains(t, text, "every one as it was played", "cut")
	at := bytes.Index(whole, []byte(" frame 20 ")) + 1
	line := bytes.LastIndexByte(whole[:at], '\n') + 1
	altered := append(bytes.Clone(whole[:line]), whole[line:at]...)
	altered = append(altered, "do work-light\n"...)
	altered = append(altered, whole[line:]...)
	rewrite(t, night, altered)
	text = call(t, 1, "replay", night)
	var first int
	_, err = fmt.Sscanf(text, "frame %d at ", &first)
	assert.NoError(t, err, "altered")
	assert.GreaterOrEqual(t, first, 20, "altered")
	assert.Contains(t, text, "frames differ", "altered")
}

func rewrite(t *testing.T, name string, b []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(name, b, 0o600))
}
