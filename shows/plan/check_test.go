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
		if rho := n.Songs[i].Follows(); !(rho >= 0.85) {
			t.Errorf("%s: light and energy agree by %.2f only", n.Songs[i].Name, rho)
		}
		for _, f := range Open(songs[i], Warning) {
			t.Errorf("%s, %s (%s): %s: %s; %s", f.Song, f.Place, f.Written, f.Kind, f.Reason, f.Suggestion)
		}
	}
}
