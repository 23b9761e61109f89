package sacn

import (
	"bytes"
	"math/rand/v2"
	"net/netip"
	"slices"
	"testing"

	"tactus/clock"
)

var peer = netip.MustParseAddrPort("10.0.0.5:5568")

func dataAt(at clock.Time, edit func(p *DataPacket)) Packet {
	return Packet{At: at, From: peer, Data: checkPacket(edit)}
}

func TestMonitorStream(t *testing.T) {
	m := NewMonitor()
	for i := range 441 {
		at := clock.Time(i) * clock.Second / 44
		if v := m.Take(dataAt(at, func(p *DataPacket) { p.Sequence = uint8(i) })); v != Accepted {
			t.Fatalf("packet %d: %v", i, v)
		}
	}
	list := m.Sources()
	if len(list) != 1 {
		t.Fatalf("%d sources", len(list))
	}
	s := list[0]
	if s.Universe != 1 || s.CID != checkCID || s.Name.String() != "Check Source" || s.From != peer || s.Priority != 100 ||
		s.Slots != 8 || s.Packets != 441 || s.Status != Live || s.Late != 0 || s.Missing != 0 {
		t.Errorf("%+v", s)
	}
	if s.Rate < 43.99 || s.Rate > 44.01 {
		t.Errorf("rate %v, want 44", s.Rate)
	}
	if !bytes.Equal(s.Levels[:8], checkSlots) || slices.Max(s.Levels[8:]) != 0 {
		t.Errorf("levels % x", s.Levels)
	}
}

// 6.7.2: late packets are dropped, gaps counted, and a source that restarts is
// taken again.
func TestMonitorSequence(t *testing.T) {
	m := NewMonitor()
	step := func(seq uint8) Verdict {
		return m.Take(dataAt(0, func(p *DataPacket) { p.Sequence = seq }))
	}
	for i, c := range []struct {
		seq  uint8
		want Verdict
	}{{250, Accepted}, {251, Accepted}, {254, Accepted}, {253, Late}, {254, Late}, {1, Accepted}, {255, Late}, {100, Accepted}, {80, Accepted}} {
		if v := step(c.seq); v != c.want {
			t.Errorf("step %d, number %d: %v, want %v", i, c.seq, v, c.want)
		}
	}
	if s := m.Sources()[0]; s.Late != 3 || s.Missing != 2+2+98 {
		t.Errorf("late %d, missing %d", s.Late, s.Missing)
	}
}

// A universe, a CID and the kind of packet are counted apart.
func TestMonitorCountsApart(t *testing.T) {
	m := NewMonitor()
	other := checkCID
	other[0] = 0
	for i, p := range []Packet{
		dataAt(0, func(p *DataPacket) { p.Sequence = 10 }),
		dataAt(0, func(p *DataPacket) { p.Sequence = 10; p.Universe = 2 }),
		dataAt(0, func(p *DataPacket) { p.Sequence = 10; p.CID = other }),
		{From: peer, Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 10}},
		{From: peer, Sync: &SyncPacket{CID: checkCID, Address: 2, Sequence: 10}},
	} {
		if v := m.Take(p); v != Accepted && v != Synchronizing {
			t.Errorf("packet %d: %v", i, v)
		}
	}
	if v := m.Take(Packet{Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 10}}); v != Late {
		t.Errorf("sync packet again: %v", v)
	}
	if v := m.Take(Packet{At: 3 * clock.Second, Sync: &SyncPacket{CID: checkCID, Address: 1, Sequence: 9}}); v != Synchronizing {
		t.Errorf("sync packet after a silence: %v", v)
	}
	if s := m.Syncs(); len(s) != 2 || s[0].Packets != 2 || s[0].Late != 1 {
		t.Errorf("%+v", s)
	}
	if s := m.Sources(); len(s) != 3 || s[0].CID != other || s[1].CID != checkCID || s[2].Universe != 2 {
		t.Errorf("order of %d sources", len(s))
	}
}

// 0xDD, previews and the last packets carry no levels for live output.
func TestMonitorNotLevels(t *testing.T) {
	m := NewMonitor()
	m.Take(dataAt(0, func(p *DataPacket) {}))
	no := []byte{9, 9, 9, 9, 9, 9, 9, 9}
	for i, c := range []struct {
		edit func(p *DataPacket)
		want Verdict
	}{
		{func(p *DataPacket) { p.StartCode = PriorityPerSlot }, NotLevels},
		{func(p *DataPacket) { p.StartCode = 0x17 }, NotLevels},
		{func(p *DataPacket) { p.Options = PreviewData }, PreviewOnly},
		{func(p *DataPacket) { p.Options = StreamTerminated }, Ended},
	} {
		v := m.Take(dataAt(0, func(p *DataPacket) { p.Sequence, p.Slots = uint8(i+1), no; c.edit(p) }))
		if v != c.want {
			t.Errorf("case %d: %v, want %v", i, v, c.want)
		}
	}
	s := m.Sources()[0]
	if !bytes.Equal(s.Levels[:8], checkSlots) {
		t.Errorf("levels became % x", s.Levels[:8])
	}
	if s.Packets != 1 || s.Alternate != 2 || s.Per0xDD != 1 || s.Previews != 1 || s.Ends != 1 || s.Status != Terminated {
		t.Errorf("%+v", s)
	}
}

// 2.5 s without a packet is data loss (6.7.1); termination is at once (6.2.6).
func TestMonitorLoss(t *testing.T) {
	m := NewMonitor()
	m.Take(dataAt(0, func(p *DataPacket) { p.Sequence = 50 }))
	if n := m.Expire(2500 * clock.Millisecond); n != 0 || m.Sources()[0].Status != Live {
		t.Errorf("lost at 2.5 s")
	}
	if n := m.Expire(2501 * clock.Millisecond); n != 1 || m.Sources()[0].Status != Lost {
		t.Errorf("not lost after 2.5 s")
	}
	if n := m.Expire(2502 * clock.Millisecond); n != 0 {
		t.Errorf("lost twice")
	}
	if v := m.Take(dataAt(3*clock.Second, func(p *DataPacket) { p.Sequence = 49 })); v != Accepted || m.Sources()[0].Status != Live {
		t.Errorf("a source that comes back: %v", v)
	}
	if v := m.Take(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = 48 })); v != Accepted {
		t.Errorf("a source that comes back between two calls of Expire: %v", v)
	}
	end := func(seq uint8) Verdict {
		return m.Take(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = seq; p.Options = StreamTerminated }))
	}
	if end(49) != Ended || end(50) != Ended || end(51) != Ended || m.Sources()[0].Status != Terminated {
		t.Error("termination")
	}
	if v := m.Take(dataAt(6*clock.Second, func(p *DataPacket) { p.Sequence = 48 })); v != Late {
		t.Errorf("a packet that the last one overtook: %v", v)
	}
	if v := m.Take(dataAt(7*clock.Second, func(p *DataPacket) { p.Sequence = 52 })); v != Accepted || m.Sources()[0].Status != Live {
		t.Errorf("a source that starts again: %v", v)
	}
	m.Expire(10 * clock.Second)
	m.Expire(68 * clock.Second)
	if n := len(m.Sources()); n != 0 {
		t.Errorf("%d sources kept for ever", n)
	}
}

func TestMonitorLists(t *testing.T) {
	m := NewMonitor()
	page := func(at clock.Time, page, last uint8, u ...uint16) {
		m.Take(Packet{At: at, From: peer, Discovery: &DiscoveryPacket{CID: checkCID, SourceName: NewSourceName("A"), Page: page, Last: last, Universes: u}})
	}
	page(0, 1, 1, 600, 601)
	page(0, 0, 1, 1, 2)
	if a := m.Announcements(); len(a) != 1 || !slices.Equal(a[0].Universes, []uint16{1, 2, 600, 601}) || a[0].Name.String() != "A" {
		t.Errorf("%+v", a)
	}
	page(10*clock.Second, 0, 0, 3)
	if a := m.Announcements(); !slices.Equal(a[0].Universes, []uint16{3}) {
		t.Errorf("shorter list: %v", a[0].Universes)
	}
	m.Expire(30*clock.Second + 1)
	if a := m.Announcements(); len(a) != 0 {
		t.Errorf("still listed after two intervals")
	}
}

// A flood of garbage and of invented sources is counted and bounded.
func TestMonitorFlood(t *testing.T) {
	m, d := NewMonitor(), decoder{}
	rng := rand.New(rand.NewPCG(3, 4))
	good := referencePacket(t, "sacn-data-8slots")
	for i := range 3 * maxSources {
		cid := checkCID
		cid[0], cid[1] = byte(i), byte(i>>8)
		m.Take(dataAt(0, func(p *DataPacket) { p.CID = cid }))
		m.Take(Packet{Sync: &SyncPacket{CID: cid, Address: 1}})
		m.Take(Packet{Discovery: &DiscoveryPacket{CID: cid}})
		b := bytes.Clone(good[:rng.IntN(len(good))])
		for j := range b {
			if rng.IntN(40) == 0 {
				b[j] = byte(rng.Uint32())
			}
		}
		if v := m.Take(d.decode(b)); v != Malformed {
			t.Fatalf("%v for % x", v, b)
		}
	}
	var bad uint64
	for _, c := range m.Discarded() {
		if c.Cause == nil {
			t.Error("a packet was dropped for no known cause")
		}
		bad += c.Count
	}
	if bad != 3*maxSources || m.Overflowed() == 0 || len(m.Sources()) > maxSources || len(m.Syncs()) > maxSources || len(m.Announcements()) > maxLists {
		t.Errorf("%d bad, %d too many, %d sources", bad, m.Overflowed(), len(m.Sources()))
	}
}
