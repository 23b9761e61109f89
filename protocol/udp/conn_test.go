package udp_test

import (
	"errors"
	"net"
	"net/netip"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/protocol/udp"
)

var loopback = netip.MustParseAddrPort("127.0.0.1:0")

// fakeConn fails messages by their first octet, and notes how many it was given
// in each call.
type fakeConn struct {
	fail    map[byte]error
	most    int // messages a call, 0 = all
	offered []int
	sent    []byte
}

func (c *fakeConn) WriteBatch(ms []ipv4.Message) (int, error) {
	c.offered = append(c.offered, len(ms))
	if c.most > 0 {
		ms = ms[:min(c.most, len(ms))]
	}
	for i := range ms {
		first := ms[i].Buffers[0][0]
		if err, bad := c.fail[first]; bad {
			if i > 0 {
				return i, nil // as sendmmsg does
			}
			return 0, err
		}
		c.sent = append(c.sent, first)
	}
	return len(ms), nil
}

func (c *fakeConn) Close() error { return nil }

func messages(n int) (ms []ipv4.Message) {
	for i := range n {
		ms = append(ms, udp.Message([]byte{byte(i)}, loopback))
	}
	return ms
}

// Write steps over what fails, and asks for 1, 2, 4 … messages after a failure.
func TestWriteStepsOver(t *testing.T) {
	c := &fakeConn{fail: map[byte]error{3: syscall.EPERM, 4: syscall.EMSGSIZE}}
	failed := map[int]error{}
	sent := udp.Write(c, messages(15), func(i int, err error) { failed[i] = err })
	assert.Equal(t, 13, sent)
	assert.Equal(t, map[int]error{3: syscall.EPERM, 4: syscall.EMSGSIZE}, failed)
	assert.Equal(t, []byte{0, 1, 2, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14}, c.sent)
	// 15 asked, 3 sent; the rest fails at its first; one fails; 1, 2, 4 and the last 3.
	assert.Equal(t, []int{15, 12, 1, 1, 2, 4, 3}, c.offered)
}

// A call takes 1,024 messages at the most; short calls are continued.
func TestWriteContinues(t *testing.T) {
	for _, most := range []int{0, 1, 700} {
		c := &fakeConn{most: most}
		assert.Equal(t, 2500, udp.Write(c, messages(2500), func(int, error) { assert.Fail(t, "failed") }))
		assert.Len(t, c.sent, 2500)
		assert.Equal(t, 1024, c.offered[0])
	}
}

// After a full buffer or a closed socket the rest is not tried.
func TestWriteGivesUp(t *testing.T) {
	for cause, want := range map[error]error{
		udp.ErrFull: udp.ErrFull, os.NewSyscallError("sendmmsg", syscall.ENOBUFS): udp.ErrFull, syscall.EAGAIN: udp.ErrFull, net.ErrClosed: net.ErrClosed,
	} {
		c := &fakeConn{fail: map[byte]error{2: cause}}
		var failed []int
		sent := udp.Write(c, messages(5), func(i int, err error) {
			failed = append(failed, i)
			assert.ErrorIs(t, err, want)
		})
		assert.Equal(t, 2, sent)
		assert.Equal(t, []int{2, 3, 4}, failed)
		assert.Len(t, c.offered, 2, "%v", cause)
	}
}

type idleConn struct{ fakeConn }

func (*idleConn) WriteBatch([]ipv4.Message) (int, error) { return 0, nil }

// A connection that sends nothing and gives no reason does not hold Write up.
func TestWriteWithoutProgress(t *testing.T) {
	n := 0
	assert.Zero(t, udp.Write(&idleConn{}, messages(3), func(i int, err error) {
		assert.ErrorIs(t, err, udp.ErrNotSent)
		n++
	}))
	assert.Equal(t, 3, n)
}

func TestGone(t *testing.T) {
	for _, err := range []error{net.ErrClosed, os.NewSyscallError("sendmmsg", syscall.ENETUNREACH), syscall.ENODEV, syscall.EADDRNOTAVAIL, syscall.EBADF} {
		assert.True(t, udp.Gone(err), err)
	}
	for _, err := range []error{nil, udp.ErrFull, syscall.EPERM, syscall.EMSGSIZE, errors.New("another")} {
		assert.False(t, udp.Gone(err), err)
	}
}

func TestCapture(t *testing.T) {
	var to []netip.AddrPort
	var packets []string
	c := udp.Capture(func(a netip.AddrPort, b []byte) { to, packets = append(to, a), append(packets, string(b)) })
	there := netip.MustParseAddrPort("239.255.0.1:5568")
	m := udp.Message([]byte("ab"), there)
	m.Buffers = append(m.Buffers, []byte("cd"))
	assert.Equal(t, 2, udp.Write(c, []ipv4.Message{m, udp.Message(nil, there)}, nil))
	assert.Equal(t, []string{"abcd", ""}, packets)
	assert.Equal(t, []netip.AddrPort{there, there}, to)
}

// Packets go out by a real socket and come in with their source; those that are
// too long are cut to one octet more than is asked for; a close ends Receive.
func TestSendAndReceive(t *testing.T) {
	in, err := udp.Listen(loopback, "", true)
	require.NoError(t, err)
	out, err := udp.Listen(loopback, "", false)
	require.NoError(t, err)
	from := out.LocalAddr().(*net.UDPAddr).AddrPort()
	udp.GrowSendBuffer(out, 1<<20)
	conn, err := udp.NewConn(out, true)
	require.NoError(t, err)
	defer conn.Close()
	to := in.LocalAddr().(*net.UDPAddr).AddrPort()
	ms := []ipv4.Message{udp.Message([]byte("abc"), to), udp.Message(nil, to), udp.Message([]byte("abcdefgh"), to)}
	require.Equal(t, 3, udp.Write(conn, ms, func(_ int, err error) { require.NoError(t, err) }))
	var got []string
	err = udp.Receive(in, 4, func(a netip.AddrPort, b []byte) {
		assert.Equal(t, from, a)
		if got = append(got, string(b)); len(got) == 3 {
			in.Close()
		}
	})
	assert.NoError(t, err)
	assert.Equal(t, []string{"abc", "", "abcde"}, got)
}

// Reads that keep failing end Receive with their error.
func TestReceiveGivesUp(t *testing.T) {
	in, err := udp.Listen(loopback, "", false)
	require.NoError(t, err)
	defer in.Close()
	require.NoError(t, in.SetReadDeadline(time.Unix(1, 0)))
	assert.ErrorIs(t, udp.Receive(in, 4, nil), os.ErrDeadlineExceeded)
}

func TestListenShared(t *testing.T) {
	a, shared, err := udp.ListenShared(loopback, "")
	require.NoError(t, err)
	defer a.Close()
	assert.False(t, shared)
	port := a.LocalAddr().(*net.UDPAddr).AddrPort()
	b, shared, err := udp.ListenShared(port, "")
	require.NoError(t, err)
	defer b.Close()
	assert.True(t, shared)
	held, err := udp.Listen(loopback, "", false)
	require.NoError(t, err)
	defer held.Close()
	_, shared, err = udp.ListenShared(held.LocalAddr().(*net.UDPAddr).AddrPort(), "")
	assert.ErrorIs(t, err, syscall.EADDRINUSE)
	assert.False(t, shared)
	_, err = udp.Listen(loopback, "no-such-nic", false)
	assert.ErrorContains(t, err, `network interface "no-such-nic"`)
}
