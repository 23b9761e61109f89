package compose_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/showtest"
)

// yardSong is a song of the small show, as people write: comments everywhere, quotes, and
// values on lines of their own.
const yardSong = `# The only song.
song: "Gates"   # its name
tempo: 120 bpm
meter: 4/4

sections:
  # Quiet at first.
  - intro: {bars: 4, energy: 1, look: low}   # from the dark
  - verse:
      bars: 8
      energy: 3      # not too much
      look: 'mid'
      effects: [slow, tint]
  - chorus: {bars: 8, energy: 8, look: high, set: {front: {intensity: 60 %}}}

# Inside sections.
cues:
  - at: verse, bar 5
    effects: tint   # alone
  - {at: "chorus, bar 5", look: mid, fade: 1 bar}
accepted:
  - {finding: flat, because: "it is short"}
`

// yardSet is a set of the small show.
const yardSet = "set: Night\n# the order\nsongs:\n  - new\nwalk-in: low   # calm\n"

// yard returns a small show in a folder.
func yard(t testing.TB) showtest.Folder {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, showtest.Yard(yardSong)))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "sets"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "sets", "night.yaml"), []byte(yardSet), 0o644))
	return showtest.NewFolder(t, dir)
}

// someEdit draws an edit of the small show, some of which must be refused.
func someEdit(t *rapid.T) string {
	look := rapid.SampledFrom([]string{"off", "low", "mid", "high", "low", "mid", "high", "dawn", "dawn", "no look", "<b>"})
	effect := rapid.SampledFrom([]string{"slow", "tint", "quick", "drift"})
	target := rapid.SampledFrom([]string{"lamps", "front", "lamps", "front", "lamp 1", "lamp 1-2", "rear"})
	share := rapid.SampledFrom([]string{"10 %", "55 %", "100 %", "101 %"})
	q := func(g *rapid.Generator[string], label string) string { return fmt.Sprintf("%q", g.Draw(t, label)) }
	orNull := func(s string) string {
		if rapid.IntRange(0, 4).Draw(t, "null") == 0 {
			return "null"
		}
		return s
	}
	universe := rapid.SampledFrom([]string{"u", "u", "v", "wall"})
	number := func(least, most int) string { return fmt.Sprint(rapid.IntRange(least, most).Draw(t, "number")) }
	switch rapid.IntRange(0, 47).Draw(t, "kind") {
	case 0:
		return `{"do": "set look level", "look": ` + q(look, "look") + `, "on": ` + q(target, "on") + `, "level": "intensity", "to": ` + orNull(q(share, "to")) + `}`
	case 1:
		colour := rapid.SampledFrom([]string{"main", "warm", "#ff8040", "rebeccapurple", "3200 K", "mud"})
		return `{"do": "set look colour", "look": ` + q(look, "look") + `, "on": ` + q(target, "on") + `, "to": ` + orNull(q(colour, "to")) + `}`
	case 2:
		return `{"do": "set look fade", "look": ` + q(look, "look") + `, "to": ` + orNull(q(rapid.SampledFrom([]string{"1 bar", "3 s", "snap", "soon"}), "to")) + `}`
	case 3:
		return `{"do": "set look effects", "look": ` + q(look, "look") + `, "to": [` + q(effect, "one") + `, ` + q(effect, "two") + `]}`
	case 4:
		return `{"do": "set look effects", "look": ` + q(look, "look") + `, "to": [` + q(effect, "one") + `]}`
	case 5:
		return `{"do": "add look", "look": ` + q(look, "look") + `, "fade": "2 beats", "set": {"lamps": {"colour": "warm", "intensity": ` + q(share, "to") + `}}}`
	case 6:
		return `{"do": "copy look", "look": ` + q(look, "look") + `, "to": ` + q(look, "to") + `}`
	case 7:
		return `{"do": "rename look", "look": ` + q(look, "look") + `, "to": ` + q(look, "to") + `}`
	case 8:
		return `{"do": "remove look", "look": ` + q(look, "look") + `}`
	case 9:
		return `{"do": "set effect", "effect": ` + q(effect, "effect") + `, "key": "depth", "to": ` + orNull(q(share, "to")) + `}`
	case 10:
		return `{"do": "set effect", "effect": ` + q(effect, "effect") + `, "key": "pulses", "to": ` + orNull(fmt.Sprint(rapid.IntRange(0, 5).Draw(t, "to"))) + `}`
	case 11:
		return `{"do": "copy effect", "effect": ` + q(effect, "effect") + `, "to": ` + q(effect, "to") + `}`
	case 12:
		return `{"do": "rename effect", "effect": ` + q(effect, "effect") + `, "to": ` + q(effect, "to") + `}`
	case 13:
		return `{"do": "rename group", "group": ` + q(target, "group") + `, "to": ` + q(target, "to") + `}`
	case 14:
		return `{"do": "rename fixture", "fixture": ` + q(target, "fixture") + `, "to": ` + q(rapid.SampledFrom([]string{"front", "lamp 1-2", "par 3-4", "spot"}), "to") + `}`
	case 15:
		return `{"do": "set group", "group": ` + q(target, "group") + `, "members": [` + q(target, "one") + `, ` + q(target, "two") + `]}`
	case 16:
		return fmt.Sprintf(`{"do": "set address", "fixture": "front", "address": %d}`, rapid.IntRange(1, 20).Draw(t, "address"))
	case 17:
		return fmt.Sprintf(`{"do": "set place", "fixture": "front", "at": [%d.25, 0, 3]}`, rapid.IntRange(-3, 3).Draw(t, "x"))
	case 38:
		file := rapid.SampledFrom([]string{"songs/gates.yaml", "songs/copy.yaml", "songs/new.yaml", "rig.yaml"})
		return `{"do": "copy song", "song": "songs/new.yaml", "to": ` + q(file, "to") + `, "name": ` + q(look, "name") + `}`
	case 39:
		sections := rapid.SampledFrom([]string{"intro 4, verse 8", "verse", "chorus 0", "chorus 16"})
		return `{"do": "add song", "song": "songs/gates.yaml", "name": ` + q(look, "name") + `, "tempo": "90 bpm", "meter": "3/4", "sections": ` + q(sections, "sections") + `}`
	case 40:
		text := rapid.SampledFrom([]string{"song: Ebb\ntempo: 90 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 8, energy: 4}\n", "song: Ebb\n", "["})
		return `{"do": "import song", "song": "songs/ebb.yaml", "text": ` + q(text, "text") + `}`
	case 41:
		return fmt.Sprintf(`{"do": "add fixtures", "name": %s, "count": %d, "profile": "rgb", "from": [0, 1, 3], "to": [2, 1, 3], "group": %s}`, q(rapid.SampledFrom([]string{"lamp", "par", "front"}), "name"), rapid.IntRange(0, 3).Draw(t, "count"), q(target, "group"))
	case 42:
		return `{"do": "find address", "fixture": ` + q(target, "fixture") + `}`
	case 43:
		return `{"do": "remove fixture", "fixture": ` + q(target, "fixture") + `, "from groups": true}`
	case 18:
		return `{"do": "set set look", "set": "sets/night.yaml", "moment": "walk-in", "look": ` + orNull(q(look, "look")) + `}`
	case 44:
		return `{"do": "copy look for song", "look": ` + q(look, "look") + `, "to": ` + q(look, "to") + `, "song": "songs/new.yaml"}`
	case 19:
		return `{"do": "add universe", "universe": ` + q(universe, "universe") + `, "values": {"sacn": ` + number(1, 3) + `}}`
	case 20:
		key := rapid.SampledFrom([]string{"sacn", "art-net", "priority", "rate"})
		return `{"do": "set universe", "universe": ` + q(universe, "universe") + `, "key": ` + q(key, "key") + `, "to": ` + orNull(number(0, 4)) + `}`
	case 21:
		return `{"do": "set universe", "universe": ` + q(universe, "universe") + `, "key": "virtual", "to": true}`
	case 22:
		return `{"do": "rename universe", "universe": ` + q(universe, "universe") + `, "to": ` + q(universe, "to") + `}`
	case 23:
		return `{"do": "remove universe", "universe": ` + q(universe, "universe") + `}`
	case 24:
		return `{"do": "add input", "input": ` + q(universe, "input") + `, "values": {"sacn": ` + number(1, 4) + `, "faders": {` + q(target, "on") + `: 7}}}`
	case 25:
		return `{"do": "set input", "input": ` + q(universe, "input") + `, "key": "patched as", "to": ` + q(universe, "to") + `}`
	case 26:
		return `{"do": "set fader", "input": ` + q(universe, "input") + `, "on": ` + q(target, "on") + `, "to": ` + orNull(number(1, 513)) + `}`
	case 27:
		return `{"do": "remove input", "input": ` + q(universe, "input") + `}`
	case 28:
		return `{"do": "set floor", "on": ` + q(target, "on") + `, "to": ` + orNull(q(share, "to")) + `}`
	case 29:
		return `{"do": "add rung", "energy": ` + number(0, 11) + `, "look": ` + q(look, "look") + `, "effects": [` + q(effect, "effect") + `]}`
	case 30:
		return `{"do": "set rung", "rung": ` + number(0, 5) + `, "key": "energy", "to": ` + number(0, 11) + `}`
	case 31:
		return `{"do": "set rung", "rung": ` + number(0, 5) + `, "key": "effects", "to": ` + orNull(q(effect, "to")) + `}`
	case 32:
		return `{"do": "move rung", "rung": ` + number(0, 5) + `, "to": ` + number(0, 5) + `}`
	case 33:
		return `{"do": "remove rung", "rung": ` + number(0, 5) + `}`
	case 34:
		moment := rapid.SampledFrom([]string{"breath", "breakdown", "spoken", "end", "begin"})
		key, value := "look", q(look, "to")
		if rapid.Bool().Draw(t, "effects") {
			key, value = "effects", q(effect, "to")
		}
		return `{"do": "set moment", "moment": ` + q(moment, "moment") + `, "key": "` + key + `", "to": ` + orNull(value) + `}`
	case 35:
		moment := rapid.SampledFrom([]string{"begin", "instrumental", "breath", "spoken", "lunch"})
		return `{"do": "set moment level", "moment": ` + q(moment, "moment") + `, "on": ` + q(target, "on") + `, "level": "intensity", "to": ` + orNull(q(share, "to")) + `}`
	case 36:
		character := rapid.SampledFrom([]string{"calm", "late", "dusk"})
		switch rapid.IntRange(0, 4).Draw(t, "what") {
		case 0:
			return `{"do": "rename character", "character": ` + q(character, "character") + `, "to": ` + q(character, "to") + `}`
		case 1:
			return `{"do": "remove character", "character": ` + q(character, "character") + `}`
		case 2:
			return `{"do": "set song", "song": "songs/new.yaml", "key": "character", "to": ` + orNull(q(character, "to")) + `}`
		}
		return `{"do": "set character", "character": ` + q(character, "character") + `, "key": "effects at once", "to": ` + orNull(number(0, 8)) + `}`
	case 37:
		limit := rapid.SampledFrom([]string{"quiet energy", "dark gap", "loudness"})
		return `{"do": "set limit", "limit": ` + q(limit, "limit") + `, "to": ` + orNull(number(0, 12)) + `}`
	}
	sections := rapid.SampledFrom([]string{``, `, "sections": [1]`, `, "sections": [0, 2]`, `, "sections": [3]`})
	section := func() string { return fmt.Sprint(rapid.IntRange(0, 3).Draw(t, "section")) }
	switch rapid.IntRange(0, 7).Draw(t, "of the song") {
	case 2, 3:
		return `{"do": "set section", "song": "songs/new.yaml", "section": ` + section() + `, "key": "look", "to": ` + orNull(q(look, "to")) + `}`
	case 4:
		return `{"do": "set section", "song": "songs/new.yaml", "section": ` + section() + `, "key": "effects", "to": ` + orNull(q(effect, "to")) + `}`
	case 5:
		return `{"do": "set section level", "song": "songs/new.yaml", "section": ` + section() + `, "on": ` + q(target, "on") + `, "level": "intensity", "to": ` + orNull(q(share, "to")) + `}`
	case 0:
		return `{"do": "draft song", "song": "songs/new.yaml"` + sections.Draw(t, "sections") + `}`
	case 1:
		return `{"do": "clear draft", "song": "songs/new.yaml"` + sections.Draw(t, "sections") + `}`
	}
	return fmt.Sprintf(`{"do": "set energy", "song": "songs/new.yaml", "section": %d, "energy": %d}`, rapid.IntRange(0, 3).Draw(t, "section"), rapid.IntRange(0, 11).Draw(t, "energy"))
}

// comments lists the comments of files, sorted; those of drafted lines come and go.
func comments(sources map[string][]byte) (list []string) {
	for _, src := range sources {
		for _, m := range regexp.MustCompile(`(?m)(^|\s)#.*$`).FindAllString(string(src), -1) {
			if !strings.Contains(m, "# drafted: ") {
				list = append(list, strings.TrimSpace(m))
			}
		}
	}
	slices.Sort(list)
	return list
}

// A thousand random edits: each leaves files that load or is refused with a reason;
// comments stay; undo leads back to equal bytes and redo forth again.
func TestRandomEdits(t *testing.T) {
	folder := yard(t)
	made, refusals := 0, 0
	s, err := compose.Open(folder.Dir, compose.Options{})
	require.NoError(t, err)
	undoAll := func(t require.TestingT) {
		for s.State().Undo != "" {
			_, err := s.Undo(s.State().Revision)
			require.NoError(t, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		undoAll(t) // what a check before left
		history := []map[string][]byte{s.Sources()}
		for range 10 {
			json := someEdit(t)
			edits, err := compose.Decode([]byte(json))
			require.NoError(t, err, json)
			before := s.View()
			state, err := s.Apply(before.State.Revision, edits)
			var refused *compose.Refused
			switch {
			case err != nil:
				require.ErrorAs(t, err, &refused, json)
				require.NotEmpty(t, refused.Problems)
				require.Same(t, before, s.View(), "a refused edit changes nothing")
				refusals++
				continue
			case state.Revision == before.State.Revision:
				continue // as it is already
			}
			made++
			require.Empty(t, state.Faults, json)
			require.NotNil(t, s.Show(), json)
			there := maps.Clone(s.Sources())
			maps.DeleteFunc(there, func(name string, _ []byte) bool { return before.Sources[name] == nil }) // a new song has its own
			want, have := comments(before.Sources), comments(there)
			if removes := strings.Contains(json, "remove") || strings.Contains(json, "null"); removes {
				require.Subset(t, want, have, json) // those on the lines of what is removed go with it
			} else {
				require.Equal(t, want, have, json)
			}
			history = append(history, s.Sources())
		}
		_, problems := shows.Load(inMemory(s.Sources()), shows.Options{})
		require.Empty(t, problems)
		for i := len(history) - 2; i >= 0; i-- {
			_, err := s.Undo(s.State().Revision)
			require.NoError(t, err)
			require.Equal(t, history[i], s.Sources(), "undone")
		}
		_, err = s.Undo(s.State().Revision)
		require.ErrorIs(t, err, compose.ErrNothing)
		require.Empty(t, s.State().Unsaved)
		for _, want := range history[1:] {
			_, err := s.Redo(s.State().Revision)
			require.NoError(t, err)
			require.Equal(t, want, s.Sources(), "done again")
		}
	})
	t.Logf("%d edits made, %d refused", made, refusals)
	assert.Greater(t, made, 200)
	assert.Greater(t, refusals, 100)
}

// Two people edit one show, one of them in an editor: nothing that either wrote is lost.
func TestTwoEditOneShow(t *testing.T) {
	const most = 40 // each opens a show anew
	checks := 0
	rapid.Check(t, func(rt *rapid.T) {
		if checks++; checks > most {
			return
		}
		folder := yard(t)
		s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly})
		require.NoError(rt, err)
		theirs := 0
		for range rapid.IntRange(2, 10).Draw(rt, "actions") {
			switch rapid.IntRange(0, 4).Draw(rt, "action") {
			case 0:
				name := rapid.SampledFrom([]string{"looks.yaml", "songs/new.yaml", "rig.yaml"}).Draw(rt, "file")
				src := folder.Read(name)
				lines := strings.SplitAfter(src, "\n")
				at := rapid.IntRange(0, len(lines)-1).Draw(rt, "line")
				theirs++
				lines = slices.Insert(lines, at, fmt.Sprintf("# theirs %d\n", theirs))
				folder.Write(name, strings.Join(lines, ""))
			case 1, 2:
				edits, err := compose.Decode([]byte(someEdit(rt)))
				require.NoError(rt, err)
				_, err = s.Apply(s.State().Revision, edits)
				var refused *compose.Refused
				require.True(rt, err == nil || assert.ErrorAs(rt, err, &refused), err)
			case 3:
				before := s.State()
				after, err := s.Save(before.Revision)
				var conflict *compose.Conflict
				if err != nil {
					require.ErrorAs(rt, err, &conflict)
					require.NotEmpty(rt, conflict.Files)
					require.Equal(rt, before, after)
				} else {
					require.Empty(rt, after.Unsaved)
				}
			case 4:
				before := s.Sources()
				state, err := s.Reread()
				require.NoError(rt, err)
				if len(state.Refused) > 0 { // it can be had back
					lost := s.State()
					for lost.Undo != "" && !assert.ObjectsAreEqual(before, s.Sources()) {
						lost, err = s.Undo(lost.Revision)
						require.NoError(rt, err)
					}
					require.Equal(rt, before, s.Sources())
					for lost.Redo != "" {
						lost, err = s.Redo(lost.Revision)
						require.NoError(rt, err)
					}
				}
			}
			all := folder.Read("looks.yaml") + folder.Read("songs/new.yaml") + folder.Read("rig.yaml")
			for i := range theirs {
				require.Contains(rt, all, fmt.Sprintf("# theirs %d\n", i+1))
			}
		}
	})
}

// inMemory returns sources as files.
func inMemory(sources map[string][]byte) fstest.MapFS {
	files := fstest.MapFS{}
	for name, src := range sources {
		files[name] = &fstest.MapFile{Data: src, Mode: 0o644}
	}
	return files
}
