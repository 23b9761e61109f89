package sacn_test

import (
	"fmt"
	"net"
	"net/netip"
	"slices"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// node is the address of a node, from 0 on.
func node(n int) netip.AddrPort {
	return netip.AddrPortFrom(netip.AddrFrom4([4]byte{10, 0, byte(n >> 8), byte(n)}), sacn.Port)
}

// toNodes is universes in order, the same number to each node.
func toNodes(nodes, each int) (list []sacn.UniverseConfig) {
	for i := range nodes * each {
		list = append(list, sacn.UniverseConfig{
			Number: uint16(i + 1), Source: i, Priority: sacn.DefaultPriority, Destinations: []netip.AddrPort{node(i / each)},
		})
	}
	return list
}

// spreadRig is a sender of universes with a level each.
func spreadRig(t *testing.T, c sacn.SenderConfig) *rig {
	t.Helper()
	r := newRig(t, c)
	r.levels = make([]dmx.Universe, len(c.Universes))
	return r
}

// slices of the frame at now as they leave, with the time of each.
func (r *rig) slices(now clock.Time) (parts [][]sentPacket, at []clock.Time) {
	r.rec.sent = nil
	require.NoError(r, r.frame(now))
	if len(r.rec.sent) > 0 {
		_, ok := r.NextSlice()
		require.False(r, ok, "something is left of a small frame")
		return [][]sentPacket{r.rec.sent}, []clock.Time{now}
	}
	for {
		next, ok := r.NextSlice()
		if !ok {
			return parts, at
		}
		r.rec.sent, r.rec.now = nil, next-1
		r.SendSlice(next - 1)
		require.Empty(r, r.rec.sent, "before its time")
		r.rec.now = next
		r.SendSlice(next)
		parts, at = append(parts, r.rec.sent), append(at, next)
	}
}

// 1,024 universes to 256 nodes leave within 10 ms, in even slices and evenly to each node,
// and the sync packets after all of them.
func TestLargeFrameLeavesInSlices(t *testing.T) {
	r := spreadRig(t, sacn.SenderConfig{Spread: udp.DefaultSpread, Sync: 9, Universes: toNodes(256, 4)})
	for frame := range clock.Time(3) {
		start := frame * clock.Second / 44
		parts, at := r.slices(start)
		require.Len(t, parts, udp.MaxSlices)
		seen, synced := map[uint16]bool{}, 0
		for i, part := range parts {
			assert.Equal(t, start+clock.Time(i)*clock.Millisecond, at[i], "slice %d", i)
			byNode := map[netip.AddrPort]int{}
			data := 0
			for _, p := range part {
				if p.kind == sacn.Sync {
					synced++
					continue
				}
				require.Zero(t, synced, "data after a sync packet")
				data++
				byNode[p.to]++
				require.False(t, seen[p.data.Universe], "universe %d twice", p.data.Universe)
				seen[p.data.Universe] = true
				require.Equal(t, uint8(frame), p.data.Sequence)
			}
			assert.LessOrEqual(t, data, 94, "packets in slice %d: an eleventh of 1,024", i)
			for to, n := range byNode {
				assert.Equal(t, 1, n, "packets to %s in slice %d", to, i)
			}
		}
		assert.Len(t, seen, 1024)
		assert.Equal(t, 256, synced, "sync packets, one to each node")
	}
}

// A frame of no more packets than the bound leaves at once, in order of universes.
func TestSmallFrameLeavesAtOnce(t *testing.T) {
	for _, c := range []sacn.SenderConfig{
		{Spread: udp.DefaultSpread, Sync: 9, Universes: toNodes(8, 4)},
		{Spread: 0, Universes: toNodes(256, 4)},
	} {
		r := spreadRig(t, c)
		parts, _ := r.slices(0)
		require.Len(t, parts, 1)
		list := numbers(r.rec.takeSent(sacn.Data, 0))
		assert.Len(t, list, len(c.Universes))
		assert.Equal(t, sorted(list), list)
	}
}

// What has not left when the next frame or the end comes leaves before it; slices that
// are late stay apart; errors are told with the next frame.
func TestSlicesThatAreLate(t *testing.T) {
	r := spreadRig(t, sacn.SenderConfig{Spread: udp.DefaultSpread, Universes: toNodes(64, 4), OnExit: sacn.Terminate})
	require.NoError(t, r.frame(0))
	assert.Empty(t, r.rec.sent)
	r.SendSlice(7 * clock.Millisecond) // the frame took as long
	assert.Len(t, r.rec.sent, 32)
	r.SendSlice(7 * clock.Millisecond)
	assert.Len(t, r.rec.sent, 32)
	next, ok := r.NextSlice()
	require.True(t, ok)
	require.Equal(t, 8*clock.Millisecond, next)
	r.SendSlice(11 * clock.Millisecond)
	assert.Len(t, r.rec.sent, 2*32)
	require.NoError(t, r.frame(clock.Second/44))
	assert.Len(t, r.rec.sent, 256)
	for i, p := range r.rec.sent {
		require.Zero(t, p.data.Sequence, "packet %d is of the first frame", i)
	}
	r.SendSlice(clock.Second / 44)
	assert.Len(t, r.rec.sent, 256+32)
	lost := map[netip.AddrPort]bool{}
	r.rec.refuse = func(to netip.AddrPort) error {
		if !lost[to] && len(lost) < 3 {
			lost[to] = true
			return syscall.EHOSTUNREACH
		}
		return nil
	}
	r.SendSlice(clock.Second/44 + 2*clock.Millisecond)
	require.Len(t, lost, 3)
	err := r.frame(2 * clock.Second / 44)
	assert.ErrorIs(t, err, syscall.EHOSTUNREACH)
	assert.EqualValues(t, 3, r.Stats().Failed)
	require.NoError(t, r.frame(3*clock.Second/44))
	before := len(r.rec.sent)
	require.NoError(t, r.Close())
	ended := r.rec.sent[before:]
	require.Len(t, ended, 256+3*256)
	for i, p := range ended {
		require.Equal(t, i >= 256, p.data.Options&sacn.StreamTerminated != 0, "packet %d", i)
	}
}

// syncReceiver is a receiver that synchronizes (E1.31-2018, 6.2.4.1 and 11.1.2): levels with a
// synchronization address wait for the sync packet, which shows all that wait. A packet
// with an old sequence number is discarded (6.7.2).
type syncReceiver struct {
	waiting, shown map[uint16]byte
	sequence       map[uint16]uint8
	universes      int
	syncs, torn    int // sync packets; pictures with levels of different frames
}

func newSyncReceiver(universes int) *syncReceiver {
	return &syncReceiver{waiting: map[uint16]byte{}, shown: map[uint16]byte{}, sequence: map[uint16]uint8{}, universes: universes}
}

func (r *syncReceiver) take(t require.TestingT, packet []byte) {
	kind, err := sacn.KindOf(packet)
	require.NoError(t, err)
	if kind == sacn.Data {
		var p sacn.DataPacket
		require.NoError(t, p.Parse(packet))
		require.NotZero(t, p.SyncAddress)
		if last, ok := r.sequence[p.Universe]; ok {
			if ahead := int8(p.Sequence - last); ahead <= 0 && ahead > -20 {
				return
			}
		}
		r.sequence[p.Universe], r.waiting[p.Universe] = p.Sequence, p.Slots[0]
		return
	}
	if kind != sacn.Sync {
		return
	}
	r.syncs++
	for u, level := range r.waiting {
		r.shown[u] = level
	}
	clear(r.waiting)
	if len(r.shown) < r.universes {
		return
	}
	for _, level := range r.shown {
		if level != r.shown[firstKey(r.shown)] {
			r.torn++
			return
		}
	}
}

func firstKey(m map[uint16]byte) uint16 {
	least := uint16(sacn.MaxUniverse)
	for k := range m {
		least = min(least, k)
	}
	return least
}

// stage is a Conn with a receiver at each address, whose system refuses packets.
type stage struct {
	t         require.TestingT
	receivers map[netip.AddrPort]*syncReceiver
	room      int // messages until the send buffer is full; below 0: no end
	refused   map[netip.AddrPort]bool
	lost      uint16                                // a universe that is refused
	carry     func(to *syncReceiver, packet []byte) // nil: hand over
}

func (s *stage) WriteBatch(ms []ipv4.Message) (int, error) {
	for i := range ms {
		to := ms[i].Addr.(*net.UDPAddr).AddrPort()
		var p sacn.DataPacket
		refused := s.refused[to] || s.lost != 0 && p.Parse(ms[i].Buffers[0]) == nil && p.Universe == s.lost
		switch {
		case s.room == 0 && i == 0:
			return 0, udp.ErrFull
		case refused && i == 0:
			return 0, syscall.EPERM
		case s.room == 0 || refused:
			return i, nil
		}
		s.room--
		if s.carry != nil {
			s.carry(s.receivers[to], ms[i].Buffers[0])
		} else {
			s.receivers[to].take(s.t, ms[i].Buffers[0])
		}
	}
	return len(ms), nil
}

func (s *stage) Close() error { return nil }

// newStage returns a synchronized sender to nodes, and the receivers there.
func newStage(t require.TestingT, nodes, each int) (*stage, *sacn.Sender) {
	s := &stage{t: t, receivers: map[netip.AddrPort]*syncReceiver{}, room: -1, refused: map[netip.AddrPort]bool{}}
	for n := range nodes {
		s.receivers[node(n)] = newSyncReceiver(each)
	}
	sender, err := sacn.NewSender(sacn.SenderConfig{
		CID: sacn.CheckCID, SourceName: "Check Source", Universes: toNodes(nodes, each), Sync: 9, Spread: udp.DefaultSpread,
		Open: func() (udp.Conn, error) { return s, nil },
	})
	require.NoError(t, err)
	return s, sender
}

// play sends a frame of levels, all of them n, with all its slices.
func play(s *sacn.Sender, n, universes int) {
	levels := make([]dmx.Universe, universes)
	for u := range levels {
		levels[u].Slots[0] = byte(n)
	}
	_ = s.Send(clock.Time(n)*clock.Second/44+1, levels, nil)
	for at, ok := s.NextSlice(); ok; at, ok = s.NextSlice() {
		s.SendSlice(at)
	}
}

// Whatever part of a frame the system does not take, no receiver ever shows levels of two
// frames: sync packets are withheld from those that miss some. 2,400 universes are more
// than one call of sendmmsg takes.
func TestPartOfAFrameIsNeverShown(t *testing.T) {
	for _, size := range [][2]int{{3, 2}, {40, 5}, {60, 40}} {
		nodes, each := size[0], size[1]
		t.Run(fmt.Sprintf("%d nodes of %d", nodes, each), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				s, sender := newStage(t, nodes, each)
				failed := false
				for n := range rapid.IntRange(2, 4+400/(nodes*each)).Draw(t, "frames") {
					s.room, s.lost = -1, 0
					clear(s.refused)
					switch rapid.IntRange(0, 3).Draw(t, "fault") {
					case 1:
						s.room = rapid.IntRange(0, nodes*each).Draw(t, "room")
						failed = true
					case 2:
						for range rapid.IntRange(1, 3).Draw(t, "refused") {
							s.refused[node(rapid.IntRange(0, nodes-1).Draw(t, "node"))] = true
						}
						failed = true
					case 3:
						s.lost = uint16(rapid.IntRange(1, nodes*each).Draw(t, "universe"))
						failed = true
					}
					play(sender, n, nodes*each)
				}
				s.room, s.lost = -1, 0
				clear(s.refused)
				play(sender, 200, nodes*each)
				for to, r := range s.receivers {
					require.Zero(t, r.torn, "torn pictures at %s", to)
					require.EqualValues(t, 200, r.shown[firstKey(r.shown)], "%s after the first whole frame", to)
				}
				require.Equal(t, failed, sender.Stats().Failed > 0)
			})
		})
	}
}

// A receiver that cannot have all its universes for long gets sync packets again after
// half a second, long before the 2.5 s after which it stops waiting for them (6.7.1).
// Others never miss one.
func TestSyncIsNotWithheldForLong(t *testing.T) {
	s, sender := newStage(t, 2, 2)
	play(sender, 0, 4)
	s.lost = 2 // of the first node
	for n := 1; n <= 44; n++ {
		play(sender, n, 4)
	}
	assert.Equal(t, 1+44, s.receivers[node(1)].syncs, "to the other node")
	assert.Equal(t, 1+44-22, s.receivers[node(0)].syncs, "to the node that misses a universe")
	assert.EqualValues(t, 22, sender.Stats().Withheld)
	s.lost = 0
	play(sender, 45, 4)
	assert.Equal(t, map[uint16]byte{1: 45, 2: 45}, s.receivers[node(0)].shown, "the first whole frame")
	s.lost = 2
	play(sender, 46, 4)
	assert.EqualValues(t, 23, sender.Stats().Withheld, "after a whole frame it is withheld again")
}

// A network that loses and swaps packets tears only the frames that it touched: no sender
// can prevent that. Pictures of other frames are whole.
func TestLossTearsOnlyTheFramesItTouches(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const nodes, each = 2, 40
		s, sender := newStage(t, nodes, each)
		type carried struct {
			to     *syncReceiver
			packet []byte
		}
		var frame []carried
		s.carry = func(to *syncReceiver, packet []byte) { frame = append(frame, carried{to, slices.Clone(packet)}) }
		touched := map[*syncReceiver]int{}
		for n := range rapid.IntRange(1, 20).Draw(t, "frames") {
			frame = frame[:0]
			play(sender, n, nodes*each)
			hit := map[*syncReceiver]bool{}
			if n > 0 {
				for range rapid.IntRange(0, 2).Draw(t, "swaps") {
					i, j := rapid.IntRange(0, len(frame)-1).Draw(t, "i"), rapid.IntRange(0, len(frame)-1).Draw(t, "j")
					frame[i], frame[j] = frame[j], frame[i]
					hit[frame[i].to], hit[frame[j].to] = true, true
				}
				for range rapid.IntRange(0, 2).Draw(t, "lost") {
					i := rapid.IntRange(0, len(frame)-1).Draw(t, "lost packet")
					hit[frame[i].to] = true
					frame = slices.Delete(frame, i, i+1)
				}
			}
			for _, c := range frame {
				c.to.take(t, c.packet)
			}
			for to := range hit {
				touched[to]++
			}
			for _, to := range s.receivers {
				if !hit[to] {
					require.Equal(t, byte(n), to.shown[firstKey(to.shown)])
					for u, level := range to.shown {
						require.Equal(t, byte(n), level, "universe %d in a frame without loss", u)
					}
				}
			}
		}
		for _, to := range s.receivers {
			require.LessOrEqual(t, to.torn, touched[to])
		}
	})
}

// Frames in slices, synchronized, allocate nothing, also while packets fail.
func TestSpreadSendAllocs(t *testing.T) {
	s, err := sacn.NewSender(sacn.SenderConfig{
		CID: sacn.CheckCID, Sync: 9, Spread: udp.DefaultSpread, Universes: toNodes(100, 10),
		Open: func() (udp.Conn, error) { return &sink{}, nil },
	})
	require.NoError(t, err)
	levels := make([]dmx.Universe, 1000)
	var now clock.Time
	frame := func() {
		now += clock.Second / 44
		levels[0].Slots[0]++
		if err := s.Send(now, levels, nil); err != nil {
			require.NoError(t, err)
		}
		for at, ok := s.NextSlice(); ok; at, ok = s.NextSlice() {
			s.SendSlice(at)
		}
	}
	frame() // the buffers grow once
	if n := testing.AllocsPerRun(200, frame); n != 0 {
		require.Zero(t, n, "allocations a frame")
	}
	require.EqualValues(t, 202*(1000+100), s.Stats().Packets)
}
