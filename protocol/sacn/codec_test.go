package sacn

import (
	"bytes"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// Byte for byte against the worked packets (ANSI E1.31-2018, Tables 4-1 to 4-3).
func TestWorkedPackets(t *testing.T) {
	want := references()
	files, err := filepath.Glob(filepath.Join(referenceDir, "packets", "sacn-*.hex"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no worked packets: %v", err)
	}
	// Each kind is parsed into one value again and again: nothing stale stays.
	used := map[Kind]codec{Data: &DataPacket{}, Sync: &SyncPacket{}, Discovery: &DiscoveryPacket{}}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".hex")
		t.Run(name, func(t *testing.T) {
			p, ok := want[name]
			if !ok {
				t.Fatal("no expectation for this file")
			}
			b := referencePacket(t, name)
			if diff := cmp.Diff(b, p.AppendTo(nil)); diff != "" {
				t.Errorf("AppendTo (-worked +ours):\n%s", diff)
			}
			prefixed := p.AppendTo([]byte("xyz"))
			if !bytes.Equal(prefixed[3:], b) || string(prefixed[:3]) != "xyz" {
				t.Error("AppendTo does not append")
			}
			kind, err := KindOf(b)
			if err != nil {
				t.Fatal(err)
			}
			got := used[kind]
			if err := got.Parse(b); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(p, got, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("Parse (-want +got):\n%s", diff)
			}
			clear(b) // the packet must not alias the datagram
			if diff := cmp.Diff(p, got, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("after the datagram was overwritten:\n%s", diff)
			}
		})
	}
	if len(files) != len(want) {
		t.Errorf("%d files, %d expectations", len(files), len(want))
	}
}

// Every rule by which a packet is discarded, one octet changed at a time.
func TestDiscard(t *testing.T) {
	set := func(off int, v ...byte) func([]byte) []byte {
		return func(b []byte) []byte { copy(b[off:], v); return b }
	}
	cut := func(n int) func([]byte) []byte { return func(b []byte) []byte { return b[:n] } }
	grow := func(b []byte) []byte { return append(b, 0) }
	const data, sync, list = "sacn-data-8slots", "sacn-sync", "sacn-discovery"
	for _, c := range []struct {
		what, packet string
		edit         func([]byte) []byte
		want         error
	}{
		{"nothing", data, cut(0), ErrShort},
		{"less than a header", data, cut(43), ErrShort},
		{"no START code", data, cut(125), ErrShort},
		{"preamble", data, set(1, 0x11), ErrPreamble},
		{"postamble", data, set(3, 1), ErrPreamble},
		{"identifier", data, set(4, 'B'), ErrIdentifier},
		{"identifier's end", data, set(15, 1), ErrIdentifier},
		{"root flags", data, set(16, 0x60), ErrLength},
		{"root length", data, set(17, 0x77), ErrLength},
		{"root vector", data, set(21, 5), ErrVector},
		{"framing flags", data, set(38, 0xf0), ErrLength},
		{"framing length", data, set(39, 0x61), ErrLength},
		{"framing vector", data, set(43, 1), ErrVector},
		{"DMP length", data, set(116, 0x12), ErrLength},
		{"DMP vector", data, set(117, 3), ErrVector},
		{"address type", data, set(118, 0xa2), ErrAddressing},
		{"first address", data, set(120, 1), ErrAddressing},
		{"address increment", data, set(122, 2), ErrAddressing},
		{"count too large", data, set(124, 10), ErrCount},
		{"count too small", data, set(124, 8), ErrCount},
		{"universe 0", data, set(113, 0, 0), ErrUniverse},
		{"universe 64000", data, set(113, 0xfa, 0x00), ErrUniverse},
		{"universe 64214", data, set(113, 0xfa, 0xd6), ErrUniverse},
		{"cut short", data, cut(133), ErrLength},
		{"an octet more", data, grow, ErrLength},
		{"513 slots", data, func([]byte) []byte {
			b := (&DataPacket{Universe: 1, Slots: make([]byte, 512)}).AppendTo(nil)
			b = append(b, 0)
			copy(b[16:], appendLength(nil, len(b)-16))
			copy(b[38:], appendLength(nil, len(b)-38))
			copy(b[115:], appendLength(nil, len(b)-115))
			copy(b[123:], []byte{0x02, 0x02})
			return b
		}, ErrCount},
		{"sync: short", sync, cut(48), ErrShort},
		{"sync: an octet more", sync, grow, ErrLength},
		{"sync: longer, lengths right", sync, func(b []byte) []byte {
			b = append(b, 0)
			copy(b[16:], appendLength(nil, len(b)-16))
			copy(b[38:], appendLength(nil, len(b)-38))
			return b
		}, ErrLength},
		{"sync: root vector", sync, set(21, 4), ErrVector},
		{"sync: framing vector", sync, set(43, 3), ErrVector},
		{"sync: address 0", sync, set(45, 0, 0), ErrUniverse},
		{"sync: address 64000", sync, set(45, 0xfa, 0), ErrUniverse},
		{"list: short", list, cut(119), ErrShort},
		{"list: half a universe", list, cut(125), ErrLength},
		{"list: length", list, set(113, 0x0c), ErrLength},
		{"list: vector", list, set(117, 2), ErrVector},
		{"list: page beyond the last", list, set(118, 1), ErrPage},
		{"list: more pages than universes", list, set(119, 125), ErrPage},
	} {
		t.Run(c.what, func(t *testing.T) {
			b := c.edit(referencePacket(t, c.packet))
			p := references()[c.packet]
			err := p.Parse(b)
			if !errors.Is(err, c.want) {
				t.Errorf("got %v, want %v", err, c.want)
			}
			if diff := cmp.Diff(references()[c.packet], p, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("a bad packet changed the value:\n%s", diff)
			}
			if got := new(decoder).decode(b); got.Err == nil || got.Data != nil || got.Sync != nil || got.Discovery != nil {
				t.Errorf("decoder let it pass: %+v", got)
			}
		})
	}
}

// Reserved bits and octets are ignored (6.2.6, 6.3.4, 6.4.3).
func TestReservedIgnored(t *testing.T) {
	for packet, off := range map[string]int{"sacn-data-8slots": 112, "sacn-sync": 48, "sacn-discovery": 111} {
		b := referencePacket(t, packet)
		b[off] |= 0x1f
		p := references()[packet]
		if err := p.Parse(b); err != nil {
			t.Errorf("%s: %v", packet, err)
		}
		if diff := cmp.Diff(references()[packet], p, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s: %s", packet, diff)
		}
	}
}

func TestDataRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := DataPacket{
			CID:         [16]byte(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "cid")),
			SourceName:  NewSourceName(rapid.String().Draw(t, "name")),
			Priority:    rapid.Byte().Draw(t, "priority"),
			SyncAddress: rapid.Uint16().Draw(t, "sync"),
			Sequence:    rapid.Byte().Draw(t, "sequence"),
			Options:     Options(rapid.Byte().Draw(t, "options") & 0xe0),
			Universe:    rapid.Uint16Range(MinUniverse, MaxUniverse).Draw(t, "universe"),
			StartCode:   rapid.Byte().Draw(t, "start"),
			Slots:       rapid.SliceOfN(rapid.Byte(), 0, 512).Draw(t, "slots"),
		}
		b := p.AppendTo(nil)
		if len(b) != 126+len(p.Slots) { // check: Table 4-1
			t.Fatalf("size %d for %d slots", len(b), len(p.Slots))
		}
		var got DataPacket
		if err := got.Parse(b); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(p, got, cmpopts.EquateEmpty()); diff != "" {
			t.Fatal(diff)
		}
	})
}

// The largest packets: 638 and 1144 octets, with the lengths worked out in
// the reference (0x726E 0x7258 0x720B; 0x7468 0x7452 0x7408).
func TestLargest(t *testing.T) {
	d := (&DataPacket{Universe: 1, Slots: make([]byte, 600)}).AppendTo(nil)
	if len(d) != 638 || d[16] != 0x72 || d[17] != 0x6e || d[39] != 0x58 || d[116] != 0x0b {
		t.Errorf("data: %d octets, % x % x % x", len(d), d[16:18], d[38:40], d[115:117])
	}
	l := (&DiscoveryPacket{Universes: make([]uint16, 600)}).AppendTo(nil)
	if len(l) != MaxPacket || !bytes.Equal(l[16:18], []byte{0x74, 0x68}) || !bytes.Equal(l[38:40], []byte{0x74, 0x52}) || !bytes.Equal(l[112:114], []byte{0x74, 0x08}) {
		t.Errorf("list: %d octets, % x % x % x", len(l), l[16:18], l[38:40], l[112:114])
	}
}

func TestParseAllocs(t *testing.T) {
	var d decoder
	buffer := make([]byte, 0, MaxPacket)
	for name, p := range references() {
		b := referencePacket(t, name)
		d.decode(b) // grows the slices that are used again
		if n := testing.AllocsPerRun(100, func() { d.decode(b); buffer = p.AppendTo(buffer[:0]) }); n != 0 {
			t.Errorf("%s: %v allocations, the receiver runs this for every packet of every source", name, n)
		}
	}
}

// ignored clears what a receiver ignores and a sender zeroes.
func ignored(kind Kind, b []byte) []byte {
	b = bytes.Clone(b)
	switch kind {
	case Data:
		b[offOptions] &= 0xe0
	case Sync:
		b[47], b[48] = 0, 0
	case Discovery:
		clear(b[108:112])
	}
	return b
}

func fuzzCodec(f *testing.F, kind Kind, make func() codec) {
	for name := range references() {
		b := referencePacket(f, name)
		f.Add(b)
		f.Add(b[:len(b)-1])
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p := make()
		if p.Parse(b) != nil {
			return
		}
		if got, want := p.AppendTo(nil), ignored(kind, b); !bytes.Equal(got, want) {
			t.Errorf("encoded again:\n% x\nwant\n% x", got, want)
		}
	})
}

func FuzzDataPacket(f *testing.F) { fuzzCodec(f, Data, func() codec { return &DataPacket{} }) }
func FuzzSyncPacket(f *testing.F) { fuzzCodec(f, Sync, func() codec { return &SyncPacket{} }) }
func FuzzDiscoveryPacket(f *testing.F) {
	fuzzCodec(f, Discovery, func() codec { return &DiscoveryPacket{} })
}
