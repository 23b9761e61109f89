package artnet

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"testing"
	"time"

	"go.uber.org/goleak"

	"tactus/clock"
)

// Every kind of packet arrives with its stamp and source; bad ones too, with
// what is wrong; Run ends with its context.
func TestReceiver(t *testing.T) {
	defer goleak.VerifyNone(t)
	r, err := NewReceiver(ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0"), Base: clock.NewBase()})
	if err != nil {
		t.Fatal(err)
	}
	from, err := net.DialUDP("udp4", nil, net.UDPAddrFromAddrPort(r.Addr()))
	if err != nil {
		t.Fatal(err)
	}
	defer from.Close()
	in := [][]byte{{}, []byte("no packet of the kind"), readHex(t, "artnet-artdmx-8")[:20], appendHead(nil, 0x9700)}
	for _, w := range worked {
		in = append(in, readHex(t, w.file))
	}
	for _, b := range in {
		if _, err := from.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	wantErr := []error{ErrShort, ErrID, ErrShort, nil}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	n := 0
	m := NewMonitor()
	var last clock.Time
	if err := r.Run(ctx, func(p Packet) {
		m.Take(p)
		switch {
		case p.From != from.LocalAddr().(*net.UDPAddr).AddrPort() || p.At < last:
			t.Errorf("packet %d: from %v at %v", n, p.From, p.At)
		case n < len(wantErr) && !errors.Is(p.Err, wantErr[n]):
			t.Errorf("packet %d: %v, want %v", n, p.Err, wantErr[n])
		case n >= len(wantErr) && (p.Err != nil || p.Op != worked[n-len(wantErr)].op):
			t.Errorf("packet %d: %v %v", n, p.Op, p.Err)
		}
		last = p.At
		if n++; n == len(in) {
			cancel()
		}
	}); err != nil || n != len(in) {
		t.Errorf("%v after %d of %d packets", err, n, len(in))
	}
	// The two worked ArtDmx of Port-Address 564 have the same number: one is late.
	if m.Polls != 2 || m.Replies != 1 || m.Syncs != 1 || m.Others != 1 || m.Discards() != (Discards{NotArtNet: 1, Short: 2, Late: 1}) {
		t.Errorf("monitor %+v, others %d", m.Discards(), m.Others)
	}
}

func TestReceiverSharesItsPort(t *testing.T) {
	a, err := NewReceiver(ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0")})
	if err != nil {
		t.Fatal(err)
	}
	defer a.conn.Close()
	b, err := NewReceiver(ReceiverConfig{Listen: a.Addr()})
	if err != nil {
		t.Fatal(err)
	}
	defer b.conn.Close()
	if a.Shared() || !b.Shared() {
		t.Errorf("shared: first %v, second %v", a.Shared(), b.Shared())
	}
	held, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	if _, err := NewReceiver(ReceiverConfig{Listen: held.LocalAddr().(*net.UDPAddr).AddrPort()}); err == nil {
		t.Error("a port that is held was opened")
	}
}
