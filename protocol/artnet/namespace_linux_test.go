package artnet

import (
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/clock"
	"tactus/protocol/dmx"
)

const inNamespaceEnv = "TACTUS_ARTNET_NAMESPACE"

// inNamespace runs the calling test once more in a network namespace of its
// own, and is true there. Nothing that the test sends can leave it.
func inNamespace(t *testing.T) bool {
	t.Helper()
	if os.Getenv(inNamespaceEnv) == t.Name() {
		run(t, "ip", "link", "set", "lo", "up")
		return true
	}
	if os.Geteuid() != 0 {
		missing(t, "root, to make a network namespace: run the tests with sudo")
	}
	for _, tool := range []string{"unshare", "ip", "nsenter"} {
		if _, err := exec.LookPath(tool); err != nil {
			missing(t, tool+": apt-get install util-linux iproute2")
		}
	}
	cmd := exec.Command("unshare", "-n", os.Args[0], "-test.run", "^"+t.Name()+"$", "-test.v", "-test.timeout", "60s")
	cmd.Env = append(os.Environ(), inNamespaceEnv+"="+t.Name())
	out, err := cmd.CombinedOutput()
	t.Logf("in the namespace:\n%s", out)
	require.NoError(t, err, "in the namespace")
	require.Contains(t, string(out), "--- PASS: "+t.Name(), "in the namespace")
	return false
}

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s %s\n%s", name, strings.Join(args, " "), out)
}

// cable makes two interfaces with a cable between them; ours gets the address.
func cable(t *testing.T, address string) {
	t.Helper()
	run(t, "ip", "link", "add", "artnet0", "type", "veth", "peer", "name", "artnet1")
	run(t, "ip", "addr", "add", address, "dev", "artnet0")
	run(t, "ip", "link", "set", "artnet0", "up")
	run(t, "ip", "link", "set", "artnet1", "up")
	// Until the system has seen the carrier it drops what is sent, without an error.
	require.Eventually(t, func() bool {
		out, err := exec.Command("ip", "-o", "link", "show", "artnet0").CombinedOutput()
		return err == nil && strings.Contains(string(out), "state UP")
	}, 10*time.Second, time.Millisecond)
}

// alive makes an address at the far end reachable, without anything there that
// would have to answer ARP.
func alive(t *testing.T, address string) {
	t.Helper()
	run(t, "ip", "neigh", "replace", address, "lladdr", "02:00:00:00:00:99", "dev", "artnet0", "nud", "permanent")
}

// tap reads what arrives at the far end of the cable.
type tap struct {
	fd  int
	buf [2048]byte
}

func newTap(t *testing.T) *tap {
	t.Helper()
	nic, err := net.InterfaceByName("artnet1")
	require.NoError(t, err)
	const ip = unix.ETH_P_IP>>8 | unix.ETH_P_IP&0xff<<8 // in network order
	fd, err := unix.Socket(unix.AF_PACKET, unix.SOCK_RAW, ip)
	require.NoError(t, err)
	t.Cleanup(func() { unix.Close(fd) })
	require.NoError(t, unix.SetsockoptInt(fd, unix.SOL_SOCKET, unix.SO_RCVBUFFORCE, 16<<20))
	require.NoError(t, unix.Bind(fd, &unix.SockaddrLinklayer{Protocol: ip, Ifindex: nic.Index}))
	return &tap{fd: fd}
}

type tapped struct {
	from, to netip.AddrPort
	b        []byte
}

// next returns the next UDP packet, false if none comes within the time.
func (p *tap) next(t *testing.T, wait time.Duration) (tapped, bool) {
	t.Helper()
	tv := unix.NsecToTimeval(int64(wait))
	require.NoError(t, unix.SetsockoptTimeval(p.fd, unix.SOL_SOCKET, unix.SO_RCVTIMEO, &tv))
	for {
		n, _, err := unix.Recvfrom(p.fd, p.buf[:], 0)
		if err == unix.EINTR {
			continue
		}
		if err != nil {
			return tapped{}, false
		}
		ip := p.buf[14:n]
		head := int(ip[0]&0xf) * 4
		if ip[9] != unix.IPPROTO_UDP {
			continue
		}
		udp := ip[head:]
		return tapped{
			netip.AddrPortFrom(netip.AddrFrom4([4]byte(ip[12:])), binary.BigEndian.Uint16(udp)),
			netip.AddrPortFrom(netip.AddrFrom4([4]byte(ip[16:])), binary.BigEndian.Uint16(udp[2:])),
			udp[8:binary.BigEndian.Uint16(udp[4:])],
		}, true
	}
}

// Everything that is a broadcast goes to the directed broadcast address of the
// interface; data by default is none.
func TestDirectedBroadcast(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	cable(t, "10.77.0.1/24")
	alive(t, "10.77.0.2")
	tap := newTap(t)
	s, err := NewSender(SenderConfig{Interface: "artnet0", Sync: true, Poll: true, BindPort: Port, Universes: []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{netip.MustParseAddrPort("10.77.0.2:6454")}},
		{PortAddress: 2, Broadcast: true},
	}})
	require.NoError(t, err)
	defer s.Close()
	require.NoError(t, s.Send(0, make([]dmx.Universe, 1), nil))
	got := map[string]string{}
	for len(got) < 4 {
		p, ok := tap.next(t, 5*time.Second)
		require.True(t, ok, "only %v arrived", got)
		op, _ := OpCodeOf(p.b)
		name := opName(op)
		if op == OpDmx {
			name = fmt.Sprint(p.b[offSubUni])
		}
		got[name] = p.to.String()
		assert.Equal(t, "10.77.0.1", p.from.Addr().String(), name)
		if op == OpPoll {
			assert.EqualValues(t, Port, p.from.Port(), name)
		}
	}
	want := map[string]string{"1": "10.77.0.2:6454", "2": "10.77.0.255:6454", "ArtSync": "10.77.0.255:6454", "ArtPoll": "10.77.0.255:6454"}
	for name, to := range want {
		assert.Equal(t, to, got[name], name)
	}
}

// Nodes that are unplugged do not answer ARP: the kernel keeps their packets
// for seconds. The node that is there gets every packet all the same, at once.
func TestUnpluggedNodesDoNotHoldUpOthers(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	cable(t, "10.77.0.1/24")
	require.Eventually(t, func() bool { // until then Linux drops what is sent, without an error
		nic, err := net.InterfaceByName("artnet0")
		return err == nil && nic.Flags&net.FlagRunning != 0
	}, 5*time.Second, time.Millisecond, "the cable carries packets")
	alive(t, "10.77.0.2")
	tap := newTap(t)
	var nodes []netip.AddrPort
	for unplugged := range 16 { // more than fit any socket's buffer together
		nodes = append(nodes, netip.AddrPortFrom(netip.AddrFrom4([4]byte{10, 77, 0, byte(90 + unplugged)}), Port))
	}
	live := netip.MustParseAddrPort("10.77.0.2:6454")
	nodes = append(nodes, live)
	cfg := SenderConfig{Interface: "artnet0"}
	for i := range 4 {
		cfg.Universes = append(cfg.Universes, UniverseConfig{PortAddress: uint16(i), Nodes: nodes})
	}
	s, err := NewSender(cfg)
	require.NoError(t, err)
	defer s.Close()
	const frames = 132 // 3 s, more than a queue holds
	for n := range frames {
		require.NoError(t, s.Send(frame(n), make([]dmx.Universe, 1), nil), "frame %d", n)
	}
	n := 0
	for ; n < 4*frames; n++ {
		if p, ok := tap.next(t, 2*time.Second); !ok || p.to != live {
			break
		}
	}
	assert.Equal(t, 4*frames, n, "packets at the live node")
}

// The adapter is pulled out and comes back as another device with another
// address: output goes on as soon as the system reports it, without anybody doing anything.
func TestInterfaceRemoved(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	cfg := SenderConfig{Interface: "artnet0", Sync: true, Poll: true, Universes: []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{netip.MustParseAddrPort("10.77.0.2:6454")}},
	}}
	s, err := NewSender(cfg)
	require.NoError(t, err)
	defer s.Close()
	u := make([]dmx.Universe, 1)
	n := 0
	sends := func(frames int) (failed int, last error) {
		for range frames {
			if err := s.Send(frame(n), u, nil); err != nil {
				failed, last = failed+1, err
			}
			n++
		}
		return failed, last
	}
	failed, err := sends(44)
	assert.Equal(t, 44, failed, "before it is there")
	assert.ErrorContains(t, err, `interface "artnet0"`, "before it is there")
	for round, address := range []string{"10.77.0.1/24", "10.77.0.7/24"} {
		cable(t, address)
		alive(t, "10.77.0.2")
		tap := newTap(t)
		require.Eventually(t, func() bool { return s.LinkFault() == nil }, time.Second, time.Millisecond)
		failed, err := sends(88)
		assert.Zero(t, failed, "round %d, %v", round, err)
		failed, err = sends(44)
		assert.Zero(t, failed, "round %d: 44 still failed, %v", round, err)
		kinds := map[OpCode]int{}
		for kinds[OpDmx] < 44 || kinds[OpSync] < 44 || kinds[OpPoll] < 1 {
			p, ok := tap.next(t, 3*time.Second)
			require.True(t, ok, "round %d: only %v arrived; %s", round, kinds, s.Warning())
			assert.True(t, strings.HasPrefix(address, p.from.Addr().String()+"/"), "round %d: packet from %v", round, p.from)
			op, _ := OpCodeOf(p.b)
			kinds[op]++
		}
		run(t, "ip", "link", "del", "artnet0")
		failed, _ = sends(88)
		assert.Equal(t, 88, failed, "round %d: 88 failed with the interface gone", round)
	}
}

// host is a second machine at the far end of the cable.
type host struct{ pid string }

// plug moves the far end of the cable into a namespace of its own.
func plug(t *testing.T, address string) host {
	t.Helper()
	cmd := exec.Command("unshare", "-n", "sh", "-c", "echo ready; cat")
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { in.Close(); _ = cmd.Wait() })
	_, err = io.ReadFull(out, make([]byte, len("ready\n")))
	require.NoError(t, err)
	h := host{strconv.Itoa(cmd.Process.Pid)}
	run(t, "ip", "link", "set", "artnet1", "netns", h.pid)
	h.run(t, "ip", "link", "set", "lo", "up")
	h.run(t, "ip", "addr", "add", address, "dev", "artnet1", "broadcast", "+")
	h.run(t, "ip", "link", "set", "artnet1", "up")
	return h
}

// command is one that will run on the host.
func (h host) command(name string, args ...string) []string {
	return append([]string{"nsenter", "-t", h.pid, "-n", name}, args...)
}

func (h host) run(t *testing.T, name string, args ...string) {
	t.Helper()
	c := h.command(name, args...)
	run(t, c[0], c[1:]...)
}

// A node of another make is found by our poll, and gets its universe although
// nobody has patched it: polls, replies and data between two machines.
func TestWireDiscoverDmxnet(t *testing.T) {
	script := wireScript(t, "artnet-dmxnet-receive.mjs")
	if !inNamespace(t) {
		return
	}
	cable(t, "10.77.0.1/24")
	far := plug(t, "10.77.0.2/24")
	levels := startPeer(t, far.command("node", script, "6454", "2", "3", "4", "10.77.0.2"))
	s, err := NewSender(SenderConfig{
		Interface: "artnet0", Poll: true, BindPort: Port, Name: "harbour",
		Universes: []UniverseConfig{{PortAddress: 564}, {PortAddress: 565}},
	})
	require.NoError(t, err)
	defer s.Close()
	u := pattern()
	last := sendUntil(t, s, u, levels)
	assert.Equal(t, fmt.Sprint(u[0].Slots), last)
	list := s.Nodes(clock.Second)
	i := slices.IndexFunc(list, func(n Node) bool { return n.ShortName == "wire peer" })
	if assert.GreaterOrEqual(t, i, 0, "nodes") {
		assert.Equal(t, "10.77.0.2", list[i].Addr.String(), "nodes")
		assert.Equal(t, []uint16{564}, list[i].PortAddresses, "nodes")
	}
}
