package draft_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// What is drafted passes the check, without an error or a warning: a night of
// the demo's songs without their light, and of songs of our own.
func TestDraftsPassTheCheck(t *testing.T) {
	songs := bareSongs(t)
	names := slices.Sorted(maps.Keys(songs))
	files := alone(t, songs[names[0]])
	delete(files, "songs/new.yaml")
	for _, name := range names {
		one := alone(t, songs[name])
		files["songs/"+name+".yaml"] = one["songs/new.yaml"]
		files["songs/"+name+".yaml"].Data = drafted(t, one).Source
	}
	night := "set: Night\nsongs: [" + strings.Join(names, ", ") + "]\nwalk-in: walk-in\nwalk-out: walk-out\ntalk: talk\n"
	files["sets/night.yaml"] = &fstest.MapFile{Data: []byte(night)}
	measured, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{})
	require.NoError(t, err)
	require.Len(t, measured.Songs, len(names), "songs were checked")
	found := measured.Findings
	for i := range measured.Songs {
		found = append(found, measured.Songs[i].Findings...)
	}
	for _, f := range plan.Open(found, plan.Warning) {
		assert.Fail(t, fmt.Sprintf("%s %s, %s: %s: %s", f.Severity, f.Song, f.Place, f.Kind, f.Reason))
	}
}
