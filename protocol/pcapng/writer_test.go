package pcapng_test

import (
	"bytes"
	"encoding/binary"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/pcapng"
)

func ap(s string) netip.AddrPort { return netip.MustParseAddrPort(s) }

// capture writes some packets: even, odd and empty data, unicast and multicast.
func capture(t *testing.T, out *bytes.Buffer) {
	t.Helper()
	w, err := pcapng.NewWriter(out, "tactus")
	require.NoError(t, err)
	at := time.Date(2026, 11, 27, 19, 28, 2, 104_518_001, time.UTC)
	for i, p := range []struct {
		to   string
		data []byte
	}{{"10.0.0.7:40001", []byte("calm")}, {"239.255.0.1:40002", []byte("odd")}, {"255.255.255.255:9", nil}} {
		require.NoError(t, w.WriteUDP(at.Add(time.Duration(i)*time.Second), ap("192.0.2.1:5000"), ap(p.to), p.data))
	}
}

// Every block says its length in front and behind and begins at a multiple of
// four; the head is as draft-ietf-opsawg-pcapng, 4.1 and 4.2, has it.
func TestBlocks(t *testing.T) {
	var out bytes.Buffer
	capture(t, &out)
	b := out.Bytes()
	want := []byte{
		0x0A, 0x0D, 0x0D, 0x0A, 44, 0, 0, 0, 0x4D, 0x3C, 0x2B, 0x1A, 1, 0, 0, 0,
		0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 4, 0, 6, 0, 't', 'a', 'c', 't', 'u', 's', 0, 0,
		0, 0, 0, 0, 44, 0, 0, 0,
		1, 0, 0, 0, 32, 0, 0, 0, 101, 0, 0, 0, 0, 0, 0, 0, 9, 0, 1, 0, 9, 0, 0, 0, 0, 0, 0, 0, 32, 0, 0, 0,
	}
	require.True(t, bytes.HasPrefix(b, want), "head\n% x\n% x", b[:len(want)], want)
	var kinds []uint32
	for len(b) > 0 {
		size := binary.LittleEndian.Uint32(b[4:])
		require.Zero(t, size%4, "block %d", len(kinds))
		require.LessOrEqual(t, int(size), len(b), "block %d", len(kinds))
		require.Equal(t, size, binary.LittleEndian.Uint32(b[size-4:]), "block %d", len(kinds))
		kinds = append(kinds, binary.LittleEndian.Uint32(b))
		b = b[size:]
	}
	if assert.Len(t, kinds, 5, "blocks") {
		assert.EqualValues(t, 6, kinds[2], "blocks")
		assert.EqualValues(t, 6, kinds[4], "blocks")
	}
}

// tshark finds every time, address, checksum and byte right.
func TestAnalyserReadsIt(t *testing.T) {
	if _, err := exec.LookPath("tshark"); err != nil {
		require.NotEqual(t, "true", os.Getenv("CI"), "needs tshark")
		t.Skip("needs tshark: install the tshark package")
	}
	var file bytes.Buffer
	capture(t, &file)
	path := filepath.Join(t.TempDir(), "c.pcapng")
	require.NoError(t, os.WriteFile(path, file.Bytes(), 0o600))
	out, err := exec.Command("tshark", "-r", path, "-o", "ip.check_checksum:TRUE", "-o", "udp.check_checksum:TRUE", "-T", "fields",
		"-e", "frame.time_epoch", "-e", "ip.src", "-e", "ip.dst", "-e", "ip.ttl", "-e", "udp.dstport", "-e", "ip.checksum.status",
		"-e", "udp.checksum.status", "-e", "udp.payload").Output()
	require.NoError(t, err)
	want := `1795807682.104518001	192.0.2.1	10.0.0.7	64	40001	1	1	63616c6d
1795807683.104518001	192.0.2.1	239.255.0.1	1	40002	1	1	6f6464
1795807684.104518001	192.0.2.1	255.255.255.255	64	9	1	1`
	assert.Equal(t, want, strings.TrimSpace(string(out)), "tshark reads")
}

func TestWriteUDPRefuses(t *testing.T) {
	w, _ := pcapng.NewWriter(&bytes.Buffer{}, "")
	v4, v6 := ap("10.0.0.7:1"), ap("[::1]:1")
	assert.ErrorIs(t, w.WriteUDP(time.Time{}, v6, v4, nil), pcapng.ErrAddress)
	assert.ErrorIs(t, w.WriteUDP(time.Time{}, v4, netip.AddrPort{}, nil), pcapng.ErrAddress)
	assert.ErrorIs(t, w.WriteUDP(time.Time{}, v4, v4, make([]byte, 65508)), pcapng.ErrLong)
}
