package sacn_test

import (
	"cmp"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
)

// datagram is what came out of a real socket.
type datagram struct {
	from, to *net.UDPAddr
	payload  []byte
}

// writeCapture writes a pcap file of raw IPv4 packets (LINKTYPE_RAW, 101). All
// go to port 5568, where they would go on a network.
func writeCapture(t *testing.T, path string, list []datagram) {
	t.Helper()
	le := binary.LittleEndian
	b := le.AppendUint32(nil, 0xa1b2c3d4)
	for _, v := range []uint32{2 | 4<<16, 0, 0, 65535, 101} {
		b = le.AppendUint32(b, v)
	}
	for i, d := range list {
		size := 28 + len(d.payload)
		for _, v := range []uint32{uint32(i / 44), uint32(i % 44 * 22727), uint32(size), uint32(size)} {
			b = le.AppendUint32(b, v)
		}
		be := binary.BigEndian
		header := len(b)
		b = append(b, 0x45, 0)
		b = be.AppendUint16(b, uint16(size))
		b = append(b, 0, 0, 0, 0, 64, 17, 0, 0)
		b = append(b, d.from.IP.To4()...)
		b = append(b, d.to.IP.To4()...)
		sum := uint32(0)
		for off := header; off < len(b); off += 2 {
			sum += uint32(be.Uint16(b[off:]))
		}
		sum = sum>>16 + sum&0xffff
		be.PutUint16(b[header+10:], ^uint16(sum+sum>>16))
		b = be.AppendUint16(b, uint16(d.from.Port))
		b = be.AppendUint16(b, sacn.Port)
		b = be.AppendUint16(b, uint16(8+len(d.payload)))
		b = append(b, 0, 0) // no checksum
		b = append(b, d.payload...)
	}
	require.NoError(t, os.WriteFile(path, b, 0o644))
}

// tshark prints fields of the packets in a capture, one line each.
func tshark(t *testing.T, capture string, fields ...string) []string {
	t.Helper()
	args := []string{
		"-r", capture, "-o", "acn.dmx_enable:TRUE", "-o", "acn.dmx_display_zeros:TRUE",
		"--enable-heuristic", "acn", "-T", "fields", "-E", "separator=/t", "-E", "occurrence=a",
	}
	for _, f := range fields {
		args = append(args, "-e", f)
	}
	var stderr strings.Builder
	cmd := exec.Command("tshark", args...)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, "tshark: %s", stderr.String())
	return strings.Split(strings.TrimRight(string(out), "\n"), "\n")
}

// slotsOf reads tshark's table of slots, "001-020: 0 1 … | A B …" a row after a
// row of column numbers, as plain hexadecimal.
func slotsOf(table string) string {
	var b strings.Builder
	for _, row := range strings.Split(table, ",") {
		_, values, ok := strings.Cut(row, ": ")
		if !ok {
			continue
		}
		for _, v := range strings.Fields(strings.ReplaceAll(values, "|", " ")) {
			fmt.Fprintf(&b, "%02s", strings.ToLower(v))
		}
	}
	return b.String()
}

// An independent dissector reads every data packet that came out of a real
// socket: nothing malformed, every field right. (tshark 4.0 knows neither sync
// nor discovery packets: those are held to the worked packets. It calls every
// data packet with fewer than six slots malformed, though the standard allows
// none at all: 7.6.)
func TestDissected(t *testing.T) {
	need(t, have("tshark"), "tshark", "install the tshark package")
	in, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	defer in.Close()
	var got []datagram
	collect := func(n int) {
		t.Helper()
		in.SetReadDeadline(time.Now().Add(10 * time.Second))
		for range n {
			b := make([]byte, 2000)
			n, from, err := in.ReadFromUDP(b)
			require.NoError(t, err)
			got = append(got, datagram{from, in.LocalAddr().(*net.UDPAddr), b[:n]})
		}
	}
	universes := []sacn.UniverseConfig{{Number: 1, Priority: 100}, {Number: 300, Source: 1, Priority: 0, Slots: 6}, {Number: 63999, Source: 1, Priority: 200, Slots: 24}}
	s, err := sacn.NewSender(sacn.SenderConfig{
		CID: sacn.CheckCID, SourceName: "Harbour Hall", OnExit: sacn.Terminate, Universes: universes,
	}.ToAddress(in.LocalAddr().(*net.UDPAddr).AddrPort()))
	require.NoError(t, err)
	levels := make([]dmx.Universe, 2)
	var want []string
	expect := func(frame, ends int) {
		for _, u := range universes {
			slots := cmp.Or(u.Slots, dmx.Slots) // 0: all of them
			data := levels[u.Source].Slots[:slots]
			want = append(want, fmt.Sprintf("%d\t%d\t%d\t%d\t%d\t%d\t%d\t\t\t%s",
				u.Number, u.Priority, frame%256, ends, 0, 1+slots, 126+slots+8, hex.EncodeToString(data)))
		}
	}
	frame := 0
	for ; frame < 270; frame++ {
		for i := range dmx.Slots {
			levels[0].Slots[i], levels[1].Slots[i] = byte(i+frame), byte(200-i)
		}
		require.NoError(t, s.Send(clock.Time(frame)*clock.Second/44, levels, nil))
		expect(frame, 0)
		collect(3)
	}
	require.NoError(t, s.Close())
	for range 3 {
		expect(frame, 1)
		frame++
		collect(3)
	}
	capture := filepath.Join(t.TempDir(), "sacn.pcap")
	writeCapture(t, capture, got)
	lines := tshark(t, capture, "acn.dmx.universe", "acn.dmx.priority", "acn.dmx.seq_number", "acn.dmx.option_s",
		"acn.dmx.option_p", "acn.dmx.count", "udp.length", "_ws.malformed", "_ws.expert.message", "acn.dmx.data")
	require.Len(t, lines, len(want))
	for i, line := range lines {
		cut := strings.LastIndexByte(line, '\t') + 1
		line = line[:cut] + slotsOf(line[cut:])
		require.Equal(t, want[i], line, "packet %d", i)
	}
	names := tshark(t, capture, "acn.dmx.source_name", "acn.cid", "acn.dmx.start_code")
	assert.True(t, strings.HasPrefix(names[0], "Harbour Hall\tf81d4fae-7dec-11d0-a765-00a0c91e6bf6\t"), "tshark reads %q", names[0])
}
