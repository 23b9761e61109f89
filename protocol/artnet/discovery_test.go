package artnet

import (
	"net"
	"net/netip"
	"slices"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"tactus/clock"
	"tactus/protocol/dmx"
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
		if err := d.conn.SetReadDeadline(time.Now().Add(20 * time.Millisecond)); err != nil {
			t.Fatal(err)
		}
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
	t.Fatalf("no %v arrives", op)
	return nil, netip.AddrPort{}
}

func (d *device) send(t *testing.T, to netip.AddrPort, b []byte) {
	t.Helper()
	if _, err := d.conn.WriteToUDPAddrPort(b, to); err != nil {
		t.Fatal(err)
	}
}

// framesOf sends frame after frame, 100 ms of the sender's time apart.
func framesOf(t *testing.T, s *Sender) func() {
	var now clock.Time
	u := make([]dmx.Universe, 1)
	return func() {
		now += 100 * clock.Millisecond
		if err := s.Send(now, u, nil); err != nil {
			t.Fatal(err)
		}
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
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	frames := framesOf(t, s)
	b, controller := silent.next(t, OpPoll, frames)
	var poll Poll
	if err := poll.Parse(b); err != nil || poll.Flags != PollReplyOnChange {
		t.Errorf("poll %+v, %v", poll, err)
	}

	// Junk, of all lengths, changes nothing.
	reply := PollReply{Port: Port, ShortName: "new", NumPorts: 1, PortTypes: [4]uint8{PortOutput}, SwOut: [4]uint8{5}}
	whole := reply.AppendTo(nil)
	for n := 0; n < replyMin; n += 7 {
		other.send(t, controller, whole[:n])
	}
	other.send(t, controller, whole)
	b, _ = other.next(t, OpDmx, frames)
	if b[offSubUni] != 5 {
		t.Errorf("it subscribed to 5 and gets %d", b[offSubUni])
	}
	silent.next(t, OpDmx, frames) // without ever having answered
	silent.next(t, OpPoll, frames)

	other.send(t, controller, poll.AppendTo(nil))
	b, _ = other.next(t, OpPollReply, frames)
	var us PollReply
	if err := us.Parse(b); err != nil || us.Style != StyleController || us.ShortName != "harbour" ||
		us.Addr.String() != "127.0.0.1" || us.Port != Port || len(b) != replyLen || us.NumPorts != 0 {
		t.Errorf("we answer %+v, %v", us, err)
	}

	list := s.Nodes(clock.Second)
	if len(list) != 2 || list[0].Seen || !list[0].Patched || list[1].ShortName != "new" || list[1].Patched {
		t.Errorf("nodes %+v", list)
	}
}

// A flood of polls is answered a few times a frame, not once a poll.
func TestPollFloodIsNotMultiplied(t *testing.T) {
	dev := newDevice(t, "127.0.0.2", 0)
	s, err := NewSender(SenderConfig{Poll: true, Universes: []UniverseConfig{{Nodes: []netip.AddrPort{dev.addr}}}})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	frames := framesOf(t, s)
	_, controller := dev.next(t, OpPoll, frames)
	s.discovery.refill()
	poll := Poll{}
	for range 100 {
		dev.send(t, controller, poll.AppendTo(nil))
	}
	reply := PollReply{ShortName: "last"} // read behind the polls
	dev.send(t, controller, reply.AppendTo(nil))
	select {
	case <-s.discovery.found:
	case <-time.After(10 * time.Second):
		t.Fatal("the reply was not read")
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
	if answers != answersPerFrame {
		t.Errorf("%d answers to 100 polls, want %d", answers, answersPerFrame)
	}
}

func TestPollInterval(t *testing.T) {
	s, w := startSender(t, SenderConfig{})
	found(s, "127.0.0.9", PollReply{}) // makes a discovery without goroutines
	var at []clock.Time
	for n := range 44 * 60 {
		w.send(t, s, frame(n), nil)
		select {
		case <-s.discovery.wake:
			at = append(at, frame(n))
		default:
		}
	}
	s.discovery = nil
	if at[0] != 0 || len(at) < 20 {
		t.Fatalf("%d polls in a minute, the first at %v", len(at), at[0])
	}
	var gaps []clock.Time
	for i := 1; i < len(at); i++ {
		gaps = append(gaps, at[i]-at[i-1])
	}
	if low, high := slices.Min(gaps), slices.Max(gaps); low < pollEvery || high > pollEvery+pollJitter+frame(1) || low == high {
		t.Errorf("polls come after %v to %v", low.Sub(0), high.Sub(0))
	}
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
	t.Errorf("warning %q, want %q", s.Warning(), part)
}

func TestPollPortBusyOrShared(t *testing.T) {
	for _, c := range []struct {
		reuse bool
		warns string
	}{{false, "is not to be had"}, {true, "is shared with another program"}} {
		holder, err := listenUDP(netip.MustParseAddrPort("0.0.0.0:0"), "", c.reuse)
		if err != nil {
			t.Fatal(err)
		}
		defer holder.Close()
		port := holder.LocalAddr().(*net.UDPAddr).Port
		dev := newDevice(t, "127.0.0.2", 0)
		s, err := NewSender(SenderConfig{Poll: true, BindPort: port, Universes: []UniverseConfig{{Nodes: []netip.AddrPort{dev.addr}}}})
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		waitWarning(t, s, dev, c.warns)
		_, from := dev.next(t, OpPoll, framesOf(t, s))
		if (int(from.Port()) == port) != c.reuse {
			t.Errorf("port %d, polls come from %d", port, from.Port())
		}
	}
}

// The reader goes on after errors; when they do not end, its socket is replaced
// with the next poll.
func TestReadErrors(t *testing.T) {
	defer goleak.VerifyNone(t)
	dev := newDevice(t, "127.0.0.2", 0)
	s, err := NewSender(SenderConfig{Poll: true, Universes: []UniverseConfig{{Nodes: []netip.AddrPort{dev.addr}}}})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	frames := framesOf(t, s)
	_, first := dev.next(t, OpPoll, frames)
	s.discovery.mu.Lock()
	conn := s.discovery.conn
	s.discovery.mu.Unlock()
	if err := conn.SetReadDeadline(time.Unix(1, 0)); err != nil { // every read fails
		t.Fatal(err)
	}
	second := first
	for range 10 {
		if _, second = dev.next(t, OpPoll, frames); second != first {
			break
		}
	}
	if second == first {
		t.Fatal("the socket that always fails is still in use")
	}
	reply := PollReply{ShortName: "found again"}
	dev.send(t, second, reply.AppendTo(nil))
	for range 10 {
		dev.next(t, OpPoll, frames)
		if list := s.Nodes(0); len(list) == 1 && list[0].ShortName == "found again" {
			return
		}
	}
	t.Errorf("nodes %+v", s.Nodes(0))
}
