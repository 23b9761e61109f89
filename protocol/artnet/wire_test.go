package artnet

import (
	"bufio"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"net"
	"net/netip"
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
)

// missing skips a test that needs something, or fails it where CI promises all.
func missing(t *testing.T, what string) {
	t.Helper()
	require.NotEqual(t, "true", os.Getenv("CI"), "needs "+what)
	t.Skip("needs " + what)
}

// wireScript returns the path of a script that drives an independent library.
func wireScript(t *testing.T, name string) string {
	t.Helper()
	if _, err := exec.LookPath("node"); err != nil {
		missing(t, "node: apt-get install nodejs npm")
	}
	dir, err := filepath.Abs("../../testdata/wire")
	require.NoError(t, err)
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "dmxnet")); err != nil {
		missing(t, "the npm libraries: npm ci --prefix testdata/wire")
	}
	return filepath.Join(dir, name)
}

// startPeer runs a command until the test ends and returns its lines.
func startPeer(t *testing.T, command []string) <-chan string {
	t.Helper()
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := make(chan string, 1024)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		defer close(lines)
		scan := bufio.NewScanner(out)
		for scan.Scan() {
			select {
			case lines <- scan.Text():
			default: // nobody reads any more
			}
		}
	}()
	t.Cleanup(func() {
		in.Close()
		select {
		case <-ended:
		case <-time.After(5 * time.Second):
			_ = cmd.Process.Kill()
			<-ended
		}
		_ = cmd.Wait()
	})
	return lines
}

// pattern is a universe in which every slot tells where it is.
func pattern() []dmx.Universe {
	u := make([]dmx.Universe, 1)
	for i := range u[0].Slots {
		u[0].Slots[i] = byte((i + 1) * 7)
	}
	return u
}

// sendUntil sends frames until the peer prints levels, and returns them as
// fmt.Sprint prints a universe's slots.
func sendUntil(t *testing.T, s *Sender, u []dmx.Universe, lines <-chan string) string {
	t.Helper()
	end := time.After(20 * time.Second)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for n := 0; ; n++ {
		require.NoError(t, s.Send(frame(n), u, nil))
		select {
		case line, running := <-lines:
			require.True(t, running, "the peer has ended")
			var levels []int
			if json.Unmarshal([]byte(line), &levels) == nil {
				return fmt.Sprint(levels)
			}
		case <-tick.C:
		case <-end:
			require.Fail(t, "nothing arrives", "warning %q, counts %+v, nodes %+v", s.Warning(), s.Counts(), s.Nodes(frame(n)))
		}
	}
}

// freePort returns a UDP port that nothing has at the moment.
func freePort(t *testing.T) int {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	defer conn.Close()
	return conn.LocalAddr().(*net.UDPAddr).Port
}

// The npm dmxnet receiver (0.9.0) gets what we send, and a change of it.
func TestWireDmxnetReceives(t *testing.T) {
	script := wireScript(t, "artnet-dmxnet-receive.mjs")
	port := freePort(t)
	lines := startPeer(t, []string{"node", script, fmt.Sprint(port), "2", "3", "4", "127.0.0.1"})
	s, err := NewSender(SenderConfig{Interface: loopback(t), Universes: []UniverseConfig{{
		PortAddress: 564,
		Nodes:       []netip.AddrPort{netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), uint16(port))},
	}}})
	require.NoError(t, err)
	defer s.Close()
	require.Equal(t, "ready", <-lines)
	u := pattern()
	assert.Equal(t, fmt.Sprint(u[0].Slots), sendUntil(t, s, u, lines))
	u[0].Slots[511], u[0].Slots[0] = 1, 2
	for want := fmt.Sprint(u[0].Slots); sendUntil(t, s, u, lines) != want; {
	}
}

// loopback returns the name of the loopback interface.
func loopback(t *testing.T) string {
	t.Helper()
	all, err := net.Interfaces()
	require.NoError(t, err)
	for _, nic := range all {
		if nic.Flags&net.FlagLoopback != 0 {
			return nic.Name
		}
	}
	missing(t, "a loopback interface")
	return ""
}

// What the npm senders send is decoded: dmxnet 0.9.0 numbers its packets, artnet
// 1.4.0 does not.
func TestWireDecodeSenders(t *testing.T) {
	for _, c := range []struct {
		script  string
		args    []string
		ordered bool
	}{
		{"artnet-dmxnet-send.mjs", []string{"2", "3", "4", "OWN"}, true},
		{"artnet-npm-send.mjs", []string{"564"}, false},
	} {
		t.Run(c.script, func(t *testing.T) {
			script := wireScript(t, c.script)
			r, err := NewReceiver(ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0"), Base: clock.NewBase()})
			require.NoError(t, err)
			args := []string{"node", script, "127.0.0.1", fmt.Sprint(addrOf(r).Port())}
			for _, a := range c.args {
				if a == "OWN" {
					a = fmt.Sprint(freePort(t))
				}
				args = append(args, a)
			}
			startPeer(t, args)
			ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
			defer cancel()
			m := NewMonitor()
			var at clock.Time
			var sequence uint8
			require.NoError(t, r.Run(ctx, func(p Packet) {
				require.NoError(t, p.Err)
				m.Add(p)
				if list := m.Universes(p.At); len(list) == 1 && list[0].Packets == 20 {
					at, sequence = p.At, p.Dmx.Sequence
					cancel()
				}
			}))
			list := m.Universes(at)
			require.Len(t, list, 1)
			got := list[0]
			assert.EqualValues(t, 564, got.PortAddress)
			assert.Equal(t, 512, got.Slots)
			assert.Equal(t, pattern()[0].Slots, got.Levels)
			assert.Zero(t, got.Missing)
			assert.Zero(t, got.Late)
			assert.Equal(t, "127.0.0.1", got.From.String())
			assert.Equal(t, c.ordered, sequence > 0)
			assert.GreaterOrEqual(t, got.Rate, 10, "rate")
			assert.LessOrEqual(t, got.Rate, 45, "rate")
		})
	}
}

// tshark reads every packet that a Sender makes, and calls none malformed.
func TestWireTshark(t *testing.T) {
	if _, err := exec.LookPath("tshark"); err != nil {
		missing(t, "tshark: apt-get install tshark")
	}
	s, w := startSender(t, SenderConfig{Sync: true, Universes: []UniverseConfig{
		{PortAddress: 564, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 0, Slots: 2, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 32767, Slots: 511, Nodes: []netip.AddrPort{nodeA}},
	}})
	w.send(t, s, 0, pattern())
	short, targeted := Poll{Flags: PollReplyOnChange}, Poll{Flags: PollTargeted, TargetTop: 564, TargetBottom: 560}
	d := &discovery{cfg: &SenderConfig{Name: "harbour", Interface: loopback(t)}}
	packets := [][]byte{short.AppendTo(nil), targeted.AppendTo(nil), d.answer(netip.MustParseAddrPort("127.0.0.2:6454")).AppendTo(nil)}
	for _, p := range w.sent {
		packets = append(packets, p.b)
	}
	file := filepath.Join(t.TempDir(), "artnet.pcap")
	require.NoError(t, os.WriteFile(file, pcap(packets), 0o600))
	args := []string{"-r", file, "-o", "udp.check_checksum:FALSE", "-T", "fields", "-E", "separator=;", "-E", "aggregator=,"}
	for _, f := range []string{
		"artnet.header.opcode", "artnet.header.protver", "artnet.output.sequence", "artnet.output.universe", "artnet.output.length",
		"artnet.poll.talktome", "artnet.poll.target_port_top", "artnet.poll.target_port_bottom",
		"artnet.poll_reply.ip_address", "artnet.poll_reply.port_nr", "artnet.poll_reply.short_name", "artnet.poll_reply.style",
		"_ws.malformed", "_ws.expert.severity",
	} {
		args = append(args, "-e", f)
	}
	out, err := exec.Command("tshark", args...).Output()
	require.NoError(t, err)
	want := []string{
		"0x2000;14;;;;0x02;;;;;;;;",
		"0x2000;14;;;;0x20;564;560;;;;;;",
		"0x2100;;;;;;;;127.0.0.1;6454;harbour;0x01;;",
		"0x5000;14;1;564;512;;;;;;;;;",
		"0x5000;14;1;0;2;;;;;;;;;",
		"0x5000;14;1;32767;512;;;;;;;;;",
		"0x5200;14;;;;;;;;;;;;",
	}
	got := strings.Split(strings.TrimSpace(string(out)), "\n")
	for i := range max(len(want), len(got)) {
		if !assert.Less(t, i, len(got), "packet %d of\n%s\n%s", i, out, strings.Join(want, "\n")) || !assert.Less(t, i, len(want), "packet %d of\n%s\n%s", i, out, strings.Join(want, "\n")) || !assert.Equal(t, want[i], got[i], "packet %d of\n%s\n%s", i, out, strings.Join(want, "\n")) {
			break
		}
	}
}

// pcap wraps packets in UDP, IPv4 and the classic capture file format.
func pcap(packets [][]byte) []byte {
	le, be := binary.LittleEndian, binary.BigEndian
	b := le.AppendUint32(nil, 0xa1b2c3d4)
	b = le.AppendUint16(b, 2)
	b = le.AppendUint16(b, 4)
	b = append(b, make([]byte, 8)...)
	b = le.AppendUint32(b, 65535)
	b = le.AppendUint32(b, 228) // LINKTYPE_IPV4
	for _, p := range packets {
		size := uint32(20 + 8 + len(p))
		b = append(b, make([]byte, 8)...)
		b = le.AppendUint32(le.AppendUint32(b, size), size)
		b = append(b, 0x45, 0)
		b = be.AppendUint16(b, uint16(size))
		b = append(b, 0, 0, 0, 0, 64, 17, 0, 0, 127, 0, 0, 1, 127, 0, 0, 2)
		b = be.AppendUint16(be.AppendUint16(b, Port), Port)
		b = be.AppendUint16(b, uint16(8+len(p)))
		b = append(b, 0, 0)
		b = append(b, p...)
	}
	return b
}
