package sacn_test

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

	"tactus/protocol/sacn"
)

// Byte for byte against the worked packets (ANSI E1.31-2018, Tables 4-1 to 4-3).
func TestWorkedPackets(t *testing.T) {
	want := sacn.References()
	files, err := filepath.Glob(filepath.Join(sacn.ReferenceDir, "packets", "sacn-*.hex"))
	require.NoError(t, err, "no worked packets")
	require.NotEmpty(t, files, "no worked packets")
	// Each kind is parsed into one value again and again: nothing stale stays.
	used := map[sacn.Kind]sacn.Codec{sacn.Data: &sacn.DataPacket{}, sacn.Sync: &sacn.SyncPacket{}, sacn.Discovery: &sacn.DiscoveryPacket{}}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".hex")
		t.Run(name, func(t *testing.T) {
			p, ok := want[name]
			require.True(t, ok, "no expectation for this file")
			b := sacn.ReferencePacket(t, name)
			assert.Empty(t, cmp.Diff(b, p.AppendTo(nil)), "AppendTo (-worked +ours)")
			prefixed := p.AppendTo([]byte("xyz"))
			assert.Equal(t, b, prefixed[3:], "AppendTo does not append")
			assert.Equal(t, "xyz", string(prefixed[:3]), "AppendTo does not append")
			kind, err := sacn.KindOf(b)
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

// Reserved bits and octets are ignored (6.2.6, 6.3.4, 6.4.3).
func TestReservedIgnored(t *testing.T) {
	for packet, off := range map[string]int{"sacn-data-8slots": 112, "sacn-sync": 48, "sacn-discovery": 111} {
		b := sacn.ReferencePacket(t, packet)
		b[off] |= 0x1f
		p := sacn.References()[packet]
		assert.NoError(t, p.Parse(b), packet)
		assert.Empty(t, cmp.Diff(sacn.References()[packet], p, cmpopts.EquateEmpty()), packet)
	}
}

func TestDataRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := sacn.DataPacket{
			CID:         [16]byte(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "cid")),
			SourceName:  sacn.NewSourceName(rapid.String().Draw(t, "name")),
			Priority:    rapid.Byte().Draw(t, "priority"),
			SyncAddress: rapid.Uint16().Draw(t, "sync"),
			Sequence:    rapid.Byte().Draw(t, "sequence"),
			Options:     sacn.Options(rapid.Byte().Draw(t, "options") & 0xe0),
			Universe:    rapid.Uint16Range(sacn.MinUniverse, sacn.MaxUniverse).Draw(t, "universe"),
			StartCode:   rapid.Byte().Draw(t, "start"),
			Slots:       rapid.SliceOfN(rapid.Byte(), 0, 512).Draw(t, "slots"),
		}
		b := p.AppendTo(nil)
		require.Len(t, b, 126+len(p.Slots), "size %d for %d slots", len(b), len(p.Slots)) // check: Table 4-1
		var got sacn.DataPacket
		require.NoError(t, got.Parse(b))
		require.Empty(t, cmp.Diff(p, got, cmpopts.EquateEmpty()))
	})
}

// The largest packets: 638 and 1144 octets, with the lengths worked out in
// the reference (0x726E 0x7258 0x720B; 0x7468 0x7452 0x7408).
func TestLargest(t *testing.T) {
	d := (&sacn.DataPacket{Universe: 1, Slots: make([]byte, 600)}).AppendTo(nil)
	if assert.Len(t, d, 638, "data") {
		assert.EqualValues(t, 0x72, d[16], "data")
		assert.EqualValues(t, 0x6e, d[17], "data")
		assert.EqualValues(t, 0x58, d[39], "data")
		assert.EqualValues(t, 0x0b, d[116], "data")
	}
	l := (&sacn.DiscoveryPacket{Universes: make([]uint16, 600)}).AppendTo(nil)
	if assert.Len(t, l, sacn.MaxPacket, "list") {
		assert.Equal(t, []byte{0x74, 0x68}, l[16:18], "list")
		assert.Equal(t, []byte{0x74, 0x52}, l[38:40], "list")
		assert.Equal(t, []byte{0x74, 0x08}, l[112:114], "list")
	}
}

// ignored clears what a receiver ignores and a sender zeroes.
func ignored(kind sacn.Kind, b []byte) []byte {
	b = bytes.Clone(b)
	switch kind {
	case sacn.Data:
		b[112] &= 0xe0 // Options (Table 4-1)
	case sacn.Sync:
		b[47], b[48] = 0, 0
	case sacn.Discovery:
		clear(b[108:112])
	}
	return b
}

func fuzzCodec(f *testing.F, kind sacn.Kind, make func() sacn.Codec) {
	for name := range sacn.References() {
		b := sacn.ReferencePacket(f, name)
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

func FuzzDataPacket(f *testing.F) {
	fuzzCodec(f, sacn.Data, func() sacn.Codec { return &sacn.DataPacket{} })
}

func FuzzSyncPacket(f *testing.F) {
	fuzzCodec(f, sacn.Sync, func() sacn.Codec { return &sacn.SyncPacket{} })
}

func FuzzDiscoveryPacket(f *testing.F) {
	fuzzCodec(f, sacn.Discovery, func() sacn.Codec { return &sacn.DiscoveryPacket{} })
}
