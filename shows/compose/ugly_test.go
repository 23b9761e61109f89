package compose_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
	"tactus/shows/showtest"
)

// uglyLooks is a file as nobody should write it: tabs in comments, quotes of both kinds,
// keys in an odd order, values over several lines, "#" in texts.
const uglyLooks = "# looks\t\t# of the yard\n" +
	"effects:\n" +
	"   'slow': {on: [lamps,   \"front\"], wave: sine,   # calm\n" +
	"      moves: intensity, period: 4 bars }\n" +
	"   tint: {on: lamps, wave: sine, moves: colour, from: main, to: second, period: 2 bars}\n" +
	"   quick:\n" +
	"     wave: \"decay\"\n" +
	"     # on the lamps\n" +
	"     on:\n" +
	"     - lamps   #\tall\n" +
	"\n" +
	"     - front\n" +
	"     period: '1 beat'\n" +
	"     moves: intensity\n" +
	"\n" +
	"\n" +
	"ladder: {rungs: [{energy: 1, look: low}, {look: 'mid', energy: 5},\n" +
	"  # the top\n" +
	"  {energy: 8, look: \"high\"} ]}\n" +
	"looks:\n" +
	"      # before all\n" +
	"      \"off\": {set: {lamps: {intensity: 2 %}}}\n" +
	"      low:    # calm\n" +
	"            effects:   'slow'\n" +
	"            set:\n" +
	"              lamps: {colour: main,\n" +
	"                      intensity: 30 %}   # not more\n" +
	"            fade: 1 bar\n" +
	"      mid: {set: {lamps: {colour: '#ff8040', intensity: 60 %}}, effects: [slow, tint]}\n" +
	"      high: {set: {lamps: {colour: warm, intensity: 100 %}}, effects: quick}\n" +
	"palette: {main: \"#2f6fd0\", second: \"#1fa39a\", accent: \"#ffb040\", warm: \"#ffd9a8\"}"

// uglyYard returns a folder with the file above, with line ends of a kind.
func uglyYard(t *testing.T, lineEnd string) showtest.Folder {
	f := yard(t)
	f.Write("looks.yaml", strings.ReplaceAll(uglyLooks, "\n", lineEnd))
	return f
}

func TestUglyFilesKeepTheirLines(t *testing.T) {
	for _, lineEnd := range []string{"\n", "\r\n"} {
		for _, c := range []struct {
			json string
			want []string
		}{
			{`{"do": "set effect", "effect": "slow", "key": "period", "to": "2 bars"}`, []string{
				"-      moves: intensity, period: 4 bars }", "+      moves: intensity, period: 2 bars }",
			}},
			{`{"do": "set effect", "effect": "slow", "key": "depth", "to": "40 %"}`, []string{
				"-      moves: intensity, period: 4 bars }", "+      moves: intensity, period: 4 bars, depth: 40 % }",
			}},
			{`{"do": "set effect", "effect": "quick", "key": "period", "to": "2 beats"}`, []string{
				"-     period: '1 beat'", "+     period: '2 beats'",
			}},
			{`{"do": "set effect", "effect": "quick", "key": "wave", "to": "sine"}`, []string{
				`-     wave: "decay"`, `+     wave: "sine"`,
			}},
			{`{"do": "set effect", "effect": "quick", "key": "depth", "to": "40 %"}`, []string{"+     depth: 40 %"}},
			{`{"do": "rename effect", "effect": "slow", "to": "calm"}`, []string{
				`-   'slow': {on: [lamps,   "front"], wave: sine,   # calm`, `+   'calm': {on: [lamps,   "front"], wave: sine,   # calm`,
				"-            effects:   'slow'", "+            effects:   'calm'",
				"-      mid: {set: {lamps: {colour: '#ff8040', intensity: 60 %}}, effects: [slow, tint]}",
				"+      mid: {set: {lamps: {colour: '#ff8040', intensity: 60 %}}, effects: [calm, tint]}",
			}},
			{`{"do": "rename look", "look": "high", "to": "noon"}`, []string{
				`-  {energy: 8, look: "high"} ]}`, `+  {energy: 8, look: "noon"} ]}`,
				"-      high: {set: {lamps: {colour: warm, intensity: 100 %}}, effects: quick}", "+      noon: {set: {lamps: {colour: warm, intensity: 100 %}}, effects: quick}",
			}},
			{`{"do": "set look level", "look": "low", "on": "lamps", "level": "intensity", "to": "35 %"}`, []string{
				"-                      intensity: 30 %}   # not more", "+                      intensity: 35 %}   # not more",
			}},
			{`{"do": "set look level", "look": "low", "on": "front", "level": "intensity", "to": "35 %"}`, []string{
				"+              front: {intensity: 35 %}",
			}},
			{`{"do": "set look fade", "look": "low", "to": null}`, []string{"-            fade: 1 bar"}},
			{`{"do": "set look colour", "look": "mid", "on": "lamps", "to": "warm"}`, []string{
				"-      mid: {set: {lamps: {colour: '#ff8040', intensity: 60 %}}, effects: [slow, tint]}",
				"+      mid: {set: {lamps: {colour: 'warm', intensity: 60 %}}, effects: [slow, tint]}",
			}},
			{`{"do": "set house colour", "role": "warm", "to": "3200 K"}`, []string{
				`-palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}`,
				`+palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "3200 K"}`,
			}},
			{`{"do": "add look", "look": "dawn", "set": {"lamps": {"intensity": "9 %"}}, "after": "off"}`, []string{
				"+      dawn: {set: {lamps: {intensity: 9 %}}}",
			}},
			{`{"do": "add look", "look": "dawn", "fade": "2 bars", "set": {"lamps": {"intensity": "9 %"}}, "after": "low"}`, []string{
				"+      dawn:", "+        fade: 2 bars", "+        set:", "+          lamps: {intensity: 9 %}",
			}},
		} {
			f := uglyYard(t, lineEnd)
			s, err := compose.Open(f.Dir, compose.Options{})
			require.NoError(t, err)
			require.NotNil(t, s.Show(), s.State().Faults)
			before := s.Sources()
			state, err := apply(t, s, c.json)
			require.NoError(t, err, c.json)
			var want []string
			for _, line := range c.want {
				want = append(want, "looks.yaml "+line+strings.TrimSuffix(lineEnd, "\n"))
			}
			if last := len(want) - 1; strings.Contains(c.json, "house colour") { // the last line has no end
				want[last], want[last-1] = strings.TrimSuffix(want[last], "\r"), strings.TrimSuffix(want[last-1], "\r")
			}
			have := slices.DeleteFunc(changedLines(before, s.Sources()), func(line string) bool { return strings.HasPrefix(line, "songs/") })
			assert.ElementsMatch(t, want, have, c.json)
			_, err = s.Undo(state.Revision)
			require.NoError(t, err)
			assert.Equal(t, before, s.Sources())
		}
	}
}

// Where an edit cannot keep all that is around it, it is refused.
func TestUglyFilesRefuseWhatWouldLoseComments(t *testing.T) {
	f := uglyYard(t, "\n")
	s, err := compose.Open(f.Dir, compose.Options{})
	require.NoError(t, err)
	_, err = apply(t, s, `{"do": "set effect", "effect": "quick", "key": "on", "to": "lamps"}`)
	assert.ErrorContains(t, err, `looks.yaml:10:1: the comment "#\tall" stands in the middle of what would change; move the comment`)
	for text, want := range map[string]string{
		"#\u2028\n":    "the file has line ends that YAML counts and editors do not show",
		"x: &here 1\n": "looks.yaml:1:1: an anchor or an alias cannot be edited here",
		"x: [\n":       "looks.yaml",
	} {
		f.Write("looks.yaml", text+uglyLooks)
		s, err := compose.Open(f.Dir, compose.Options{})
		require.NoError(t, err)
		_, err = apply(t, s, `{"do": "set house colour", "role": "warm", "to": "3200 K"}`)
		var refused *compose.Refused
		if assert.ErrorAs(t, err, &refused) {
			assert.ErrorContains(t, err, want)
		}
	}
	// A byte order mark stays, and so does a text over several lines.
	for _, text := range []string{"\ufeff", "x: |\n  text # no comment\n"} {
		f.Write("looks.yaml", text+uglyLooks)
		s, err := compose.Open(f.Dir, compose.Options{})
		require.NoError(t, err)
		_, err = apply(t, s, `{"do": "set house colour", "role": "warm", "to": "3200 K"}`)
		require.NoError(t, err)
		assert.Equal(t, text+strings.Replace(uglyLooks, `"#ffd9a8"`, `"3200 K"`, 1), string(s.Sources()["looks.yaml"]))
	}
}

// A name is followed through every kind of file, in drafted lines too, which stay drafted.
func TestRenamesFollowThroughAllFiles(t *testing.T) {
	folder, s := open(t)
	for _, json := range []string{
		`{"do": "rename look", "look": "embers", "to": "glow"}`,
		`{"do": "rename effect", "effect": "slow breathe", "to": "breathe"}`,
		`{"do": "rename group", "group": "washes", "to": "wash lights"}`,
		`{"do": "rename fixture", "fixture": "wash 1-4", "to": "spot 1-4"}`,
		`{"do": "rename fixture", "fixture": "hazer", "to": "fog"}`,
		`{"do": "rename look", "look": "walk-in", "to": "doors"}`,
	} {
		before := showtest.Load(t, inMemory(s.Sources()))
		_, err := apply(t, s, json)
		require.NoError(t, err, json)
		after := s.Show()
		// But for names, the program is the same.
		require.Len(t, after.Program.Songs, len(before.Program.Songs))
		for i := range after.Program.Songs {
			require.Equal(t, len(before.Program.Songs[i].Cues), len(after.Program.Songs[i].Cues), json)
			for k := range after.Program.Songs[i].Cues {
				require.Equal(t, before.Program.Songs[i].Cues[k].Parts, after.Program.Songs[i].Cues[k].Parts, json)
				require.Equal(t, before.Program.Songs[i].Cues[k].Effects, after.Program.Songs[i].Cues[k].Effects, json)
			}
		}
	}
	all := ""
	for _, src := range s.Sources() {
		all += string(src)
	}
	for _, gone := range []string{"look: embers", "effects: slow breathe", "[slow breathe", "on: washes", "washes: {", "wash 1-4:", "hazer: {profile", "hazer: {haze", "walk-in: walk-in"} {
		assert.NotContains(t, all, gone)
	}
	state := s.State()
	for state.Undo != "" {
		var err error
		state, err = s.Undo(state.Revision)
		require.NoError(t, err)
	}
	assert.Equal(t, folder.Read("rig.yaml"), string(s.Sources()["rig.yaml"]))
	_, err := s.Save(state.Revision)
	require.NoError(t, err)
}

// A target that has a part of what is renamed cannot be a range any more.
func TestRenameOfPartOfARangeIsRefused(t *testing.T) {
	folder, _ := open(t)
	folder.Edit("rig.yaml", "washes: [front truss, back truss]", "washes: wash 1-8")
	s, err := compose.Open(folder.Dir, compose.Options{})
	require.NoError(t, err)
	_, err = apply(t, s, `{"do": "rename fixture", "fixture": "wash 1-4", "to": "spot 1-4"}`)
	assert.ErrorContains(t, err, `the range "wash 1-8" would no longer be one: spot 1-4, wash 5-8`)
	state, err := apply(t, s, `{"do": "rename fixture", "fixture": "wash 1-4", "to": "wash 11-14"}`)
	assert.ErrorContains(t, err, `the range "wash 1-8" would no longer be one: wash 11-14, wash 5-8`)
	assert.Empty(t, state.Unsaved)
}

// Single fixtures are where those of the range were.
func TestSplitFixture(t *testing.T) {
	_, s := open(t)
	before := s.Show()
	_, err := apply(t, s, `{"do": "split fixture", "fixture": "wash 1-4"}`)
	require.NoError(t, err)
	assert.Equal(t, before.Program.Heads, s.Show().Program.Heads)
	old, now := before.Program.Patch.Placements(), s.Show().Program.Patch.Placements()
	for i := range old {
		assert.Equal(t, []any{old[i].Name, old[i].Universe, old[i].Address}, []any{now[i].Name, now[i].Universe, now[i].Address})
	}
	_, err = apply(t, s, `{"do": "set place", "fixture": "wash 2", "at": [0, 1, 4]}`)
	require.NoError(t, err)
	_, err = apply(t, s, `{"do": "split fixture", "fixture": "hazer"}`)
	assert.ErrorContains(t, err, `"hazer" is a single fixture`)
}

// A song with far too many sections is told as such, and can be put right.
func TestTenThousandSections(t *testing.T) {
	folder, _ := open(t)
	var song strings.Builder
	song.WriteString("song: Long\ntempo: 100 bpm\nmeter: 4/4\nsections:\n")
	for i := range 10_000 {
		fmt.Fprintf(&song, "  - part%d: {bars: 4, energy: %d, look: tide}\n", i, i%11)
	}
	folder.Write("songs/long.yaml", song.String())
	s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly})
	require.NoError(t, err)
	require.NotEmpty(t, s.State().Faults)
	state, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err, "an edit of another song")
	assert.Contains(t, state.Faults.Error(), "songs/long.yaml:5:3: sections: 10000 items; want 1 to 128")
	require.NoError(t, os.Remove(folder.Dir+"/songs/long.yaml"))
	state, err = s.Reread()
	require.NoError(t, err)
	assert.Empty(t, state.Faults)
	assert.Equal(t, []string{lanterns}, state.Unsaved)
}
