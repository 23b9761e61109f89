package osc

import (
	"bytes"
	"encoding/hex"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const reference = "../../testdata/reference/"

func readHex(t testing.TB, name string) []byte {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(reference, "packets", name+".hex"))
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	for line := range strings.Lines(string(src)) {
		if !strings.HasPrefix(line, "#") {
			text.WriteString(strings.Join(strings.Fields(line), ""))
		}
	}
	b, err := hex.DecodeString(text.String())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func message(address string, args ...Arg) Element {
	return Element{Message: &Message{Address: address, Args: args}}
}

func bundle(at TimeTag, elements ...Element) Element {
	return Element{Bundle: &Bundle{Time: at, Elements: elements}}
}

// newYear is half a second into 2026: 0xED003780.80000000.
func newYear() TimeTag { return TimeTagOf(time.Date(2026, 1, 1, 0, 0, 0, 500_000_000, time.UTC)) }

// worked are the packets of the specification's examples page, and two bundles
// made by an independent library or by hand; see each file's # lines.
func worked() map[string]Element {
	return map[string]Element{
		"osc-spec-example-1": message("/oscillator/4/frequency", Float(440)),
		"osc-spec-example-2": message("/foo", Int(1000), Int(-1), Text("hello"), Float(1.234), Float(5.678)),
		"osc-bundle-immediate": bundle(Immediately,
			message("/a", Int(1)), message("/b", Text("x"))),
		"osc-bundle-timetag": bundle(newYear(), message("/cue/go", Int(7), Bool(true))),
	}
}

func TestWorkedPackets(t *testing.T) {
	for name, want := range worked() {
		octets := readHex(t, name)
		if got := want.AppendTo(nil); !bytes.Equal(got, octets) {
			t.Errorf("%s:\nhave % X\nwant % X", name, got, octets)
		}
		got, err := Parse(octets)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

func TestEveryTag(t *testing.T) {
	want := message("/x", Int(math.MinInt32), Float(float32(math.Inf(-1))), Text(""), Text("abc"), Text("abcd"),
		Blob([]byte{}), Blob([]byte{1}), Blob([]byte{1, 2, 3, 4}), Bool(true), Bool(false), Nil(), Impulse(),
		Long(math.MinInt64), Double(1.1), Time(Immediately))
	b := want.AppendTo(nil)
	got, err := Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	for i, n := range map[int]float64{0: math.MinInt32, 1: math.Inf(-1), 12: math.MinInt64, 13: 1.1} {
		if v, ok := got.Message.Args[i].Number(); !ok || v != n {
			t.Errorf("argument %d: %v %v, want %v", i, v, ok, n)
		}
	}
	if _, ok := got.Message.Args[2].Number(); ok {
		t.Error("a string is a number")
	}
	for n := range b { // every cut is noticed
		if _, err := Parse(b[:n]); err == nil && n > 4 {
			t.Errorf("%d of %d octets pass", n, len(b))
		}
	}
	dirty := Message{Address: "/a\x00b", Args: []Arg{Text("x\x00y"), {Tag: '?'}}}
	if got, want := dirty.AppendTo(nil), message("/a", Text("x")).AppendTo(nil); !bytes.Equal(got, want) {
		t.Errorf("have % X, want % X", got, want)
	}
	bare, err := Parse([]byte("/ok\x00")) // no type tags: an older sender
	if err != nil || bare.Message.Address != "/ok" || len(bare.Message.Args) != 0 {
		t.Errorf("%+v %v", bare, err)
	}
}

// deep is n bundles within each other.
func deep(n int) []byte {
	e := message("/a")
	for range n {
		e = bundle(Immediately, e)
	}
	return e.AppendTo(nil)
}

func TestHostile(t *testing.T) {
	flags := "," + strings.Repeat("T", MaxArgs+1)
	for name, c := range map[string]struct {
		octets string
		want   error
	}{
		"nothing":                {"", ErrShort},
		"three octets":           {"/a\x00", ErrAlign},
		"no slash":               {"abc\x00,\x00\x00\x00", ErrAddress},
		"a space":                {"/ a\x00,\x00\x00\x00", ErrAddress},
		"control octet":          {"/\x01a\x00,\x00\x00\x00", ErrAddress},
		"no NUL":                 {"/abc", ErrString},
		"padding not NUL":        {"/\x00a\x00,\x00\x00\x00", ErrString},
		"no comma":               {"/a\x00\x00i\x00\x00\x00\x00\x00\x00\x01", ErrTag},
		"unknown tag":            {"/a\x00\x00,q\x00\x00\x00\x00\x00\x01", ErrTag},
		"int missing":            {"/a\x00\x00,i\x00\x00", ErrShort},
		"long missing":           {"/a\x00\x00,h\x00\x00\x00\x00\x00\x01", ErrShort},
		"string missing":         {"/a\x00\x00,s\x00\x00", ErrString},
		"blob of 4 GiB":          {"/a\x00\x00,b\x00\x00\xFF\xFF\xFF\xFFabcd", ErrShort},
		"blob padding":           {"/a\x00\x00,b\x00\x00\x00\x00\x00\x01abcd", ErrBlob},
		"something after":        {"/a\x00\x00,\x00\x00\x00\x00\x00\x00\x01", ErrLong},
		"too many arguments":     {string(pad([]byte("/a\x00\x00"+flags+"\x00"), 0)), ErrLong},
		"too long":               {"/" + strings.Repeat("a", MaxPacket) + strings.Repeat("\x00", 4), ErrLong},
		"bundle cut":             {"#bundle\x00\x00\x00\x00\x00", ErrShort},
		"not quite a bundle":     {"#bundlE\x00\x00\x00\x00\x00\x00\x00\x00\x01", ErrAddress},
		"element of 4 GiB":       {"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\xFF\xFF\xFF\xFC", ErrShort},
		"element of no octets":   {"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00", ErrShort},
		"element of odd size":    {"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x03/a\x00\x00", ErrAlign},
		"deeper than is allowed": {string(deep(MaxDepth + 1)), ErrDepth},
		"inner before outer":     {string(bundle(9, bundle(8)).AppendTo(nil)), ErrTime},
	} {
		if _, err := Parse([]byte(c.octets)); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	if _, err := Parse(deep(MaxDepth)); err != nil {
		t.Errorf("as deep as is allowed: %v", err)
	}
}

// The order is that of the packet, each message with its own bundle's time.
func TestEach(t *testing.T) {
	var got []string
	var at []TimeTag
	e := bundle(5, message("/1"), bundle(6, message("/2"), message("/3")), message("/4"))
	e.Each(func(m *Message, when TimeTag) { got, at = append(got, m.Address), append(at, when) })
	if d := cmp.Diff([]string{"/1", "/2", "/3", "/4"}, got); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]TimeTag{5, 6, 6, 5}, at); d != "" {
		t.Error(d)
	}
	message("/5").Each(func(_ *Message, when TimeTag) {
		if when != Immediately {
			t.Errorf("a message on its own is due at %d", when)
		}
	})
}

// RFC 868 gives 2,208,988,800 for 1970-01-01; the worked bundle has 2026.
func TestTimeTag(t *testing.T) {
	if got := TimeTagOf(time.Unix(0, 0)); got != 2_208_988_800<<32 {
		t.Errorf("1970: %X", uint64(got))
	}
	if got := newYear(); got != 0xED003780_80000000 {
		t.Errorf("2026: %X", uint64(got))
	}
	for _, nanos := range []int64{0, 1, 499_999_999, 999_999_999} {
		at := time.Unix(1_700_000_000, nanos).UTC()
		if got := TimeTagOf(at).Time(); !got.Equal(at) {
			t.Errorf("%v becomes %v", at, got)
		}
	}
}

// What is read is written again as the same octets, but for a missing tag string.
func FuzzParse(f *testing.F) {
	for _, e := range worked() {
		f.Add(e.AppendTo(nil))
	}
	f.Add(deep(MaxDepth + 1))
	f.Add([]byte("/ok\x00"))
	f.Add(message("/b", Blob([]byte{1, 2, 3}), Double(1), Text("x"), Nil()).AppendTo(nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := Parse(b)
		if err != nil {
			return
		}
		again := e.AppendTo(nil)
		if len(again) == len(b) && !bytes.Equal(again, b) {
			t.Fatalf("% X\nbecomes % X", b, again)
		}
		second, err := Parse(again)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(e, second, cmp.Comparer(func(a, b []Arg) bool {
			return len(a) == len(b) && (len(a) == 0 || cmp.Equal([]Arg(a), []Arg(b), cmp.Comparer(func(x, y Arg) bool {
				return x.Tag == y.Tag && x.Bits == y.Bits && x.Text == y.Text && bytes.Equal(x.Blob, y.Blob)
			})))
		})); d != "" {
			t.Fatal(d)
		}
	})
}
