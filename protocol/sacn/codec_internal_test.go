package sacn

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/stretchr/testify/assert"
)

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
			b := c.edit(ReferencePacket(t, c.packet))
			p := References()[c.packet]
			err := p.Parse(b)
			assert.ErrorIs(t, err, c.want)
			assert.Empty(t, cmp.Diff(References()[c.packet], p, cmpopts.EquateEmpty()), "a bad packet changed the value")
			got := new(decoder).decode(b)
			assert.Error(t, got.Err, "decoder let it pass")
			assert.Nil(t, got.Data, "decoder let it pass")
			assert.Nil(t, got.Sync, "decoder let it pass")
			assert.Nil(t, got.Discovery, "decoder let it pass")
		})
	}
}

func TestParseAllocs(t *testing.T) {
	var d decoder
	buffer := make([]byte, 0, MaxPacket)
	for name, p := range References() {
		b := ReferencePacket(t, name)
		d.decode(b) // grows the slices that are used again
		assert.Zero(t, testing.AllocsPerRun(100, func() { d.decode(b); buffer = p.AppendTo(buffer[:0]) }), "%s, the receiver runs this for every packet of every source", name)
	}
}
