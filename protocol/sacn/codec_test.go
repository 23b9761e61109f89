package sacn

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Byte for byte against the worked packets (ANSI E1.31-2018, Tables 4-1 to 4-3).
func TestWorkedPackets(t *testing.T) {
	want := references()
	files, err := filepath.Glob(filepath.Join(referenceDir, "packets", "sacn-*.hex"))
	require.NoError(t, err, "no worked packets")
	require.NotEmpty(t, files, "no worked packets")
	// Each kind is parsed into one value again and again: nothing stale stays.
	used := map[Kind]codec{Data: &DataPacket{}, Sync: &SyncPacket{}, Discovery: &DiscoveryPacket{}}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".hex")
		t.Run(name, func(t *testing.T) {
			p, ok := want[name]
			require.True(t, ok, "no expectation for this file")
			b := referencePacket(t, name)
			assert.Empty(t, cmp.Diff(b, p.AppendTo(nil)), "AppendTo (-worked +ours)")
			prefixed := p.AppendTo([]byte("xyz"))
			assert.Equal(t, b, prefixed[3:], "AppendTo does not append")
			assert.Equal(t, "xyz", string(prefixed[:3]), "AppendTo does not append")
			kind, err := KindOf(b)
			require.NoError(t, err)
			got := used[kind]
			require.NoError(t, got.Parse(b))
			assert.Empty(t, cmp.Diff(p, got, cmpopts.EquateEmpty()), "Parse (-want +got)")
			clear(b) // the packet must not alias the datagram
			assert.Empty(t, cmp.Diff(p, got, cmpopts.EquateEmpty()), "after the datagram was overwritten")
		})
	}
	assert.Len(t, files, len(want))
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
			assert.ErrorIs(t, err, c.want)
			assert.Empty(t, cmp.Diff(references()[c.packet], p, cmpopts.EquateEmpty()), "a bad packet changed the value")
			got := new(decoder).decode(b)
			assert.Error(t, got.Err, "decoder let it pass")
			assert.Nil(t, got.Data, "decoder let it pass")
			assert.Nil(t, got.Sync, "decoder let it pass")
			assert.Nil(t, got.Discovery, "decoder let it pass")
		})
	}
}

// Reserved bits and octets are ignored (6.2.6, 6.3.4, 6.4.3).
func TestReservedIgnored(t *testing.T) {
	for packet, off := range map[string]int{"sacn-data-8slots": 112, "sacn-sync": 48, "sacn-discovery": 111} {
		b := referencePacket(t, packet)
		b[off] |= 0x1f
		p := references()[packet]
		assert.NoError(t, p.Parse(b), packet)
		assert.Empty(t, cmp.Diff(references()[packet], p, cmpopts.EquateEmpty()), packet)
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
		require.Len(t, b, 126+len(p.Slots), "size %d for %d slots", len(b), len(p.Slots)) // check: Table 4-1
		var got DataPacket
		require.NoError(t, got.Parse(b))
		require.Empty(t, cmp.Diff(p, got, cmpopts.EquateEmpty()))
	})
}

// The largest packets: 638 and 1144 octets, with the lengths worked out in
// the reference (0x726E 0x7258 0x720B; 0x7468 0x7452 0x7408).
func TestLargest(t *testing.T) {
	d := (&DataPacket{Universe: 1, Slots: make([]byte, 600)}).AppendTo(nil)
	if assert.Len(t, d, 638, "data") {
		assert.EqualValues(t, 0x72, d[16], "data")
		assert.EqualValues(t, 0x6e, d[17], "data")
		assert.EqualValues(t, 0x58, d[39], "data")
		assert.EqualValues(t, 0x0b, d[116], "data")
	}
	l := (&DiscoveryPacket{Universes: make([]uint16, 600)}).AppendTo(nil)
	if assert.Len(t, l, MaxPacket, "list") {
		assert.Equal(t, []byte{0x74, 0x68}, l[16:18], "list")
		assert.Equal(t, []byte{0x74, 0x52}, l[38:40], "list")
		assert.Equal(t, []byte{0x74, 0x08}, l[112:114], "list")
	}
}

func TestParseAllocs(t *testing.T) {
	var d decoder
	buffer := make([]byte, 0, MaxPacket)
	for name, p := range references() {
		b := referencePacket(t, name)
		d.decode(b) // grows the slices that are used again
		assert.Zero(t, testing.AllocsPerRun(100, func() { d.decode(b); buffer = p.AppendTo(buffer[:0]) }), "%s, the receiver runs this for every packet of every source", name)
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
		assert.Equal(t, string(ignored(kind, b)), string(p.AppendTo(nil)), "encoded again")
	})
}

func FuzzDataPacket(f *testing.F) { fuzzCodec(f, Data, func() codec { return &DataPacket{} }) }
func FuzzSyncPacket(f *testing.F) { fuzzCodec(f, Sync, func() codec { return &SyncPacket{} }) }
func FuzzDiscoveryPacket(f *testing.F) {
	fuzzCodec(f, Discovery, func() codec { return &DiscoveryPacket{} })
}
