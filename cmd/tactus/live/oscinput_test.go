package live

import (
	"context"
	"io/fs"
	"math"
	"net/netip"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/protocol/osc"
	"tactus/shows/showtest"
)

// listener is an OSC input on the demo without a socket's traffic.
func listener(t *testing.T, size int) (*oscInput, chan engine.Input) {
	t.Helper()
	show := showtest.Demo(t)
	to := make(chan engine.Input, size)
	r, err := openOSCInput("0", show.Program, clock.NewBase(), to, zerolog.Nop())
	require.NoError(t, err)
	t.Cleanup(func() {
		ctx, cancel := context.WithCancel(context.Background())
		cancel() // closes the socket
		r.run(ctx, zerolog.Nop())
	})
	require.True(t, r.receiver.Addr().Addr().IsLoopback(), "a port alone listens on %v", r.receiver.Addr())
	return r, to
}

// What each address asks for, in values for the loop.
func TestOSCInput(t *testing.T) {
	r, to := listener(t, 16)
	p := r.program.Load()
	text, number := osc.Text, osc.Float
	chorus := int32(-1)
	for i, name := range p.SectionNames {
		if name == "chorus 1" {
			chorus = int32(i)
		}
	}
	one := func(c engine.Command) []engine.Input { return []engine.Input{{Command: c}} }
	for _, c := range []struct {
		path string
		args []osc.Arg
		want []engine.Input // nil: it is counted as bad
	}{
		{"/tactus/section/fire", []osc.Arg{text("chorus 1")}, one(engine.Command{Kind: engine.FireName, Index: chorus, When: engine.NextBar})},
		{"/tactus/section/fire", []osc.Arg{osc.Int(3)}, one(engine.Command{Kind: engine.FireSection, Index: 2, When: engine.NextBar})},
		{"/tactus/section/arm", []osc.Arg{text("chorus 1")}, one(engine.Command{Kind: engine.ArmName, Index: chorus, When: engine.NextBar})},
		{"/tactus/section/arm", []osc.Arg{text("chorus 1"), text("section end")}, one(engine.Command{Kind: engine.ArmName, Index: chorus, When: engine.SectionEnd})},
		{"/tactus/section/arm", []osc.Arg{number(1), text("phrase")}, one(engine.Command{Kind: engine.ArmSection, When: engine.NextPhrase})},
		{"/tactus/section/next", nil, one(engine.Command{Kind: engine.NextSection, When: engine.NextBar})},
		{"/tactus/section/next", []osc.Arg{number(1)}, one(engine.Command{Kind: engine.NextSection, When: engine.NextBar})},
		{"/tactus/section/previous", []osc.Arg{text("once")}, one(engine.Command{Kind: engine.PreviousSection, When: engine.AtOnce})},
		{"/tactus/song/select", []osc.Arg{text(p.Songs[1].Name)}, one(engine.Command{Kind: engine.SelectSong, Index: 1})},
		{"/tactus/song/select", []osc.Arg{osc.Int(2)}, one(engine.Command{Kind: engine.SelectPlace, Index: 1})},
		{"/tactus/look", []osc.Arg{text(p.Looks[2].Name)}, one(engine.Command{Kind: engine.ShowLook, Index: 2})},
		{"/tactus/master", []osc.Arg{number(0.5)}, one(engine.Command{Kind: engine.GrandMaster, Level: 0.5})},
		{"/tactus/master", []osc.Arg{number(1), number(2)}, one(engine.Command{Kind: engine.GrandMaster, Level: 1, Over: 2 * clock.Second})},
		{"/tactus/group", []osc.Arg{text(p.Groups[0].Name), number(0.25)}, one(engine.Command{Kind: engine.GroupMaster, Level: 0.25})},
		{"/tactus/tap", nil, []engine.Input{{Event: clock.Event{Kind: clock.Tap}}}},
		{"/tactus/overrides/release", nil, one(engine.Command{Kind: engine.ReleaseOverride, Index: engine.None})},
		// Patterns mean all that they match, in the order of the table.
		{"/tactus/{restore,blackout}", nil, append(one(engine.Command{Kind: engine.Blackout}), one(engine.Command{Kind: engine.Restore})...)},
		{"/tactus/work-light/o?", nil, one(engine.Command{Kind: engine.WorkLight})},
		{"/tactus/house/[!ou]*", nil, append(one(engine.Command{Kind: engine.HouseHalf}), one(engine.Command{Kind: engine.HouseFree})...)},
		// A button that is let go of asks for nothing, and is not bad.
		{"/tactus/hold", []osc.Arg{number(1)}, one(engine.Command{Kind: engine.Hold})},
		{"/tactus/hold", []osc.Arg{{Tag: 'T'}}, one(engine.Command{Kind: engine.Hold})},
		{"/tactus/hold", []osc.Arg{number(0)}, []engine.Input{}},
		{"/tactus/hold", []osc.Arg{{Tag: 'F'}}, []engine.Input{}},
		{"/tactus/tap", []osc.Arg{osc.Int(0)}, []engine.Input{}},
		// What cannot be used.
		{"/tactus/section/fire", nil, nil},
		{"/tactus/section/fire", []osc.Arg{text("coda")}, nil},
		{"/tactus/section/fire", []osc.Arg{number(0)}, nil},
		{"/tactus/section/fire", []osc.Arg{number(1.5)}, nil},
		{"/tactus/section/fire", []osc.Arg{number(float32(math.Inf(1)))}, nil},
		{"/tactus/section/fire", []osc.Arg{{Tag: 'b', Blob: []byte("chorus 1")}}, nil},
		{"/tactus/section/arm", []osc.Arg{text("chorus 1"), text("once")}, nil},
		{"/tactus/section/arm", []osc.Arg{text("chorus 1"), number(1)}, nil},
		{"/tactus/song/select", []osc.Arg{text("Nowhere")}, nil},
		{"/tactus/look", []osc.Arg{number(1)}, nil},
		{"/tactus/master", []osc.Arg{number(1.01)}, nil},
		{"/tactus/master", []osc.Arg{number(-0.01)}, nil},
		{"/tactus/master", []osc.Arg{number(float32(math.NaN()))}, nil},
		{"/tactus/master", []osc.Arg{number(1), number(-1)}, nil},
		{"/tactus/master", []osc.Arg{{Tag: 'T'}}, nil},
		{"/tactus/group", []osc.Arg{text("nobody"), number(1)}, nil},
		{"/tactus/hold", []osc.Arg{number(1), number(1)}, nil},
		{"/tactus/nothing", nil, nil},
		{"/tactus/[", nil, nil},
		{"/other/hold", nil, nil},
	} {
		bad := r.bad.Load()
		r.receive(&osc.Message{Address: c.path, Args: c.args}, 7)
		got := []engine.Input{}
		for len(to) > 0 {
			in := <-to
			assert.EqualValues(t, 7, in.Event.At, "%s is stamped", c.path)
			in.Event.At = 0
			got = append(got, in)
		}
		want := c.want
		if want == nil {
			want = []engine.Input{}
		}
		assert.Empty(t, cmp.Diff(want, got), "%s %+v: %d counted as bad", c.path, c.args, r.bad.Load()-bad)
		assert.Equal(t, c.want == nil, r.bad.Load() > bad, "%s %+v: %d counted as bad", c.path, c.args, r.bad.Load()-bad)
	}
}

// Whatever comes is taken, or counted; nothing panics, nobody waits.
func TestRemoteTakesAnything(t *testing.T) {
	r, to := listener(t, 1)
	list := commands.Addresses()
	rapid.Check(t, func(t *rapid.T) {
		m := osc.Message{Address: rapid.OneOf(rapid.Just("/*/*"), rapid.Just("/tactus/*/*"), rapid.String(),
			rapid.Custom(func(t *rapid.T) string { return commands.OSC + rapid.SampledFrom(list).Draw(t, "address").Path })).Draw(t, "path")}
		for range rapid.IntRange(0, 3).Draw(t, "arguments") {
			m.Args = append(m.Args, osc.Arg{
				Tag:  rapid.SampledFrom([]byte("ifsbhdtTFNI?")).Draw(t, "tag"),
				Bits: rapid.Uint64().Draw(t, "bits"), Text: rapid.SampledFrom([]string{"", "chorus 1", "bar"}).Draw(t, "text"),
			})
		}
		before := r.dropped.Load()
		r.receive(&m, 0)
		if len(to) == 0 {
			require.LessOrEqual(t, r.dropped.Load(), before, "dropped though there was room")
		}
		if rapid.Bool().Draw(t, "read") && len(to) > 0 {
			<-to
		}
	})
}

// A session that cannot begin gives its port back, so that the next try finds it free.
func TestPortIsFreeAfterAFailedStart(t *testing.T) {
	free, err := osc.NewReceiver(netip.AddrPort{})
	require.NoError(t, err)
	at := free.Addr()
	require.NoError(t, free.Close())
	f := &Options{
		Options: senders.Options{Protocol: senders.Virtual}, Name: showfiles.Demo,
		OSCIn: at.String(), OSCTo: "127.0.0.1:9", Journal: filepath.Join(t.TempDir(), "missing", "night.journal"),
	}
	_, err = New(showtest.Demo(t), f, zerolog.Nop())
	require.ErrorIs(t, err, fs.ErrNotExist)
	again, err := osc.NewReceiver(at)
	require.NoError(t, err)
	require.NoError(t, again.Close())
}
