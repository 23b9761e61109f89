package sacn_test

import (
	"fmt"
	"net"
	"syscall"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
)

// mmsghdr is struct mmsghdr of sendmmsg(2).
type mmsghdr struct {
	header unix.Msghdr
	len    uint32
	_      [4]byte
}

// floor sends ready-made packets by bare sendmmsg: no sender can cost less.
type floor struct {
	raw     syscall.RawConn
	headers []mmsghdr
	send    func(fd uintptr)
	err     syscall.Errno
}

func newFloor(b *testing.B, c *net.UDPConn, to *net.UDPAddr, packets [][]byte) *floor {
	raw, err := c.SyscallConn()
	require.NoError(b, err)
	f := &floor{raw: raw, headers: make([]mmsghdr, len(packets))}
	addr := &unix.RawSockaddrInet4{Family: unix.AF_INET, Addr: [4]byte(to.IP.To4())}
	port := (*[2]byte)(unsafe.Pointer(&addr.Port))
	port[0], port[1] = byte(to.Port>>8), byte(to.Port)
	for i, p := range packets {
		iov := &unix.Iovec{Base: &p[0]}
		iov.SetLen(len(p))
		h := &f.headers[i].header
		h.Name, h.Namelen = (*byte)(unsafe.Pointer(addr)), unix.SizeofSockaddrInet4
		h.Iov = iov
		h.SetIovlen(1)
	}
	f.send = func(fd uintptr) {
		for rest := f.headers; len(rest) > 0; {
			n, _, e := unix.Syscall6(unix.SYS_SENDMMSG, fd, uintptr(unsafe.Pointer(&rest[0])), uintptr(len(rest)), unix.MSG_DONTWAIT, 0, 0)
			if e != 0 {
				f.err = e
				return
			}
			rest = rest[n:]
		}
	}
	return f
}

func (f *floor) frame(b *testing.B) {
	if err := f.raw.Control(f.send); err != nil || f.err != 0 {
		require.Fail(b, fmt.Sprint(err, f.err))
	}
}

// BenchmarkSend1024Universes compares a whole Send, with levels that change in
// every slot, with bare sendmmsg of ready-made packets to the same socket; the
// two take turns.
func BenchmarkSend1024Universes(b *testing.B) {
	hole, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)}) // nobody reads it
	require.NoError(b, err)
	defer hole.Close()
	to := hole.LocalAddr().(*net.UDPAddr)
	var us []sacn.UniverseConfig
	for i := range 1024 {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 1), Source: i, Priority: sacn.DefaultPriority})
	}
	s, err := sacn.NewSender(sacn.SenderConfig{CID: sacn.CheckCID, Universes: us}.ToAddress(to.AddrPort()))
	require.NoError(b, err)
	defer s.Close()
	var packets [][]byte
	for i := range us {
		p := sacn.DataPacket{CID: sacn.CheckCID, Universe: us[i].Number, Priority: sacn.DefaultPriority, Slots: make([]byte, dmx.Slots)}
		packets = append(packets, p.AppendTo(nil))
	}
	plain, err := net.ListenUDP("udp4", &net.UDPAddr{})
	require.NoError(b, err)
	defer plain.Close()
	f := newFloor(b, plain, to, packets)
	levels := make([]dmx.Universe, 1024)
	base := clock.NewBase()
	var ours, bare, now clock.Time
	f.frame(b)
	b.ReportAllocs()
	for b.Loop() {
		for u := range levels {
			levels[u].Slots[u%dmx.Slots]++
		}
		now += clock.Second / 44
		t0 := base.Now()
		err := s.Send(now, levels, nil)
		t1 := base.Now()
		f.frame(b)
		t2 := base.Now()
		if err != nil {
			require.NoError(b, err)
		}
		ours, bare = ours+t1-t0, bare+t2-t1
	}
	b.ReportMetric(float64(ours)/float64(bare), "x-floor")
	b.ReportMetric(float64(ours)/float64(b.N)/1024, "ns/universe")
	b.ReportMetric(float64(bare)/float64(b.N)/1024, "floor-ns/universe")
	require.Equal(b, uint64(1024*b.N), s.Stats().Packets, "packets in %d frames", b.N)
}
