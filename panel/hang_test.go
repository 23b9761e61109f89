package panel_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/panel"
	"tactus/shows"
	"tactus/shows/newrig"
)

// newHall opens a show of which nobody has said yet what hangs there.
func newHall(t *testing.T) *desk {
	t.Helper()
	made, err := newrig.Undecided("Pier Hall")
	require.NoError(t, err)
	d := newDesk(t)
	for name := range d.session.Sources() {
		require.NoError(t, os.Remove(filepath.Join(d.dir, name)))
	}
	require.NoError(t, os.CopyFS(filepath.Join(d.dir, "new"), made.FS()))
	require.NoError(t, fs.WalkDir(made.FS(), ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		return os.WriteFile(filepath.Join(d.dir, filepath.FromSlash(path)), made.Files[path], 0o600)
	}))
	_, err = d.session.Reread()
	require.NoError(t, err)
	require.NotNil(t, d.session.Show(), "%v", d.session.State().Faults)
	return d
}

// refusal returns why a change was not made.
func refusal(t *testing.T, a reply, status int) string {
	t.Helper()
	return read[struct {
		Why string `json:"error"`
	}](t, a, status).Why
}

// reasons are the remarks of an answer that are faults.
func reasons(a panel.HangAnswer) (list []string) {
	for _, r := range a.Remarks {
		if r.Fault {
			list = append(list, fmt.Sprintf("%d %s: %s (%s)", r.Line, r.What, r.Reason, r.Nearest))
		}
	}
	return list
}

// On a rig that exists a list is added as one change; what cannot be is told line by line.
func TestAListIsHung(t *testing.T) {
	d := newDesk(t)
	before := d.session.Sources()
	list := "name;profile;universe;address;place\\nspot 1;dimmer;stage;100;front truss\\nspot 2;dimmer;1;101;front truss\\npar 1;rgbw;stage;19;back truss\\nx;rgbv;;;\\nkino;rgb;7;1;back truss\\nfloor;rgbw;;;back floor\\n"
	try := read[panel.HangAnswer](t, d.compose(t, "POST", "/hang", d.tag(t), `{"list": "`+list+`", "try": true}`), 200)
	assert.Nil(t, try.Made)
	assert.Equal(t, []string{"Line 2: 1 × dimmer, called spot", "Line 3: 1 × dimmer, called spot", "Line 7: 1 × rgbw, called floor"}, try.Understood)
	assert.Equal(t, []string{
		"5 rgbv: no such profile; 'tactus fixtures' lists all (rgb)",
		"4 par: slot 19 of stage belongs to wash 4; other slots; without an address the next free ones are taken ()",
		`6 kino: no universe "7"; universes are: stage, house ()`,
	}, reasons(try))
	assert.Equal(t, before, d.session.Sources())

	why := refusal(t, d.compose(t, "POST", "/hang", d.tag(t), `{"list": "`+list+`"}`), 422)
	assert.Contains(t, why, "line 5: rgbv")
	assert.Contains(t, why, "and 2 more")
	assert.Equal(t, before, d.session.Sources())

	made := read[panel.HangAnswer](t, d.compose(t, "POST", "/hang", d.tag(t), `{"list": "`+list+`", "skip": true}`), 200)
	require.NotNil(t, made.Made)
	assert.Equal(t, []string{"rig.yaml"}, made.Made.State.Unsaved)
	rig := string(d.session.Sources()["rig.yaml"])
	assert.Contains(t, rig, "  spot 1: {profile: dimmer, universe: stage, address: 100, at: ")
	assert.Contains(t, rig, "  floor: {profile: rgbw, universe: stage, address: 59, ")
	assert.NotNil(t, d.session.Show())
	read[changed](t, d.compose(t, "POST", "/undo", made.Made.State.Tag, ""), 200)
	assert.Equal(t, before, d.session.Sources(), "one undo takes all of it back")
}

// The first evening: rigs of every kind become a whole show as one change, which loads.
func TestFirstEvening(t *testing.T) {
	for name, rows := range map[string]string{
		"washes only":   `{"count": 6, "profile": "rgbw", "place": "front truss"}`,
		"dimmers only":  `{"count": 4, "profile": "dimmer", "place": "front truss"}`,
		"no back light": `{"count": 4, "profile": "rgb", "place": "front truss"}, {"count": 2, "profile": "dimmer", "place": "hall"}`,
		"whole":         `{"count": 4, "profile": "rgbw", "place": "front truss"}, {"count": 4, "profile": "rgb", "place": "back truss"}, {"count": 2, "profile": "dimmer", "place": "hall"}, {"count": 1, "profile": "hazer"}`,
	} {
		d := newHall(t)
		before := d.session.Sources()
		require.Equal(t, true, read[whole](t, d.compose(t, "GET", "", "", ""), 200).Rig["undecided"], name)
		made := read[panel.HangAnswer](t, d.compose(t, "POST", "/hang", d.tag(t), `{"venue": "The Barn", "rows": [`+rows+`]}`), 200)
		require.NotNil(t, made.Made, name)
		assert.Contains(t, made.Understood[0], "and a first song with its light")
		require.NotNil(t, d.session.Show(), name)
		assert.Equal(t, "The Barn", d.session.Show().Venue)
		w := read[whole](t, d.compose(t, "GET", "", "", ""), 200)
		assert.Equal(t, false, w.Rig["undecided"], name)
		want, err := newrig.Make(&newrig.Description{Venue: "The Barn"})
		assert.Error(t, err, "%v", want)
		s := read[changed](t, d.compose(t, "POST", "/save", w.State.Tag, ""), 200)
		assert.Empty(t, s.State.Unsaved)
		_, problems := shows.Load(os.DirFS(d.dir), shows.Options{})
		assert.Empty(t, problems, name)
		read[changed](t, d.compose(t, "POST", "/undo", s.State.Tag, ""), 200)
		assert.Equal(t, before, d.session.Sources(), name)
	}
}

// What gives no light, or names no profile, makes nothing; a song that somebody has written
// meanwhile stays.
func TestFirstEveningKeepsWork(t *testing.T) {
	d := newHall(t)
	for body, want := range map[string]string{
		`{"rows": []}`: "no fixtures are described",
		`{"rows": [{"count": 1, "profile": "hazer"}]}`:                                      "no fixture here gives light",
		`{"rows": [{"count": 2, "profile": "dimer", "place": "hall"}]}`:                     "the nearest is \"dimmer\"",
		`{"rows": [{"count": 2, "profile": "dimmer", "place": "hall"}], "to": "next door"}`: "is no IPv4 address",
		`{"rows": [{"count": 600, "profile": "dimmer", "place": "hall"}]}`:                  "at most 512",
		`{"rows": [{"count": 2, "profile": "<b>", "place": "hall"}], "venue": "<i>\u0000"}`: "there is no such profile",
	} {
		assert.Contains(t, refusal(t, d.compose(t, "POST", "/hang", d.tag(t), body), 422), want, body)
	}
	read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), `{"edits": [{"do": "set energy", "song": "songs/first-song.yaml", "section": 0, "energy": 4}]}`), 200)
	mine := d.session.Sources()["songs/first-song.yaml"]
	read[panel.HangAnswer](t, d.compose(t, "POST", "/hang", d.tag(t), `{"rows": [{"count": 2, "profile": "dimmer", "place": "hall"}]}`), 200)
	assert.Equal(t, string(mine), string(d.session.Sources()["songs/first-song.yaml"]))
	require.NotNil(t, d.session.Show())
}

// archive is a fixture file with a description.
func archive(t *testing.T, description string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create("description.xml")
	require.NoError(t, err)
	_, err = io.WriteString(w, description)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return b.Bytes()
}

// A fixture file becomes a profile, of the mode that is chosen; one that is not whole, or
// made to do harm, is refused in words.
func TestFixtureFileBecomesAProfile(t *testing.T) {
	d := newDesk(t)
	src, err := os.ReadFile("../testdata/reference/gdtf/generic-4-head-bar/description.xml")
	require.NoError(t, err)
	send := func(query string, body []byte) reply {
		r, err := http.NewRequestWithContext(t.Context(), "POST", d.url+"/api/v1/compose/gdtf"+query, bytes.NewReader(body))
		require.NoError(t, err)
		r.Header.Set("If-Match", `"`+d.tag(t)+`"`)
		a, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		defer a.Body.Close()
		got, err := io.ReadAll(a.Body)
		require.NoError(t, err)
		return reply{a.StatusCode, a.Header, got}
	}
	file := archive(t, string(src))
	asked := read[panel.GDTFAnswer](t, send("", file), 200)
	require.Greater(t, len(asked.Modes), 1)
	assert.Nil(t, asked.Made)
	i := slices.IndexFunc(asked.Modes, func(m panel.GDTFMode) bool { return m.Fault == "" })
	require.GreaterOrEqual(t, i, 0, "%v", asked.Modes)
	made := read[panel.GDTFAnswer](t, send("?mode="+strings.ReplaceAll(asked.Modes[i].Name, " ", "%20"), file), 200)
	require.NotNil(t, made.Made)
	assert.Contains(t, slices.Collect(maps.Keys(d.session.Sources())), "profiles/"+made.Profile+".yaml")
	h := read[panel.Hangable](t, d.compose(t, "GET", "/hanging", "", ""), 200)
	assert.Equal(t, made.Profile, h.Profiles[0].Name, "those of the show come first")
	assert.Equal(t, asked.Modes[i].Slots[0], h.Profiles[0].Slots)

	assert.Contains(t, refusal(t, send("?mode=none", file), 422), "modes are: ")
	assert.Contains(t, refusal(t, send("", []byte("PK nonsense")), 422), "GDTF archive")
	assert.Contains(t, refusal(t, send("", archive(t, strings.Repeat("a", 4<<20))), 422), "refused")
	assert.Contains(t, refusal(t, send("", make([]byte, 32<<20+1)), 413), "32 MB")
}
