package language

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// song is a file without a fault, but for the lines that a case puts in their places.
func song(tempo, section string) string {
	return "song: Pier\ntempo: " + tempo + "\nmeter: 4/4\nsections:\n" + section + "\n"
}

const (
	rigHead = "venue: Hall\nuniverses:\n  stage: {sacn: 1, to: [10.0.0.7]}\n  trusses: {art-net: 17, to: [10.0.0.8]}\n"
	verse   = "  - verse: {bars: 8, energy: 4}"
)

// Slips that people make, each with its place, the value and what is right.
func TestSlips(t *testing.T) {
	rig := func(fixture string) string { return rigHead + "fixtures:\n  front: " + fixture + "\n" }
	looks := func(main, intensity string) string {
		return "palette: {main: " + main + ", second: teal, accent: gold, warm: 3200 K}\nlooks:\n  on: {set: {all: {intensity: " + intensity + "}}}\n"
	}
	for _, c := range []struct {
		name string
		file string
		src  string
		want string
	}{
		// A universe goes by its name.
		{"number of a universe", "rig.yaml", rig("{profile: dimmer, universe: 17, address: 1}"), "rig.yaml:6:38: fixtures.front.universe: 17 is a number, and a universe goes by its name; write universe: trusses; universes are: stage (sACN 1), trusses (Art-Net 0.1.1)"},
		{"no such number", "rig.yaml", rig("{profile: dimmer, universe: 2, address: 1}"), "rig.yaml:6:38: fixtures.front.universe: 2 is a number, and a universe goes by its name; universes are: stage (sACN 1), trusses (Art-Net 0.1.1)"},

		// A colon in a text, a mapping without braces.
		{"colon in a text", "songs/a.yaml", "song: Pier: the return\ntempo: 76 bpm\n", `songs/a.yaml:1:11: not YAML: a text with ":" and a space in it needs quotes; write song: "Pier: the return"`},
		{"colon at the end", "songs/a.yaml", "song: Pier:\ntempo: 76 bpm\n", `songs/a.yaml:1:11: not YAML: a text with ":" and a space in it needs quotes; write song: "Pier:"`},
		{"colon in braces", "sets/a.yaml", "set: x\nsongs: [Pier, Long: Shore: two, Sea]\n", `sets/a.yaml:2:26: not YAML: a text with ":" and a space in it needs quotes; write Long: "Shore: two"`},
		{"mapping on a line", "songs/a.yaml", song("76 bpm", "  - chorus: bars: 8, energy: 5  # loud"), "songs/a.yaml:5:17: not YAML: a mapping on the line of its key needs braces; write chorus: {bars: 8, energy: 5}"},
		{"mapping of levels", "looks.yaml", "looks:\n  on:\n    set: washes: {intensity: 40 %}\n", "looks.yaml:3:16: not YAML: a mapping on the line of its key needs braces; write set: {washes: {intensity: 40 %}}"},
		{"list on the line of its key", "songs/a.yaml", "song: Pier\nsections: - verse: {bars: 8, energy: 4}\n", "songs/a.yaml:2:11: not YAML: a list begins on the line of its key; put each item, with its -, on a line of its own below the key, or write [a, b]"},

		// Typographic quotes.
		{"quotes round a title", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "“Pier”", 1), "songs/a.yaml:1:7: song: the quotes of “Pier” are typographic, which YAML takes for letters; write \"Pier\", with straight quotes"},
		{"low quotes", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "„Pier“", 1), "songs/a.yaml:1:7: song: the quotes of „Pier“ are typographic, which YAML takes for letters; write \"Pier\", with straight quotes"},
		{"guillemets", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "«Pier»", 1), "songs/a.yaml:1:7: song: the quotes of «Pier» are typographic, which YAML takes for letters; write \"Pier\", with straight quotes"},
		{"single quotes", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "‘Pier’", 1), "songs/a.yaml:1:7: song: the quotes of ‘Pier’ are typographic, which YAML takes for letters; write \"Pier\", with straight quotes"},
		{"quotes inside a title", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "The “Old” Pier, or don’t", 1), ""},
		{"quotes at a title's begin", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "“Old” Pier", 1), ""},
		{"an apostrophe first", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "‘Round the Pier", 1), ""},
		{"typographic inside straight ones", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", `"“Pier”"`, 1), ""},
		{"quotes round a colour", "looks.yaml", looks("“#ff8040”", "40 %"), "looks.yaml:1:17: palette.main: \"“#ff8040”\" has typographic quotes (U+201C, U+201D); write \"#ff8040\""},
		{"quotes round a key", "looks.yaml", strings.Replace(looks("teal", "40 %"), "intensity", "“intensity”", 1), "looks.yaml:3:20: looks.on.set.all: the key \"“intensity”\" has typographic quotes (U+201C, U+201D); write intensity:"},
		{"quotes round a name", "looks.yaml", strings.Replace(looks("teal", "40 %"), "  on:", "  “on”:", 1), "looks.yaml:3:3: looks: the name \"“on”\" has typographic quotes (U+201C, U+201D); want a look's name: letters, digits and spaces, 64 at most"},
		{"quotes round a colon", "songs/a.yaml", "song: “Pier: two”\ntempo: 76 bpm\n", `songs/a.yaml:1:7: not YAML: a typographic quote (U+201C), which YAML takes for a letter; write straight quotes: "`},

		// Spaces that are none, and what nobody sees.
		{"no-break space in a value", "songs/a.yaml", song("76\u00a0bpm", verse), `songs/a.yaml:2:8: tempo: "76\u00a0bpm" has a no-break space (U+00A0); write 76 bpm`},
		{"narrow no-break space", "looks.yaml", looks("teal", "40\u202f%"), `looks.yaml:3:31: looks.on.set.all.intensity: "40\u202f%" has a no-break space (U+202F); write 40 %`},
		{"thin space", "looks.yaml", looks("3200\u2009K", "40 %"), `looks.yaml:1:17: palette.main: "3200\u2009K" has an unusual space (U+2009); write 3200 K`},
		{"in a title", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "Old\u00a0Pier", 1), `songs/a.yaml:1:7: song: "Old\u00a0Pier" has a no-break space (U+00A0); write Old Pier`},
		{"in a quoted title", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "\"Où\u00a0?\"", 1), ""},
		{"invisible in a quoted title", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "\"Old\u200bPier\"", 1), `songs/a.yaml:1:7: song: "Old\u200bPier" has an invisible character (U+200B); write OldPier`},
		{"a Japanese title", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "Pier", "夜の\u3000海", 1), ""},
		{"no-break space in a key", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "energy", "\u00a0energy", 1), `songs/a.yaml:5:22: sections[0].verse: the key "\u00a0energy" has a no-break space (U+00A0); write energy:`},
		{"byte order mark in a key", "songs/a.yaml", strings.Replace(song("76 bpm", verse), "meter", "\ufeffmeter", 1), `songs/a.yaml:3:1: the line begins with an invisible byte order mark (U+FEFF); delete it`},
		{"no-break space as an indent", "songs/a.yaml", song("76 bpm", "\u00a0\u00a0- verse: {bars: 8, energy: 4}\n\u00a0\u00a0- chorus: {bars: 8, energy: 4}"), "songs/a.yaml:5:1: the line is indented with a no-break space (U+00A0); indent with spaces alone; the same on lines: 6"},
		{"after a colon", "songs/a.yaml", "song:\u00a0Pier\ntempo: 76 bpm\n", "songs/a.yaml:1:6: not YAML: found a no-break space (U+00A0); write a plain space"},
		{"a tab as an indent", "songs/a.yaml", song("76 bpm", "\t- verse: {bars: 8, energy: 4}"), "songs/a.yaml:5:1: not YAML: found a tab; indent with spaces, not tabs"},
		{"a tab behind a dash", "songs/a.yaml", song("76 bpm", "  -\tverse: {bars: 8, energy: 4}"), "songs/a.yaml:5:4: not YAML: found a tab; indent with spaces, not tabs"},

		// Numbers and units.
		{"capitals", "songs/a.yaml", song("76 BPM", verse), ""},
		{"mixed case", "songs/a.yaml", song("76.5Bpm", verse), ""},
		{"a full stop behind it", "songs/a.yaml", song("76 bpm.", verse), `songs/a.yaml:2:8: tempo: "76 bpm." has "." at its end; write 76 bpm`},
		{"decimal comma", "songs/a.yaml", song("76,5 bpm", verse), `songs/a.yaml:2:8: tempo: "76,5 bpm" has a decimal comma; write 76.5 bpm`},
		{"decimal comma and capitals", "songs/a.yaml", song("76,5 BPM.", verse), `songs/a.yaml:2:8: tempo: "76,5 BPM." has a decimal comma and "." at its end; write 76.5 BPM`},
		{"decimal comma in braces", "songs/a.yaml", song("76 bpm", "  - verse: {bars: 8, energy: 4, tempo: 76,5 bpm}"), `songs/a.yaml:5:40: sections[0].verse.tempo: "76,5 bpm" has a decimal comma, which begins the next key inside braces; write 76.5 bpm`},
		{"decimal comma in brackets", "rig.yaml", rig("{profile: dimmer, universe: stage, address: 1, at: [1,5 m, 0 m, 4 m]}"), `rig.yaml:6:62: fixtures.front.at: "1,5 m" has a decimal comma, which begins the next item inside brackets; write 1.5 m`},
		{"decimal comma in a place", "rig.yaml", rig("{profile: dimmer, universe: stage, address: 1, at: ['-1,5 m', 0 M, 4 m]}"), `rig.yaml:6:62: fixtures.front.at[0]: "-1,5 m" has a decimal comma; write -1.5 m`},
		{"decimal comma of a share", "looks.yaml", "palette: {main: red, second: teal, accent: gold, warm: 3200 K}\nlooks:\n  on:\n    fade: 1,5 s\n    set:\n      all:\n        intensity: 12,5 %\n        strobe: 1,5 Hz\n", "looks.yaml:4:11: looks.on.fade: \"1,5 s\" has a decimal comma; write 1.5 s\nlooks.yaml:7:20: looks.on.set.all.intensity: \"12,5 %\" has a decimal comma; write 12.5 %\nlooks.yaml:8:17: looks.on.set.all.strobe: \"1,5 Hz\" has a decimal comma; write 1.5 Hz"},
		{"decimal comma of a colour", "looks.yaml", "palette:\n  main: xy 0,31 0,33\n  second: teal\n  accent: gold\n  warm: 3200 k\nlooks: {on: {set: {all: {colour: main}}}}\n", `looks.yaml:2:9: palette.main: "xy 0,31 0,33" has a decimal comma; write xy 0.31 0.33`},
		{"a wrong unit with a comma", "songs/a.yaml", song("76,5 hz", verse), `songs/a.yaml:2:8: tempo: "76,5 hz" does not fit here; want beats a minute such as 96 bpm, 10 bpm to 500 bpm`},
		{"full-width digits", "songs/a.yaml", song("７６ bpm", verse), `songs/a.yaml:2:8: tempo: "７６ bpm" has full-width digits (U+FF17, U+FF16); write 76 bpm`},
		{"a full-width number", "songs/a.yaml", song("76 bpm", "  - verse: {bars: ８, energy: 4}"), `songs/a.yaml:5:19: sections[0].verse.bars: "８" has a full-width digit (U+FF18); write 8; want a number of bars, 1 to 999`},
		{"a full-width colon", "songs/a.yaml", "song: Pier\ntempo：76 bpm\n", `songs/a.yaml:2:6: not YAML: found a full-width character (U+FF1A); write ":" and a space after it`},
		{"a full-width comma", "songs/a.yaml", song("76 bpm", "  - verse: {bars: 8， energy: 4}"), `songs/a.yaml:5:20: not YAML: found a full-width character (U+FF0C); write "," and a space after it`},
		{"a unit of a bare number", "songs/a.yaml", song("76 bpm", "  - verse: {bars: 8 Bars, energy: 4}"), `songs/a.yaml:5:19: sections[0].verse.bars: "8 Bars" is not a whole number alone; write 8; want a number of bars, 1 to 999`},
		{"a number in quotes", "songs/a.yaml", song("76 bpm", "  - verse: {bars: \"8\", energy: 4}"), `songs/a.yaml:5:19: sections[0].verse.bars: "8" in quotes is text, not a number; write 8; want a number of bars, 1 to 999`},
		{"a minus sign", "rig.yaml", rig("{profile: dimmer, universe: stage, address: 1, at: [−1.5 m, 0 m, 4 m]}"), `rig.yaml:6:62: fixtures.front.at[0]: "−1.5 m" has a dash that is no minus sign (U+2212); write -1.5 m`},
	} {
		_, problems := Parse(c.file, []byte(c.src))
		assert.Equal(t, c.want, problems.Error(), c.name)
	}
}

// Whatever is typed, a slip is on the lines that were looked at, and in them.
func TestSlipPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.StringOf(rapid.RuneFrom([]rune("ab8 :-,{}[]\"'#\n\t“„«”：，\u00a0\u200bü"))).Draw(t, "src")
		lines := strings.Split(src, "\n")
		s := findSlip(SongFile, []byte(src), 1, len(lines))
		require.Equal(t, s.what == "", s.line == 0, "%+v", s)
		if s.line > 0 {
			require.GreaterOrEqual(t, s.column, 1, "%+v", s)
			require.LessOrEqual(t, s.column, len([]rune(lines[s.line-1])), "%+v", s)
			require.NotEmpty(t, s.write, "%+v", s)
		}
	})
}

// What a message says to write is accepted.
func TestWhatIsToBeWrittenFits(t *testing.T) {
	for _, s := range []*shape{tempo(), percent(), seconds(), metres(), hertz(), watts(), amps(), volts(), length(), span(), spread(), strobe(), hexColour(), colour(), whitePoint()} {
		for _, e := range s.examples {
			for _, spoilt := range []string{e.(string) + ".", "“" + e.(string) + "”", strings.ReplaceAll(e.(string), " ", "\u00a0") + "\u200b", e.(string) + "；"} {
				_, write := s.explainMismatch(spoilt)
				if assert.True(t, strings.HasPrefix(write, "write "), "%q: %s", spoilt, write) {
					assert.Equal(t, "write "+asWritten(e.(string)), write, spoilt)
				}
			}
		}
	}
}

// Units in any letter case are read as those of the examples.
func TestUnitsInAnyCase(t *testing.T) {
	for text, want := range map[string]string{
		"76 BPM": "76 bpm", "8 Bars": "8 bars", "1/2 BEAT": "1/2 beat", "3 S": "3 s", "500 MS": "500 ms", "2 hz": "2 Hz", "44 HZ": "44 Hz",
		"3200 k +2 Tint": "3200 K +2 tint", "60 w": "60 W", "16 a": "16 A", "230 v": "230 V", "-1.5 M": "-1.5 m", "1/2 Cycle": "1/2 cycle",
		"shutter open 255 strobe 16 to 250 at 1 hz to 20 HZ": "shutter open 255 strobe 16 to 250 at 1 Hz to 20 Hz",
		"#AaBbCc": "#AaBbCc", "rebeccapurple": "rebeccapurple", "snap": "snap", "xy 0.31 0.33": "xy 0.31 0.33", "40 %": "40 %",
	} {
		assert.Equal(t, want, canonicalUnits(text))
	}
	for text, want := range map[string]string{
		"Chorus 2, Bar 3 BEAT 1": "Chorus 2, bar 3 beat 1", "Bar Song - 1 Beat": "Bar Song - 1 beat", "Beat it": "Beat it",
		"Last Bar, bar 2 + 1/2 BEATS": "Last Bar, bar 2 + 1/2 beats", "outro end - 1 Bar": "outro end - 1 bar",
	} {
		assert.Equal(t, want, CanonicalPlace(text))
	}
	var walk func(s *shape, path string)
	walk = func(s *shape, path string) {
		if s.canonical != nil {
			for _, e := range s.examples {
				e := fmt.Sprint(e)
				if strings.HasPrefix(e, "#") || e == "rebeccapurple" || e == "snap" || e == "none" || e == "even" || e == "main" || strings.HasPrefix(e, "xy") {
					continue
				}
				for _, other := range []string{upperUnits(e), lowerUnits(e)} {
					assert.True(t, s.Matches(other), "%s: %q of %q", path, other, e)
					assert.Equal(t, e, s.canonical(other), "%s: %q", path, other)
				}
			}
		}
		for _, f := range s.fields {
			walk(f.shape, path+"."+f.key)
		}
		if s.of != nil {
			walk(s.of, path+"[]")
		}
		for _, f := range s.forms {
			walk(f, path)
		}
	}
	for _, kind := range Kinds() {
		walk(shapeOf(kind), string(kind))
	}
}

// upperUnits and lowerUnits spell the units of an example otherwise.
func upperUnits(text string) string {
	return unitsOf(text, strings.ToUpper)
}

func lowerUnits(text string) string { return unitsOf(text, strings.ToLower) }

func unitsOf(text string, spell func(string) string) string {
	return letterRun.ReplaceAllStringFunc(text, func(word string) string {
		switch word {
		case "bpm", "bar", "bars", "beat", "beats", "cycle", "tint", "ms", "s", "m", "Hz", "K", "W", "A", "V":
			return spell(word)
		}
		return word
	})
}
