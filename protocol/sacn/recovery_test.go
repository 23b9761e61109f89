package sacn

import (
	"errors"
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
	"syscall"
	"testing"

	"golang.org/x/net/ipv4"

	"tactus/clock"
)

// sink takes everything.
type sink struct{}

func (*sink) WriteBatch(ms []ipv4.Message, _ int) (int, error) { return len(ms), nil }
func (*sink) Close() error                                     { return nil }

// Every universe and destination is tried; the first error says which failed.
func TestOneDestinationFails(t *testing.T) {
	bad := netip.MustParseAddrPort("10.9.9.9:5568")
	good := netip.MustParseAddrPort("10.1.1.1:5568")
	r := newRig(t, SenderConfig{Universes: []UniverseConfig{
		{Number: 1}, {Number: 2, Destinations: []netip.AddrPort{bad, good}}, {Number: 3, Destinations: []netip.AddrPort{bad}}, {Number: 4},
	}})
	r.rec.refuse = func(to netip.AddrPort) error {
		if to == bad {
			return os.NewSyscallError("sendmmsg", syscall.EPERM)
		}
		return nil
	}
	for i, at := range grid(44, 0, clock.Second) {
		err := r.frame(at)
		var se *SendError
		if !errors.As(err, &se) || se.Universe != 2 || se.To != bad || !errors.Is(err, syscall.EPERM) {
			t.Fatalf("frame %d: %v", i, err)
		}
		if !strings.Contains(err.Error(), "universe 2 to 10.9.9.9:5568") {
			t.Fatalf("message %q", err)
		}
	}
	if got := numbers(r.rec.take(Data, 0)[:3]); !slices.Equal(got, []uint16{1, 2, 4}) {
		t.Errorf("got through: %v", got)
	}
	if s := r.Stats(); s.Failed != 88 || s.Packets != 3*44+1 || s.Reopened != 0 {
		t.Errorf("counts %+v", s)
	}
}

// When all fail, the work stays in proportion: one call a message, not one
// batch of all the rest for each.
func TestAllFail(t *testing.T) {
	var us []UniverseConfig
	for i := range 1000 {
		us = append(us, UniverseConfig{Number: uint16(i + 1)})
	}
	r := newRig(t, SenderConfig{Universes: us})
	r.rec.refuse = func(netip.AddrPort) error { return syscall.EPERM }
	if err := r.frame(0); err == nil {
		t.Fatal("no error")
	}
	if s := r.Stats(); s.Failed != 1002 || r.rec.calls != 1002 || r.rec.offered > 3000 {
		t.Errorf("%d failed in %d calls, want 1000 universes and 2 pages; %d messages offered", s.Failed, r.rec.calls, r.rec.offered)
	}
}

// A full buffer, or a closed socket, ends the frame: the rest would fail too.
func TestBusyDropsTheRest(t *testing.T) {
	for _, cause := range []error{ErrBusy, net.ErrClosed} {
		r := newRig(t, SenderConfig{Universes: append(universe(1, nil), universe(2, nil)...)})
		r.rec.refuse = func(to netip.AddrPort) error { return cause }
		err := r.frame(0)
		if s := r.Stats(); !errors.Is(err, cause) || r.rec.calls != 1 || s.Failed != 3 {
			t.Errorf("%v: %d calls, %+v", err, r.rec.calls, s)
		}
	}
}

// The interface goes: sending is tried every frame, the socket is opened again
// at once, then after 0.25, 0.5, 1, 2, 2… s; numbers and CID carry on.
func TestReopen(t *testing.T) {
	for _, cause := range []error{syscall.ENETUNREACH, syscall.ENODEV, syscall.EADDRNOTAVAIL, syscall.EBADF, net.ErrClosed} {
		var opened []clock.Time
		var conns []*recorder
		gone := false
		var now clock.Time
		r := newRig(t, SenderConfig{
			Universes: append(universe(1, nil), universe(2, func(u *UniverseConfig) { u.OnChange = true })...),
			Open: func() (Conn, error) {
				if gone {
					opened = append(opened, now)
					return nil, errors.New("no such interface")
				}
				conns = append(conns, &recorder{})
				return conns[len(conns)-1], nil
			},
		})
		run := func(from, span clock.Time) (failed int) {
			for _, at := range grid(44, from, span) {
				now, conns[len(conns)-1].now = at, at
				if r.Send(at, r.levels, nil) != nil {
					failed++
				}
			}
			return failed
		}
		if n := run(0, 2*clock.Second); n != 0 {
			t.Fatalf("%d failures before", n)
		}
		gone = true
		conns[0].refuse = func(netip.AddrPort) error { return cause }
		if n := run(2*clock.Second, 5*clock.Second); n != 220 {
			t.Errorf("%v: %d of 220 frames failed", cause, n)
		}
		want := []clock.Time{2000, 2250, 2750, 3750, 5750}
		if len(opened) != len(want) {
			t.Fatalf("%v: tried at %v", cause, opened)
		}
		for i, at := range opened {
			if d := at/clock.Millisecond - want[i]; d < 0 || d > 80 {
				t.Errorf("%v: try %d at %d ms, want %d", cause, i, at/clock.Millisecond, want[i])
			}
		}
		gone = false
		if n := run(7*clock.Second, 3*clock.Second); n > 44 {
			t.Errorf("%v: %d frames lost after it came back", cause, n)
		}
		if len(conns) != 2 || !conns[0].closed || r.Stats().Reopened != 1 {
			t.Fatalf("%v: %d sockets, %+v", cause, len(conns), r.Stats())
		}
		first := conns[1].take(Data, 1)[0]
		if first.data.CID != checkCID || first.data.Sequence == 0 {
			t.Errorf("%v: starts anew with %x, number %d", cause, first.data.CID, first.data.Sequence)
		}
		if list := conns[1].take(Data, 2); len(list) < 4 || list[3].at-list[0].at > 100*clock.Millisecond {
			t.Errorf("%v: a silent universe was not sent again at once: %d packets", cause, len(list))
		}
	}
}

func TestChooseNIC(t *testing.T) {
	const up, multi, loop = net.FlagUp, net.FlagMulticast, net.FlagLoopback
	addr := netip.MustParseAddr
	lo := nic{"lo", 1, addr("127.0.0.1"), up | loop}
	eth := nic{"eth0", 2, addr("10.0.0.2"), up | multi}
	wifi := nic{"wlan0", 3, addr("192.168.0.3"), up | multi}
	down := nic{"eth1", 4, addr("10.0.1.2"), multi}
	bare := nic{"eth2", 5, netip.Addr{}, up | multi}
	vpn := nic{"tun0", 6, addr("10.8.0.1"), up}
	for _, c := range []struct {
		name string
		all  []nic
		want string
		err  []string
	}{
		{"", []nic{lo, eth}, "eth0", nil},
		{"", []nic{lo, down, bare, vpn, wifi}, "wlan0", nil},
		{"", []nic{lo, eth, wifi}, "", []string{"name the network interface", "eth0 (10.0.0.2)", "wlan0 (192.168.0.3)"}},
		{"", []nic{lo, down, bare}, "", []string{"can multicast", "eth1 (10.0.1.2, down)", "eth2 (no IPv4 address)"}},
		{"wlan0", []nic{lo, eth, wifi}, "wlan0", nil},
		{"lo", []nic{lo, eth}, "lo", nil},
		{"eth9", []nic{lo, eth}, "", []string{`no network interface "eth9"`, "lo (127.0.0.1), eth0 (10.0.0.2)"}},
		{"eth1", []nic{down}, "", []string{"eth1 (10.0.1.2, down)", "cannot send"}},
		{"eth2", []nic{bare}, "", []string{"eth2 (no IPv4 address)"}},
	} {
		n, err := chooseNIC(c.name, c.all)
		if n.name != c.want || (err == nil) != (c.err == nil) {
			t.Errorf("%q: got %q, %v; want %q", c.name, n.name, err, c.want)
		}
		for _, part := range c.err {
			if err != nil && !strings.Contains(err.Error(), part) {
				t.Errorf("%q: %q is not in %q", c.name, part, err)
			}
		}
	}
}
