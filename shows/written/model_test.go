package written_test

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/limits"
	"tactus/shows/showtest"
	"tactus/shows/written"
)

// sourcesOf reads the sources of a show.
func sourcesOf(t testing.TB, files fs.FS) map[string][]byte {
	t.Helper()
	sources, problems := shows.SourceFiles(files, shows.Options{})
	require.Empty(t, problems)
	return sources
}

func demo(t testing.TB) *written.Model {
	t.Helper()
	return written.Of(showtest.Demo(t), sourcesOf(t, shows.Demo()), nil)
}

func song(t *testing.T, m *written.Model, file string) written.Song {
	t.Helper()
	for _, s := range m.Songs {
		if s.File == file {
			return s
		}
	}
	require.Fail(t, "no song "+file)
	return written.Song{}
}

// The demo's song as a person reads its file.
func TestSongOfTheDemo(t *testing.T) {
	s := song(t, demo(t), "songs/lanterns.yaml")
	assert.Equal(t, "Lanterns on the Pier", s.Name)
	assert.InDelta(t, 72, s.Tempo, 0)
	assert.Equal(t, "4/4", s.Meter)
	assert.Equal(t, written.Colour{Written: "#ff9a3c", Shown: "#ff9a3c"}, s.Palette["accent"])
	assert.InDelta(t, 39*4, s.Length, 0)
	assert.Len(t, s.Bars, 39)
	require.Len(t, s.Sections, 7)
	verse, chorus := s.Sections[1], s.Sections[5]
	assert.Equal(t, "verse", verse.Name)
	assert.Equal(t, []string{"slow breathe", "harbour swell"}, verse.Effects)
	assert.Equal(t, []written.Levels{{On: "fronts", Levels: map[string]string{"intensity": "55 %"}}, {On: "warmers", Levels: map[string]string{"intensity": "20 %"}}}, verse.Set)
	assert.Equal(t, "chorus 2", chorus.Name)
	assert.Equal(t, "chorus", chorus.Kind)
	assert.Equal(t, 4+8+4+8+4+1, chorus.From, "its first bar")
	assert.InDelta(t, 28*4, chorus.Start, 0)
	assert.InDelta(t, 8*4, chorus.Beats, 0)
	assert.Equal(t, 7, chorus.Energy)
	assert.Nil(t, chorus.Effects, "not written")
	assert.Equal(t, written.Up{Look: "singalong", Effects: []string{"sway", "warmers turn"}}, chorus.Up, "those of the look")
	require.Len(t, s.Cues, 4)
	dark, end := s.Cues[1], s.Cues[3]
	assert.Equal(t, "bridge - 1 beat", dark.At)
	assert.Equal(t, 3, dark.Section, "in the chorus before")
	assert.Equal(t, 24, dark.Bar)
	assert.InDelta(t, 4, dark.Beat, 0)
	assert.InDelta(t, 24*4-1, dark.Start, 0)
	assert.Equal(t, "1/2 beat", dark.Fade)
	assert.Equal(t, 39, end.Bar)
	assert.Equal(t, 6, end.Section)
}

// In 6/8 beats are counted as the meter does, and lengths in quarter notes.
func TestSongInSixEight(t *testing.T) {
	s := song(t, demo(t), "songs/breakwater.yaml")
	assert.InDelta(t, 4*3, s.Sections[0].Beats, 0, "4 bars of three quarter notes")
	assert.Equal(t, "bridge - 1 beat", s.Cues[0].At)
	assert.InDelta(t, 2, s.Cues[0].Beat, 0, "the second of two beats")
}

func TestLooksEffectsSetsAndRigOfTheDemo(t *testing.T) {
	m := demo(t)
	i := func(name string) int {
		for i, l := range m.Looks {
			if l.Name == name {
				return i
			}
		}
		return -1
	}
	tide := m.Looks[i("tide")]
	assert.Equal(t, "1 bar", tide.Fade)
	assert.Equal(t, written.Levels{On: "front truss", Levels: map[string]string{"colour": "main", "intensity": "60 %"}}, tide.Set[0])
	assert.Equal(t, []string{"colour swing"}, tide.Effects)
	two := 2
	assert.Contains(t, tide.Used, written.Use{Song: "songs/lanterns.yaml", Section: &two})
	assert.Equal(t, []written.Use{{Set: "sets/november.yaml"}}, m.Looks[i("talk")].Used)
	rung := 4
	first := 0
	assert.Equal(t, []written.Use{{Rung: &first}, {Moment: "breakdown"}, {Moment: "spoken"}}, m.Looks[i("hearth")].Used)
	assert.Equal(t, written.Colour{Written: "#2f6fd0", Shown: "#2f6fd0"}, m.Palette["main"])
	for _, e := range m.Effects {
		switch e.Name {
		case "four corners":
			assert.Equal(t, []string{"100 %", "60 %", "80 %", "60 %"}, e.Keys["levels"])
			assert.Equal(t, "steps", e.Keys["wave"])
			assert.Equal(t, "3", e.Keys["seed"])
			assert.Equal(t, "songs/saturday.yaml", e.Used[0].Song)
		case "gather in":
			assert.Contains(t, e.Used, written.Use{Rung: &rung})
			require.Len(t, e.Wave, 65)
			assert.InDelta(t, 1, e.Wave[64*3/10], 0.02, "a hump with its middle at 30 %")
		case "colour swing":
			assert.Contains(t, e.Used, written.Use{Look: "tide"})
		}
	}
	assert.Equal(t, []written.Set{{File: "sets/november.yaml", Name: "November", Songs: []string{"lanterns", "saturday", "breakwater"}, WalkIn: "walk-in", Talk: "talk", WalkOut: "walk-out", Plays: true}}, m.Sets)
	assert.Equal(t, "Harbour Hall", m.Rig.Venue)
	assert.Equal(t, "wash 1-4", m.Rig.Fixtures[0].Name)
	assert.Equal(t, 1, m.Rig.Fixtures[0].Address)
	assert.Equal(t, [3]float64{3, 0.5, 4.2}, *m.Rig.Fixtures[0].To)
	assert.Equal(t, []string{"wash 1", "wash 2", "wash 3", "wash 4"}, m.Rig.Fixtures[0].Names)
	assert.Equal(t, 20, m.Rig.Fixtures[0].Last, "four of five slots")
	assert.Equal(t, "180 W", m.Rig.Fixtures[0].Watts)
	assert.Equal(t, written.Universe{Name: "house", Line: m.Rig.Universes[1].Line, Keys: map[string]any{"sacn": "2", "to": []string{"127.0.0.1"}}}, m.Rig.Universes[1])
	assert.Equal(t, "16 A", m.Rig.Circuits[2].Breaker)
	assert.False(t, m.Rig.Undecided)
	assert.Contains(t, m.Rig.Groups, written.Group{Name: "washes", Line: m.Rig.Groups[4].Line, Of: []string{"front truss", "back truss"}})
	assert.Len(t, m.Ladder, 10)
	require.Len(t, m.Moments, 6)
	assert.Equal(t, written.Moment{Moment: "begin", Set: []written.Levels{{On: "fronts", Levels: map[string]string{"intensity": "50 %"}}, {On: "house lights", Levels: map[string]string{"intensity": "10 %"}}}}, m.Moments[0])
	assert.Equal(t, written.Moment{Moment: "breath", Look: "dark"}, m.Moments[2])
	assert.Equal(t, written.Moment{Moment: "end", Look: "dark", Set: []written.Levels{{On: "fronts", Levels: map[string]string{"intensity": "20 %"}}}}, m.Moments[5])
	assert.Equal(t, "5600 K", m.Rig.White)
	assert.Equal(t, map[string]any{"sacn": "1", "to": []string{"127.0.0.1"}}, m.Rig.Universes[0].Keys)
	assert.Equal(t, "16 A", m.Rig.Circuits[0].Breaker)
	assert.Equal(t, []written.Floor{{On: "fronts", Level: "30 %"}}, m.Rig.Floors)
	require.Len(t, m.Rig.Lists, 4)
	assert.Equal(t, "keep", m.Rig.Lists[0].Name)
	assert.Equal(t, []string{"fronts", "house lights", "hazer"}, m.Rig.Lists[0].Of)
	assert.Len(t, m.Limits, int(limits.NumLimits))
}

// What the demo does not have.
func TestInputsCharactersAndLimits(t *testing.T) {
	files := showtest.Files(t, shows.Demo())
	add := func(name, text string) { files[name].Data = append(files[name].Data, text...) }
	add("songs/lanterns.yaml", "character: calm\n")
	before := written.Of(showtest.Load(t, files), sourcesOf(t, files), nil)
	add("rig.yaml", "inputs:\n  desk: {sacn: 11, faders: {washes: 1, fronts: 7}, takes: last}\n")
	add("looks.yaml", "characters:\n  calm: {effects: [sway, climb], breath: yes}\n")
	add("show.yaml", "judge: {quiet energy: 3}\n")
	m := written.Of(showtest.Load(t, files), sourcesOf(t, files), before)
	require.Len(t, m.Rig.Inputs, 1)
	in := m.Rig.Inputs[0]
	assert.Equal(t, written.Input{Name: "desk", Line: in.Line, Keys: map[string]any{"sacn": "11", "takes": "last"}, Faders: []written.Fader{{On: "washes", Slot: 1}, {On: "fronts", Slot: 7}}}, in)
	require.Len(t, m.Characters, 1)
	assert.Equal(t, map[string]any{"effects": []string{"sway", "climb"}, "breath": "yes"}, m.Characters[0].Keys)
	assert.Equal(t, []written.Use{{Song: "songs/lanterns.yaml"}}, m.Characters[0].Used)
	quiet := slices.IndexFunc(m.Limits, func(l written.Limit) bool { return l.Name == "quiet energy" })
	assert.Equal(t, "3", m.Limits[quiet].Written)
	assert.Equal(t, written.Changes{Rig: &m.Rig, Effects: m.Effects, Characters: m.Characters, Limits: m.Limits}, m.Since(before), "effects are used by the character")
}

// An edit of one file changes that part, and the rest of the earlier model is taken over.
func TestSince(t *testing.T) {
	files := showtest.Files(t, shows.Demo())
	before := written.Of(showtest.Load(t, files), sourcesOf(t, files), nil)
	assert.Equal(t, written.Changes{}, written.Of(showtest.Load(t, files), sourcesOf(t, files), before).Since(before))

	lanterns := files["songs/lanterns.yaml"]
	lanterns.Data = []byte(strings.Replace(string(lanterns.Data), "chorus: {bars: 8, energy: 7", "chorus: {bars: 8, energy: 8", 1))
	after := written.Of(showtest.Load(t, files), sourcesOf(t, files), before)
	c := after.Since(before)
	require.Len(t, c.Songs, 1)
	assert.Equal(t, 8, c.Songs[0].Sections[5].Energy)
	assert.Equal(t, written.Changes{Songs: c.Songs}, c, "nothing else")
	src, err := json.Marshal(c)
	require.NoError(t, err)
	assert.NotContains(t, string(src), `"looks":`)

	// The palette of the house changes what songs show that write none of a role.
	looks := files["looks.yaml"]
	looks.Data = []byte(strings.Replace(string(looks.Data), `warm: "#ffd9a8"`, `warm: "#ffd9a9"`, 1))
	last := written.Of(showtest.Load(t, files), sourcesOf(t, files), after)
	c = last.Since(after)
	assert.Equal(t, "#ffd9a9", c.Palette["warm"].Shown)
	assert.Nil(t, c.Looks)

	delete(files, "songs/breakwater.yaml")
	set := files["sets/november.yaml"]
	set.Data = []byte(strings.Replace(string(set.Data), ", breakwater", "", 1))
	c = written.Of(showtest.Load(t, files), sourcesOf(t, files), last).Since(last)
	assert.Equal(t, []string{"songs/lanterns.yaml", "songs/saturday.yaml"}, c.Files)
	assert.Len(t, c.Sets, 1)
}

// Files with faults are shown as far as they can be read.
func TestFaultyFiles(t *testing.T) {
	files := showtest.Files(t, shows.Demo())
	sources := sourcesOf(t, files)
	sources["songs/lanterns.yaml"] = []byte("song: Lanterns\ntempo: 72 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 8, energy: 11}\ncues: [{at: coda, look: dark}]\n")
	sources["songs/saturday.yaml"] = []byte("song: [\n")
	delete(sources, "looks.yaml")
	m := written.Of(nil, sources, nil)
	s := song(t, m, "songs/lanterns.yaml")
	assert.True(t, s.Faulty)
	assert.Equal(t, "Lanterns", s.Name)
	assert.Equal(t, 8, s.Sections[0].Bars)
	assert.Equal(t, -1, s.Cues[0].Section)
	assert.True(t, song(t, m, "songs/saturday.yaml").Faulty)
	src, err := json.Marshal(m)
	require.NoError(t, err)
	assert.NotContains(t, string(src), `"sections":null`)
}

// BenchmarkModel reads the model again after an edit of one song, as the page's server
// does: the demo, and 40 songs.
func BenchmarkModel(b *testing.B) {
	for _, songs := range []int{3, 40} {
		b.Run(fmt.Sprint(songs), func(b *testing.B) {
			files := showtest.Files(b, shows.Demo())
			for i := 3; i < songs; i++ {
				src := strings.Replace(string(files["songs/saturday.yaml"].Data), "song: ", fmt.Sprintf("song: %d ", i), 1)
				copied := *files["songs/saturday.yaml"]
				copied.Data = []byte(src)
				files[fmt.Sprintf("songs/copy-%d.yaml", i)] = &copied
			}
			sources, show := sourcesOf(b, files), showtest.Load(b, files)
			before := written.Of(show, sources, nil)
			for n := 0; b.Loop(); n++ {
				sources["songs/lanterns.yaml"] = fmt.Appendf(nil, "%s# %d\n", files["songs/lanterns.yaml"].Data, n)
				after := written.Of(show, sources, before)
				after.Since(before)
				before = after
			}
		})
	}
}
