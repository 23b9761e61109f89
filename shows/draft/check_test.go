package draft

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

	"tactus/shows"
	"tactus/shows/plan"
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
	show, problems := shows.Load(files, shows.Options{})
	require.Empty(t, problems)
	measured, err := plan.Measure(context.Background(), show, plan.Options{})
	require.NoError(t, err)
	general, found := measured.Check()
	require.Len(t, found, len(names), "songs were checked")
	for _, f := range plan.Open(slices.Concat(append(found, general)...), plan.Warning) {
		assert.Fail(t, fmt.Sprintf("%s %s, %s: %s: %s", f.Severity, f.Song, f.Place, f.Kind, f.Reason))
	}
}
