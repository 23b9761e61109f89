package main

import (
	"fmt"
	"hash/crc32"
	"net/netip"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// headsPerUniverse heads of 32 slots fill a universe.
const headsPerUniverse = 16

// scaleProfiles are four types with a dimmer of 16 bits, pan, tilt and emitters that mix
// colours, 32 slots each.
func scaleProfiles(t testing.TB) (list []*fixtures.Profile) {
	for _, kind := range []string{"red,green,blue", "red,green,blue,white", "red,green,blue,amber", "red,green,blue,amber,white,lime"} {
		words := append([]string{"intensity", "intensity fine", "pan", "pan fine", "tilt", "tilt fine", "uv"}, strings.Split(kind, ",")...)
		for len(words) < 512/headsPerUniverse {
			words = append(words, "unused")
		}
		list = append(list, mixingProfile(t, kind, words))
	}
	return list
}

// scaleProgram is a show of 16 heads on each universe, with all slots used. Each head has
// a wave on its dimmer, one on its colour and one on its pan. Each bar of the song has
// another look, to which everything fades over two beats: so half of all frames fade the
// colour of every head.
func scaleProgram(t testing.TB, universes int) *engine.Program {
	heads := universes * headsPerUniverse
	p := &engine.Program{WalkIn: engine.None, WalkOut: engine.None, Notes: engine.NewNotes()}
	profiles := scaleProfiles(t)
	var places []fixtures.Placement
	all, points := make([]int32, heads), make([]engine.Point, heads)
	for h := range all {
		all[h], points[h] = int32(h), engine.Point{X: float64(h % 128), Y: float64(h / 128)}
		name := fmt.Sprint("head ", h+1)
		places = append(places, fixtures.Placement{
			Name: name, Profile: profiles[h%len(profiles)], Universe: h / headsPerUniverse, Address: 1 + 32*(h%headsPerUniverse), Head: h,
		})
		p.Heads = append(p.Heads, engine.Head{Name: name, Fixture: int32(h), At: points[h]})
	}
	var err error
	p.Patch, err = fixtures.NewPatch(universes, places)
	require.NoError(t, err)
	const parts = 8
	plain := func(k engine.WaveKind) engine.Wave { return engine.Wave{Kind: k, High: 1, Duty: 0.5, Skew: 0.5} }
	effect := func(part int, e engine.Effect) {
		from, to := part*heads/parts, (part+1)*heads/parts
		e.Heads, e.Offsets = all[from:to], engine.Path(part%int(engine.NumPaths)).Offsets(points[from:to], 1, engine.Even)
		e.Period, e.Pulses = engine.Length{Num: 1, Den: 1, Bars: true}, 1
		p.Effects = append(p.Effects, e)
	}
	for part := range parts {
		kind := engine.WaveKind(part % int(engine.Noise))
		effect(part, engine.Effect{Wave: plain(kind), Depth: 0.7, Param: fixtures.Intensity})
		effect(part, engine.Effect{
			Wave: plain(engine.Sine), Depth: 1, Blend: engine.Replace, MovesColour: true,
			From: engine.Colour{Role: engine.Main}, To: engine.Colour{Role: engine.Second},
		})
		effect(part, engine.Effect{Wave: plain(engine.Triangle), Depth: 0.5, Blend: engine.Swing, Param: fixtures.Pan})
	}
	song := engine.Song{
		Tempo: clock.BPM(120), Meter: engine.Meter{Upper: 4, Lower: 4}, Program: -1,
		Palette:  engine.Palette{{1, 0.5, 0.25}, {0.1, 0.2, 1}, {0.2, 1, 0.3}, {1, 0.1, 0.6}},
		Sections: []engine.Section{{Length: 1 << 50, Note: engine.NoNote}},
	}
	for bar := range clock.Beat(512) { // 17 minutes
		c := engine.Cue{At: bar * 4 * clock.Quarter, Fade: engine.Span{Length: engine.Length{Num: 2, Den: 1}}}
		for part := range parts {
			c.Parts = append(c.Parts, engine.Part{
				Heads: all[part*heads/parts : (part+1)*heads/parts], Params: 1 << fixtures.Intensity, SetsColour: true,
				Values: fixtures.State{fixtures.Intensity: 0.6 + 0.4*float64(bar%2)}, Colour: engine.Colour{Role: engine.Role((int(bar) + part) % int(engine.NumRoles))},
			})
		}
		for e := range p.Effects {
			c.Effects = append(c.Effects, int32(e))
		}
		song.Cues = append(song.Cues, c)
	}
	p.Songs, p.SetList = []engine.Song{song}, []int32{0}
	return p
}

// scaleSender sends some universes, numbered from 1, to one address, synchronized.
func scaleSender(t testing.TB, universes int, to netip.AddrPort, spread udp.Spread, open func() (udp.Conn, error)) *sacn.Sender {
	c := sacn.SenderConfig{CID: [16]byte{1}, SourceName: "scale", Spread: spread, Sync: 63999, Open: open}
	for i := range universes {
		c.Universes = append(c.Universes, sacn.UniverseConfig{Source: i, Number: uint16(i + 1), Priority: 100, Destinations: []netip.AddrPort{to}})
	}
	s, err := sacn.NewSender(c)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

// scaleFrame is a whole frame of a large show: light, slots, checksum of the journal, the
// copy for the page, packets.
func scaleFrame(t testing.TB, universes int, send func(now clock.Time, u []dmx.Universe)) func() {
	e := engine.New(scaleProgram(t, universes))
	transport := clock.NewTransport(clock.Config{Lead: clock.LeadInternal})
	e.Do(engine.Command{Kind: engine.NextSong}, transport.At(0))
	transport.Handle(clock.Event{Kind: clock.Start})
	now, sum := clock.Time(0), uint32(0)
	var heads []fixtures.State
	var copied []dmx.Universe
	return func() {
		now += clock.Second/44 + 1
		u := e.Frame(transport.At(now))
		send(now, u)
		sum ^= engine.Sum(u)
		heads, copied = append(heads[:0], e.SentLight()...), append(copied[:0], u...)
	}
}

// counter is a Conn that counts packets by universe, and where the sync packets lie.
type counter struct {
	byUniverse []int
	data, sync int // of the present frame
	early      int // packets of levels after the sync packet of their frame
	lit        int // packets with levels other than those of the frame before
	last       []uint32
	packet     sacn.DataPacket
}

func (c *counter) WriteBatch(ms []ipv4.Message) (int, error) {
	p := &c.packet
	for i := range ms {
		b := ms[i].Buffers[0]
		if kind, _ := sacn.KindOf(b); kind == sacn.Sync {
			c.sync++
			continue
		}
		if err := p.Parse(b); err != nil {
			return i, err
		}
		c.byUniverse[p.Universe]++
		c.data++
		if c.sync > 0 {
			c.early++
		}
		if sum := crc32.ChecksumIEEE(p.Slots); sum != c.last[p.Universe] {
			c.last[p.Universe] = sum
			c.lit++
		}
	}
	return len(ms), nil
}

func (c *counter) Close() error { return nil }

// A show of 1,024 universes and 16,384 heads: every universe leaves in every frame, the
// sync packet after all of them, and a frame allocates nothing.
func TestScale(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates; make quiet runs this without it")
	}
	const universes = 1024
	c := &counter{byUniverse: make([]int, universes+1), last: make([]uint32, universes+1)}
	s := scaleSender(t, universes, netip.MustParseAddrPort("127.0.0.1:5568"), udp.DefaultSpread, func() (udp.Conn, error) { return c, nil })
	frames := 0
	frame := scaleFrame(t, universes, func(now clock.Time, u []dmx.Universe) {
		c.data, c.sync = 0, 0
		if err := s.Send(now, u, nil); err != nil {
			require.NoError(t, err)
		}
		for at, ok := s.NextSlice(); ok; at, ok = s.NextSlice() {
			s.SendSlice(at)
		}
		frames++
		if c.data != universes || c.sync != 1 {
			require.Fail(t, fmt.Sprintf("frame %d: %d packets of levels, %d sync packets", frames, c.data, c.sync))
		}
	})
	for range 100 { // more than two looks with their fades
		frame()
	}
	if n := testing.AllocsPerRun(50, frame); n != 0 {
		require.Zero(t, n, "allocations a frame")
	}
	assert.Zero(t, c.early, "packets after their sync packet")
	assert.Greater(t, c.lit, frames*universes/2, "universes whose light moves")
	for n, got := range c.byUniverse[1:] {
		require.Equal(t, frames, got, "universe %d", n+1)
	}
}
