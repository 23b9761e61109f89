package draw

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// rig gathers fixtures for a program.
type rig struct {
	t          testing.TB
	placements []fixtures.Placement
	heads      []engine.Head
	address    int
}

func profileOf(t testing.TB, name string, words ...string) *fixtures.Profile {
	t.Helper()
	var channels []fixtures.Channel
	for _, w := range words {
		c, err := fixtures.ParseChannel(w)
		require.NoError(t, err)
		channels = append(channels, c)
	}
	p, err := fixtures.NewProfile(name, "", channels)
	require.NoError(t, err)
	return p
}

func (r *rig) add(name string, p *fixtures.Profile, h engine.Head) {
	require.LessOrEqual(r.t, r.address+p.Footprint(), 513*(1+len(r.placements)), "too many")
	h.Name, h.Fixture = name, int32(len(r.placements))
	r.placements = append(r.placements, fixtures.Placement{
		Name: name, Profile: p, Universe: r.address / 500, Address: r.address%500 + 1, Head: len(r.heads),
	})
	r.address += p.Footprint()
	r.heads = append(r.heads, h)
}

func (r *rig) program() *engine.Program {
	patch, err := fixtures.NewPatch(r.address/500+1, r.placements)
	require.NoError(r.t, err)
	return &engine.Program{
		Name: "Harbour Hall", SetName: "Monthly Singalong", Heads: r.heads, Patch: patch,
		WalkIn: engine.None, WalkOut: engine.None, Notes: engine.NewNotes(),
	}
}

// harbour is a hall with four trusses: two washes and a warmer on each; front
// light, house light and haze apart. The second song is in 6/8.
func harbour(t testing.TB) *engine.Program {
	r := &rig{t: t}
	wash := profileOf(t, "wash", "intensity", "red", "green", "blue")
	dimmer, hazer := profileOf(t, "dimmer", "intensity"), profileOf(t, "hazer", "haze", "fan")
	for i := range 8 {
		truss := i / 2
		x := []float64{-3, 3}[i%2]
		r.add(fmt.Sprint("wash ", i+1), wash, engine.Head{At: engine.Point{X: x, Y: 1.5 * float64(truss), Z: 5}})
	}
	for i := range 4 {
		r.add(fmt.Sprint("warmer ", i+1), wash, engine.Head{At: engine.Point{Y: 1.5 * float64(i), Z: 5}})
	}
	for i := range 2 {
		r.add(fmt.Sprint("front ", i+1), dimmer, engine.Head{Keep: true, At: engine.Point{X: float64(4*i - 2), Y: -6, Z: 4}})
	}
	r.add("house", dimmer, engine.Head{Keep: true, Spared: true})
	r.add("haze", hazer, engine.Head{Keep: true, Spared: true})
	p := r.program()
	p.Songs = []engine.Song{
		song("Lanterns on the Pier", engine.Meter{Upper: 4, Lower: 4}, 96_000_000),
		song("Tide Table Waltz", engine.Meter{Upper: 6, Lower: 8}, 90_000_000),
	}
	p.Songs[0].Palette = engine.Palette{{0.05, 0.2, 1}, {0.5, 0.05, 0.9}, {0, 0.8, 0.7}, {1, 0.6, 0.25}}
	p.Songs[1].Palette = engine.Palette{{1, 0.35, 0.02}, {0.9, 0.05, 0.2}, {1, 0.8, 0.1}, {1, 0.6, 0.25}}
	p.SetList = []int32{0, 1}
	p.Looks = []engine.Cue{{Name: "doors"}}
	return p
}

func song(name string, m engine.Meter, tempo clock.Tempo) engine.Song {
	s := engine.Song{Name: name, Meter: m, Tempo: tempo, Program: -1}
	at := clock.Beat(0)
	for _, p := range []struct {
		name   string
		bars   int
		energy int8
	}{
		{"intro", 4, 3},
		{"verse 1", 8, 4},
		{"chorus 1", 8, 7},
		{"verse 2", 8, 5},
		{"chorus 2", 8, 8},
		{"bridge", 8, 2},
		{"chorus 3", 12, 10},
		{"outro", 4, 3},
	} {
		length := clock.Beat(p.bars) * m.Bar()
		s.Sections = append(s.Sections, engine.Section{
			Name: p.name, Start: at, Length: length, Energy: p.energy, Note: engine.NoNote,
		})
		s.Cues = append(s.Cues, engine.Cue{At: at, Name: p.name})
		at += length
	}
	s.Cues = append(s.Cues, engine.Cue{At: 40 * m.Bar(), Name: "lift"})
	return s
}

// playing is a moment of a song: the washes in blue and violet, the warmers
// amber, front light on.
func playing(p *engine.Program, songIndex int32, section int32, into clock.Beat) *engine.Snapshot {
	song := &p.Songs[songIndex]
	at := song.Sections[section].Start + into
	s := &engine.Snapshot{
		Pos: clock.Position{
			At: 187 * clock.Second, Beat: at, Pulse: at, Tempo: song.Tempo, Playing: true,
			Sync: clock.Locked, Source: clock.MIDI, Err: 400 * clock.Microsecond,
		},
		Status: engine.Status{
			Song: songIndex, Section: section, Cue: section, Look: "waves", Beat: at,
			Armed: engine.None, Grand: 1,
		},
		Health: engine.Health{
			Frames: 8228, WorstAt: 312 * clock.Microsecond, Arrivals: clock.Arrivals{Feed: clock.Even, Spread: clock.Millisecond},
		},
		Heads: make([]fixtures.State, len(p.Heads)),
	}
	for h := range p.Heads {
		state := &s.Heads[h]
		switch baseName(p.Heads[h].Name) {
		case "wash":
			state[fixtures.Intensity] = 0.25 + 0.1*float64(h%8)
			state.SetColour(song.Palette[h%2])
		case "warmer":
			state[fixtures.Intensity] = 0.4
			state.SetColour(song.Palette[engine.Warm])
		case "front":
			state[fixtures.Intensity] = 0.62
		case "house":
			state[fixtures.Intensity] = 0.05
		case "haze":
			state[fixtures.Haze], state[fixtures.Fan] = 0.35, 0.5
		}
	}
	return s
}
