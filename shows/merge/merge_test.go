package merge_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/merge"
	"tactus/shows/smf"
	"tactus/shows/songtext"
)

const file = "songs/long-shore.yaml"

// midiOf is the MIDI file that a DAW would write of a song, read again.
func midiOf(t require.TestingT, song string) *smf.Import {
	f, problems := language.ParseAs("daw", language.SongFile, []byte(song))
	require.Empty(t, problems, song)
	s, problems := shows.Timeline(f)
	require.Empty(t, problems, song)
	for i := range s.Sections {
		s.Sections[i].Note = engine.NoNote
	}
	src, _, err := smf.WriteSong(&engine.Program{Songs: []engine.Song{s}, Notes: engine.NewNotes()}, 0)
	require.NoError(t, err, song)
	in, err := smf.Read(src, "")
	require.NoError(t, err, song)
	return in
}

const head = "song: Long Shore\ntempo: 120 bpm\nmeter: 4/4\n"

// cases are songs, what the DAW has of them, and what becomes of them.
var cases = map[string]struct{ old, daw, want, report string }{
	"nothing changes": {
		head + "sections:\n  - intro: {bars: 4, energy: 2} # mine\n  - verse:\n      bars: 8\n      energy: 3\n", head + "sections:\n  - intro: {bars: 4, energy: 5}\n  - verse: {bars: 8, energy: 9}\n",
		head + "sections:\n  - intro: {bars: 4, energy: 2} # mine\n  - verse:\n      bars: 8\n      energy: 3\n", "",
	},
	"longer, new, and cues that move with their section": {
		head + `sections:
  - verse: {bars: 8, energy: 3, look: tide}  # calm
  # Here they sing.
  - chorus:
      bars: 8 # mine
      energy: 9
      look: full sail
cues:
  - {at: "chorus, bar 5", look: dark}
`, head + `sections:
  - verse: {bars: 12, energy: 3}
  - chorus: {bars: 8, energy: 3}
  - bridge: {bars: 4, energy: 3}
  - chorus: {bars: 8, energy: 3}
`, head + `sections:
  - verse: {bars: 12, energy: 3, look: tide}  # calm
  # Here they sing.
  - chorus:
      bars: 8 # mine
      energy: 9
      look: full sail
  - bridge: {bars: 4, energy: 5} # a guess
  - chorus: {bars: 8, energy: 9} # a guess
cues:
  - {at: "chorus 1, bar 5", look: dark}
`, `verse: 12 bars, was 8
chorus 1: was chorus
bridge: new, 4 bars; energy 5 is a guess, look at it
chorus 2: new, 8 bars; energy 9 is a guess, look at it`,
	},
	"gone, with what stood in it": {
		head + `sections:
  - verse: {bars: 8, energy: 3}
  # Far lightning.
  - bridge: {bars: 8, energy: 4, look: storm}
  - verse: {bars: 8, energy: 3}
cues:
  - at: bridge, bar 3 # the roll
    look: dark
  - {at: "verse 2, bar 7", look: tide}
accepted:
  - {finding: dark-gap, in: bridge, because: the band stops}
after the end: dark
`, head + "sections:\n  - verse: {bars: 8, energy: 3}\n  - verse: {bars: 4, energy: 3}\n",
		head + `sections:
  - verse: {bars: 8, energy: 3}
  # Far lightning.
  # not in x.mid any more, bridge:
  # - bridge: {bars: 8, energy: 4, look: storm}
  - verse: {bars: 4, energy: 3}
# cues:
  # not in the song now, bridge is not in x.mid:
  # - at: bridge, bar 3 # the roll
    # look: dark
  # not in the song now, verse 2 has no bar 7; it has 4:
  # - {at: "verse 2, bar 7", look: tide}
# accepted:
  # not accepted now, bridge is not in x.mid:
  # - {finding: dark-gap, in: bridge, because: the band stops}
after the end: dark
`, `verse 2: 4 bars, was 8
songs/long-shore.yaml:7: bridge: gone; its line stays as a comment
songs/long-shore.yaml:10: cue at bridge, bar 3: kept as a comment: bridge is not in x.mid
songs/long-shore.yaml:12: cue at verse 2, bar 7: kept as a comment: verse 2 has no bar 7; it has 4
songs/long-shore.yaml:14: accepted in bridge: kept as a comment: the section is not in x.mid`,
	},
	"moved, and renamed by place": {
		head + "sections:\n  - intro: {bars: 2, energy: 1}\n  - solo: {bars: 8, energy: 7, note: 70}\n  - verse: {bars: 8, energy: 3}\n  - verse: {bars: 8, energy: 4}\n  - tag: {bars: 4, energy: 6}\n",
		head + "sections:\n  - intro: {bars: 2, energy: 1}\n  - verse: {bars: 8, energy: 3}\n  - verse: {bars: 8, energy: 4}\n  - solo: {bars: 8, energy: 7}\n  - coda: {bars: 4, energy: 6}\n",
		head + "sections:\n  - intro: {bars: 2, energy: 1}\n  - verse: {bars: 8, energy: 3}\n  - verse: {bars: 8, energy: 4}\n  - solo: {bars: 8, energy: 7, note: 70}\n  - coda: {bars: 4, energy: 6}\n",
		"solo: moved, now after verse 2\ncoda: stands where tag was, and keeps its energy 6 and all else: look at it",
	},
	"tempo and meter": {
		`song: "Long Shore" # ours
tempo: 120 bpm # from the click
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2, tempo: 100 bpm, look: tide}
  - verse: {bars: 4, tempo: 90 bpm, energy: 3}
  - chorus:
      bars: 8
      tempo: 96 bpm # faster
      meter: 3/4
      energy: 6
  - outro: {bars: 2, energy: 2, meter: 4/4}
# Where it breathes.
changes:
  - {at: "verse, bar 2", tempo: 92 bpm}
  - {at: "verse, bar 3", tempo: 94 bpm} # ritardando
`, `song: Other
tempo: 101.5 bpm
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2}
  - verse: {bars: 4, energy: 3, tempo: 91 bpm}
  - chorus: {bars: 8, energy: 3}
  - outro: {bars: 2, energy: 3, meter: 6/8, tempo: 60 bpm}
changes:
  - {at: "verse, bar 3", tempo: 94 bpm}
  - {at: "verse, bar 4", tempo: 95 bpm}
  - {at: "chorus, bar 2 beat 3", tempo: 97 bpm}
`, `song: "Long Shore" # ours
tempo: 101.5 bpm # from the click
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2, look: tide}
  - verse: {bars: 4, tempo: 91 bpm, energy: 3}
  - chorus:
      bars: 8
      # faster
      energy: 6
  - outro: {bars: 2, tempo: 60 bpm, energy: 2, meter: 6/8}
# Where it breathes.
changes:
  - {at: "verse, bar 3", tempo: 94 bpm} # ritardando
  - {at: "verse, bar 4", tempo: 95 bpm}
  - {at: "chorus, bar 2 beat 3", tempo: 97 bpm}
`, `tempo: 101.5 bpm, was 100 bpm
tempo 90 bpm from verse, bar 1 on: gone
tempo 92 bpm from verse, bar 2 on: gone
tempo 96 bpm from chorus, bar 1 on: gone
meter 3/4 from chorus, bar 1 on: gone
meter 4/4 from outro, bar 1 on: gone
tempo 91 bpm from verse, bar 1 on: new
tempo 95 bpm from verse, bar 4 on: new
tempo 97 bpm from chorus, bar 2 beat 3 on: new
tempo 60 bpm from outro, bar 1 on: new
meter 6/8 from outro, bar 1 on: new`,
	},
	"changes where there were none, and none where there were": {
		head + "sections:\n  - verse: {bars: 4, energy: 3}\n\n# The end.\nafter the end: dark", head + "sections:\n  - verse: {bars: 4, energy: 3}\nchanges:\n  - {at: \"verse, bar 3\", meter: 3/4}\n",
		head + "sections:\n  - verse: {bars: 4, energy: 3}\nchanges:\n  - {at: \"verse, bar 3\", meter: 3/4}\n\n# The end.\nafter the end: dark", "meter 3/4 from verse, bar 3 on: new",
	},
	"a list of changes that is empty now": {
		head + "sections:\n  - verse: {bars: 4, energy: 3}\nchanges:\n  - {at: \"verse, bar 3\", meter: 3/4}\n", head + "sections:\n  - verse: {bars: 4, energy: 3}\n",
		head + "sections:\n  - verse: {bars: 4, energy: 3}\n# changes:\n", "meter 3/4 from verse, bar 3 on: gone",
	},
	"lines that end in CR LF": {
		strings.ReplaceAll(head+"sections:\n  - verse: {bars: 4, energy: 3}\n", "\n", "\r\n"), head + "sections:\n  - verse: {bars: 8, energy: 3}\n  - tag: {bars: 2, energy: 3}\n",
		strings.ReplaceAll(head+"sections:\n  - verse: {bars: 8, energy: 3}\n  - tag: {bars: 2, energy: 6} # a guess\n", "\n", "\r\n"), "verse: 8 bars, was 4\ntag: new, 2 bars; energy 6 is a guess, look at it",
	},
	"a cue at the song's end": {
		head + "sections:\n  - verse: {bars: 4, energy: 3}\ncues:\n  - {at: verse end, look: dark, fade: 1 bar, lands: yes}\n", head + "sections:\n  - verse: {bars: 6, energy: 3}\n",
		head + "sections:\n  - verse: {bars: 6, energy: 3}\ncues:\n  - {at: verse end, look: dark, fade: 1 bar, lands: yes}\n", "verse: 6 bars, was 4",
	},
	"numbers that a person wrote": {
		head + "sections:\n  - verse 1: {bars: 4, energy: 3}\n  - verse 2: {bars: 4, energy: 4}\ncues:\n  - {at: verse 2 end - 1 bar, look: dark}\n", head + "sections:\n  - verse: {bars: 4, energy: 3}\n  - verse: {bars: 6, energy: 3}\n  - verse: {bars: 4, energy: 3}\n",
		head + "sections:\n  - verse: {bars: 4, energy: 3}\n  - verse: {bars: 6, energy: 5} # a guess\n  - verse: {bars: 4, energy: 4}\ncues:\n  - {at: verse 3 end - 1 bar, look: dark}\n",
		"verse 2: new, 6 bars; energy 5 is a guess, look at it\nverse 3: was verse 2",
	},
}

func TestMerge(t *testing.T) {
	for name, c := range cases {
		in := midiOf(t, c.daw)
		m, err := merge.New(file, []byte(c.old), in, "x.mid")
		require.NoError(t, err, name)
		assert.Equal(t, c.want, string(m.Source), name)
		assert.Equal(t, c.report, strings.Join(m.Report, "\n"), name)
		again, err := merge.New(file, m.Source, in, "x.mid")
		require.NoError(t, err, name)
		assert.Equal(t, string(m.Source), string(again.Source), "%s, again", name)
		assert.Empty(t, again.Report, "%s, again", name)
	}
}

// Lines of a draft that nobody has changed follow their section and stay drafted lines;
// where their section is gone they go.
func TestDraftedLines(t *testing.T) {
	drafted := func(line string) string { return "  " + songtext.Sealed(line+songtext.Mark+"energy 3", "") + "\n" }
	old := head + "sections:\n  - verse: {bars: 8, energy: 3}\n  - bridge: {bars: 4, energy: 3}\n  - verse: {bars: 8, energy: 3}\ncues:\n" +
		drafted("- {at: verse 1, look: tide}") + drafted("- {at: bridge, look: dark}") + drafted("- {at: verse 2, look: tide}") + "  - {at: verse 2 - 1 beat, look: dark}\n"
	in := midiOf(t, head+"sections:\n  - verse: {bars: 8, energy: 3}\n  - verse: {bars: 9, energy: 3}\n  - verse: {bars: 8, energy: 3}\n  - tag: {bars: 8, energy: 3}\n")
	m, err := merge.New(file, []byte(old), in, "x.mid")
	require.NoError(t, err)
	assert.Equal(t, 3, m.Drafted)
	assert.Contains(t, string(m.Source), "cues:\n"+drafted("- {at: verse 1, look: tide}")+drafted("- {at: verse 3, look: tide}")+"  - {at: verse 3 - 1 beat, look: dark}\n")
	assert.Contains(t, m.Report, "songs/long-shore.yaml:10: cue at bridge: drafted, taken out: bridge is not in x.mid")
}

// A MIDI file without markers changes no section.
func TestWithoutMarkers(t *testing.T) {
	old := head + "sections:\n  - verse: {bars: 8, energy: 3}\n  - chorus: {bars: 4, energy: 3}\n"
	in := midiOf(t, "song: A\ntempo: 90 bpm\nmeter: 3/4\nsections:\n  - x: {bars: 20, energy: 3}\nchanges:\n  - {at: \"x, bar 9\", tempo: 95 bpm}\n  - {at: \"x, bar 10\", tempo: 96 bpm}\n  - {at: \"x, bar 15\", tempo: 97 bpm}\n")
	in.Unmarked = true
	m, err := merge.New(file, []byte(old), in, "x.mid")
	require.NoError(t, err)
	assert.Equal(t, "song: Long Shore\ntempo: 90 bpm\nmeter: 3/4\nsections:\n  - verse: {bars: 8, energy: 3}\n  - chorus: {bars: 4, tempo: 95 bpm, energy: 3}\nchanges:\n  - {at: \"chorus, bar 2\", tempo: 96 bpm}\n", string(m.Source))
	assert.Contains(t, m.Report, "x.mid has no markers: the sections stay as they are; its notes go on for 8 bars after them")
}

// What cannot be edited is refused, with the line.
func TestRefused(t *testing.T) {
	in := midiOf(t, head+"sections:\n  - verse: {bars: 9, energy: 3}\n")
	for src, want := range map[string]string{
		head + "sections: [verse: {bars: 8, energy: 3}]\n":                                                               "songs/long-shore.yaml:4: the sections do not stand one a line; write each on a line of its own, starting with a dash; nothing is written",
		head + "sections:\n  - verse: {bars: 8, energy: 3}\n  - tag: {bars: 2, energy: 1}\ncues: [{at: tag, look: a}]\n": "songs/long-shore.yaml:7: the cues do not stand one a line; write each on a line of its own, starting with a dash; nothing is written",
		head + "sections:\n  - verse: {bars: 8}\n":                                                                       "songs/long-shore.yaml:5:12: sections[0].verse: \"energy\" is missing; want an energy",
		head + "sections:\n  - verse: {bars: 8, energy: 3}\nchanges:\n  - {at: tag, tempo: 90 bpm}\n":                    "songs/long-shore.yaml:7:10: changes[0].at: no section \"tag\"; sections are: verse",
		"{song: a, tempo: 90 bpm, meter: 4/4, sections: [verse: {bars: 8, energy: 3}]}\n":                                "songs/long-shore.yaml:1: the file's form leaves no room for the changes; nothing is written",
		"": "songs/long-shore.yaml:1:1: the file is empty",
	} {
		_, err := merge.New(file, []byte(src), in, "x.mid")
		assert.ErrorContains(t, err, want, src)
	}
}

// Whatever changes in the DAW: the result has its sections, tempos and meters; each cue
// and section that a person wrote is still in the file, once; and a second merge
// changes nothing.
func TestNothingIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old, marks := randomFile(t, "old", true)
		daw, _ := randomFile(t, "daw", false)
		in := midiOf(t, daw)
		m, err := merge.New(file, []byte(old), in, "x.mid")
		require.NoError(t, err, "%s\n%s", old, daw)
		for _, mark := range marks {
			require.Equal(t, 1, strings.Count(string(m.Source), mark), "%s in\n%s\nof\n%s\nand\n%s", mark, m.Source, old, daw)
		}
		again, err := merge.New(file, m.Source, in, "x.mid")
		require.NoError(t, err, "%s", m.Source)
		require.Equal(t, string(m.Source), string(again.Source))
		require.Empty(t, again.Report)
		f, problems := language.ParseAs(file, language.SongFile, m.Source)
		require.Empty(t, problems)
		got, problems := shows.Timeline(f)
		require.Empty(t, problems)
		require.Len(t, got.Sections, len(in.Song.Sections))
		for i, s := range got.Sections {
			want := in.Song.Sections[i]
			require.Equal(t, []any{want.Name, want.Start, want.Length}, []any{s.Name, s.Start, s.Length})
		}
		for i := range 4 * 60 {
			if at := in.Song.BarStart(0, int64(i)); at < in.Song.Length() {
				require.Equal(t, in.Song.MeterAt(at), got.MeterAt(at))
				require.True(t, smf.SameTempo(in.Song.TempoAt(at), got.TempoAt(at)))
			}
		}
	})
}

// randomFile is a song's file, written in any form, and what stands once in it.
func randomFile(t *rapid.T, label string, full bool) (src string, marks []string) {
	pick := func(what string, list ...string) string { return rapid.SampledFrom(list).Draw(t, label+" "+what) }
	tempos := []string{"90 bpm", "96.5 bpm", "120 bpm"}
	meters := []string{"4/4", "3/4", "6/8", "7/8"}
	b := &strings.Builder{}
	fmt.Fprintf(b, "song: Song\ntempo: %s\nmeter: %s\nsections:\n", pick("tempo", tempos...), pick("meter", meters...))
	count, bars := map[string]int{}, map[string]int{}
	var names []string
	for range rapid.IntRange(1, 8).Draw(t, label+" sections") {
		names = append(names, pick("name", "verse", "chorus", "bridge", "intro", "tag"))
		count[names[len(names)-1]]++
	}
	nth := map[string]int{}
	for i, name := range names {
		n := rapid.IntRange(1, 8).Draw(t, label+" bars")
		keys := []string{fmt.Sprintf("bars: %d", n), "energy: 5"}
		if rapid.IntRange(0, 3).Draw(t, label+" changes") == 0 {
			keys = append(keys, "tempo: "+pick("tempo", tempos...))
		}
		if rapid.IntRange(0, 3).Draw(t, label+" changes") == 0 {
			keys = append(keys, "meter: "+pick("meter", meters...))
		}
		if full {
			marks = append(marks, fmt.Sprintf("own look %d here", i))
			keys = append(keys, "look: "+marks[len(marks)-1])
		}
		if rapid.Bool().Draw(t, label+" flow") {
			fmt.Fprintf(b, "  - %s: {%s}\n", name, strings.Join(keys, ", "))
		} else {
			fmt.Fprintf(b, "  # About it.\n\n  - %s:\n      %s\n", name, strings.Join(keys, " # mine\n      "))
		}
		if nth[name]++; count[name] > 1 {
			name = fmt.Sprintf("%s %d", name, nth[name])
		}
		names[i], bars[name] = name, n
	}
	if full {
		b.WriteString("cues:\n")
		for i := range rapid.IntRange(1, 6).Draw(t, "cues") {
			name := names[rapid.IntRange(0, len(names)-1).Draw(t, "cue in")]
			marks = append(marks, fmt.Sprintf("cue look %d here", i))
			form := pick("form", "  - {at: %q, look: %s}\n", "  - at: %s\n    look: %s\n", "  # One.\n  -\n    at: %s # here\n    look: %s\n")
			fmt.Fprintf(b, form, fmt.Sprintf("%s, bar %d", name, rapid.IntRange(1, bars[name]).Draw(t, "bar")), marks[len(marks)-1])
		}
	}
	seen := map[string]bool{}
	for i := range rapid.IntRange(0, 3).Draw(t, label+" list of changes") {
		name := names[rapid.IntRange(0, len(names)-1).Draw(t, label+" change in")]
		at := fmt.Sprintf("%s, bar %d", name, rapid.IntRange(1, bars[name]).Draw(t, label+" change at"))
		if i == 0 {
			b.WriteString("changes:\n")
		}
		if strings.HasSuffix(at, "bar 1") || seen[at] { // a section's own may be there
			if i == 0 {
				fmt.Fprintf(b, "  - {at: %q, tempo: 100 bpm}\n", name+", bar "+fmt.Sprint(max(2, bars[name])))
				if bars[name] < 2 {
					t.Skip("no second bar")
				}
				seen[fmt.Sprintf("%s, bar %d", name, bars[name])] = true
			}
			continue
		}
		seen[at] = true
		fmt.Fprintf(b, "  - {at: %q, tempo: %s, meter: %s}\n", at, pick("tempo", tempos...), pick("meter", meters...))
	}
	return b.String(), marks
}

// Nothing in a file or a MIDI file panics, and what is returned can be read.
func FuzzMerge(f *testing.F) {
	daw := "sections:\n  - verse: {bars: 3, energy: 3}\n  - tag: {bars: 1, energy: 3, tempo: 90 bpm}\n"
	for _, c := range cases {
		f.Add([]byte(c.old))
	}
	songs, _ := filepath.Glob("../harbour-hall/songs/*.yaml")
	for _, name := range songs {
		src, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(src)
	}
	f.Add([]byte("a: &x {b: 1}\nsections: *x\n"))
	f.Add([]byte(head + "sections:\n- verse: {'bars': \"8\", energy: 3, \"tempo\": '90 bpm'}\n"))
	in := midiOf(f, head+daw)
	f.Fuzz(func(t *testing.T, src []byte) {
		m, err := merge.New(file, src, in, "x.mid")
		if err != nil {
			return
		}
		_, problems := language.ParseAs(file, language.SongFile, m.Source)
		require.Empty(t, problems, "%s", m.Source)
	})
}
