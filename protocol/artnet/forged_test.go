package artnet

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/dmx"
)

// Anybody on the lighting network can send replies to polls. These tests send forged
// ones, and look at what the rig's nodes still get.

// attacked is a sender of ten universes with one patched node, and its wire.
type attacked struct {
	*wire
	t *testing.T
	s *Sender
	u []dmx.Universe
	n int // frames sent
}

func newAttacked(t *testing.T, onChange bool) *attacked {
	t.Helper()
	cfg := SenderConfig{}
	for i := range 10 {
		cfg.Universes = append(cfg.Universes, UniverseConfig{PortAddress: uint16(i), OnChange: onChange})
	}
	cfg.Universes[0].Nodes = []netip.AddrPort{nodeA}
	s, w := startSender(t, cfg)
	return &attacked{wire: w, t: t, s: s, u: make([]dmx.Universe, 1)}
}

// reply has a node answer, naming outputs.
func (a *attacked) reply(addr netip.Addr, bind uint8, outputs ...uint8) {
	p := PollReply{BindIndex: bind, ShortName: "node", NumPorts: uint16(len(outputs))}
	for i, o := range outputs {
		p.PortTypes[i], p.SwOut[i] = PortOutput, o
	}
	found(a.s, addr.String(), p)
}

// frames sends some, and returns what they sent.
func (a *attacked) frames(n int) []sentPacket {
	a.sent = nil
	for range n {
		a.send(a.t, a.s, frame(a.n), a.u)
		a.n++
	}
	return a.sent
}

// polled lets so many polls pass, with the frames between them.
func (a *attacked) polled(n int) {
	for range n {
		a.s.discovery.polls.Add(1)
		a.frames(1)
	}
}

func forger(n int) netip.Addr { return netip.AddrFrom4([4]byte{10, 1, byte(n >> 8), byte(n)}) }

// 1,275 replies from five addresses leave room for a real node.
func TestFiveForgersLeaveRoom(t *testing.T) {
	a := newAttacked(t, false)
	for address := range 5 {
		for bind := range 255 {
			a.reply(forger(address+1), uint8(bind+1), 3)
			if bind%60 == 0 {
				a.frames(1)
			}
		}
		a.frames(1)
	}
	a.reply(forger(999), 1, 4)
	a.frames(10)
	a.frames(1)
	assert.Len(t, a.times(netip.AddrPortFrom(forger(999), Port)), 1, "the real node")
	assert.Len(t, a.times(nodeA), 1, "the patched node")
	assert.Len(t, a.s.Nodes(0), 5*maxPages+2)
	assert.EqualValues(t, 5*(255-maxPages), a.s.Refusals().Full)
}

// 1,100 forged nodes, each of which wants four universes, get no more sockets and
// packets than there is room for. Each gets its share; the patched node gets all.
func TestThousandForgedNodes(t *testing.T) {
	for _, onChange := range []bool{false, true} {
		a := newAttacked(t, onChange)
		for i := range 1100 {
			a.reply(forger(i+1), 1, 1, 2, 3, 4)
			if i%50 == 0 {
				a.frames(1)
			}
		}
		a.frames(10)
		assert.Len(t, a.opened, maxNodes+1, "sockets")
		left := a.s.Counts().LeftOut
		a.u[0].Slots[0]++
		sent := a.frames(8)
		assert.LessOrEqual(t, len(sent), 8*(packetsPerFrame+1), "packets in 8 frames")
		assert.GreaterOrEqual(t, len(a.times(nodeA)), 3, "the patched node")
		for i := range maxNodes {
			assert.NotEmpty(t, a.times(netip.AddrPortFrom(forger(i+1), Port)), "node %d, on change %v", i+1, onChange)
		}
		assert.Greater(t, a.s.Counts().LeftOut, left)
		assert.EqualValues(t, 1100-maxNodes, a.s.Refusals().Full)
	}
}

// A forged reply can have data sent to somebody else for the time of twelve polls, then
// it ends, and the list says so. A node that answers, and a patched one, go on.
func TestForgedNodeExpires(t *testing.T) {
	a := newAttacked(t, false)
	victim, alive := netip.AddrPortFrom(forger(1), Port), netip.AddrPortFrom(forger(2), Port)
	a.reply(forger(1), 1, 3)
	for range silentPolls {
		a.reply(forger(2), 1, 3)
		a.frames(10)
		a.polled(1)
	}
	a.frames(10)
	a.frames(10)
	assert.Empty(t, a.times(victim), "it still gets data")
	assert.Len(t, a.times(alive), 10, "a node that answers")
	assert.Len(t, a.times(nodeA), 10, "a patched node that never answered")
	list := a.s.Nodes(frame(a.n))
	require.Len(t, list, 3)
	assert.True(t, list[0].Expired, "%+v", list[0])
	a.reply(forger(1), 1, 3)
	a.frames(10)
	a.frames(10)
	assert.Len(t, a.times(victim), 10, "it answered again")
	assert.Len(t, a.s.Nodes(frame(a.n)), 3)
}

// Forged replies without ports, ten a second, take nothing from a node that goes on
// answering for itself.
func TestForgedUnsubscription(t *testing.T) {
	a := newAttacked(t, false)
	a.reply(forger(1), 1, 3)
	a.frames(10)
	got := 0
	for n := range 600 {
		a.reply(forger(1), 1)
		if n%30 == 0 { // every 3 s
			a.reply(forger(1), 1, 3)
		}
		a.frames(4)
		got += len(a.times(netip.AddrPortFrom(forger(1), Port)))
	}
	assert.Equal(t, 4*600, got, "packets in 2,400 frames")
	for range 100 { // from now on the node itself has no ports
		a.reply(forger(1), 1)
		a.frames(4)
	}
	a.frames(4)
	assert.Empty(t, a.times(netip.AddrPortFrom(forger(1), Port)))
}

// A node that wants none of our universes is only counted.
func TestOtherNodesAreCounted(t *testing.T) {
	a := newAttacked(t, false)
	for i := range 60 {
		a.reply(forger(i+1), 1, 12)
	}
	a.frames(2)
	assert.Len(t, a.s.Nodes(0), 1)
	assert.Equal(t, Refusals{Others: 60}, a.s.Refusals())
}

// Only devices of the interface's networks are believed, and only if they speak for
// themselves or for a part of themselves.
func TestRefusals(t *testing.T) {
	d := &discovery{refusals: refusals{patched: []netip.AddrPort{netip.MustParseAddrPort("192.0.2.7:6454")}}}
	networks := []netip.Prefix{netip.MustParsePrefix("10.1.0.1/16"), netip.MustParsePrefix("172.16.5.1/24")}
	d.networks.Store(&networks)
	addr := func(s string) (a netip.Addr) {
		if s != "" {
			a = netip.MustParseAddr(s)
		}
		return a
	}
	for _, c := range []struct {
		from, ip, bind string
		refused        bool
	}{
		{"10.1.0.9", "10.1.0.9", "", false},
		{"172.16.5.9", "172.16.5.9", "172.16.5.9", false},
		{"10.1.0.9", "0.0.0.0", "", false},          // left at zero
		{"10.1.0.9", "10.1.0.8", "10.1.0.9", false}, // a part of the device at .9
		{"10.1.0.9", "10.1.0.8", "", true},
		{"10.1.0.9", "10.1.0.8", "10.1.0.7", true},
		{"10.2.0.9", "10.2.0.9", "", true},         // another network
		{"8.8.8.8", "8.8.8.8", "", true},           // the internet
		{"10.1.255.255", "10.1.255.255", "", true}, // broadcast
		{"10.1.0.0", "10.1.0.0", "", true},
		{"172.16.5.255", "172.16.5.255", "", true},
		{"192.0.2.7", "10.1.0.8", "", false}, // patched
	} {
		reply := &PollReply{Addr: addr(c.ip), BindAddr: addr(c.bind)}
		assert.Equal(t, c.refused, d.refuse(addr(c.from), reply), "%+v", c)
	}
	assert.EqualValues(t, 5, d.foreign.Load())
	assert.EqualValues(t, 2, d.forged.Load())
	assert.True(t, (&refusals{}).refuse(addr("10.1.0.9"), &PollReply{}), "before the networks are known")
}
