package shows_test

import (
	"bytes"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	yaml "go.yaml.in/yaml/v4"
	"pgregory.net/rapid"

	"tactus/shows"
	"tactus/shows/language"
)

// loads are the loads of one Loader, each beside a load from nothing.
type loads struct {
	loader    shows.Loader
	got, want []*shows.Show
	faulty    int
}

// load loads a folder both ways and requires the same show and the same problems.
func (l *loads) load(t require.TestingT, files fstest.MapFS, o shows.Options) {
	want, wantProblems := shows.Load(files, o)
	got, problems := l.loader.Load(files, o)
	require.Equal(t, wantProblems, problems)
	requireSameShow(t, want, got)
	if want == nil {
		l.faulty++
		return
	}
	l.want, l.got = append(l.want, want), append(l.got, got)
}

// requireUnchanged requires that no show has changed since it was loaded.
func (l *loads) requireUnchanged(t require.TestingT) {
	for i := range l.got {
		requireSameShow(t, l.want[i], l.got[i])
	}
}

// requireSameShow names the part that differs: a whole show would fill the screen.
func requireSameShow(t require.TestingT, want, got *shows.Show) {
	require.Equal(t, want == nil, got == nil, "one of them has no show")
	if reflect.DeepEqual(want, got) {
		return
	}
	a, b := reflect.ValueOf(*want), reflect.ValueOf(*got)
	for i := range a.NumField() {
		if a.Type().Field(i).Name != "Program" {
			require.Equal(t, a.Field(i).Interface(), b.Field(i).Interface(), a.Type().Field(i).Name)
		}
	}
	a, b = reflect.ValueOf(*want.Program), reflect.ValueOf(*got.Program)
	for i := range a.NumField() {
		require.True(t, reflect.DeepEqual(a.Field(i).Interface(), b.Field(i).Interface()), "Program."+a.Type().Field(i).Name)
	}
	require.Fail(t, "the shows differ")
}

// editedShow is a small show that has most of what files can say, and loads quickly.
func editedShow() fstest.MapFS {
	const song = `song: New
tempo: 120 bpm
meter: 4/4
character: calm
palette: {main: "#102030"}
sections:
  - verse: {bars: 8, energy: 3, look: low, build: rise, send: [{osc: /verse 1}]}
  - bridge: {bars: 5, energy: 3, look: mid, set: {front: {intensity: 20 %}}}
  - chorus: {bars: 4, energy: 8, look: high}
cues:
  - {at: "verse, bar 3", effects: tint}
  - {at: chorus - 1 beat, look: "off", fade: 1/2 beat}
accepted:
  - {finding: flat, in: bridge, because: we want it so}
`
	files := fstest.MapFS{}
	for name, src := range map[string]string{
		"show.yaml":         "show: Yard\n",
		"songs/new.yaml":    song,
		"songs/second.yaml": strings.NewReplacer("New", "Second", "verse", "outro", "120", "90", "calm", "driving").Replace(song),
		"sets/night.yaml":   "set: Night\nsongs: [new, second]\nwalk-in: low\n",
		"sets/again.yaml":   "set: Again\nsongs: [second]\ntalk: mid\n",
		"profiles/own.yaml": "about: its own\nchannels: [intensity, red, green, blue]\nemitters: {red: {colour: xy 0.69 0.30, flux: 1}, green: {colour: xy 0.20 0.70, flux: 2}}\n",
		"rig.yaml": `venue: Yard
universes: {u: {virtual: yes}}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: u, address: 1, from: [-1 m, 0 m, 3 m], to: [1 m, 0 m, 3 m]}
  side: {profile: own, universe: u, address: 20, at: [3 m, 0 m, 1 m]}
  front: {profile: dimmer, universe: u, address: 9, at: [0 m, -3 m, 3 m]}
groups: {lamps: lamp 1-2}
keep: front
white: 5600 K
`,
		"looks.yaml": `palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}
looks:
  "off": {set: {lamps: {intensity: 2 %}}}
  low: {fade: 1 bar, set: {lamps: {colour: main, intensity: 30 %}}, effects: slow}
  mid: {set: {lamps: {colour: second, intensity: 60 %}}, effects: [slow, tint]}
  high: {set: {lamps: {colour: warm, intensity: 100 %}}, effects: quick}
effects:
  slow: {on: lamps, wave: sine, moves: intensity, period: 4 bars}
  tint: {on: lamps, wave: sine, moves: colour, from: main, to: second, period: 2 bars}
  quick: {on: lamps, wave: decay, moves: intensity, period: 1 beat, depth: 40 %}
ladder:
  rungs:
    - {energy: 1, look: low}
    - {energy: 3, look: mid, effects: slow}
    - {energy: 3, look: mid, effects: tint}
    - {energy: 6, look: mid}
    - {energy: 8, look: high}
  begin: {front: {intensity: 50 %}}
  breath: "off"
  breakdown: low
  spoken: {look: low, effects: none, set: {front: {intensity: 70 %}}}
  end: "off"
`,
	} {
		files[name] = &fstest.MapFile{Data: []byte(src)}
	}
	return files
}

// loaded loads a folder without faults.
func loaded(t testing.TB, files fstest.MapFS) *shows.Show {
	t.Helper()
	show, problems := shows.Load(files, shows.Options{})
	require.NoError(t, problems.Err())
	return show
}

func TestEditedShowIsGood(t *testing.T) { loaded(t, editedShow()) }

// After any row of edits a Loader returns what a load from nothing returns: an equal
// show, or the same problems in the same order. Shows that it returned stay as they were.
func TestLoaderEqualsLoad(t *testing.T) {
	good := editedShow()
	names := slices.Sorted(maps.Keys(good))
	whole, faulty := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		files := maps.Clone(good)
		l := loads{}
		if rapid.Bool().Draw(t, "begins with a show") {
			show, _ := shows.Load(files, shows.Options{})
			l.loader = *shows.LoaderOf(show)
		}
		for range rapid.IntRange(1, 6).Draw(t, "edits") {
			name := rapid.SampledFrom(names).Draw(t, "file")
			if files[name] == nil || rapid.IntRange(0, 4).Draw(t, "back") == 0 {
				files[name] = good[name]
			} else {
				edit(t, files, name)
			}
			var o shows.Options
			switch rapid.IntRange(0, 9).Draw(t, "options") {
			case 0:
				o.Set = rapid.SampledFrom([]string{"Night", "again", "none"}).Draw(t, "set")
			case 1:
				o.RigOnly = true
			case 2:
				o.Without = []string{name}
			case 3:
				o.Instead = map[string][]byte{name: good[name].Data}
			}
			l.load(t, files, o)
		}
		l.requireUnchanged(t)
		whole, faulty = whole+len(l.got), faulty+l.faulty
	})
	assert.GreaterOrEqual(t, whole, 40, "too few shows to say much")
	assert.GreaterOrEqual(t, faulty, 40, "too few faults to say much")
}

// edit changes one file of a folder.
func edit(t *rapid.T, files fstest.MapFS, name string) {
	src := files[name].Data
	lines := bytes.SplitAfter(src, []byte("\n"))
	line := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
	switch rapid.SampledFrom([]string{"value", "value", "comment", "swap", "drop line", "byte", "remove", "copy", "number"}).Draw(t, "what") {
	case "value":
		var doc yaml.Node
		if yaml.Unmarshal(src, &doc) != nil || len(doc.Content) == 0 {
			return // an edit before has broken it
		}
		spoil(t, &doc)
		if out, err := yaml.Marshal(&doc); err == nil {
			src = out
		}
	case "comment":
		src = slices.Concat(bytes.Join(lines[:line], nil), []byte("# a comment\n"), bytes.Join(lines[line:], nil))
	case "swap":
		words := []string{"low", "mid", "high", "slow", "tint", "verse", "chorus", "dimmer-rgb", "rgba", "5600", "3200", "calm", "stormy", "front", "lamps", "own"}
		from, to := rapid.SampledFrom(words).Draw(t, "from"), rapid.SampledFrom(words).Draw(t, "to")
		src = bytes.ReplaceAll(src, []byte(from), []byte(to))
	case "number":
		from, to := rapid.SampledFrom([]string{"1", "2", "3", "4"}).Draw(t, "from"), rapid.SampledFrom([]string{"1", "2", "5", "9"}).Draw(t, "to")
		src = bytes.Replace(src, []byte(from), []byte(to), 1+line%3)
	case "drop line":
		src = bytes.Join(slices.Delete(lines, line, line+1), nil)
	case "byte":
		at := rapid.IntRange(0, len(src)).Draw(t, "at")
		src = slices.Concat(src[:at], []byte(rapid.SampledFrom([]string{"x", " ", "\n", "\xff", "{", "\t", "é"}).Draw(t, "byte")), src[at:])
	case "remove":
		delete(files, name)
		return
	case "copy":
		if strings.Contains(name, "/") {
			name = strings.TrimSuffix(name, ".yaml") + "-copy.yaml"
			src = bytes.Replace(src, []byte(": "), []byte(": Other "), 1)
		}
	}
	files[name] = &fstest.MapFile{Data: src}
}

// The demo, edited file by file and back: with equal names elsewhere, other colours, a
// rig with another white, faults.
func TestLoaderEqualsLoadOfDemo(t *testing.T) {
	files := folder(t, "harbour-hall")
	l := loads{}
	l.load(t, files, shows.Options{})
	for _, e := range []struct{ name, old, to string }{
		{"songs/lanterns.yaml", "energy: 3", "energy: 5"},
		{"songs/saturday.yaml", "song: ", "song: Late "},
		{"songs/breakwater.yaml", "look: tide", "look: tied"},
		{"songs/breakwater.yaml", "look: tied", "look: tide"},
		{"songs/breakwater.yaml", "- verse: ", "- refrain: "}, // the names of sections are numbered over all songs
		{"looks.yaml", "\nlooks:", "\ndeep colours: bright\nlooks:"},
		{"rig.yaml", "5600 K", "4000 K"},
		{"rig.yaml", "profile: rgba,", "profile: rgbw,"},
		{"rig.yaml", "4000 K", "5600 K"},
		{"rig.yaml", "keep: [fronts, ", "keep: ["},
		{"rig.yaml", "white:", "whites: bright\nwhite:"},
		{"show.yaml", "show: ", "show: A "},
		{"sets/november.yaml", "lanterns, ", ""},
		{"sets/november.yaml", "walk-in: walk-in", "walk-in: nothing"},
	} {
		src := string(files[e.name].Data)
		require.Contains(t, src, e.old, e.name)
		files[e.name] = &fstest.MapFile{Data: []byte(strings.ReplaceAll(src, e.old, e.to))}
		l.load(t, files, shows.Options{})
	}
	assert.Equal(t, 2, l.faulty, "the look tied, and the walk-in nothing")
	l.requireUnchanged(t)
}

// Mixers are made anew only for heads that have other emitters or another white, and
// their tables for bright colours, made for one show, are there for the next.
func TestMixersAreKept(t *testing.T) {
	files := folder(t, "harbour-hall")
	first := loaded(t, files)
	first.Program.Patch.PrepareBright()
	l := shows.LoaderOf(first)
	kept := func(edited *shows.Show) (n int) {
		for h := range edited.Program.Heads {
			m := edited.Program.Patch.Mixer(h)
			if m != nil && m == first.Program.Patch.Mixer(h) {
				n++
			}
		}
		return n
	}
	edit := func(name, old, to string) *shows.Show {
		src := string(files[name].Data)
		require.Contains(t, src, old, name)
		files[name] = &fstest.MapFile{Data: []byte(strings.ReplaceAll(src, old, to))}
		show, problems := l.Load(files, shows.Options{})
		require.Empty(t, problems)
		return show
	}
	const mixed = 12 // washes and warmers
	same := edit("songs/lanterns.yaml", "energy: 3", "energy: 4")
	require.Equal(t, mixed, kept(same), "another energy")
	assert.False(t, same.Program.Patch.IsBrightPrepared(), "the new rig was not asked for it")
	same.Program.Patch.PrepareBright()
	fresh := loaded(t, files)
	fresh.Program.Patch.PrepareBright()
	requireSameShow(t, fresh, same)
	assert.Equal(t, mixed-2, kept(edit("rig.yaml", "profile: rgba,", "profile: rgbw,")), "two warmers of another type")
	assert.Zero(t, kept(edit("rig.yaml", "white: 5600 K", "white: 3200 K")), "another white")
	assert.Zero(t, kept(edit("rig.yaml", "white: 3200 K", "white: 5600 K")), "only those of the load before are kept")
	_, problems := l.Load(fstest.MapFS{}, shows.Options{})
	require.NotEmpty(t, problems)
	again, _ := l.Load(files, shows.Options{})
	before, _ := l.Load(files, shows.Options{})
	assert.Same(t, again.Program.Patch.Mixer(0), before.Program.Patch.Mixer(0))
}

// A file is parsed once as long as its name and bytes are the same, and is forgotten when
// a load does not use it.
func TestFilesAreParsedOnce(t *testing.T) {
	const song = "song: A\n"
	var l shows.Loader
	parse := func(name, src string) *language.File {
		f, _ := l.Parse(name, []byte(src))
		return f
	}
	first := parse("songs/a.yaml", song)
	l.Compile([]*language.File{first}, shows.Options{})
	assert.Same(t, first, parse("songs/a.yaml", song))
	l.Compile([]*language.File{first}, shows.Options{})
	assert.NotSame(t, first, parse("songs/a.yaml", song+"tempo: 90 bpm\n"), "other bytes")
	assert.NotSame(t, parse("songs/b.yaml", song), parse("songs/a.yaml", song), "another name")
	last := parse("songs/a.yaml", song)
	l.Compile(nil, shows.Options{})
	l.Compile(nil, shows.Options{})
	assert.NotSame(t, last, parse("songs/a.yaml", song), "two loads did not use it")

	_, problems := l.Parse("songs/c.yaml", []byte("song: [\n"))
	require.NotEmpty(t, problems)
	want := fmt.Sprint(problems)
	problems[0].What = "spoiled by who got it"
	_, problems = l.Parse("songs/c.yaml", []byte("song: [\n"))
	assert.Equal(t, want, fmt.Sprint(problems))
	_, problems = l.Parse("songs/c.txt", []byte(song))
	_, wantProblems := language.Parse("songs/c.txt", []byte(song))
	assert.Equal(t, wantProblems, problems)
}
