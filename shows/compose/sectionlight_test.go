package compose_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine"
	"tactus/shows/compose"
	"tactus/shows/draft"
	"tactus/shows/showtest"
	"tactus/shows/songtext"
)

// ferry is a song without light.
const ferry = `song: Ferry Bell   # for Ann
tempo: 112 bpm
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2}
  - verse: {bars: 8, energy: 4}   # with the horn
  - chorus: {bars: 8, energy: 9}
  - verse:
      bars: 8   # again
      energy: 5
  - chorus: {bars: 8, energy: 9, spoken: yes}
  - outro: {bars: 4, energy: 2}
`

// What is set for a drafted section replaces its drafted cue: the rest of that cue stays as
// the section's own.
func TestLightOfDraftedSections(t *testing.T) {
	for _, c := range []struct {
		json string
		want []string
	}{
		{bellEdit("set section", `"section": 2, "key": "look", "to": "singalong"`), []string{
			"-  - chorus: {bars: 8, energy: 9}",
			"+  - chorus: {bars: 8, energy: 9, look: singalong, fade: 1/2 beat}",
			"-at: chorus 1, look: full sail, fade: 1/2 beat",
		}},
		{bellEdit("set section", `"section": 0, "key": "look", "to": "hearth"`), []string{
			"-  - intro: {bars: 4, energy: 2}",
			"+  - intro: {bars: 4, energy: 2, look: hearth, fade: 1 bar, set: {fronts: {intensity: 35 %}, house lights: {intensity: 10 %}}}",
			"-at: intro, look: embers, fade: 1 bar, set: {fronts: {intensity: 35 %}, house lights: {intensity: 10 %}}",
		}},
		{bellEdit("set section", `"section": 1, "key": "effects", "to": ["sway"]`), []string{
			"-  - verse: {bars: 8, energy: 4}   # with the horn",
			"+  - verse: {bars: 8, energy: 4, look: tide, effects: [sway], fade: 2 beats, set: {fronts: {intensity: 50 %}, front truss: {intensity: 12 %}, warmers: {intensity: 6 %}, back truss: {intensity: 14 %}}}   # with the horn",
			"-at: verse 1, look: tide, effects: [colour swing, gather in], fade: 2 beats, set: {fronts: {intensity: 50 %}, front truss: {intensity: 12 %}, warmers: {intensity: 6 %}, back truss: {intensity: 14 %}}",
		}},
		{bellEdit("set section", `"section": 3, "key": "fade", "to": "1 bar"`), []string{
			"+      look: rising",
			"+      effects: colour swing",
			"+      fade: 1 bar",
			"+      set: {front truss: {intensity: 17 %}, warmers: {intensity: 17 %}, back truss: {intensity: 17 %}}",
			"-at: verse 2, look: rising, effects: colour swing, fade: 2 beats, set: {front truss: {intensity: 17 %}, warmers: {intensity: 17 %}, back truss: {intensity: 17 %}}",
		}},
		{bellEdit("set section level", `"section": 4, "on": "fronts", "level": "intensity", "to": "90 %"`), []string{
			"-  - chorus: {bars: 8, energy: 9, spoken: yes}",
			"+  - chorus: {bars: 8, energy: 9, spoken: yes, look: hearth, fade: 2 beats, set: {fronts: {intensity: 90 %}, warmers: {intensity: 48 %}}}",
			"-at: chorus 2, look: hearth, fade: 2 beats, set: {fronts: {intensity: 70 %}, warmers: {intensity: 48 %}}",
		}},
		{bellEdit("set section level", `"section": 5, "on": "fronts", "level": "intensity", "to": null`), []string{
			"-  - outro: {bars: 4, energy: 2}",
			"+  - outro: {bars: 4, energy: 2, look: embers, fade: 2 beats}",
			"-at: outro, look: embers, fade: 2 beats, set: {fronts: {intensity: 35 %}}",
		}},
		{bellEdit("set section", `"section": 2, "key": "build", "to": "rise"`), []string{
			"-  - chorus: {bars: 8, energy: 9}",
			"+  - chorus: {bars: 8, energy: 9, look: full sail, fade: 1/2 beat, build: rise}",
			"-at: chorus 1, look: full sail, fade: 1/2 beat",
		}},
		{bellEdit("set section", `"section": 2, "key": "look", "to": null`), []string{ // and its fade
			"-at: chorus 1, look: full sail, fade: 1/2 beat",
		}},
		{bellEdit("set section", `"section": 2, "key": "effects", "to": null`), nil}, // it has none
		{bellEdit("set section", `"section": 2, "key": "climb", "to": 1`), []string{
			"-  - chorus: {bars: 8, energy: 9}",
			"+  - chorus: {bars: 8, energy: 9, climb: 1}",
		}},
	} {
		t.Run(c.json, func(t *testing.T) {
			s := openBell(t, ferry)
			_, err := apply(t, s, `{"do": "draft song", "song": "songs/bell.yaml"}`)
			require.NoError(t, err)
			before := s.Sources()
			state, err := apply(t, s, c.json)
			require.NoError(t, err)
			assert.Equal(t, linesOf(c.want), linesOf(changedLines(before, s.Sources())))
			if c.want != nil {
				_, err = s.Undo(state.Revision)
				require.NoError(t, err)
				assert.Equal(t, before, s.Sources(), "one undo takes it back")
			}
		})
	}
}

func bellEdit(do, rest string) string {
	return `{"do": "` + do + `", "song": "songs/bell.yaml", ` + rest + `}`
}

// linesOf writes changed lines one below the other: of drafted ones the cue only.
func linesOf(changes []string) string {
	var b strings.Builder
	for _, line := range changes {
		line = strings.TrimPrefix(line, "songs/bell.yaml ")
		if cue, _, ok := strings.Cut(line, "}  # drafted: "); ok {
			line = strings.Replace(cue, "  - {", "", 1)
		}
		fmt.Fprintln(&b, line)
	}
	return b.String()
}

// The last drafted line goes with the heading that was drafted.
func TestLastDraftedLineReplaced(t *testing.T) {
	s := openBell(t, ferry)
	_, err := apply(t, s, `[{"do": "draft song", "song": "songs/bell.yaml", "sections": [1]}]`)
	require.NoError(t, err)
	require.Contains(t, string(s.Sources()["songs/bell.yaml"]), "cues:")
	_, err = apply(t, s, bellEdit("set section", `"section": 1, "key": "look", "to": "hearth"`))
	require.NoError(t, err)
	have := string(s.Sources()["songs/bell.yaml"])
	assert.NotContains(t, have, "cues:")
	assert.True(t, strings.HasSuffix(have, "  - outro: {bars: 4, energy: 2}\n"), have)
}

// A cue that a person wrote, or changed after it was drafted, stays where it is and gets
// what is set for the section that begins there.
func TestLightOfSectionsThatBeginWithACue(t *testing.T) {
	cues := `cues:
  - {at: verse 1, look: tide, fade: 2 beats}   # Ann's
  - {at: verse 1 end, look: dark, in: first}
  - {at: "verse 2, bar 1 beat 1", effects: sway}
`
	for json, want := range map[string][]string{
		bellEdit("set section", `"section": 1, "key": "look", "to": "hearth"`): {
			"-  - {at: verse 1, look: tide, fade: 2 beats}   # Ann's", "+  - {at: verse 1, look: hearth, fade: 2 beats}   # Ann's",
		},
		bellEdit("set section level", `"section": 1, "on": "fronts", "level": "intensity", "to": "40 %"`): {
			"-  - {at: verse 1, look: tide, fade: 2 beats}   # Ann's", "+  - {at: verse 1, look: tide, fade: 2 beats, set: {fronts: {intensity: 40 %}}}   # Ann's",
		},
		bellEdit("set section", `"section": 2, "key": "look", "to": "hearth"`): { // a cue for one pass stands beside the section's own light
			"-  - chorus: {bars: 8, energy: 9}", "+  - chorus: {bars: 8, energy: 9, look: hearth}",
		},
		bellEdit("set section", `"section": 3, "key": "fade", "to": "1 bar"`): {
			`-  - {at: "verse 2, bar 1 beat 1", effects: sway}`, `+  - {at: "verse 2, bar 1 beat 1", effects: sway, fade: 1 bar}`,
		},
		bellEdit("set section", `"section": 3, "key": "look", "to": null`): nil,
	} {
		s := openBell(t, ferry+cues)
		require.NotNil(t, s.Show(), s.State().Faults)
		before := s.Sources()
		_, err := apply(t, s, json)
		require.NoError(t, err, json)
		assert.Equal(t, linesOf(want), linesOf(changedLines(before, s.Sources())), json)
	}

	s := openBell(t, ferry)
	_, err := apply(t, s, `{"do": "draft song", "song": "songs/bell.yaml"}`)
	require.NoError(t, err)
	theirs := strings.Replace(string(s.Sources()["songs/bell.yaml"]), "at: chorus 1, look: full sail", "at: chorus 1, look: tide", 1)
	s = openBell(t, theirs)
	_, err = apply(t, s, bellEdit("set section", `"section": 2, "key": "look", "to": "hearth"`))
	require.NoError(t, err)
	assert.Equal(t, strings.Replace(theirs, "at: chorus 1, look: tide", "at: chorus 1, look: hearth", 1), string(s.Sources()["songs/bell.yaml"]))
}

// Whatever is set for a drafted section, the light is the same as if it had been set in the
// drafted cue itself, and no other drafted line changes.
func TestDraftedSectionsAreLitAsTheirCues(t *testing.T) {
	const most = 40 // each opens the show three times
	checks, replaced := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		if checks++; checks > most {
			return
		}
		var b strings.Builder
		b.WriteString("song: Gates\ntempo: 120 bpm\nmeter: 4/4\nsections:\n")
		n := rapid.IntRange(1, 6).Draw(rt, "sections")
		for range n {
			name := rapid.SampledFrom([]string{"verse", "chorus", "intro", "bridge"}).Draw(rt, "name")
			bars, energy := rapid.IntRange(1, 9).Draw(rt, "bars"), rapid.IntRange(0, 10).Draw(rt, "energy")
			form := rapid.SampledFrom([]string{"  - %s: {bars: %d, energy: %d}  # own\n", "  - %s:\n      bars: %d # b\n      energy: %d\n\n", "  - %s: {bars: %d, energy: %d, loop: yes}\n"}).Draw(rt, "form")
			fmt.Fprintf(&b, form, name, bars, energy)
		}
		d, err := draft.New(showtest.Yard(b.String()), "songs/new.yaml")
		require.NoError(rt, err, b.String())
		i := rapid.IntRange(0, n-1).Draw(rt, "section")
		where := `"key": "` + rapid.SampledFrom([]string{"look", "effects", "fade", "build"}).Draw(rt, "key") + `"`
		values := map[string][]string{
			`"key": "look"`: {`"low"`, `"mid"`, `"high"`, `null`}, `"key": "effects"`: {`"slow"`, `["tint", "slow"]`, `"none"`, `null`},
			`"key": "fade"`: {`"1 beat"`, `"snap"`, `null`}, `"key": "build"`: {`"rise"`, `"ebb"`, `null`},
		}[where]
		do := ""
		if rapid.IntRange(0, 3).Draw(rt, "levels") == 0 {
			do, where, values = " level", `"on": "lamps", "level": "intensity"`, []string{`"40 %"`, `null`}
		}
		to := rapid.SampledFrom(values).Draw(rt, "to")
		edited := func(json string) (*compose.Session, error) {
			s, err := compose.Open("", compose.Options{Files: showtest.Yard(string(d.Source))})
			require.NoError(rt, err)
			require.NotNil(rt, s.Show(), "%v\n%s", s.State().Faults, d.Source)
			edits, err := compose.Decode([]byte(json))
			require.NoError(rt, err, json)
			_, err = s.Apply(s.State().Revision, edits)
			return s, err
		}
		own, err := edited(fmt.Sprintf(`{"do": "set section%s", "song": "songs/new.yaml", "section": %d, %s, "to": %s}`, do, i, where, to))
		plain, openErr := compose.Open("", compose.Options{Files: showtest.Yard(string(d.Source))})
		require.NoError(rt, openErr)
		cue := -1
		was := draftedCues(string(d.Source))
		for k, line := range was {
			if at, _ := songtext.PlaceOf(line); at == (songtext.Place{At: plain.Show().Program.Songs[0].Sections[i].Name}) {
				cue = k
			}
		}
		if cue < 0 {
			return // the light before goes on
		}
		inCue, cueErr := edited(fmt.Sprintf(`{"do": "set cue%s", "song": "songs/new.yaml", "cue": %d, %s, "to": %s}`, do, cue, where, to))
		say := fmt.Sprintf("section %d %s: %s\n%s\n%s", i, where, to, d.Source, own.Sources()["songs/new.yaml"])
		if cueErr != nil { // nothing is left of the cue; a section needs nothing
			require.Equal(rt, "null", to, say)
			require.NoError(rt, err, say)
			return
		}
		require.NoError(rt, err, say)
		require.Equal(rt, lightOf(inCue), lightOf(own), say)
		now := draftedCues(string(own.Sources()["songs/new.yaml"]))
		if string(own.Sources()["songs/new.yaml"]) != string(d.Source) {
			replaced++
			was = append(was[:cue:cue], was[cue+1:]...)
		}
		require.Equal(rt, strings.Join(was, "\n"), strings.Join(now, "\n"), say)
	})
	assert.Greater(t, replaced, 10)
}

// draftedCues lists the drafted lines of cues that nobody has changed.
func draftedCues(src string) (list []string) {
	for _, line := range untouched(src) {
		if _, ok := songtext.PlaceOf(line); ok {
			list = append(list, line)
		}
	}
	return list
}

// lightOf returns the light of a session's song, without the places in its file.
func lightOf(s *compose.Session) (light struct {
	cues     []engine.Cue
	variants []engine.Variant
},
) {
	song := s.Show().Program.Songs[0]
	bare := func(cues []engine.Cue) (list []engine.Cue) {
		for _, c := range cues {
			c.Source = engine.Cue{}.Source
			list = append(list, c)
		}
		return list
	}
	var variants []engine.Variant
	for _, v := range song.Variants {
		v.Cues = bare(v.Cues)
		variants = append(variants, v)
	}
	light.cues, light.variants = bare(song.Cues), variants
	return light
}
