package artnet

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"tactus/clock"
)

// Every kind of packet arrives with its stamp and source; bad ones too, with
// what is wrong; Run ends with its context.
func TestReceiver(t *testing.T) {
	defer goleak.VerifyNone(t)
	r, err := NewReceiver(ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0"), Base: clock.NewBase()})
	require.NoError(t, err)
	from, err := net.DialUDP("udp4", nil, net.UDPAddrFromAddrPort(addrOf(r)))
	require.NoError(t, err)
	defer from.Close()
	in := [][]byte{{}, []byte("no packet of the kind"), readHex(t, "artnet-artdmx-8")[:20], appendHead(nil, 0x9700)}
	for _, w := range worked {
		in = append(in, readHex(t, w.file))
	}
	for _, b := range in {
		_, err := from.Write(b)
		require.NoError(t, err)
	}
	wantErr := []error{ErrShort, ErrID, ErrShort, nil}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	n := 0
	var last clock.Time
	assert.NoError(t, r.Run(ctx, func(p Packet) {
		switch {
		case p.From != from.LocalAddr().(*net.UDPAddr).AddrPort() || p.At < last:
			assert.Fail(t, fmt.Sprintf("packet %d: from %v at %v", n, p.From, p.At))
		case n < len(wantErr) && !errors.Is(p.Err, wantErr[n]):
			assert.Fail(t, fmt.Sprintf("packet %d: %v, want %v", n, p.Err, wantErr[n]))
		case n >= len(wantErr) && (p.Err != nil || p.Op != worked[n-len(wantErr)].op):
			assert.Fail(t, fmt.Sprintf("packet %d: %v %v", n, p.Op, p.Err))
		}
		last = p.At
		if n++; n == len(in) {
			cancel()
		}
	}))
	assert.Equal(t, len(in), n)
}

func addrOf(r *Receiver) netip.AddrPort { return r.conn.LocalAddr().(*net.UDPAddr).AddrPort() }

func TestReceiverSharesItsPort(t *testing.T) {
	a, err := NewReceiver(ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0")})
	require.NoError(t, err)
	defer a.conn.Close()
	b, err := NewReceiver(ReceiverConfig{Listen: addrOf(a)})
	require.NoError(t, err)
	defer b.conn.Close()
	held, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	defer held.Close()
	_, err = NewReceiver(ReceiverConfig{Listen: held.LocalAddr().(*net.UDPAddr).AddrPort()})
	assert.Error(t, err, "a port that is held was opened")
}
