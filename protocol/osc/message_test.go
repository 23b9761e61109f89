package osc_test

import (
	"bytes"
	"encoding/hex"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/osc"
)

const reference = "../../testdata/reference/"

func readHex(t testing.TB, name string) []byte {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(reference, "packets", name+".hex"))
	require.NoError(t, err)
	var text strings.Builder
	for line := range strings.Lines(string(src)) {
		if !strings.HasPrefix(line, "#") {
			text.WriteString(strings.Join(strings.Fields(line), ""))
		}
	}
	b, err := hex.DecodeString(text.String())
	require.NoError(t, err)
	return b
}

func message(address string, args ...osc.Arg) osc.Element {
	return osc.Element{Message: &osc.Message{Address: address, Args: args}}
}

func bundle(at osc.TimeTag, elements ...osc.Element) osc.Element {
	return osc.Element{Bundle: &osc.Bundle{Time: at, Elements: elements}}
}

// The time tag of what is due at once, and of half a second into 2026.
const (
	immediately osc.TimeTag = 1
	newYear     osc.TimeTag = 0xED003780_80000000
)

// worked are the packets of the specification's examples page, and two bundles
// made by an independent library or by hand; see each file's # lines.
func worked() map[string]osc.Element {
	return map[string]osc.Element{
		"osc-spec-example-1": message("/oscillator/4/frequency", osc.Float(440)),
		"osc-spec-example-2": message("/foo", osc.Int(1000), osc.Int(-1), osc.Text("hello"), osc.Float(1.234), osc.Float(5.678)),
		"osc-bundle-immediate": bundle(immediately,
			message("/a", osc.Int(1)), message("/b", osc.Text("x"))),
		"osc-bundle-timetag": bundle(newYear, message("/cue/go", osc.Int(7), Bool(true))),
	}
}

func TestWorkedPackets(t *testing.T) {
	for name, want := range worked() {
		worked := readHex(t, name)
		assert.Equal(t, worked, octets(want), name)
		got, err := osc.Parse(worked)
		assert.NoError(t, err, name)
		assert.Empty(t, cmp.Diff(want, got), name)
	}
}

func TestEveryTag(t *testing.T) {
	want := message("/x", osc.Int(math.MinInt32), osc.Float(float32(math.Inf(-1))), osc.Text(""), osc.Text("abc"), osc.Text("abcd"),
		Blob([]byte{}), Blob([]byte{1}), Blob([]byte{1, 2, 3, 4}), Bool(true), Bool(false), Nil(), Impulse(),
		Long(math.MinInt64), osc.Double(1.1), Time(immediately))
	b := octets(want)
	got, err := osc.Parse(b)
	require.NoError(t, err)
	assert.Empty(t, cmp.Diff(want, got))
	for i, n := range map[int]float64{0: math.MinInt32, 1: math.Inf(-1), 12: math.MinInt64, 13: 1.1} {
		v, ok := got.Message.Args[i].Number()
		assert.True(t, ok, "argument %d", i)
		assert.Equal(t, n, v, "argument %d", i)
	}
	_, ok := got.Message.Args[2].Number()
	assert.False(t, ok, "a string is a number")
	for n := range b { // every cut is noticed
		if n > 4 {
			_, err := osc.Parse(b[:n])
			assert.Error(t, err, "%d of %d octets pass", n, len(b))
		}
	}
	dirty := osc.Message{Address: "/a\x00b", Args: []osc.Arg{osc.Text("x\x00y"), {Tag: '?'}}}
	assert.Equal(t, octets(message("/a", osc.Text("x"))), dirty.AppendTo(nil))
	bare, err := osc.Parse([]byte("/ok\x00")) // no type tags: an older sender
	if assert.NoError(t, err) {
		assert.Equal(t, "/ok", bare.Message.Address)
		assert.Empty(t, bare.Message.Args)
	}
}

// deep is n bundles within each other.
func deep(n int) []byte {
	e := message("/a")
	for range n {
		e = bundle(immediately, e)
	}
	return octets(e)
}

func TestHostile(t *testing.T) {
	flags := "," + strings.Repeat("T", osc.MaxArgs+1)
	for name, c := range map[string]struct {
		octets string
		want   error
	}{
		"nothing":                {"", osc.ErrShort},
		"three octets":           {"/a\x00", osc.ErrAlign},
		"no slash":               {"abc\x00,\x00\x00\x00", osc.ErrAddress},
		"a space":                {"/ a\x00,\x00\x00\x00", osc.ErrAddress},
		"control octet":          {"/\x01a\x00,\x00\x00\x00", osc.ErrAddress},
		"no NUL":                 {"/abc", osc.ErrString},
		"padding not NUL":        {"/\x00a\x00,\x00\x00\x00", osc.ErrString},
		"no comma":               {"/a\x00\x00i\x00\x00\x00\x00\x00\x00\x01", osc.ErrTag},
		"unknown tag":            {"/a\x00\x00,q\x00\x00\x00\x00\x00\x01", osc.ErrTag},
		"int missing":            {"/a\x00\x00,i\x00\x00", osc.ErrShort},
		"long missing":           {"/a\x00\x00,h\x00\x00\x00\x00\x00\x01", osc.ErrShort},
		"string missing":         {"/a\x00\x00,s\x00\x00", osc.ErrString},
		"blob of 4 GiB":          {"/a\x00\x00,b\x00\x00\xFF\xFF\xFF\xFFabcd", osc.ErrShort},
		"blob padding":           {"/a\x00\x00,b\x00\x00\x00\x00\x00\x01abcd", osc.ErrBlob},
		"something after":        {"/a\x00\x00,\x00\x00\x00\x00\x00\x00\x01", osc.ErrLong},
		"too many arguments":     {padded("/a\x00\x00" + flags + "\x00"), osc.ErrLong},
		"too long":               {"/" + strings.Repeat("a", osc.MaxPacket) + strings.Repeat("\x00", 4), osc.ErrLong},
		"bundle cut":             {"#bundle\x00\x00\x00\x00\x00", osc.ErrShort},
		"not quite a bundle":     {"#bundlE\x00\x00\x00\x00\x00\x00\x00\x00\x01", osc.ErrAddress},
		"element of 4 GiB":       {"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\xFF\xFF\xFF\xFC", osc.ErrShort},
		"element of no octets":   {"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00", osc.ErrShort},
		"element of odd size":    {"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x03/a\x00\x00", osc.ErrAlign},
		"deeper than is allowed": {string(deep(osc.MaxDepth + 1)), osc.ErrDepth},
		"inner before outer":     {string(octets(bundle(9, bundle(8)))), osc.ErrTime},
	} {
		_, err := osc.Parse([]byte(c.octets))
		assert.ErrorIs(t, err, c.want, name)
	}
	_, err := osc.Parse(deep(osc.MaxDepth))
	assert.NoError(t, err, "as deep as is allowed")
}

// The limits are those that errors.go states, to the argument and the octet.
func TestLimits(t *testing.T) {
	flags := func(n int) []byte {
		list := make([]osc.Arg, n)
		for i := range list {
			list[i] = Bool(true)
		}
		return octets(message("/a", list...))
	}
	_, err := osc.Parse(flags(256))
	assert.NoError(t, err, "256 arguments")
	_, err = osc.Parse(flags(257))
	assert.ErrorIs(t, err, osc.ErrLong, "257 arguments")
	// 65,507 octets are the most by UDP on IPv4; 65,504 is the last multiple of 4.
	blob := func(size int) []byte { return octets(message("/a", Blob(make([]byte, size-12)))) }
	require.Len(t, blob(65504), 65504)
	_, err = osc.Parse(blob(65504))
	assert.NoError(t, err, "65,504 octets")
	_, err = osc.Parse(blob(65508))
	assert.ErrorIs(t, err, osc.ErrLong, "65,508 octets")
	_, err = osc.Parse(deep(8))
	assert.NoError(t, err, "8 bundles within each other")
	_, err = osc.Parse(deep(9))
	assert.ErrorIs(t, err, osc.ErrDepth, "9 bundles within each other")
}

// The order is that of the packet.
func TestEach(t *testing.T) {
	var got []string
	e := bundle(5, message("/1"), bundle(6, message("/2"), message("/3")), message("/4"))
	e.Each(func(m *osc.Message) { got = append(got, m.Address) })
	assert.Equal(t, []string{"/1", "/2", "/3", "/4"}, got)
}

// What is read is written again as the same octets, but for a missing tag string.
func FuzzParse(f *testing.F) {
	for _, e := range worked() {
		f.Add(octets(e))
	}
	f.Add(deep(osc.MaxDepth + 1))
	f.Add([]byte("/ok\x00"))
	f.Add(octets(message("/b", Blob([]byte{1, 2, 3}), osc.Double(1), osc.Text("x"), Nil())))
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := osc.Parse(b)
		if err != nil {
			return
		}
		again := octets(e)
		if len(again) == len(b) {
			require.Equal(t, string(b), string(again))
		}
		second, err := osc.Parse(again)
		require.NoError(t, err)
		require.Empty(t, cmp.Diff(e, second, cmp.Comparer(func(a, b []osc.Arg) bool {
			return len(a) == len(b) && (len(a) == 0 || cmp.Equal([]osc.Arg(a), []osc.Arg(b), cmp.Comparer(func(x, y osc.Arg) bool {
				return x.Tag == y.Tag && x.Bits == y.Bits && x.Text == y.Text && bytes.Equal(x.Blob, y.Blob)
			})))
		})))
	})
}
