package shows_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
)

// A word sets all roles and the colours without a role; a mapping sets its roles, and the
// rest is what the looks file says.
func TestDeepColours(t *testing.T) {
	only := func(fixed bool, roles ...engine.Role) (d engine.DeepColours) {
		d.Fixed = fixed
		for _, r := range roles {
			d.Roles[r] = true
		}
		return d
	}
	all := only(true, engine.Main, engine.Second, engine.Accent, engine.Warm)
	for _, c := range []struct {
		house, song string
		inHouse     engine.DeepColours
		inSong      engine.DeepColours
	}{
		{"", "", only(false), only(false)},
		{"matched", "", only(false), only(false)},
		{"bright", "", all, all},
		{"bright", "matched", all, only(false)},
		{"", "bright", only(false), all},
		{"{main: bright}", "", only(false, engine.Main), only(false, engine.Main)},
		{"{main: bright}", "{second: bright}", only(false, engine.Main), only(false, engine.Main, engine.Second)},
		{"{main: bright}", "{main: matched, warm: bright}", only(false, engine.Main), only(false, engine.Warm)},
		{"bright", "{warm: matched}", all, only(true, engine.Main, engine.Second, engine.Accent)},
		{"{accent: bright}", "bright", only(false, engine.Accent), all},
	} {
		looks, text := look3, song("  - {at: \"verse, bar 2\", look: lit}\n")
		if c.house != "" {
			looks = strings.Replace(looks, "\nlooks:", "\ndeep colours: "+c.house+"\nlooks:", 1)
		}
		if c.song != "" {
			text = strings.Replace(text, "\nsections:", "\ndeep colours: "+c.song+"\nsections:", 1)
		}
		p := with(t, map[string]string{"looks.yaml": looks, "songs/song.yaml": text}).Program
		assert.Equal(t, c.inHouse, p.HouseDeep, "house %q, song %q", c.house, c.song)
		assert.Equal(t, c.inSong, p.Songs[0].Deep, "house %q, song %q", c.house, c.song)
	}
}
