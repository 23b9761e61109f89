package artnet

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"net/netip"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// opName names a packet as Art-Net does.
func opName(op OpCode) string {
	switch op {
	case OpPoll:
		return "ArtPoll"
	case OpPollReply:
		return "ArtPollReply"
	case OpDmx:
		return "ArtDmx"
	case OpSync:
		return "ArtSync"
	}
	return fmt.Sprintf("OpCode 0x%04X", uint16(op))
}

// packet is what the four codecs have in common.
type packet interface {
	AppendTo([]byte) []byte
	Parse([]byte) error
}

// worked lists the worked packets of testdata/reference/packets with the values
// that fields.csv gives for them. Parse, AppendTo and the fuzz seeds share it.
var worked = []struct {
	file string
	op   OpCode
	want packet
}{
	{"artnet-artdmx-8", OpDmx, &Dmx{Sequence: 1, PortAddress: 564, Data: []byte{255, 128, 64, 32, 16, 8, 4, 1}}},
	{"artnet-artdmx-512", OpDmx, &Dmx{
		Sequence: 1, PortAddress: 564,
		Data: append([]byte{255, 128, 64, 32, 16, 8, 4, 1}, make([]byte, 504)...),
	}},
	{"artnet-artdmx-seq0-2", OpDmx, &Dmx{Data: []byte{255, 0}}},
	{"artnet-artpoll-14", OpPoll, &Poll{Flags: PollReplyOnChange}},
	{"artnet-artpoll-22", OpPoll, &Poll{
		Flags: PollTargeted | PollReplyOnChange, DiagPriority: 0x10,
		TargetTop: 564, TargetBottom: 564, OEM: 0x00FF,
	}},
	{"artnet-artsync", OpSync, &Sync{}},
	{"artnet-artpollreply", OpPollReply, &PollReply{
		Addr: netip.MustParseAddr("10.0.0.2"), Port: Port, Firmware: 0x0100, Net: 2, Sub: 3, OEM: 0x00FF,
		Status1: 0xD0, ESTA: 0x7FF0, ShortName: "CheckNode", LongName: "Check Node for packet tests",
		Report: "#0001 [0007] OK", NumPorts: 1, PortTypes: [4]uint8{PortOutput},
		GoodInput: [4]uint8{8, 8, 8, 8}, GoodOutputA: [4]uint8{0x80}, SwOut: [4]uint8{4},
		ACNPriority: 100, MAC: [6]byte{2, 0, 0, 0, 0, 2}, BindAddr: netip.MustParseAddr("10.0.0.2"),
		BindIndex: 1, Status2: 8, GoodOutputB: [4]uint8{0xC0}, RefreshRate: 44,
	}},
}

// fresh returns a new zero value of the same kind as p.
func fresh(p packet) packet { return reflect.New(reflect.TypeOf(p).Elem()).Interface().(packet) }

func readHex(t testing.TB, name string) []byte {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "packets", name+".hex"))
	require.NoError(t, err)
	var digits strings.Builder
	for line := range strings.Lines(string(src)) {
		if !strings.HasPrefix(line, "#") {
			digits.WriteString(strings.ReplaceAll(strings.TrimSpace(line), " ", ""))
		}
	}
	b, err := hex.DecodeString(digits.String())
	require.NoError(t, err)
	return b
}

func TestWorkedPackets(t *testing.T) {
	files, err := filepath.Glob("../../testdata/reference/packets/artnet-*.hex")
	require.NoError(t, err, "the table")
	require.Len(t, files, len(worked), "the table")
	for _, w := range worked {
		t.Run(w.file, func(t *testing.T) {
			b := readHex(t, w.file)
			op, err := OpCodeOf(b)
			assert.Equal(t, w.op, op)
			assert.NoError(t, err)
			assert.Equal(t, append([]byte("kept"), b...), w.want.AppendTo([]byte("kept")), "AppendTo")
			got := fresh(w.want)
			require.NoError(t, got.Parse(b))
			assert.Equal(t, w.want, got, "Parse")
		})
	}
}

// Nothing of an earlier packet survives in a value that is used again, and a
// bad packet leaves it alone.
func TestParseIntoUsedValue(t *testing.T) {
	for _, w := range worked {
		for _, second := range worked {
			if second.op != w.op {
				continue
			}
			got := fresh(w.want)
			require.NoError(t, got.Parse(readHex(t, w.file)))
			assert.ErrorIs(t, got.Parse(readHex(t, "sacn-sync")), ErrID, "%s, then no Art-Net", w.file)
			assert.Equal(t, w.want, got, "%s, then no Art-Net", w.file)
			assert.NoError(t, got.Parse(readHex(t, second.file)), "%s into %s", second.file, w.file)
			assert.Equal(t, second.want, got, "%s into %s", second.file, w.file)
		}
	}
	full := PollReply{}
	fill(&full)
	used := full
	shortest := readHex(t, "artnet-artpollreply")[:replyMin]
	require.NoError(t, used.Parse(shortest))
	assert.Equal(t, [6]byte{}, used.MAC, "198 octets leave something behind them")
	assert.Zero(t, used.BindIndex, "198 octets leave something behind them")
	assert.Zero(t, used.RefreshRate, "198 octets leave something behind them")
	assert.Zero(t, used.Style, "198 octets leave something behind them")
}

// fill makes every field of p differ from zero.
func fill(p *PollReply) {
	b := bytes.Repeat([]byte{0x41}, replyLen)
	copy(b, "Art-Net\x00\x00\x21")
	if err := p.Parse(b); err != nil {
		panic(err)
	}
}

func TestParseErrors(t *testing.T) {
	head := func(op OpCode, rest ...byte) []byte {
		b := appendHead(nil, op)
		return append(b, rest...)
	}
	with := func(b []byte, at int, v ...byte) []byte {
		b = bytes.Clone(b)
		copy(b[at:], v)
		return b
	}
	dmx8 := readHex(t, "artnet-artdmx-8")
	for _, c := range []struct {
		name string
		p    packet
		b    []byte
		want error
		says string
	}{
		{"empty", &Dmx{}, nil, ErrShort, "have 0, need 10"},
		{"id only", &Sync{}, []byte(packetID), ErrShort, "have 8, need 10"},
		{"other id", &Dmx{}, with(dmx8, 3, '_'), ErrID, "41 72 74 5f"},
		{"sync as dmx", &Dmx{}, head(OpSync, 0, 0), ErrOpCode, "have 0x5200, need 0x5000"},
		{"dmx as reply", &PollReply{}, dmx8, ErrOpCode, "have 0x5000, need 0x2100"},
		{"version 13", &Dmx{}, with(dmx8, 10, 0, 13), ErrVersion, "have 13, need 14"},
		{"version octets swapped", &Dmx{}, with(dmx8, 10, 14, 0), nil, ""}, // 3584 >= 14
		{"version 15", &Dmx{}, with(dmx8, 10, 0, 15), nil, ""},
		{"header cut", &Dmx{}, dmx8[:17], ErrShort, "have 17, need 18"},
		{"data cut", &Dmx{}, dmx8[:25], ErrShort, "have 25, need 26"},
		{"data longer than it says", &Dmx{}, append(bytes.Clone(dmx8), 9), nil, ""},
		{"length 0", &Dmx{}, with(dmx8, 16, 0, 0), ErrLength, "have 0"},
		{"length odd", &Dmx{}, with(dmx8, 16, 0, 7), ErrLength, "have 7"},
		{"length 514", &Dmx{}, with(dmx8, 16, 2, 2), ErrLength, "have 514"},
		{"address 32768", &Dmx{}, with(dmx8, 14, 0, 0x80), ErrAddress, "have 32768"},
		{"address 32767", &Dmx{}, with(dmx8, 14, 0xff, 0x7f), nil, ""},
		{"poll of 11", &Poll{}, head(OpPoll)[:11], ErrShort, "have 11, need 12"},
		{"poll of 12", &Poll{}, head(OpPoll), nil, ""},
		{"reply of 197", &PollReply{}, readHex(t, "artnet-artpollreply")[:197], ErrShort, "have 197, need 198"},
		{"reply of 198", &PollReply{}, readHex(t, "artnet-artpollreply")[:198], nil, ""},
		{"reply of 500", &PollReply{}, append(readHex(t, "artnet-artpollreply"), make([]byte, 261)...), nil, ""},
		{"sync of 13", &Sync{}, head(OpSync, 0), ErrShort, "have 13, need 14"},
	} {
		err := c.p.Parse(c.b)
		assert.ErrorIs(t, err, c.want, c.name)
		assert.Equal(t, c.want == nil, err == nil, c.name)
		if err != nil {
			assert.ErrorContains(t, err, c.says, c.name)
		}
	}
}

// Whatever the data, what goes out is a packet that strict nodes take.
func TestDmxAlwaysValid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SliceOfN(rapid.Byte(), 0, 600).Draw(t, "data")
		in := Dmx{
			Sequence:    rapid.Uint8().Draw(t, "sequence"),
			Physical:    rapid.Uint8().Draw(t, "physical"),
			PortAddress: rapid.Uint16Range(0, MaxPortAddress).Draw(t, "address"),
			Data:        data,
		}
		var out Dmx
		require.NoError(t, out.Parse(in.AppendTo(nil)))
		want := append(bytes.Clone(data), 0, 0)[:min(512, max(2, (len(data)+1)/2*2))]
		require.Equal(t, string(want), string(out.Data), "%d slots came back", len(data))
		require.Equal(t, in.PortAddress, out.PortAddress, "%d slots came back", len(data))
		require.Equal(t, in.Sequence, out.Sequence, "%d slots came back", len(data))
		require.Equal(t, in.Physical, out.Physical, "%d slots came back", len(data))
	})
}

func TestNextSequence(t *testing.T) {
	seen := map[uint8]bool{}
	n := uint8(0)
	for range 255 {
		n = NextSequence(n)
		seen[n] = true
	}
	if assert.Len(t, seen, 255, "0 among them") {
		assert.False(t, seen[0], "0 among them")
		assert.EqualValues(t, 255, n, "0 among them")
		assert.EqualValues(t, 1, NextSequence(n), "0 among them")
	}
}

func TestSubscribed(t *testing.T) {
	p := PollReply{
		Net: 2, Sub: 3, NumPorts: 3,
		PortTypes: [4]uint8{PortOutput, PortInput, PortOutput | PortInput, PortOutput},
		SwIn:      [4]uint8{9, 5, 6, 9},
		SwOut:     [4]uint8{0x14, 9, 7, 9}, // only bits 3..0 count
	}
	assert.Equal(t, []uint16{564, 565, 567, 566}, p.Subscribed(nil))
	p.NumPorts = 65535
	assert.Len(t, p.Subscribed(nil), 5, "65535 ports give")
}

func TestNames(t *testing.T) {
	assert.Equal(t, "564 (net 2, sub-net 3, universe 4)", AddressName(564))
}

func TestCodecsDoNotAllocate(t *testing.T) {
	b := make([]byte, 0, 600)
	d, dmx512 := &Dmx{}, readHex(t, "artnet-artdmx-512")
	p, poll := &Poll{}, readHex(t, "artnet-artpoll-22")
	s, sync := &Sync{}, readHex(t, "artnet-artsync")
	r := worked[len(worked)-1].want.(*PollReply)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		if d.Parse(dmx512) != nil || p.Parse(poll) != nil || s.Parse(sync) != nil {
			panic("parse")
		}
		b = d.AppendTo(b[:0])
		b = p.AppendTo(b[:0])
		b = s.AppendTo(b[:0])
		b = r.AppendTo(b[:0])
	}), "allocations")
}

// fuzzCodec: whatever parses comes back the same after it was written again.
func fuzzCodec(f *testing.F, a, b packet) {
	for _, w := range worked {
		x := readHex(f, w.file)
		f.Add(x)
		f.Add(x[:len(x)-1])
	}
	f.Add([]byte(packetID))
	f.Fuzz(func(t *testing.T, in []byte) {
		if a.Parse(in) != nil {
			return
		}
		out := a.AppendTo(nil)
		require.NoError(t, b.Parse(out), "% x\n% x", in, out)
		require.Equal(t, b, a)
	})
}

func FuzzDmx(f *testing.F)       { fuzzCodec(f, &Dmx{}, &Dmx{}) }
func FuzzPoll(f *testing.F)      { fuzzCodec(f, &Poll{}, &Poll{}) }
func FuzzPollReply(f *testing.F) { fuzzCodec(f, &PollReply{}, &PollReply{}) }
func FuzzSync(f *testing.F)      { fuzzCodec(f, &Sync{}, &Sync{}) }

func FuzzDecode(f *testing.F) {
	for _, w := range worked {
		f.Add(readHex(f, w.file))
	}
	m := NewMonitor()
	f.Fuzz(func(t *testing.T, in []byte) {
		var p Packet
		p.Decode(in)
		m.Add(p)
		if p.Err == nil && p.Op == OpDmx {
			require.Zero(t, len(p.Dmx.Data)%2, "accepted")
			require.LessOrEqual(t, p.Dmx.PortAddress, uint16(MaxPortAddress), "accepted")
		}
	})
}
