package compose_test

import (
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/diff"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
)

// changedLines returns what edits changed in the files of a session, as "file -old" and
// "file +new".
func changedLines(before, after map[string][]byte) (list []string) {
	names := map[string]bool{}
	for name := range before {
		names[name] = true
	}
	for name := range after {
		names[name] = true
	}
	for name := range names {
		for i, line := range strings.Split(string(diff.Diff("", before[name], "", after[name])), "\n") {
			if i > 2 && line != "" && strings.ContainsRune("+-", rune(line[0])) {
				list = append(list, name+" "+line)
			}
		}
	}
	return list
}

// Each edit changes its lines and no others, and undo gives equal bytes.
func TestEditsChangeTheirLinesOnly(t *testing.T) {
	for _, c := range []struct {
		json string
		want []string
	}{
		{`{"do": "set look level", "look": "tide", "on": "front truss", "level": "intensity", "to": "45 %"}`, []string{
			"looks.yaml -      front truss: {colour: main, intensity: 60 %}",
			"looks.yaml +      front truss: {colour: main, intensity: 45 %}",
		}},
		{`{"do": "set look level", "look": "tide", "on": "fronts", "level": "intensity", "to": "45 %"}`, []string{
			"looks.yaml +      fronts: {intensity: 45 %}",
		}},
		{`{"do": "set look level", "look": "tide", "on": "warmers", "level": "intensity", "to": null}`, []string{
			"looks.yaml -      warmers: {colour: warm, intensity: 30 %}",
			"looks.yaml +      warmers: {colour: warm}",
		}},
		{`[{"do": "set look level", "look": "hearth", "on": "fronts", "level": "intensity", "to": "9 %"},
		   {"do": "set look level", "look": "hearth", "on": "warmers", "level": "intensity", "to": null},
		   {"do": "set look colour", "look": "hearth", "on": "warmers", "to": null}]`, []string{
			"looks.yaml -      warmers: {colour: warm, intensity: 22 %}",
			"looks.yaml +      fronts: {intensity: 9 %}",
		}},
		{`{"do": "set look colour", "look": "tide", "on": "front truss", "to": "#FF8040"}`, []string{
			"looks.yaml -      front truss: {colour: main, intensity: 60 %}",
			`looks.yaml +      front truss: {colour: "#FF8040", intensity: 60 %}`,
		}},
		{`{"do": "set look fade", "look": "tide", "to": "3 s"}`, []string{
			"looks.yaml -    fade: 1 bar", "looks.yaml +    fade: 3 s",
		}},
		{`{"do": "set look effects", "look": "tide", "to": ["climb", "sway"]}`, []string{
			"looks.yaml -    effects: colour swing", "looks.yaml +    effects: [climb, sway]",
		}},
		{`{"do": "set look effects", "look": "tide", "to": []}`, []string{"looks.yaml -    effects: colour swing"}},
		{`{"do": "set effect", "effect": "sway", "key": "period", "to": "4 bars"}`, []string{
			"looks.yaml -  sway: {on: washes, wave: triangle, moves: intensity, period: 2 bars, path: left-right, spread: 1/2 cycle, depth: 45 %}",
			"looks.yaml +  sway: {on: washes, wave: triangle, moves: intensity, period: 4 bars, path: left-right, spread: 1/2 cycle, depth: 45 %}",
		}},
		{`[{"do": "set effect", "effect": "four corners", "key": "pulses", "to": 2}, {"do": "set effect", "effect": "four corners", "key": "seed", "to": null}]`, []string{
			"looks.yaml -    seed: 3", "looks.yaml +    pulses: 2",
		}},
		{`{"do": "set house colour", "role": "second", "to": "rebeccapurple"}`, []string{
			`looks.yaml -palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}`,
			`looks.yaml +palette: {main: "#2f6fd0", second: "rebeccapurple", accent: "#ffb040", warm: "#ffd9a8"}`,
		}},
		{`{"do": "set address", "fixture": "wash 5-8", "address": 101}`, []string{
			"rig.yaml -    address: 21", "rig.yaml +    address: 101",
		}},
		{`{"do": "set place", "fixture": "hazer", "at": [-3.5, 6, 0.0004]}`, []string{
			"rig.yaml -  hazer: {profile: hazer, universe: house, address: 11, watts: 600 W, circuit: stage right, at: [-4 m, 6 m, 0 m]}",
			"rig.yaml +  hazer: {profile: hazer, universe: house, address: 11, watts: 600 W, circuit: stage right, at: [-3.5 m, 6 m, 0 m]}",
		}},
		{`{"do": "set fixture", "fixture": "wash 1-4", "key": "watts", "to": "200 W"}`, []string{
			"rig.yaml -    watts: 180 W", "rig.yaml +    watts: 200 W",
		}},
		{`{"do": "set group", "group": "washes", "members": ["back truss", "front truss"]}`, []string{
			"rig.yaml -  washes: [front truss, back truss]", "rig.yaml +  washes: [back truss, front truss]",
		}},
		{`{"do": "set group", "group": "corners", "members": ["wash 1", "wash 4"]}`, []string{
			"rig.yaml +  corners: [wash 1, wash 4]",
		}},
		{`{"do": "add fixtures", "name": "wash", "count": 4, "profile": "rgb", "from": [-3, 2.5, 4.2], "to": [3, 2.5, 4.2], "group": "washes", "watts": "90 W"}`, []string{
			"rig.yaml +  wash 9-12: {profile: rgb, universe: stage, address: 59, watts: 90 W, from: [-3 m, 2.5 m, 4.2 m], to: [3 m, 2.5 m, 4.2 m]}",
			"rig.yaml -  washes: [front truss, back truss]", "rig.yaml +  washes: [front truss, back truss, wash 9-12]",
		}},
		{`{"do": "add fixtures", "name": "bar", "count": 1, "profile": "rgbw-bar-4", "universe": "house", "from": [0, 5, 0.2], "to": [1, 5, 0.2], "group": "floor"}`, []string{
			"rig.yaml +  bar: {profile: rgbw-bar-4, universe: house, address: 13, from: [0 m, 5 m, 0.2 m], to: [1 m, 5 m, 0.2 m]}",
			"rig.yaml +  floor: bar",
		}},
		{`{"do": "add fixtures", "name": "spot", "number": 7, "count": 1, "profile": "dimmer", "universe": "stage", "address": 500, "from": [0, 5, 0.2], "to": [0, 5, 0.2]}`, []string{
			"rig.yaml +  spot 7: {profile: dimmer, universe: stage, address: 500, at: [0 m, 5 m, 0.2 m]}",
		}},
		{`{"do": "find address", "fixture": "wash 5-8"}`, []string{"rig.yaml -    address: 21", "rig.yaml +    address: 59"}},
		{`{"do": "find address", "fixture": "wash 5-8", "universe": "house"}`, []string{
			"rig.yaml -    universe: stage", "rig.yaml +    universe: house", "rig.yaml -    address: 21", "rig.yaml +    address: 13",
		}},
		{`{"do": "add profile", "profile": "my-wash", "text": "channels: [red, green, blue]\n"}`, []string{"profiles/my-wash.yaml +channels: [red, green, blue]"}},
		{`{"do": "set rig list", "list": "keep", "to": ["fronts", "house lights"]}`, []string{
			"rig.yaml -keep: [fronts, house lights, hazer]", "rig.yaml +keep: [fronts, house lights]",
		}},
		{`{"do": "set order", "set": "sets/november.yaml", "songs": ["Home by the Breakwater", "lanterns", "saturday"]}`, []string{
			"sets/november.yaml -songs: [lanterns, saturday, breakwater]", "sets/november.yaml +songs: [breakwater, lanterns, saturday]",
		}},
		{`{"do": "set set look", "set": "sets/november.yaml", "moment": "talk", "look": "hearth"}`, []string{
			"sets/november.yaml -talk: talk", "sets/november.yaml +talk: hearth",
		}},
		{`{"do": "set set look", "set": "sets/november.yaml", "moment": "talk", "look": null}`, []string{"sets/november.yaml -talk: talk"}},
		{`{"do": "rename set", "set": "sets/november.yaml", "to": "First Friday"}`, []string{
			"sets/november.yaml -set: November", "sets/november.yaml +set: First Friday",
		}},
		{`{"do": "add set", "set": "sets/december.yaml", "name": "December", "songs": ["saturday"]}`, []string{
			"sets/december.yaml +set: December", "sets/december.yaml +songs: [saturday]",
		}},
		{`{"do": "accept finding", "song": "songs/lanterns.yaml", "finding": "flat", "in": "bridge", "because": "the band stops: all of it"}`, []string{
			`songs/lanterns.yaml +accepted: [{finding: flat, in: bridge, because: "the band stops: all of it"}]`,
		}},
		{`{"do": "set cue level", "song": "songs/saturday.yaml", "cue": 0, "on": "fronts", "level": "intensity", "to": "30 %"}`, []string{
			"songs/saturday.yaml -      fronts: {intensity: 75 %}", "songs/saturday.yaml +      fronts: {intensity: 30 %}",
		}},
		{`{"do": "rename look", "look": "hearth", "to": "fireside"}`, []string{
			"looks.yaml -  hearth:", "looks.yaml +  fireside:",
			"looks.yaml -    - {energy: 0, look: hearth}", "looks.yaml +    - {energy: 0, look: fireside}",
			"looks.yaml -  breakdown: hearth", "looks.yaml +  breakdown: fireside",
			"looks.yaml -  spoken: {look: hearth, set: {fronts: {intensity: 70 %}}}", "looks.yaml +  spoken: {look: fireside, set: {fronts: {intensity: 70 %}}}",
		}},
		{`{"do": "copy look", "look": "hearth", "to": "fireside"}`, []string{
			"looks.yaml +  fireside:", "looks.yaml +    fade: 1 bar", "looks.yaml +    set:", "looks.yaml +      warmers: {colour: warm, intensity: 22 %}",
		}},
		{`{"do": "copy look for song", "look": "storm", "to": "squall", "song": "songs/breakwater.yaml"}`, []string{
			"looks.yaml +  squall:", "looks.yaml +    fade: 1 bar", "looks.yaml +    set:", "looks.yaml +      washes: {colour: second, intensity: 65 %}",
			"looks.yaml +      warmers: {colour: main, intensity: 50 %}", "looks.yaml +    effects: [far lightning, heave]",
			"songs/breakwater.yaml -  - bridge: {bars: 8, energy: 3, look: storm, set: {fronts: {intensity: 30 %}}}",
			"songs/breakwater.yaml +  - bridge: {bars: 8, energy: 3, look: squall, set: {fronts: {intensity: 30 %}}}",
		}},
		{`{"do": "copy effect", "effect": "sway", "to": "slow sway"}`, []string{
			"looks.yaml +  slow sway: {on: washes, wave: triangle, moves: intensity, period: 2 bars, path: left-right, spread: 1/2 cycle, depth: 45 %}",
		}},
		{`{"do": "add universe", "universe": "wall", "values": {"art-net": 3, "to": ["127.0.0.1"]}}`, []string{
			"rig.yaml +  wall: {art-net: 3, to: [127.0.0.1]}",
		}},
		{`{"do": "set universe", "universe": "stage", "key": "priority", "to": 110}`, []string{
			"rig.yaml -  stage: {sacn: 1, to: [127.0.0.1]}", "rig.yaml +  stage: {sacn: 1, to: [127.0.0.1], priority: 110}",
		}},
		{`[{"do": "set universe", "universe": "stage", "key": "priority", "to": 110}, {"do": "set universe", "universe": "stage", "key": "art-net", "to": 0}]`, []string{
			"rig.yaml -  stage: {sacn: 1, to: [127.0.0.1]}", "rig.yaml +  stage: {art-net: 0, to: [127.0.0.1]}",
		}},
		{`{"do": "set universe", "universe": "stage", "key": "virtual", "to": true}`, []string{
			"rig.yaml -  stage: {sacn: 1, to: [127.0.0.1]}", "rig.yaml +  stage: {virtual: yes}",
		}},
		{`{"do": "rename universe", "universe": "house", "to": "hall"}`, []string{
			"rig.yaml -  house: {sacn: 2, to: [127.0.0.1]}", "rig.yaml +  hall: {sacn: 2, to: [127.0.0.1]}",
			"rig.yaml -  house lights: {profile: dimmer, universe: house, address: 1, watts: 900 W, circuit: front bar, at: [0 m, -8 m, 5 m]}",
			"rig.yaml +  house lights: {profile: dimmer, universe: hall, address: 1, watts: 900 W, circuit: front bar, at: [0 m, -8 m, 5 m]}",
			"rig.yaml -  hazer: {profile: hazer, universe: house, address: 11, watts: 600 W, circuit: stage right, at: [-4 m, 6 m, 0 m]}",
			"rig.yaml +  hazer: {profile: hazer, universe: hall, address: 11, watts: 600 W, circuit: stage right, at: [-4 m, 6 m, 0 m]}",
		}},
		{`{"do": "add input", "input": "house desk", "values": {"sacn": 11, "faders": {"washes": 1}}}`, []string{
			"rig.yaml +inputs: {house desk: {sacn: 11, faders: {washes: 1}}}",
		}},
		{`[{"do": "add input", "input": "desk", "values": {"sacn": 11, "patched as": "stage", "groups": ["washes"]}},
		   {"do": "set fader", "input": "desk", "on": "fronts", "to": 7}, {"do": "set input", "input": "desk", "key": "takes", "to": "last"},
		   {"do": "rename input", "input": "desk", "to": "house desk"}]`, []string{
			"rig.yaml +inputs: {house desk: {sacn: 11, faders: {fronts: 7}, takes: last}}",
		}},
		{`[{"do": "add input", "input": "desk", "values": {"sacn": 11, "faders": {"washes": 1}}}, {"do": "set input", "input": "desk", "key": "patched as", "to": "stage"}]`, []string{
			"rig.yaml +inputs: {desk: {sacn: 11, patched as: stage}}",
		}},
		{`[{"do": "add input", "input": "desk", "values": {"sacn": 11, "faders": {"washes": 1}}}, {"do": "remove input", "input": "desk"}]`, nil},
		{`{"do": "set floor", "on": "fronts", "to": "45 %"}`, []string{"rig.yaml -floors: {fronts: 30 %}", "rig.yaml +floors: {fronts: 45 %}"}},
		{`{"do": "set floor", "on": "fronts", "to": null}`, []string{"rig.yaml -floors: {fronts: 30 %}"}},
		{`[{"do": "set circuit", "circuit": "wall", "breaker": "10 A"}, {"do": "set fixture", "fixture": "hazer", "key": "circuit", "to": "wall"}]`, []string{
			"rig.yaml +  wall: {breaker: 10 A}",
			"rig.yaml -  hazer: {profile: hazer, universe: house, address: 11, watts: 600 W, circuit: stage right, at: [-4 m, 6 m, 0 m]}",
			"rig.yaml +  hazer: {profile: hazer, universe: house, address: 11, watts: 600 W, circuit: wall, at: [-4 m, 6 m, 0 m]}",
		}},
		{`{"do": "set rig", "key": "white", "to": "4000 K"}`, []string{"rig.yaml -white: 5600 K", "rig.yaml +white: 4000 K"}},
		{`{"do": "set show", "key": "clock", "to": ["midi", "internal"]}`, []string{"show.yaml -clock: [midi, tap, internal]", "show.yaml +clock: [midi, internal]"}},
		{`[{"do": "set limit", "limit": "quiet energy", "to": 3}, {"do": "set limit", "limit": "dark gap", "to": 2}]`, []string{"show.yaml +judge: {quiet energy: 3, dark gap: 2}"}},
		{`[{"do": "set limit", "limit": "quiet energy", "to": 3}, {"do": "set limit", "limit": "quiet energy", "to": null}]`, nil},
		{`{"do": "add rung", "energy": 7, "look": "full sail", "effects": ["sway"]}`, []string{
			"looks.yaml +    - {energy: 7, look: full sail, effects: sway}",
		}},
		{`{"do": "add rung", "energy": 10, "look": "full sail", "effects": []}`, []string{
			"looks.yaml +    - {energy: 10, look: full sail, effects: none}",
		}},
		{`{"do": "set rung", "rung": 3, "key": "energy", "to": 6}`, []string{
			"looks.yaml -    - {energy: 3, look: tide}", "looks.yaml +    - {energy: 6, look: tide}",
		}},
		{`{"do": "set rung", "rung": 3, "key": "energy", "to": 4}`, []string{
			"looks.yaml -    - {energy: 3, look: tide}", "looks.yaml +    - {energy: 4, look: tide}",
		}},
		{`{"do": "set rung", "rung": 3, "key": "energy", "to": 0}`, []string{
			"looks.yaml -    - {energy: 3, look: tide}", "looks.yaml +    - {energy: 0, look: tide}",
		}},
		{`{"do": "set rung", "rung": 5, "key": "effects", "to": ["colour swing", "sway"]}`, []string{
			"looks.yaml -    - {energy: 5, look: rising, effects: colour swing}", "looks.yaml +    - {energy: 5, look: rising, effects: [colour swing, sway]}",
		}},
		{`{"do": "move rung", "rung": 2, "to": 3}`, []string{
			"looks.yaml -    - {energy: 2, look: embers}", "looks.yaml -    - {energy: 3, look: tide}",
			"looks.yaml +    - {energy: 2, look: tide}", "looks.yaml +    - {energy: 3, look: embers}",
		}},
		{`{"do": "remove rung", "rung": 9}`, []string{"looks.yaml -    - {energy: 9, look: full sail}"}},
		{`{"do": "set moment", "moment": "breath", "key": "look", "to": "embers"}`, []string{"looks.yaml -  breath: dark", "looks.yaml +  breath: embers"}},
		{`{"do": "set moment", "moment": "breath", "key": "effects", "to": "sway"}`, []string{"looks.yaml -  breath: dark", "looks.yaml +  breath: {look: dark, effects: sway}"}},
		{`{"do": "set moment", "moment": "breath", "key": "look", "to": null}`, []string{"looks.yaml -  breath: dark"}},
		{`{"do": "set moment level", "moment": "begin", "on": "fronts", "level": "intensity", "to": "60 %"}`, []string{
			"looks.yaml -  begin: {fronts: {intensity: 50 %}, house lights: {intensity: 10 %}}",
			"looks.yaml +  begin: {fronts: {intensity: 60 %}, house lights: {intensity: 10 %}}",
		}},
		{`{"do": "set moment level", "moment": "instrumental", "on": "fronts", "level": "intensity", "to": null}`, []string{"looks.yaml -  instrumental: {fronts: {intensity: 35 %}}"}},
		{`{"do": "set moment level", "moment": "breakdown", "on": "fronts", "level": "intensity", "to": "15 %"}`, []string{
			"looks.yaml -  breakdown: hearth", "looks.yaml +  breakdown: {look: hearth, set: {fronts: {intensity: 15 %}}}",
		}},
		{`{"do": "set moment level", "moment": "end", "on": "fronts", "level": "intensity", "to": null}`, []string{
			"looks.yaml -  end: {look: dark, set: {fronts: {intensity: 20 %}}}", "looks.yaml +  end: {look: dark}",
		}},
		{`[{"do": "set character", "character": "late night", "key": "pace", "to": "slow"}, {"do": "set character", "character": "late night", "key": "breath", "to": true},
		   {"do": "set song", "song": "songs/lanterns.yaml", "key": "character", "to": "late night"}, {"do": "rename character", "character": "late night", "to": "dusk"}]`, []string{
			"looks.yaml +characters:", "looks.yaml +  dusk: {pace: slow, breath: yes}",
			"songs/lanterns.yaml +character: dusk",
		}},
		{`[{"do": "set character", "character": "calm", "key": "end", "to": "held"}, {"do": "remove character", "character": "calm"}]`, nil},
	} {
		t.Run(c.json, func(t *testing.T) {
			_, s := open(t)
			before := s.Sources()
			state, err := apply(t, s, c.json)
			require.NoError(t, err)
			assert.NotNil(t, s.Show())
			assert.ElementsMatch(t, c.want, changedLines(before, s.Sources()))
			if len(c.want) == 0 {
				return // as it was
			}
			_, err = s.Undo(state.Revision)
			require.NoError(t, err)
			assert.Equal(t, before, s.Sources())
		})
	}
}

// What cannot be done is refused with the reason, and nothing changes.
func TestEditsAreRefusedWithTheReason(t *testing.T) {
	_, s := open(t)
	for json, want := range map[string]string{
		`{"do": "set look level", "look": "tyde", "on": "washes", "level": "intensity", "to": "4 %"}`:                           `no look "tyde" (did you mean "tide"?)`,
		`{"do": "set look level", "look": "tide", "on": "washs", "level": "intensity", "to": "4 %"}`:                            `no group or fixture "washs" (did you mean "washes"?)`,
		`{"do": "set look level", "look": "tide", "on": "washes", "level": "loudness", "to": "4 %"}`:                            `unknown key "loudness"`,
		`{"do": "set look level", "look": "tide", "on": "washes", "level": "intensity", "to": "400 %"}`:                         `400 %`,
		`{"do": "set look colour", "look": "tide", "on": "front truss", "to": "#GG0000"}`:                                       `#GG0000`,
		`{"do": "set look colour", "look": "tide", "on": "front truss", "to": "greenish"}`:                                      `greenish`,
		`{"do": "set house colour", "role": "third", "to": "red"}`:                                                              `no role "third"`,
		`{"do": "set house colour", "role": "main", "to": "no colour"}`:                                                         `no colour`,
		`{"do": "add look", "look": "tide", "fade": "1 bar", "set": {"washes": {"intensity": "4 %"}}}`:                          `there is a look "tide" already`,
		`{"do": "add look", "look": "dawn", "fade": "1 bar"}`:                                                                   `would have neither levels nor effects`,
		`{"do": "add look", "look": "dawn", "set": {}}`:                                                                         `looks.dawn.set: 0 keys; want at least 1`,
		`{"do": "add effect", "effect": "dawn", "values": {}}`:                                                                  `"moves" is missing`,
		`{"do": "add look", "look": "<b>dawn</b>", "effects": ["sway"]}`:                                                        `"<b>dawn</b>" cannot be a name`,
		`{"do": "add look", "look": "\"dawn\": {}", "effects": ["sway"]}`:                                                       `cannot be a name`,
		`{"do": "add look", "look": "dawn\nnoon: 3", "effects": ["sway"]}`:                                                      `cannot be a name`,
		`{"do": "copy look", "look": "tide", "to": "embers"}`:                                                                   `there is a look "embers" already`,
		`{"do": "rename look", "look": "tide", "to": "embers"}`:                                                                 `there is a look "embers" already`,
		`{"do": "rename look", "look": "tide", "to": "<i>"}`:                                                                    `"<i>" cannot be a name`,
		`{"do": "remove look", "look": "tide"}`:                                                                                 `the look "tide" is used: looks.yaml:`,
		`{"do": "remove effect", "effect": "sway"}`:                                                                             `the effect "sway" is used: looks.yaml:`,
		`{"do": "set effect", "effect": "sway", "key": "wave", "to": "zigzag"}`:                                                 `zigzag`,
		`{"do": "set effect", "effect": "sway", "key": "on", "to": null}`:                                                       `"on" is missing`,
		`{"do": "rename effect", "effect": "sway", "to": "none"}`:                                                               `an effect cannot be called "none"`,
		`{"do": "set address", "fixture": "wash 5-8", "address": 2}`:                                                            `wash`,
		`{"do": "set address", "fixture": "wash 5-8", "address": 600}`:                                                          `600 is out of range`,
		`{"do": "set address", "fixture": "wash 6", "address": 100}`:                                                            `"wash 6" is one of "wash 5-8", which are written together`,
		`{"do": "set address", "fixture": "hazer", "address": 100, "universe": "roof"}`:                                         `no universe "roof"`,
		`{"do": "set place", "fixture": "hazer", "at": [1, 2]}`:                                                                 `"at" has 2 numbers; want three`,
		`{"do": "set place", "fixture": "hazer"}`:                                                                               `a place is missing or surplus`,
		`{"do": "set place", "fixture": "hazer", "at": [1e9, 2, 3]}`:                                                            `1000000000 m`,
		`{"do": "set group", "group": "washes", "members": []}`:                                                                 `the list of groups and fixtures is empty`,
		`{"do": "set group", "group": "washes", "members": ["washes"]}`:                                                         `group "washes" holds itself`,
		`{"do": "remove group", "group": "washes"}`:                                                                             `the group "washes" is used: looks.yaml:`,
		`{"do": "remove fixture", "fixture": "wash 1-4"}`:                                                                       `the fixture "wash 1-4" is used: rig.yaml:`,
		`{"do": "rename fixture", "fixture": "wash 1-4", "to": "spot 1-3"}`:                                                     `stands for 4 fixtures, and "spot 1-3" for 3`,
		`{"do": "rename fixture", "fixture": "wash 1-4", "to": "wash 5-8"}`:                                                     `there is a fixture "wash 5-8" already`,
		`{"do": "rename group", "group": "washes", "to": "hazer"}`:                                                              `there is a fixture "hazer" already`,
		`{"do": "set order", "set": "sets/november.yaml", "songs": ["lanterns", "lanterns"]}`:                                   `"lanterns" is in the`,
		`{"do": "set order", "set": "sets/november.yaml", "songs": []}`:                                                         `the set would have no song`,
		`{"do": "set order", "set": "sets/november.yaml", "songs": ["lantern"]}`:                                                `no song "lantern" (did you mean "lanterns"?)`,
		`{"do": "set order", "set": "sets/october.yaml", "songs": ["lanterns"]}`:                                                `the show has no such file`,
		`{"do": "set set look", "set": "sets/november.yaml", "moment": "lunch", "look": "talk"}`:                                `no moment "lunch"`,
		`{"do": "add set", "set": "sets/november.yaml", "name": "December", "songs": ["saturday"]}`:                             `the file exists already`,
		`{"do": "add set", "set": "sets/../../etc/x.yaml", "name": "December", "songs": ["saturday"]}`:                          `no set can have this file name; want sets/NAME.yaml`,
		`{"do": "add set", "set": "sets/a:b.yaml", "name": "December", "songs": ["saturday"]}`:                                  `this cannot be the name of a file`,
		`{"do": "add set", "set": "sets/december.yaml", "name": "November", "songs": ["saturday"]}`:                             `has a set "November" already`,
		`{"do": "accept finding", "song": "songs/lanterns.yaml", "finding": "loud", "because": "so"}`:                           `loud`,
		`{"do": "accept finding", "song": "looks.yaml", "finding": "flat", "because": "so"}`:                                    `no song file "looks.yaml"`,
		`{"do": "unaccept finding", "song": "songs/lanterns.yaml", "accepted": 0}`:                                              `there is no accepted finding 1; the song has 0 accepted findings`,
		`{"do": "set rig list", "list": "groups", "to": ["washes"]}`:                                                            `no list "groups"`,
		`{"do": "set fixture", "fixture": "wash 1-4", "key": "profile", "to": "nothing"}`:                                       `no profile "nothing"`,
		`{"do": "remove fixture", "fixture": "wash 1-4", "from groups": true}`:                                                  `the group "front truss" is used: `,
		`{"do": "add fixtures", "count": 0, "profile": "rgb", "from": [0, 0, 0], "to": [0, 0, 0]}`:                              `0 fixtures; want 1 to 512`,
		`{"do": "add fixtures", "count": 2, "profile": "rgv", "from": [0, 0, 0], "to": [0, 0, 0]}`:                              `no profile "rgv" (did you mean "rgb"?)`,
		`{"do": "add fixtures", "count": 2, "profile": "rgb", "from": [0, 0], "to": [0, 0, 0]}`:                                 `a place is missing`,
		`{"do": "add fixtures", "count": 2, "profile": "rgb", "universe": "attic", "from": [0, 0, 0], "to": [0, 0, 0]}`:         `no universe "attic"; universes are: stage, house`,
		`{"do": "add fixtures", "count": 2, "profile": "rgb", "address": 19, "from": [0, 0, 0], "to": [0, 0, 0]}`:               `slot 19 of stage belongs to wash 4`,
		`{"do": "add fixtures", "count": 2, "profile": "rgb", "address": 508, "from": [0, 0, 0], "to": [0, 0, 0]}`:              `slots 508 to 513 of stage; a universe has 512`,
		`{"do": "add fixtures", "count": 2, "profile": "rgb", "address": -5, "from": [0, 0, 0], "to": [0, 0, 0]}`:               `slots -5 to 0 of stage; a universe has 512`,
		`{"do": "add fixtures", "count": 200, "profile": "rgb", "from": [0, 0, 0], "to": [0, 0, 0]}`:                            `no universe has 600 slots free in a row`,
		`{"do": "add fixtures", "name": "wash", "number": 8, "count": 2, "profile": "rgb", "from": [0, 0, 0], "to": [0, 0, 0]}`: `there is a fixture "wash 8" already`,
		`{"do": "add fixtures", "name": "<b>", "count": 2, "profile": "rgb", "from": [0, 0, 0], "to": [0, 0, 0]}`:               `<b>`,
		`{"do": "find address", "fixture": "wash 5-8", "universe": "attic"}`:                                                    `no universe "attic"`,
		`{"do": "add profile", "profile": "../x", "text": "channels: [red]"}`:                                                   `no profile can have this file name`,
		`{"do": "add profile", "profile": "x", "text": "channels: [rod]"}`:                                                      `rod`,
		`{"do": "copy look for song", "look": "talk", "to": "speech", "song": "songs/lanterns.yaml"}`:                           `the song does not use the look "talk"`,
		`{"do": "copy look for song", "look": "tide", "to": "ebb", "song": "songs/fog.yaml"}`:                                   `the show has no such file`,
		`{"do": "set cue level", "song": "songs/lanterns.yaml", "cue": 99, "on": "fronts", "level": "intensity", "to": "9 %"}`:  `there is no cue 100`,
		`{"do": "set cue level", "song": "songs/lanterns.yaml", "cue": 0, "on": "frunts", "level": "intensity", "to": "9 %"}`:   `no group or fixture "frunts"`,
		`{"do": "add universe", "universe": "stage", "values": {"sacn": 3}}`:                                                    `there is a universe "stage" already`,
		`{"do": "add universe", "universe": "wall", "values": {"sacn": 2}}`:                                                     `sACN universe 2 is "house" already`,
		`{"do": "add universe", "universe": "<b>", "values": {"sacn": 3}}`:                                                      `"<b>" cannot be a name`,
		`{"do": "set universe", "universe": "stage", "key": "sacn", "to": 64000}`:                                               `64000 is out of range`,
		`{"do": "set universe", "universe": "stag", "key": "sacn", "to": 3}`:                                                    `no universe "stag" (did you mean "stage"?)`,
		`{"do": "set universe", "universe": "stage", "key": "sacn", "to": null}`:                                                `sacn`,
		`{"do": "set universe", "universe": "stage", "key": "lead", "to": "300 ms"}`:                                            `300 ms`,
		`{"do": "rename universe", "universe": "stage", "to": "house"}`:                                                         `there is a universe "house" already`,
		`{"do": "remove universe", "universe": "stage"}`:                                                                        `the universe "stage" is used: rig.yaml:`,
		`{"do": "add input", "input": "desk", "values": {"sacn": 1, "faders": {"washes": 1}}}`:                                  `sACN universe 1 is sent by this show`,
		`{"do": "add input", "input": "desk", "values": {"sacn": 11}}`:                                                          `patched as`,
		`{"do": "set input", "input": "desk", "key": "sacn", "to": 12}`:                                                         `no input "desk"`,
		`{"do": "set fader", "input": "desk", "on": "washes", "to": 1}`:                                                         `no input "desk"`,
		`{"do": "rename input", "input": "desk", "to": "rail"}`:                                                                 `no input "desk"`,
		`{"do": "remove input", "input": "desk"}`:                                                                               `no input "desk"`,
		`{"do": "set floor", "on": "frons", "to": "30 %"}`:                                                                      `no group or fixture "frons" (did you mean "fronts"?)`,
		`{"do": "set floor", "on": "hazer", "to": "30 %"}`:                                                                      `none of these fixtures has intensity`,
		`{"do": "set circuit", "circuit": "stage left", "breaker": null}`:                                                       `stage left`,
		`{"do": "set rig", "key": "fixtures", "to": null}`:                                                                      `no key "fixtures"`,
		`{"do": "set rig", "key": "venue", "to": null}`:                                                                         `"venue" is missing`,
		`{"do": "set show", "key": "judge", "to": null}`:                                                                        `no key "judge"`,
		`{"do": "set show", "key": "phrase", "to": "100 bars"}`:                                                                 `100 bars`,
		`{"do": "set limit", "limit": "quiet energi", "to": 3}`:                                                                 `no limit "quiet energi" (did you mean "quiet energy"?)`,
		`{"do": "set limit", "limit": "quiet energy", "to": 300}`:                                                               `300`,
		`{"do": "add rung", "energy": 11, "look": "tide"}`:                                                                      `11 is out of range`,
		`{"do": "add rung", "energy": 7, "look": "tyde"}`:                                                                       `no look "tyde" (did you mean "tide"?)`,
		`{"do": "add rung", "energy": 7, "look": "tide"}`:                                                                       `a second rung with this look and these effects`,
		`{"do": "set rung", "rung": 10, "key": "energy", "to": 3}`:                                                              `there is no rung 11; the ladder has 10 rungs`,
		`{"do": "set rung", "rung": 1, "key": "energy", "to": 11}`:                                                              `11 is out of range`,
		`{"do": "set rung", "rung": 1, "key": "energy", "to": "loud"}`:                                                          `loud`,
		`{"do": "set rung", "rung": 1, "key": "effects", "to": null}`:                                                           `a second rung with this look and these effects`,
		`{"do": "move rung", "rung": 1, "to": -1}`:                                                                              `there is no rung 0`,
		`{"do": "remove rung", "rung": 12}`:                                                                                     `there is no rung 13; the ladder has 10 rungs`,
		`{"do": "set moment", "moment": "begin", "key": "look", "to": "tide"}`:                                                  `no moment "begin"`,
		`{"do": "set moment", "moment": "breath", "key": "look", "to": "tyde"}`:                                                 `no look "tyde" (did you mean "tide"?)`,
		`{"do": "set moment", "moment": "breath", "key": "colour", "to": "main"}`:                                               `colour`,
		`{"do": "set moment level", "moment": "lunch", "on": "fronts", "level": "intensity", "to": "4 %"}`:                      `no moment "lunch"`,
		`{"do": "set moment level", "moment": "end", "on": "frons", "level": "intensity", "to": "4 %"}`:                         `no group or fixture "frons"`,
		`{"do": "set character", "character": "calm", "key": "pace", "to": "brisk"}`:                                            `brisk`,
		`{"do": "set character", "character": "late", "key": "effects", "to": ["swya"]}`:                                        `no effect "swya" (did you mean "sway"?)`,
		`{"do": "rename character", "character": "calm", "to": "quiet"}`:                                                        `no character "calm"`,
		`{"do": "remove character", "character": "calm"}`:                                                                       `no character "calm"`,
	} {
		_, err := apply(t, s, json)
		var refused *compose.Refused
		if assert.ErrorAs(t, err, &refused, json) {
			assert.ErrorContains(t, err, want, json)
			assert.NotEmpty(t, refused.Words)
		}
		assert.EqualValues(t, 1, s.State().Revision, json)
	}
}
