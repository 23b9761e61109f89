package artnet

import (
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// device is a node on the loopback network, played by the test.
type device struct {
	conn *net.UDPConn
	addr netip.AddrPort
}

func newDevice(t *testing.T, ip string, port int) *device {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.ParseIP(ip), Port: port})
	if err != nil {
		missing(t, "addresses like "+ip+" on the loopback interface: "+err.Error())
	}
	t.Cleanup(func() { conn.Close() })
	return &device{conn, conn.LocalAddr().(*net.UDPAddr).AddrPort()}
}

// next returns the next packet of a kind; it sends frames until one comes.
func (d *device) next(t *testing.T, op OpCode, frames func()) ([]byte, netip.AddrPort) {
	t.Helper()
	var buf [1500]byte
	for range 500 {
		frames()
		require.NoError(t, d.conn.SetReadDeadline(time.Now().Add(20*time.Millisecond)))
		for {
			n, from, err := d.conn.ReadFromUDPAddrPort(buf[:])
			if err != nil {
				break
			}
			if got, _ := OpCodeOf(buf[:n]); got == op {
				return buf[:n], from
			}
		}
	}
	require.Fail(t, fmt.Sprintf("no %s arrives", opName(op)))
	return nil, netip.AddrPort{}
}

func (d *device) send(t *testing.T, to netip.AddrPort, b []byte) {
	t.Helper()
	_, err := d.conn.WriteToUDPAddrPort(b, to)
	require.NoError(t, err)
}

// framesOf sends frame after frame, 100 ms of the sender's time apart.
func framesOf(t *testing.T, s *Sender) func() {
	var now clock.Time
	u := make([]dmx.Universe, 1)
	return func() {
		now += 100 * clock.Millisecond
		require.NoError(t, s.Send(now, u, nil))
	}
}

func TestPollFindAndAnswer(t *testing.T) {
	defer goleak.VerifyNone(t)
	silent := newDevice(t, "127.0.0.2", 0)
	port := int(silent.addr.Port())
	other := newDevice(t, "127.0.0.3", port) // not patched
	s, err := NewSender(SenderConfig{Poll: true, NodePort: port, Name: "harbour", Universes: []UniverseConfig{
		{PortAddress: 4, Nodes: []netip.AddrPort{silent.addr}}, {PortAddress: 5},
	}})
	require.NoError(t, err)
	defer s.Close()
	frames := framesOf(t, s)
	b, controller := silent.next(t, OpPoll, frames)
	var poll Poll
	assert.NoError(t, poll.Parse(b))
	assert.Equal(t, PollReplyOnChange, poll.Flags)

	// Junk, of all lengths, changes nothing.
	reply := PollReply{Port: Port, ShortName: "new", NumPorts: 1, PortTypes: [4]uint8{PortOutput}, SwOut: [4]uint8{5}}
	whole := reply.AppendTo(nil)
	for n := 0; n < replyMin; n += 7 {
		other.send(t, controller, whole[:n])
	}
	other.send(t, controller, whole)
	b, _ = other.next(t, OpDmx, frames)
	assert.EqualValues(t, 5, b[offSubUni], "it subscribed to 5")
	silent.next(t, OpDmx, frames) // without ever having answered
	silent.next(t, OpPoll, frames)

	other.send(t, controller, poll.AppendTo(nil))
	b, _ = other.next(t, OpPollReply, frames)
	var us PollReply
	assert.NoError(t, us.Parse(b), "we answer")
	assert.Equal(t, StyleController, us.Style, "we answer")
	assert.Equal(t, "harbour", us.ShortName, "we answer")
	assert.Equal(t, "127.0.0.1", us.Addr.String(), "we answer")
	assert.EqualValues(t, Port, us.Port, "we answer")
	assert.Len(t, b, replyLen, "we answer")
	assert.Zero(t, us.NumPorts, "we answer")

	list := s.Nodes(clock.Second)
	if assert.Len(t, list, 2, "nodes") {
		assert.False(t, list[0].Seen, "nodes")
		assert.True(t, list[0].Patched, "nodes")
		assert.Equal(t, "new", list[1].ShortName, "nodes")
		assert.False(t, list[1].Patched, "nodes")
	}
}

// A flood of polls is answered a few times a frame, not once a poll.
func TestPollFloodIsNotMultiplied(t *testing.T) {
	dev := newDevice(t, "127.0.0.2", 0)
	s, err := NewSender(SenderConfig{Poll: true, Universes: []UniverseConfig{{Nodes: []netip.AddrPort{dev.addr}}}})
	require.NoError(t, err)
	defer s.Close()
	frames := framesOf(t, s)
	_, controller := dev.next(t, OpPoll, frames)
	s.discovery.allowAnswers()
	poll := Poll{}
	for range 100 {
		dev.send(t, controller, poll.AppendTo(nil))
	}
	reply := PollReply{ShortName: "last"} // read behind the polls
	dev.send(t, controller, reply.AppendTo(nil))
	select {
	case <-s.discovery.found:
	case <-time.After(10 * time.Second):
		require.Fail(t, "the reply was not read")
	}
	answers := 0
	var buf [1500]byte
	for {
		_ = dev.conn.SetReadDeadline(time.Now().Add(50 * time.Millisecond))
		n, err := dev.conn.Read(buf[:])
		if err != nil {
			break
		}
		if op, _ := OpCodeOf(buf[:n]); op == OpPollReply {
			answers++
		}
	}
	assert.Equal(t, answersPerFrame, answers, "answers to 100 polls")
}

func TestPollInterval(t *testing.T) {
	s, w := startSender(t, SenderConfig{})
	found(s, "127.0.0.9", PollReply{}) // makes a discovery without goroutines
	var at []clock.Time
	for n := range 44 * 60 {
		w.send(t, s, frame(n), nil)
		select {
		case <-s.discovery.pollDue:
			at = append(at, frame(n))
		default:
		}
	}
	s.discovery = nil
	require.Zero(t, at[0], "the first")
	require.GreaterOrEqual(t, len(at), 20, "the first")
	var gaps []clock.Time
	for i := 1; i < len(at); i++ {
		gaps = append(gaps, at[i]-at[i-1])
	}
	low, high := slices.Min(gaps), slices.Max(gaps)
	assert.GreaterOrEqual(t, low, pollEvery)
	assert.LessOrEqual(t, high, pollEvery+pollJitter+frame(1))
	assert.NotEqual(t, high, low)
}

// waitWarning sends frames until the warning contains part.
func waitWarning(t *testing.T, s *Sender, dev *device, part string) {
	t.Helper()
	frames := framesOf(t, s)
	for range 20 {
		dev.next(t, OpPoll, frames)
		if strings.Contains(s.Warning(), part) {
			return
		}
	}
	assert.Fail(t, fmt.Sprintf("warning %q, want %q", s.Warning(), part))
}

func TestPollPortBusyOrShared(t *testing.T) {
	for _, c := range []struct {
		reuse bool
		warns string
	}{{false, "cannot be opened"}, {true, "is shared with another program"}} {
		holder, err := udp.Listen(netip.MustParseAddrPort("0.0.0.0:0"), "", c.reuse)
		require.NoError(t, err)
		defer holder.Close()
		port := holder.LocalAddr().(*net.UDPAddr).Port
		dev := newDevice(t, "127.0.0.2", 0)
		s, err := NewSender(SenderConfig{Poll: true, BindPort: port, Universes: []UniverseConfig{{Nodes: []netip.AddrPort{dev.addr}}}})
		require.NoError(t, err)
		defer s.Close()
		waitWarning(t, s, dev, c.warns)
		_, from := dev.next(t, OpPoll, framesOf(t, s))
		assert.Equal(t, c.reuse, int(from.Port()) == port, "port %d, polls come from %d", port, from.Port())
	}
}

// The reader goes on after errors; when they do not end, its socket is replaced
// with the next poll.
func TestReadErrors(t *testing.T) {
	defer goleak.VerifyNone(t)
	dev := newDevice(t, "127.0.0.2", 0)
	s, err := NewSender(SenderConfig{Poll: true, Universes: []UniverseConfig{{Nodes: []netip.AddrPort{dev.addr}}}})
	require.NoError(t, err)
	defer s.Close()
	frames := framesOf(t, s)
	_, first := dev.next(t, OpPoll, frames)
	s.discovery.mu.Lock()
	conn := s.discovery.conn
	s.discovery.mu.Unlock()
	require.NoError(t, conn.SetReadDeadline(time.Unix(1, 0))) // every read fails
	second := first
	for range 10 {
		if _, second = dev.next(t, OpPoll, frames); second != first {
			break
		}
	}
	require.NotEqual(t, first, second, "the socket that always fails is still in use")
	reply := PollReply{ShortName: "found again"}
	dev.send(t, second, reply.AppendTo(nil))
	for range 10 {
		dev.next(t, OpPoll, frames)
		if list := s.Nodes(0); len(list) == 1 && list[0].ShortName == "found again" {
			return
		}
	}
	assert.Fail(t, fmt.Sprintf("nodes %+v", s.Nodes(0)))
}
