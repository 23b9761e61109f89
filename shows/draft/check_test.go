package draft

import (
	"context"
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

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
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	measured, err := plan.Measure(context.Background(), show, plan.Options{})
	if err != nil {
		t.Fatal(err)
	}
	general, found := measured.Check()
	if len(found) != len(names) {
		t.Fatalf("%d songs were checked, want %d", len(found), len(names))
	}
	for _, f := range plan.Open(slices.Concat(append(found, general)...), plan.Warning) {
		t.Errorf("%s %s, %s: %s: %s", f.Severity, f.Song, f.Place, f.Kind, f.Reason)
	}
}
