package plan

import (
	"context"
	"testing"
)

// The demo is as its songs ask for: nothing worse than a hint.
func TestDemoFollowsItsSongs(t *testing.T) {
	n, err := Measure(context.Background(), demo(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	show, songs := n.Check()
	for _, f := range show {
		t.Errorf("%+v", f)
	}
	for i := range songs {
		t.Logf("%s: %.2f", n.Songs[i].Name, n.Songs[i].Follows())
		for _, f := range Open(songs[i], Warning) {
			t.Errorf("%s, %s (%s): %s: %s; %s", f.Song, f.Place, f.Written, f.Kind, f.Reason, f.Suggestion)
		}
	}
}
