package main

import (
	"net"
	"net/netip"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/sacn"
	"tactus/shows/showtest"
)

// largeProgram has four four-channel heads on each universe, and an effect on
// every head: eight of them, each along a path of its own.
func largeProgram(universes int) *engine.Program {
	profile, err := fixtures.NewProfile("wash", "", []fixtures.Channel{
		{Param: fixtures.Intensity}, {Param: fixtures.Red}, {Param: fixtures.Green}, {Param: fixtures.Blue},
	})
	if err != nil {
		panic(err)
	}
	p := &engine.Program{WalkIn: engine.None, WalkOut: engine.None, Notes: engine.NewNotes()}
	var places []fixtures.Placement
	all := make([]int32, 4*universes)
	points := make([]engine.Point, 4*universes)
	for h := range all {
		all[h] = int32(h)
		points[h] = engine.Point{X: float64(h % 64), Y: float64(h / 64)}
		places = append(places, fixtures.Placement{Name: "wash", Profile: profile, Universe: h / 4, Address: 1 + 4*(h%4), Head: h})
		p.Heads = append(p.Heads, engine.Head{Name: "wash", Fixture: int32(h), At: points[h]})
	}
	if p.Patch, err = fixtures.NewPatch(universes, places); err != nil {
		panic(err)
	}
	cue := engine.Cue{Parts: []engine.Part{{
		Heads: all, Params: 1 << fixtures.Intensity, Values: fixtures.State{fixtures.Intensity: 1}, SetsColour: true,
	}}}
	const effects = 8
	for e := range effects {
		from, to := e*len(all)/effects, (e+1)*len(all)/effects
		p.Effects = append(p.Effects, engine.Effect{
			Heads: all[from:to], Offsets: engine.Path(e%int(engine.NumPaths)).Offsets(points[from:to], 1, engine.Even),
			Wave:   engine.Wave{Kind: engine.WaveKind(e % int(engine.Noise)), High: 1, Duty: 0.5, Skew: 0.5},
			Period: engine.Length{Num: 1, Den: 1, Bars: true}, Pulses: 1, Depth: 1,
		})
		cue.Effects = append(cue.Effects, int32(e))
	}
	p.Songs = []engine.Song{{
		Tempo: clock.BPM(120), Meter: engine.Meter{Upper: 4, Lower: 4}, Palette: engine.Palette{{1, 0.5, 0.25}},
		Sections: []engine.Section{{Length: 1 << 50, Note: engine.NoNote}}, Cues: []engine.Cue{cue}, Program: -1,
	}}
	p.SetList = []int32{0}
	return p
}

// sink is a socket on loopback that nobody reads; the kernel drops what it
// cannot hold, at the same cost for everyone.
func sink(b testing.TB) netip.AddrPort {
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(b, err)
	b.Cleanup(func() { c.Close() })
	return c.LocalAddr().(*net.UDPAddr).AddrPort()
}

// floor returns a function that sends ready-made packets of full size, one for
// each universe, with the fewest system calls there are.
func floor(b testing.TB, to netip.AddrPort, universes int) func() {
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		require.NoError(b, err)
	}
	b.Cleanup(func() { c.Close() })
	p := ipv4.NewPacketConn(c)
	messages := make([]ipv4.Message, universes)
	for i := range messages {
		messages[i].Buffers = [][]byte{make([]byte, 638)}
		messages[i].Addr = net.UDPAddrFromAddrPort(to)
	}
	return func() {
		for done := 0; done < len(messages); {
			n, err := p.WriteBatch(messages[done:], 0)
			if err != nil {
				require.NoError(b, err)
			}
			done += n
		}
	}
}

// wholeFrame returns steps 4 to 8 of a frame: position, light, slots, wire.
func wholeFrame(b testing.TB, p *engine.Program, universes int, to netip.AddrPort) func() {
	c := sacn.SenderConfig{CID: [16]byte{1}, SourceName: "bench"}
	for i := range universes {
		c.Universes = append(c.Universes, sacn.UniverseConfig{Source: i, Number: uint16(i + 1), Priority: 100, Destinations: []netip.AddrPort{to}})
	}
	s, err := sacn.NewSender(c)
	if err != nil {
		require.NoError(b, err)
	}
	b.Cleanup(func() { s.Close() })
	e := engine.New(p)
	t := clock.NewTransport(clock.Config{Lead: clock.LeadInternal})
	e.Do(engine.Command{Kind: engine.NextSong}, t.At(0))
	t.Handle(clock.Event{Kind: clock.Start})
	now := clock.Time(0)
	return func() {
		now += clock.Second/44 + 1
		if err := s.Send(now, e.Frame(t.At(now)), nil); err != nil {
			require.NoError(b, err)
		}
	}
}

// BenchmarkWholeFrame prints what a frame costs from position to wire, against
// the floor of sending as many ready-made packets, in the same run.
func BenchmarkWholeFrame(b *testing.B) {
	demo := showtest.Demo(b)
	cases := []struct {
		name      string
		program   *engine.Program
		universes int
	}{
		{"demo", demo.Program, len(demo.Program.Universes)},
		{"4096heads-1024universes", largeProgram(1024), 1024},
	}
	for _, c := range cases {
		b.Run(c.name, func(b *testing.B) {
			to := sink(b)
			ready := floor(b, to, c.universes)
			frame := wholeFrame(b, c.program, c.universes, to)
			for range 100 { // warm up both
				frame()
				ready()
			}
			b.ReportAllocs()
			var spent time.Duration
			for b.Loop() {
				frame()
				b.StopTimer()
				began := time.Now()
				ready()
				spent += time.Since(began)
				b.StartTimer()
			}
			perFloor := float64(spent) / float64(b.N)
			perFrame := float64(b.Elapsed()) / float64(b.N)
			b.ReportMetric(perFrame/perFloor, "x-floor")
			b.ReportMetric(perFrame/float64(c.universes), "ns/universe")
			b.ReportMetric(100*perFrame/float64(time.Second/44), "%budget")
		})
	}
}

// Once warm, a whole frame of the largest show allocates nothing.
func TestWholeFrameAllocatesNothing(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates; make quiet runs this without it")
	}
	frame := wholeFrame(t, largeProgram(256), 256, sink(t))
	for range 100 {
		frame()
	}
	assert.Zero(t, testing.AllocsPerRun(200, frame), "allocations a frame")
}

// BenchmarkAgainstPeer prints what a universe costs from position to wire, and
// what a ready-made payload costs the npm sacn library, in the same run.
func BenchmarkAgainstPeer(b *testing.B) {
	const universes = 64
	out, err := exec.Command("node", peerFolder+"/sacn-cost.mjs", strconv.Itoa(universes), "100").Output()
	if err != nil {
		b.Skipf("the npm peer does not run: %v; make test installs it", err)
	}
	peer, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
	require.NoError(b, err)
	frame := wholeFrame(b, largeProgram(universes), universes, sink(b))
	for range 100 {
		frame()
	}
	for b.Loop() {
		frame()
	}
	ours := float64(b.Elapsed()) / float64(b.N) / universes
	b.ReportMetric(ours, "ns/universe")
	b.ReportMetric(peer, "peer-ns/universe")
	b.ReportMetric(ours/peer, "x-peer")
}

// mixingProfile is a fixture type with some channels and with typical emitters, so that
// colours have to be mixed for it.
func mixingProfile(tb testing.TB, name string, words []string) *fixtures.Profile {
	tb.Helper()
	var channels []fixtures.Channel
	for _, word := range words {
		c, err := fixtures.ParseChannel(word)
		require.NoError(tb, err, word)
		channels = append(channels, c)
	}
	p, err := fixtures.NewProfile(name, "", channels)
	require.NoError(tb, err)
	p.White = fixtures.WhiteOf(5600, 0)
	for _, emitter := range fixtures.EmitterNames() {
		param, _ := fixtures.EmitterByName(emitter)
		p.Emitters = append(p.Emitters, fixtures.Typical(param))
	}
	return p
}

// mixedProgram is largeProgram with a colour effect on all heads, of the
// fixture types in turn; the plain ones have three colours and nothing to mix.
func mixedProgram(tb testing.TB, plain bool) *engine.Program {
	const universes, heads = 64, 4096
	kinds := []string{"red green blue", "red green blue white", "red green blue amber", "red green blue amber white uv"}
	var profiles []*fixtures.Profile
	for _, kind := range kinds {
		profiles = append(profiles, mixingProfile(tb, kind, strings.Fields(kind)))
	}
	if plain {
		p := *profiles[0]
		p.Emitters = nil
		profiles = []*fixtures.Profile{&p}
	}
	p := largeProgram(heads / 4)
	var places []fixtures.Placement
	for h := range heads {
		places = append(places, fixtures.Placement{
			Name: "head", Profile: profiles[h%len(profiles)], Universe: h / (heads / universes), Address: 1 + 6*(h%(heads/universes)), Head: h,
		})
	}
	var err error
	p.Patch, err = fixtures.NewPatch(universes, places)
	require.NoError(tb, err)
	for i := range p.Effects {
		e := &p.Effects[i]
		e.MovesColour, e.Depth, e.Blend = true, 1, engine.Replace
		e.From, e.To = engine.Colour{Fixed: true, RGB: fixtures.RGB{1, 0.1, 0}}, engine.Colour{Fixed: true, RGB: fixtures.RGB{0.1, 0.3, 1}}
	}
	return p
}

// lightOnly is a frame up to the slots, without the wire.
func lightOnly(p *engine.Program) func() {
	e := engine.New(p)
	t := clock.NewTransport(clock.Config{Lead: clock.LeadInternal})
	e.Do(engine.Command{Kind: engine.NextSong}, t.At(0))
	t.Handle(clock.Event{Kind: clock.Start})
	now := clock.Time(0)
	return func() {
		now += clock.Second/44 + 1
		e.Frame(t.At(now))
	}
}

// BenchmarkMixedHeads prints what a colour effect on 4,096 heads of four types
// costs a frame, beside the same on plain red, green and blue in the same run.
func BenchmarkMixedHeads(b *testing.B) {
	mixed, plain := lightOnly(mixedProgram(b, false)), lightOnly(mixedProgram(b, true))
	for range 100 { // warm up both
		mixed()
		plain()
	}
	b.ReportAllocs()
	var spent time.Duration
	for b.Loop() {
		mixed()
		b.StopTimer()
		began := time.Now()
		plain()
		spent += time.Since(began)
		b.StartTimer()
	}
	b.ReportMetric(float64(b.Elapsed())/float64(spent), "x-plain")
	b.ReportMetric(100*float64(b.Elapsed())/float64(b.N)/float64(time.Second/44), "%budget")
}

// Once warm, a frame of mixed heads allocates nothing.
func TestMixedHeadsAllocateNothing(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates; make quiet runs this without it")
	}
	frame := lightOnly(mixedProgram(t, false))
	for range 50 {
		frame()
	}
	assert.Zero(t, testing.AllocsPerRun(50, frame), "allocations a frame")
}
