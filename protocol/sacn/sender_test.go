package sacn_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/netip"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

const minute = 60 * clock.Second

// 44 packets a second is the ceiling (6.6.1; E1.11), and each rate below holds
// in every second, on the grid of 44 frames a second.
func TestRates(t *testing.T) {
	for _, rate := range []int{0, 44, 43, 42, 41, 40, 33, 25, 11, 3, 1} {
		t.Run(fmt.Sprint(rate), func(t *testing.T) {
			r := newRig(t, sacn.SenderConfig{Universes: universe(1, func(u *sacn.UniverseConfig) { u.Rate = rate })})
			r.run(grid(44, 5*clock.Second, minute))
			want := rate
			if want == 0 {
				want = 44
			}
			list := r.rec.takeSent(sacn.Data, 1)
			assert.LessOrEqual(t, busiest(list), want, "packets in one second")
			n := len(list)
			assert.GreaterOrEqual(t, n, 60*want-1)
			assert.LessOrEqual(t, n, 60*want)
			checkSequence(t, list)
		})
	}
}

// A loop that follows the beat runs at n frames a beat; one that follows a
// busy machine is late by some 100 µs. Neither costs a frame.
func TestEveryFrameIsSent(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, tempo := range []float64{0, 61, 90, 118, 120, 127.5, 174} {
		hz := 44.0
		if tempo > 0 {
			hz = float64(int(44*60/tempo)) * tempo / 60
		}
		r := newRig(t, sacn.SenderConfig{Universes: universe(1, nil)})
		times := grid(hz, clock.Second, minute)
		for i := range times {
			times[i] += clock.Time(rng.Int64N(int64(clock.Millisecond)))
		}
		r.run(times)
		assert.Len(t, r.rec.takeSent(sacn.Data, 1), len(times), "%.2f Hz", hz)
	}
}

// A caller that runs too fast, stalls, or whose time goes backwards cannot
// make a burst.
func TestPaceHoldsAgainstItsCaller(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: universe(1, nil)})
	times := grid(200, clock.Second, 5*clock.Second)
	times = append(times, grid(44, 20*clock.Second, 3*clock.Second)...)
	r.run(times)
	r.run([]clock.Time{10 * clock.Second}) // backwards
	list := r.rec.takeSent(sacn.Data, 1)
	// One more than 44 may fall in a second: the slack, or the packet that was
	// due when the stall ended.
	assert.LessOrEqual(t, busiest(list), 45, "packets in one second")
	n := len(list)
	assert.GreaterOrEqual(t, n, 8*44-2)
	assert.LessOrEqual(t, n, 8*44+3)
}

// However often it is called, 44 packets take at least as long as 44 of the
// shortest DMX512 packets, 22,676 µs each (E1.11): a gateway can follow.
func TestPaceKeepsToDMX(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: universe(1, nil)})
	r.run(grid(1000, 0, 5*clock.Second))
	list := r.rec.takeSent(sacn.Data, 1)
	for i := 44; i < len(list); i++ {
		require.GreaterOrEqual(t, list[i].at-list[i-44].at, 44*22676*clock.Microsecond, "time that 44 packets took")
	}
}

// After a stall the rate is the rate: what was missed is not made up for.
func TestPaceAfterStall(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: universe(1, func(u *sacn.UniverseConfig) { u.Rate = 22 })})
	r.run(grid(44, 0, clock.Second))
	before := len(r.rec.takeSent(sacn.Data, 1))
	r.run(grid(44, 10*clock.Second, clock.Second))
	n := len(r.rec.takeSent(sacn.Data, 1)) - before
	assert.GreaterOrEqual(t, n, 22)
	assert.LessOrEqual(t, n, 23)
}

// On change: the new value in at least three packets, then keep-alives 800 to
// 1000 ms apart, numbered on (6.6.2).
func TestOnChange(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: universe(1, func(u *sacn.UniverseConfig) { u.OnChange = true })})
	r.run(grid(44, 0, 5*clock.Second))
	r.levels[0].Slots[511] = 7
	r.run(grid(44, 5*clock.Second, 5*clock.Second))
	list := r.rec.takeSent(sacn.Data, 1)
	checkSequence(t, list)
	changes := 0
	for _, p := range list {
		if p.data.Slots[511] == 7 && p.at < 5*clock.Second+100*clock.Millisecond {
			changes++
		}
	}
	assert.Equal(t, 4, changes, "packets with the change")
	keepAlives := 0
	for i := 1; i < len(list); i++ {
		gap := list[i].at - list[i-1].at
		if gap < 100*clock.Millisecond || list[i].at == 5*clock.Second {
			continue
		}
		keepAlives++
		assert.GreaterOrEqual(t, gap, 850*clock.Millisecond)
		assert.LessOrEqual(t, gap, 900*clock.Millisecond)
	}
	assert.Equal(t, 10, keepAlives, "keep-alives in twice 5 s")
}

// A value that changes every frame is sent like a constant stream.
func TestOnChangeEveryFrame(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: universe(1, func(u *sacn.UniverseConfig) { u.OnChange, u.Rate = true, 40 })})
	for i, at := range grid(44, 0, 10*clock.Second) {
		r.levels[0].Slots[0] = byte(i)
		r.run([]clock.Time{at})
	}
	list := r.rec.takeSent(sacn.Data, 1)
	assert.Equal(t, 40, busiest(list))
	assert.Len(t, list, 400)
}

// Even at one packet a second a silent universe keeps to 1000 ms, and a change
// that rides on a keep-alive still gets its repeats.
func TestKeepAliveAtLowRate(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: universe(1, func(u *sacn.UniverseConfig) { u.OnChange, u.Rate = true, 1 })})
	for _, at := range grid(44, 0, 30*clock.Second) {
		r.levels[0].Slots[0] = byte(at / (10 * clock.Second))
		r.run([]clock.Time{at})
	}
	list := r.rec.takeSent(sacn.Data, 1)
	count := map[byte]int{}
	for i, p := range list {
		count[p.data.Slots[0]]++
		if i > 0 {
			assert.LessOrEqual(t, p.at-list[i-1].at, clock.Second, "silence between packets")
		}
	}
	for v := range byte(3) {
		assert.GreaterOrEqual(t, count[v], 4, "value %d in %d packets", v, count[v])
	}
}

func TestLevelsAndOrder(t *testing.T) {
	to := netip.MustParseAddrPort("127.0.0.1:6000")
	r := newRig(t, sacn.SenderConfig{Universes: []sacn.UniverseConfig{
		{Number: 300, Source: 1, Priority: 0, Slots: 24},
		{Number: 2, Source: 0, Priority: 200, Destinations: []netip.AddrPort{to, netip.MustParseAddrPort("10.1.2.3:0")}},
		{Number: 63999, Source: 1, Priority: 1, Destinations: []netip.AddrPort{to}, Multicast: true},
	}})
	for i := range dmx.Slots {
		r.levels[0].Slots[i], r.levels[1].Slots[i] = byte(i), byte(255-i)
	}
	r.run([]clock.Time{0})
	list := r.rec.takeSent(sacn.Data, 0)
	var got []string
	for _, p := range list {
		got = append(got, fmt.Sprintf("%d %s %d %d %d", p.data.Universe, p.to, p.data.Priority, len(p.data.Slots), p.data.Slots[3]))
	}
	want := []string{
		"2 127.0.0.1:6000 200 512 3", "2 10.1.2.3:5568 200 512 3",
		"300 239.255.1.44:5568 0 24 252",
		"63999 127.0.0.1:6000 1 512 252", "63999 239.255.249.255:5568 1 512 252",
	}
	assert.Equal(t, want, got, "%s\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	assert.Equal(t, list[1].data.Sequence, list[0].data.Sequence, "one packet to two destinations has two numbers")
	assert.Equal(t, "Check Source", list[0].data.SourceName.String(), "wrong name or CID")
	assert.Equal(t, sacn.CheckCID, list[0].data.CID, "wrong name or CID")
}

// Three terminated packets a universe, numbered on, with the last levels; then
// the empty list of universes (6.2.6, 12.2).
func TestTerminate(t *testing.T) {
	for _, exit := range []sacn.OnExit{sacn.Terminate, sacn.Fade} {
		r := newRig(t, sacn.SenderConfig{OnExit: exit, Sync: 9, Universes: append(universe(1, nil), universe(2, nil)...)})
		r.levels[0].Slots[0] = 99
		r.run(grid(44, 0, clock.Second))
		before := len(r.rec.sent)
		require.NoError(t, errors.Join(r.Close(), r.Close()))
		assert.Equal(t, 7, len(r.rec.sent)-before)
		assert.True(t, r.rec.closed)
		for u := range uint16(2) {
			list := r.rec.takeSent(sacn.Data, u+1)
			checkSequence(t, list)
			for i, p := range list {
				ends := p.data.Options&sacn.StreamTerminated != 0
				assert.Equal(t, i >= len(list)-3, ends, "universe %d, packet %d of %d", u+1, i, len(list))
				if ends {
					assert.EqualValues(t, 99, p.data.Slots[0], "terminated")
					assert.Zero(t, p.data.SyncAddress, "terminated")
				}
			}
		}
		last := r.rec.sent[len(r.rec.sent)-1]
		assert.Equal(t, sacn.Discovery, last.kind, "last packet")
		assert.Empty(t, last.list.Universes, "last packet")
		assert.ErrorIs(t, r.frame(2*clock.Second), net.ErrClosed, "Send after Close")
	}
}

func TestHold(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{OnExit: sacn.Hold, Universes: universe(1, nil)})
	r.run(grid(44, 0, clock.Second))
	require.NoError(t, r.Close())
	list := r.rec.takeSent(sacn.Data, 1)
	assert.Len(t, list, 44, "last options")
	assert.Zero(t, list[len(list)-1].data.Options, "last options")
}

// A universe that was never sent has nothing to end.
func TestTerminateUnsent(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{OnExit: sacn.Terminate, Universes: universe(1, nil)})
	if assert.NoError(t, r.Close()) {
		assert.Empty(t, r.rec.sent)
	}
}

// At once, then every 10 s, sorted, 512 a page, to 239.255.250.214 (4.3, 8, 12).
func TestDiscovery(t *testing.T) {
	var us []sacn.UniverseConfig
	for i := range 1100 {
		us = append(us, sacn.UniverseConfig{Number: uint16(2200 - 2*i), Rate: 1})
	}
	r := newRig(t, sacn.SenderConfig{Universes: us})
	r.run(grid(44, 3*clock.Second, 25*clock.Second))
	pages := r.rec.takeSent(sacn.Discovery, 0)
	require.Len(t, pages, 9)
	var all []uint16
	for i, p := range pages {
		assert.Equal(t, "239.255.250.214:5568", p.to.String(), "page %d", i)
		assert.Equal(t, i%3, int(p.list.Page), "page %d", i)
		assert.EqualValues(t, 2, p.list.Last, "page %d", i)
		assert.LessOrEqual(t, len(p.list.Universes), 512, "page %d", i)
		due := 3*clock.Second + clock.Time(i/3)*10*clock.Second
		assert.GreaterOrEqual(t, p.at, due, "set %d at %d ms", i/3, p.at/clock.Millisecond)
		assert.LessOrEqual(t, p.at, due+23*clock.Millisecond, "set %d at %d ms", i/3, p.at/clock.Millisecond)
		if i < 3 {
			all = append(all, p.list.Universes...)
		}
	}
	if assert.Len(t, all, 1100) {
		assert.True(t, slices.IsSorted(all))
		assert.EqualValues(t, 2, all[0])
		assert.EqualValues(t, 2200, all[1099])
	}
	assert.True(t, slices.IsSorted(numbers(r.rec.takeSent(sacn.Data, 0)[:1100])), "universes are not sent lowest first")
}

// 512 universes fill one page; one more begins a second (8.3 to 8.5).
func TestDiscoveryPages(t *testing.T) {
	for n, want := range map[int][]int{1: {1}, 512: {512}, 513: {512, 1}} {
		var us []sacn.UniverseConfig
		for i := range n {
			us = append(us, sacn.UniverseConfig{Number: uint16(i + 1)})
		}
		r := newRig(t, sacn.SenderConfig{Universes: us})
		r.run([]clock.Time{0})
		pages := r.rec.takeSent(sacn.Discovery, 0)
		require.Len(t, pages, len(want), "%d universes", n)
		for i, p := range pages {
			assert.Len(t, p.list.Universes, want[i], "%d universes, page %d", n, i)
			assert.EqualValues(t, len(want)-1, p.list.Last, "%d universes, page %d", n, i)
		}
	}
}

// Unicast alone stays unicast: nothing leaks to a multicast group.
func TestToAddress(t *testing.T) {
	to := netip.MustParseAddrPort("127.0.0.1:7000")
	c := sacn.SenderConfig{OnExit: sacn.Terminate, Sync: 5, Interface: "no such interface", Universes: []sacn.UniverseConfig{
		{Number: 1, Multicast: true}, {Number: 2, Destinations: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.1:5568")}},
	}}
	r := newRig(t, c.ToAddress(to))
	r.run(grid(44, 0, 11*clock.Second))
	require.NoError(t, r.Close())
	for _, p := range r.rec.sent {
		require.Equal(t, to, p.to, "a packet")
	}
	assert.NotEmpty(t, r.rec.takeSent(sacn.Sync, 0), "nothing was sent")
	assert.NotEmpty(t, r.rec.takeSent(sacn.Data, 2), "nothing was sent")
	assert.Nil(t, c.Universes[0].Destinations, "ToAddress changed its receiver")
	assert.NotEmpty(t, c.Interface, "ToAddress changed its receiver")
}

// Data first, then the sync packet, counted by itself (6.2.4.1, 6.3).
func TestSync(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Sync: 7962, Universes: append(universe(1, nil), universe(2, func(u *sacn.UniverseConfig) { u.Rate = 22 })...)})
	r.run(grid(44, 0, 8*clock.Second))
	syncs := r.rec.takeSent(sacn.Sync, 0)
	assert.Len(t, syncs, 8*44, "sync packets in 8 s")
	for i, p := range syncs {
		require.Equal(t, uint8(i), p.sync.Sequence, "sync %d", i)
		require.EqualValues(t, 7962, p.sync.Address, "sync %d", i)
		require.Equal(t, "239.255.31.26:5568", p.to.String(), "sync %d", i)
	}
	for i, p := range r.rec.sent {
		switch {
		case p.kind == sacn.Data && (p.data.SyncAddress != 7962 || p.data.Options != sacn.ForceSynchronization):
			require.Fail(t, fmt.Sprintf("data: address %d, options %#x", p.data.SyncAddress, p.data.Options))
		case p.kind == sacn.Sync && r.rec.sent[i-1].kind != sacn.Data:
			require.Fail(t, "a sync packet without data before it")
		}
	}
}

// Short batches are continued until everything is out.
func TestShortBatches(t *testing.T) {
	var us []sacn.UniverseConfig
	for i := range 2500 {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 1)})
	}
	for _, most := range []int{0, 1, 3, 1000, 1024} {
		r := newRig(t, sacn.SenderConfig{Universes: us})
		r.rec.most = most
		r.run([]clock.Time{0})
		list := numbers(r.rec.takeSent(sacn.Data, 0))
		assert.Len(t, list, 2500, "%d a call", most)
		assert.Equal(t, sorted(list), list, "%d a call", most)
		assert.Len(t, slices.Compact(list), 2500, "%d a call", most)
	}
}

func TestMissingSource(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: []sacn.UniverseConfig{{Number: 1, Source: 8}, {Number: 2, Source: 7}}})
	err := r.frame(0)
	assert.ErrorContains(t, err, "universe 1: source 8, have 8")
	assert.Equal(t, []uint16{2}, numbers(r.rec.takeSent(sacn.Data, 0)))
}

func TestConfigFaults(t *testing.T) {
	_, err := sacn.NewSender(sacn.SenderConfig{TTL: 256, Sync: 64000, OnExit: 9, Universes: []sacn.UniverseConfig{
		{Number: 0},
		{Number: 64000},
		{Number: 5, Priority: 201},
		{Number: 5},
		{Number: 6, Rate: 45},
		{Number: 7, Rate: -1},
		{Number: 8, Slots: 513},
		{Number: 9, Slots: -1},
		{Number: 10, Source: -1},
		{Number: 11, Destinations: []netip.AddrPort{netip.MustParseAddrPort("[::1]:5568")}},
		{Number: 12, Destinations: []netip.AddrPort{{}}},
		{Number: 13, Destinations: []netip.AddrPort{netip.MustParseAddrPort("0.0.0.0:5568")}},
	}})
	require.Error(t, err)
	for _, want := range []string{
		"no CID", "TTL 256", "synchronization address 64000", "OnExit 9", "universe 0: sacn: universe number out of range",
		"universe 64000: sacn: universe number", "priority 201", "universe 5 is listed twice", "rate 45 Hz", "rate -1 Hz",
		"513 slots", "-1 slots", "source -1", "universe 11: destination [::1]:5568", "universe 12: destination", "universe 13: destination",
	} {
		assert.ErrorContains(t, err, want)
	}
}

func TestDescribe(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Universes: []sacn.UniverseConfig{
		{Number: 1, Priority: 100},
		{Number: 2, Priority: 0, Rate: 40, OnChange: true, Multicast: true, Destinations: []netip.AddrPort{netip.MustParseAddrPort("10.0.0.7:0")}},
	}})
	want := `sACN from the default route as "Check Source", CID f81d4fae-7dec-11d0-a765-00a0c91e6bf6
universe 1 to 239.255.0.1:5568, priority 100, 44 Hz
universe 2 to 10.0.0.7:5568, 239.255.0.2:5568, priority 0, 40 Hz on change
`
	assert.Equal(t, want, r.Describe())
}

func TestSendAllocs(t *testing.T) {
	us := universe(1, nil)
	for i := range 63 {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 2), OnChange: i%2 == 0})
	}
	c := sacn.SenderConfig{CID: sacn.CheckCID, Sync: 9, Universes: us, Open: func() (udp.Conn, error) { return &sink{}, nil }}
	s, err := sacn.NewSender(c)
	require.NoError(t, err)
	levels := make([]dmx.Universe, 1)
	var now clock.Time
	frame := func() {
		now += clock.Second / 44
		levels[0].Slots[0]++
		if err := s.Send(now, levels, nil); err != nil {
			require.NoError(t, err)
		}
	}
	frame() // the batch grows once
	assert.Zero(t, testing.AllocsPerRun(1000, frame), "allocations a frame: garbage makes frames late")
}

// What is passed over keeps still, and the sync packet follows only what left.
func TestSendPassesOver(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Sync: 7962, Universes: append(universe(1, nil), universe(2, func(u *sacn.UniverseConfig) { u.Source = 1 })...)})
	only := make([]bool, len(r.levels))
	for n := range clock.Time(88) {
		clear(only)
		only[n%2] = true
		require.NoError(t, r.Send(n*clock.Second/88, r.levels, only))
	}
	for u := range uint16(2) {
		list := r.rec.takeSent(sacn.Data, u+1)
		assert.Len(t, list, 44, "universe %d: packets in a second", u+1)
		checkSequence(t, list)
	}
	require.NoError(t, r.Send(2*clock.Second, r.levels, make([]bool, len(r.levels))))
	assert.Len(t, r.rec.takeSent(sacn.Sync, 0), 88)
}

// A sender that goes on with another's stream numbers each universe, and the sync
// packets, from where it is told (6.2.5). Receivers accept its first packet at once,
// for every number that the other may have sent last (6.7.2).
func TestSequencesGoOn(t *testing.T) {
	universes := append(universe(1, nil), universe(7, func(u *sacn.UniverseConfig) { u.OnChange = true })...)
	first := newRig(t, sacn.SenderConfig{Universes: universes, Sync: 99})
	for _, frames := range []int{0, 1, 5, 255, 256} {
		first.run(grid(44, first.rec.now+clock.Second, clock.Time(frames)*clock.Second/44))
		next := map[uint16]uint8{}
		first.Sequences(func(universe uint16, n uint8) { next[universe] = n })
		require.Len(t, next, 3)
		c := sacn.SenderConfig{Universes: universes, Sync: 99, SyncSequence: next[0]}
		c.Universes = slices.Clone(c.Universes)
		for i := range c.Universes {
			c.Universes[i].Sequence = next[c.Universes[i].Number]
		}
		second := newRig(t, c)
		second.run([]clock.Time{clock.Second})
		for _, n := range []uint16{1, 7} {
			sent := first.rec.takeSent(sacn.Data, n)
			assert.Equal(t, uint8(len(sent)), second.rec.takeSent(sacn.Data, n)[0].data.Sequence, "universe %d after %d packets", n, len(sent))
		}
		assert.Equal(t, uint8(len(first.rec.takeSent(sacn.Sync, 0))), second.rec.takeSent(sacn.Sync, 0)[0].sync.Sequence)
	}
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		sum := uint8(0)
		first.Sequences(func(_ uint16, n uint8) { sum += n })
	}), "allocations")
}
