package showtest

import (
	"fmt"
	"maps"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tactus/shows"
)

// Night returns the files of the demo with other songs: of so many minutes each, at
// 120 bpm, in sections of five bars that take turns with the demo's looks. Each song has
// a pickup.
func Night(t testing.TB, songs, minutes int) fstest.MapFS {
	t.Helper()
	files := Files(t, shows.Demo())
	maps.DeleteFunc(files, func(name string, _ *fstest.MapFile) bool { return strings.Contains(name, "/") })
	parts := []string{
		"verse: {bars: 5, energy: 2, look: embers}",
		"pre-chorus: {bars: 5, energy: 4, look: tide, effects: [colour swing, gather in]}",
		"chorus: {bars: 5, energy: 7, look: singalong}",
		"bridge: {bars: 5, energy: 5, look: storm}",
		"tag: {bars: 5, energy: 8, look: full sail}",
	}
	var names []string
	for i := range songs {
		var b strings.Builder
		fmt.Fprintf(&b, "song: Song %d\ntempo: 120 bpm\nmeter: 4/4\nsections:\n", i+1)
		for s := range minutes * 6 { // of ten seconds
			fmt.Fprintf(&b, "  - %s\n", parts[(s+i)%len(parts)])
		}
		second, _, _ := strings.Cut(parts[(1+i)%len(parts)], ":")
		if minutes > 1 {
			second += " 1"
		}
		fmt.Fprintf(&b, "cues:\n  - {at: %s - 1 beat, look: dark, fade: 1/2 beat}\n", second)
		name := fmt.Sprintf("song-%d", i+1)
		names = append(names, name)
		files["songs/"+name+".yaml"] = &fstest.MapFile{Data: []byte(b.String())}
	}
	files["sets/night.yaml"] = &fstest.MapFile{Data: []byte("set: Night\nsongs: [" + strings.Join(names, ", ") + "]\nwalk-in: walk-in\n")}
	return files
}

// Widen adds washes to the rig of the demo's files: on universes of their own, 120 on
// each, and in the group of the back truss.
func Widen(t testing.TB, files fstest.MapFS, heads int) {
	t.Helper()
	const each = 120 // of 4 slots
	universes, fixtures, groups := "universes:\n", "fixtures:\n", "back truss: [wash 5-8"
	for row := 1; heads > 0; row++ {
		n := min(each, heads)
		heads -= n
		washes := fmt.Sprintf("row %d wash 1-%d", row, n)
		universes += fmt.Sprintf("  row %d: {virtual: yes}\n", row)
		fixtures += fmt.Sprintf("  %s: {profile: dimmer-rgb, universe: row %d, address: 1, from: [-3 m, %d m, 4 m], to: [3 m, %d m, 4 m]}\n", washes, row, 5+row, 5+row)
		groups += ", " + washes
	}
	rig := string(files["rig.yaml"].Data)
	for old, to := range map[string]string{"universes:\n": universes, "fixtures:\n": fixtures, "back truss: wash 5-8": groups + "]"} {
		require.Contains(t, rig, old)
		rig = strings.Replace(rig, old, to, 1)
	}
	files["rig.yaml"] = &fstest.MapFile{Data: []byte(rig)}
}
