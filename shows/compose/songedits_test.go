package compose_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	goyaml "github.com/goccy/go-yaml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/compose"
	"tactus/shows/position"
	"tactus/shows/showtest"
	"tactus/shows/songtext"
)

// song names the demo's song that an edit is for.
func song(do, rest string) string {
	return `{"do": "` + do + `", "song": "songs/lanterns.yaml", ` + rest + `}`
}

// Edits of songs change their lines and no others, and positions follow.
func TestSongEditsChangeTheirLinesOnly(t *testing.T) {
	for _, c := range []struct {
		json string
		want []string
	}{
		{song("set bars", `"section": 0, "bars": 6`), []string{
			"-  - intro: {bars: 4, energy: 1, look: embers, set: {house lights: {intensity: 10 %}}}",
			"+  - intro: {bars: 6, energy: 1, look: embers, set: {house lights: {intensity: 10 %}}}",
		}},
		{song("move boundary", `"section": 3, "bars": 10`), []string{
			"-  - chorus: {bars: 8, energy: 6, look: singalong, fade: 1 bar}",
			"-  - bridge: {bars: 4, energy: 3, look: tide, effects: gather in}",
			"+  - chorus: {bars: 10, energy: 6, look: singalong, fade: 1 bar}",
			"+  - bridge: {bars: 2, energy: 3, look: tide, effects: gather in}",
		}},
		{song("move boundary", `"section": 2, "bars": 2`), []string{ // the chorus begins two bars earlier, and its cue stays in the music
			"-  - pre-chorus: {bars: 4, energy: 4, look: tide}",
			"-  - chorus: {bars: 8, energy: 6, look: singalong, fade: 1 bar}",
			"+  - pre-chorus: {bars: 2, energy: 4, look: tide}",
			"+  - chorus: {bars: 10, energy: 6, look: singalong, fade: 1 bar}",
			"-  - at: chorus 1, bar 5",
			"+  - at: chorus 1, bar 7",
		}},
		{song("rename section", `"section": 4, "name": "breakdown"`), []string{
			"-  - bridge: {bars: 4, energy: 3, look: tide, effects: gather in}",
			"+  - breakdown: {bars: 4, energy: 3, look: tide, effects: gather in}",
			"-  - at: bridge - 1 beat",
			"+  - at: breakdown - 1 beat",
		}},
		{song("rename section", `"section": 5, "name": "tag"`), []string{ // one chorus is left, and has no number
			"-  - chorus: {bars: 8, energy: 7, look: singalong}",
			"+  - tag: {bars: 8, energy: 7, look: singalong}",
			"-  - at: chorus 1, bar 5",
			"+  - at: chorus, bar 5",
			"-  - at: chorus 2, bar 5 beat 1",
			"+  - at: tag, bar 5 beat 1",
		}},
		{song("add section", `"section": 3, "name": "chorus", "bars": 4, "energy": 5`), []string{
			"+  - chorus: {bars: 4, energy: 5}",
			"-  - at: chorus 1, bar 5",
			"+  - at: chorus 2, bar 5",
			"-  - at: chorus 2, bar 5 beat 1",
			"+  - at: chorus 3, bar 5 beat 1",
		}},
		{song("remove section", `"section": 3, "cues": "remove"`), []string{
			"-  - chorus: {bars: 8, energy: 6, look: singalong, fade: 1 bar}",
			"-  - at: chorus 1, bar 5",
			"-    effects: [colour swing, warmers turn]",
			"-    fade: 2 beats",
			"-  - at: chorus 2, bar 5 beat 1",
			"+  - at: chorus, bar 5 beat 1",
		}},
		{song("split section", `"section": 5, "bars": 3`), []string{
			"-  - chorus: {bars: 8, energy: 7, look: singalong}",
			"+  - chorus: {bars: 3, energy: 7, look: singalong}",
			"+  - chorus: {bars: 5, energy: 7}",
			"-  - at: chorus 2, bar 5 beat 1",
			"+  - at: chorus 3, bar 2 beat 1",
		}},
		{song("join sections", `"section": 2`), []string{
			"-  - pre-chorus: {bars: 4, energy: 4, look: tide}",
			"-  - chorus: {bars: 8, energy: 6, look: singalong, fade: 1 bar}",
			"+  - pre-chorus: {bars: 12, energy: 4, look: tide}",
			`+  - {at: "pre-chorus, bar 5", look: singalong, fade: 1 bar}`,
			"-  - at: chorus 1, bar 5",
			"+  - at: pre-chorus, bar 9",
			"-  - at: chorus 2, bar 5 beat 1",
			"+  - at: chorus, bar 5 beat 1",
		}},
		{song("move section", `"section": 4, "to": 1`), []string{
			"+  - bridge: {bars: 4, energy: 3, look: tide, effects: gather in}",
			"-  - bridge: {bars: 4, energy: 3, look: tide, effects: gather in}",
		}},
		{song("set section", `"section": 2, "key": "effects", "to": ["sway"]`), []string{
			"-  - pre-chorus: {bars: 4, energy: 4, look: tide}",
			"+  - pre-chorus: {bars: 4, energy: 4, look: tide, effects: [sway]}",
		}},
		{song("set section", `"section": 6, "key": "look", "to": null`), []string{ // its fade goes too
			"-  - outro: {bars: 3, energy: 1, look: embers, fade: 1 bar}",
			"+  - outro: {bars: 3, energy: 1}",
		}},
		{song("set section level", `"section": 2, "on": "fronts", "level": "intensity", "to": "40 %"`), []string{
			"-  - pre-chorus: {bars: 4, energy: 4, look: tide}",
			"+  - pre-chorus: {bars: 4, energy: 4, look: tide, set: {fronts: {intensity: 40 %}}}",
		}},
		{song("set section level", `"section": 0, "on": "house lights", "level": "intensity", "to": null`), []string{
			"-  - intro: {bars: 4, energy: 1, look: embers, set: {house lights: {intensity: 10 %}}}",
			"+  - intro: {bars: 4, energy: 1, look: embers}",
		}},
		{song("place cue", `"at": "verse, bar 5", "look": "tide", "fade": "1 beat"`), []string{
			`+  - {at: "verse, bar 5", look: tide, fade: 1 beat}`,
		}},
		{song("move cue", `"cue": 1, "at": "bridge - 2 beats"`), []string{
			"-  - at: bridge - 1 beat", "+  - at: bridge - 2 beats",
		}},
		{song("remove cue", `"cue": 0`), []string{
			"-  - at: chorus 1, bar 5", "-    effects: [colour swing, warmers turn]", "-    fade: 2 beats",
		}},
		{song("set cue", `"cue": 1, "key": "fade", "to": "1 beat"`), []string{"-    fade: 1/2 beat", "+    fade: 1 beat"}},
		{song("set colour", `"role": "main", "to": "#112233"`), []string{
			`-palette: {main: "#2a4fa8", second: "#6a4fb0", accent: "#ff9a3c", warm: "#ffcf9a"}`,
			`+palette: {main: "#112233", second: "#6a4fb0", accent: "#ff9a3c", warm: "#ffcf9a"}`,
		}},
		{song("set song", `"key": "tempo", "to": "74 bpm"`), []string{"-tempo: 72 bpm", "+tempo: 74 bpm"}},
	} {
		t.Run(c.json, func(t *testing.T) {
			_, s := open(t)
			before := s.Sources()
			state, err := apply(t, s, c.json)
			require.NoError(t, err)
			want := make([]string, len(c.want))
			for i, line := range c.want {
				want[i] = "songs/lanterns.yaml " + line
			}
			have := changedLines(before, s.Sources())
			assert.ElementsMatch(t, want, have, "%s", strings.Join(have, "\n"))
			_, err = s.Undo(state.Revision)
			require.NoError(t, err)
			assert.Equal(t, before, s.Sources())
		})
	}
}

// A new song is one that loads; it can be put into the set and taken out again.
func TestNewSong(t *testing.T) {
	folder, s := open(t)
	_, err := apply(t, s, `[{"do": "add song", "song": "songs/new tune.yaml", "name": "Low: Water", "tempo": "96 bpm", "meter": "3/4", "bars": 24},
		{"do": "set order", "set": "sets/november.yaml", "songs": ["lanterns", "new tune", "saturday", "breakwater"]}]`)
	require.NoError(t, err)
	_, err = apply(t, s, `{"do": "rename song", "song": "songs/new tune.yaml", "to": "Low Water"}`)
	require.NoError(t, err)
	_, err = apply(t, s, `{"do": "remove song", "song": "songs/new tune.yaml"}`)
	require.ErrorContains(t, err, "the set has the song")
	_, err = s.Save(s.State().Revision)
	require.NoError(t, err)
	assert.Equal(t, "# yaml-language-server: $schema=../schema/song.schema.json\n\nsong: \"Low Water\"\ntempo: 96 bpm\nmeter: 3/4\n\nsections:\n  - verse: {bars: 24, energy: 5}\n", folder.Read("songs/new tune.yaml"))
	_, err = apply(t, s, `{"do": "add song", "song": "songs/other.yaml", "name": "Low Water", "tempo": "96 bpm", "meter": "3/4", "bars": 24}`)
	require.ErrorContains(t, err, `there is a song "Low Water" already`)
}

// A new song has the sections that are asked for in short words, with energies by their
// names.
func TestNewSongInShortWords(t *testing.T) {
	_, s := open(t)
	_, err := apply(t, s, `{"do": "add song", "song": "songs/tide.yaml", "name": "Tide", "tempo": "120 bpm", "meter": "6/8", "sections": " intro 4, Verse 8 bars; pre-chorus 1 bar,\nchorus 8, verse 2 8,  chorus 16,, on 2"}`)
	require.NoError(t, err)
	assert.Contains(t, string(s.Sources()["songs/tide.yaml"]), `
sections:
  - intro: {bars: 4, energy: 3}
  - Verse: {bars: 8, energy: 4}
  - pre-chorus: {bars: 1, energy: 6}
  - chorus: {bars: 8, energy: 7}
  - verse 2: {bars: 8, energy: 5}
  - chorus: {bars: 16, energy: 9}
  - "on": {bars: 2, energy: 5}
`)
	for sections, want := range map[string]string{
		"verse":                          `of the section "verse" the name or the number of bars is missing; a name and a number of bars for each`,
		"8":                              `of the section "8" the name`,
		"verse 8 chorus":                 `"verse 8 chorus" the name`,
		"verse 8, chorus 0":              `the section "chorus" cannot have 0 bars; 1 to 999`,
		"verse 1000":                     `1 to 999`,
		"<b> 4":                          "a section's name such as",
		" , ,":                           "the song would have no section",
		strings.Repeat("verse 8, ", 129): "129",
	} {
		_, err := apply(t, s, fmt.Sprintf(`{"do": "add song", "song": "songs/ebb.yaml", "name": "Ebb", "tempo": "120 bpm", "meter": "4/4", "sections": %q}`, sections))
		require.ErrorContains(t, err, want, sections)
	}
	_, err = apply(t, s, `{"do": "add song", "song": "songs/ebb.yaml", "name": "Ebb", "tempo": "120 bpm", "meter": "4/4", "bars": 8, "sections": "verse 8"}`)
	require.ErrorContains(t, err, "one of the two")
}

// A song is copied with all that it has but its name and its program, and one that was
// read from a file comes in with its text as it is.
func TestCopiedAndImportedSongs(t *testing.T) {
	_, s := open(t)
	_, err := apply(t, s, song("set song", `"key": "program", "to": 9`))
	require.NoError(t, err)
	before := string(s.Sources()["songs/lanterns.yaml"])
	_, err = apply(t, s, song("copy song", `"to": "songs/lanterns slow.yaml", "name": "Lanterns, slow"`))
	require.NoError(t, err)
	copied := string(s.Sources()["songs/lanterns slow.yaml"])
	assert.Equal(t, strings.NewReplacer("song: Lanterns on the Pier", `song: "Lanterns, slow"`, "\nprogram: 9", "").Replace(before), copied)
	require.Contains(t, before, "\nprogram: 9")
	_, err = apply(t, s, song("copy song", `"to": "songs/third.yaml", "name": "Saturday on the Slipway"`))
	require.ErrorContains(t, err, `there is a song "Saturday on the Slipway" already`)
	_, err = apply(t, s, song("copy song", `"to": "songs/saturday.yaml", "name": "Third"`))
	require.ErrorContains(t, err, "the file exists already")

	text := "song: Ebb\ntempo: 90 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 8, energy: 4} # a guess\n"
	_, err = apply(t, s, fmt.Sprintf(`{"do": "import song", "song": "songs/ebb.yaml", "text": %q}`, text))
	require.NoError(t, err)
	assert.Equal(t, text, string(s.Sources()["songs/ebb.yaml"]))
	for json, want := range map[string]string{
		`{"do": "import song", "song": "songs/ebb.yaml", "text": "song: Ebb"}`:            "the file exists already",
		`{"do": "import song", "song": "looks.yaml", "text": "song: Ebb"}`:                "no song can have this file name",
		`{"do": "import song", "song": "songs/../flood.yaml", "text": "song: Ebb"}`:       "no song can have this file name",
		`{"do": "import song", "song": "songs/flood.yaml", "text": "song: [Flood"}`:       "songs/flood.yaml",
		`{"do": "import song", "song": "songs/flood.yaml", "text": "song: Flood"}`:        `"tempo"`,
		fmt.Sprintf(`{"do": "import song", "song": "songs/ebb2.yaml", "text": %q}`, text): "Ebb",
	} {
		_, err := apply(t, s, json)
		require.ErrorContains(t, err, want, json)
	}
}

func TestSongEditsRefused(t *testing.T) {
	for json, want := range map[string]string{
		song("set bars", `"section": 9, "bars": 3`):                                    "there is no section 10; the song has 7 sections",
		song("set bars", `"section": 0, "bars": 0`):                                    "bars",
		song("set bars", `"section": 3, "bars": 4`):                                    "chorus 1 has no bar 5; it has 4",
		song("move boundary", `"section": 0, "bars": 12`):                              "1 to 11: it shares 12 bars with the next section",
		song("remove section", `"section": 4`):                                         `"bridge - 1 beat" stands in the section that would go`,
		song("remove section", `"section": 4, "cues": "keep"`):                         `cues cannot be "keep"`,
		song("split section", `"section": 0, "bars": 4`):                               "the section cannot be split after 4 bars; it has 4",
		song("join sections", `"section": 6`):                                          "there is no section 8",
		song("move section", `"section": 0, "to": 7`):                                  "there is no section 8",
		song("add section", `"section": 8, "name": "tag", "bars": 4, "energy": 5`):     "a new section cannot be number 9; 1 to 8",
		song("add section", `"section": 0, "name": "<b>\"x", "bars": 4, "energy": 5`):  "a section's name such as",
		song("add section", `"section": 0, "name": "tag", "bars": 4, "energy": 11`):    "energy",
		song("add section", `"section": 0, "name": "tag", "bars": 10000, "energy": 1`): "bars",
		song("rename section", `"section": 0, "name": ""`):                             "a section's name such as",
		song("place cue", `"at": "chrous 1", "look": "tide"`):                          `no section "chrous 1" (did you mean "chorus 1"?)`,
		song("place cue", `"at": "verse, bar 2"`):                                      "want",
		song("set cue", `"cue": 9, "key": "look", "to": "tide"`):                       "there is no cue 10; the song has 4",
		song("set cue", `"cue": 0, "key": "at", "to": null`):                           `use "remove cue"`,
		song("set section", `"section": 0, "key": "bars", "to": 3`):                    `"set bars" or "set energy"`,
		song("set section", `"section": 0, "key": "look", "to": "embrs"`):              `no look "embrs" (did you mean "embers"?)`,
		song("set colour", `"role": "main", "to": "mud"`):                              "colour",
		song("set song", `"key": "song", "to": "x"`):                                   `no key "song"`,
		`{"do": "set bars", "song": "looks.yaml", "section": 0, "bars": 2}`:            "no song file",
	} {
		_, s := open(t)
		before := s.View()
		_, err := apply(t, s, json)
		var refused *compose.Refused
		require.ErrorAs(t, err, &refused, json)
		require.ErrorContains(t, err, want, json)
		require.Same(t, before, s.View())
	}
}

// harbourSong is a song whose sections differ in energy, so that each can be found again.
func harbourSong(t *rapid.T) string {
	var b strings.Builder
	b.WriteString("# top\nsong: Gates\ntempo: 120 bpm\nmeter: 4/4\nsections:\n")
	names := rapid.SampledFrom([]string{"verse", "chorus", "bridge"})
	list, bars := []string{}, []int{}
	for i := range rapid.IntRange(1, 6).Draw(t, "sections") {
		list, bars = append(list, names.Draw(t, "name")), append(bars, rapid.IntRange(1, 9).Draw(t, "bars"))
		switch rapid.IntRange(0, 2).Draw(t, "form") {
		case 0:
			fmt.Fprintf(&b, "  # of %d\n  - %s: {bars: %d, energy: %d, look: low}  # e%d\n", i, list[i], bars[i], i, i)
		case 1:
			fmt.Fprintf(&b, "  - %s:\n      energy: %d\n      bars: %d # b%d\n\n", list[i], i, bars[i], i)
		default:
			fmt.Fprintf(&b, "  - '%s': {energy: %d, bars: %d}\n", list[i], i, bars[i])
		}
	}
	song := engine.Song{Meter: engine.Meter{Upper: 4, Lower: 4}}
	for i, n := range numbered(list) {
		song.Sections = append(song.Sections, engine.Section{Name: n, Start: song.Length(), Length: clock.Beat(bars[i]) * song.Meter.Bar()})
	}
	taken := map[clock.Beat]bool{}
	for i := range rapid.IntRange(0, 5).Draw(t, "cues") {
		s := rapid.SampledFrom(song.Sections).Draw(t, "in")
		at := rapid.SampledFrom([]string{"%s, bar 1 beat 3", "%s, bar %d", "%s, bar %d beat 2", "%s end - 1 beat", "%s + 1 beat", "%s, bar %d - 1 beat"}).Draw(t, "at")
		at = strings.ReplaceAll(at, "%d", fmt.Sprint(rapid.Int64Range(1, int64(s.Length/song.Meter.Bar())).Draw(t, "bar")))
		at = strings.ReplaceAll(at, "%s", s.Name)
		beat, fault := position.Find(&song, at)
		if fault != nil || taken[beat] || slices.ContainsFunc(song.Sections, func(s engine.Section) bool { return s.Start == beat }) {
			continue
		}
		if len(taken) == 0 {
			b.WriteString("cues:\n")
		}
		taken[beat] = true
		if rapid.Bool().Draw(t, "drafted") {
			b.WriteString("  " + songtext.Sealed(fmt.Sprintf("- {at: %q, look: mid}", at)+songtext.Mark+"energy 3", "") + "\n")
		} else {
			fmt.Fprintf(&b, "  - {at: %q, look: mid}  # c%d\n", at, i)
		}
	}
	return b.String()
}

// numbered numbers names that come more than once.
func numbered(list []string) (names []string) {
	nth := map[string]int{}
	for _, name := range list {
		if strings.Count(" "+strings.Join(list, "  ")+" ", " "+name+" ") > 1 {
			nth[name]++
			name = fmt.Sprintf("%s %d", name, nth[name])
		}
		names = append(names, name)
	}
	return names
}

// cueBeats lists the cues under "cues" as an independent reader finds them: energy of the
// section that each names, how far from its start or end it is, and where in the song.
func cueBeats(t require.TestingT, s *compose.Session) (owners []string, beats []clock.Beat) {
	song := &s.Show().Program.Songs[0]
	for _, text := range cueTexts(t, string(s.Sources()["songs/new.yaml"])) {
		at, fault := position.FindForCue(song, text)
		require.Nil(t, fault, text)
		i, end, fault := position.FindSection(song, regexp.MustCompile(`(, bar .*| [-+] .*)$`).ReplaceAllString(text, ""))
		require.Nil(t, fault, text)
		from := song.Sections[i].Start
		if end {
			from += song.Sections[i].Length
		}
		owners, beats = append(owners, fmt.Sprintf("energy %d, %t, %d", song.Sections[i].Energy, end, at-from)), append(beats, at)
	}
	return owners, beats
}

// cueTexts lists the places of the cues as they are written.
func cueTexts(t require.TestingT, src string) (list []string) {
	var file struct {
		Cues []struct{ At string }
	}
	require.NoError(t, goyaml.Unmarshal([]byte(src), &file))
	for _, c := range file.Cues {
		list = append(list, c.At)
	}
	return list
}

// Whatever becomes of the sections, each cue stays with its music: where only the division
// of the song changes, at its beat, unless it is counted from a boundary that moves; else in
// its section. Drafted lines stay drafted.
func TestCuesStayWithTheirMusic(t *testing.T) {
	made := map[string]int{}
	rapid.Check(t, func(rt *rapid.T) {
		s, err := compose.Open("", compose.Options{Files: showtest.Yard(harbourSong(rt))})
		require.NoError(rt, err)
		require.NotNil(rt, s.Show(), "%v\n%s", s.State().Faults, s.Sources()["songs/new.yaml"])
		for range 6 {
			owners, beats := cueBeats(rt, s)
			n := len(s.Show().Program.Songs[0].Sections)
			i := rapid.IntRange(0, n-1).Draw(rt, "section")
			do := rapid.SampledFrom([]string{"rename section", "add section", "remove section", "split section", "join sections", "move section", "move boundary"}).Draw(rt, "do")
			more := map[string]string{
				"rename section": `"name": "` + rapid.SampledFrom([]string{"verse", "tag"}).Draw(rt, "name") + `"`,
				"add section":    `"name": "verse", "bars": 3, "energy": 9`,
				"remove section": `"cues": "remove"`,
				"split section":  fmt.Sprintf(`"bars": %d`, rapid.IntRange(1, 8).Draw(rt, "bars")),
				"move section":   fmt.Sprintf(`"to": %d`, rapid.IntRange(0, n-1).Draw(rt, "to")),
				"move boundary":  fmt.Sprintf(`"bars": %d`, rapid.IntRange(1, 12).Draw(rt, "bars")),
			}[do]
			json := fmt.Sprintf(`{"do": %q, "song": "songs/new.yaml", "section": %d%s}`, do, i, strings.TrimSuffix(", "+more, ", "))
			before := s.Sources()["songs/new.yaml"]
			edits, err := compose.Decode([]byte(json))
			require.NoError(rt, err, json)
			drafted := len(untouched(string(before)))
			if _, err := s.Apply(s.State().Revision, edits); err != nil {
				var refused *compose.Refused
				require.ErrorAs(rt, err, &refused, json)
				continue
			}
			made[do]++
			nowOwners, nowBeats := cueBeats(rt, s)
			say := fmt.Sprintf("%s\n%s\n%s", json, before, s.Sources()["songs/new.yaml"])
			switch do {
			case "split section":
				require.Equal(rt, beats, nowBeats, say)
			case "move boundary":
				for k, text := range cueTexts(rt, string(before)) {
					if strings.Contains(text, ", bar") {
						require.Equal(rt, beats[k], nowBeats[k], say)
					} else {
						require.Equal(rt, owners[k], nowOwners[k], say)
					}
				}
			case "join sections":
				require.Subset(rt, nowBeats, beats, say)
			case "remove section":
				require.Subset(rt, owners, nowOwners, say)
			case "rename section", "add section", "move section":
				require.Equal(rt, owners, nowOwners, say)
			}
			if do != "remove section" {
				require.Len(rt, untouched(string(s.Sources()["songs/new.yaml"])), drafted, say)
			}
		}
	})
	for _, do := range []string{"rename section", "add section", "remove section", "split section", "join sections", "move section", "move boundary"} {
		assert.Greater(t, made[do], 5, do)
	}
	t.Log(made)
}

// untouched lists the drafted lines that nobody has changed.
func untouched(src string) (list []string) {
	for line := range strings.Lines(src) {
		if line = strings.TrimSpace(line); songtext.Untouched(line, "") {
			list = append(list, line)
		}
	}
	return list
}
