package panel_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/panel"
	"tactus/shows"
	"tactus/shows/compose"
)

// onStage is a session whose edits show at once.
type onStage struct {
	*compose.Session
}

func (onStage) Lamps() panel.Lamps {
	return panel.Lamps{Follow: true, Words: "Edits show on the stage at once."}
}

// desk is a stage whose show can be edited, on a copy of the demo.
type desk struct {
	*stage
	dir     string
	session *compose.Session
}

// newDesk opens the demo for edits.
func newDesk(t testing.TB, change ...func(*panel.Config)) *desk {
	t.Helper()
	d := &desk{dir: t.TempDir()}
	require.NoError(t, os.CopyFS(d.dir, shows.Demo()))
	var err error
	d.session, err = compose.Open(d.dir, compose.Options{Write: func(files []compose.Written) error {
		for _, f := range files {
			if err := os.WriteFile(f.Path, f.Source, 0o600); err != nil {
				return err
			}
		}
		return nil
	}})
	require.NoError(t, err)
	d.stage = newStage(t, append([]func(*panel.Config){func(c *panel.Config) { c.Composer = onStage{d.session} }}, change...)...)
	return d
}

// reply is an answer with its body.
type reply struct {
	status int
	header http.Header
	body   []byte
}

// compose sends a request for a state; tag "" sends no If-Match.
func (d *desk) compose(t testing.TB, method, path, tag, body string) reply {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, d.url+"/api/v1/compose"+path, strings.NewReader(body))
	require.NoError(t, err)
	if tag != "" {
		r.Header.Set("If-Match", `"`+tag+`"`)
	}
	a, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer a.Body.Close()
	src, err := io.ReadAll(a.Body)
	require.NoError(t, err)
	return reply{a.StatusCode, a.Header, src}
}

// read decodes an answer.
func read[T any](t testing.TB, a reply, status int) (v T) {
	t.Helper()
	require.Equal(t, status, a.status, "%s", a.body)
	require.NoError(t, json.Unmarshal(a.body, &v), "%s", a.body)
	return v
}

// changed is what the tests look at of an answer to a change.
type changed struct {
	State   panel.ComposeState `json:"state"`
	Changed map[string]any     `json:"changed"`
}

// whole is what the tests look at of all that can be edited.
type whole struct {
	State panel.ComposeState `json:"state"`
	Songs []struct {
		File     string `json:"file"`
		Sections []struct {
			Name   string `json:"name"`
			Energy int    `json:"energy"`
		} `json:"sections"`
	} `json:"songs"`
	Looks []any          `json:"looks"`
	Rig   map[string]any `json:"rig"`
}

// energy is the body of an edit of the demo's calm song.
func energy(section, to int) string {
	return fmt.Sprintf(`{"edits": [{"do": "set energy", "song": "songs/lanterns.yaml", "section": %d, "energy": %d}]}`, section, to)
}

func (d *desk) tag(t testing.TB) string {
	t.Helper()
	return read[whole](t, d.compose(t, "GET", "", "", ""), 200).State.Tag
}

// An edit, undo, redo and save, as a page makes them.
func TestCompose(t *testing.T) {
	d := newDesk(t)
	got := d.compose(t, "GET", "", "", "")
	w := read[whole](t, got, 200)
	assert.Equal(t, `"`+w.State.Tag+`"`, got.header.Get("ETag"))
	require.Equal(t, "songs/lanterns.yaml", w.Songs[1].File)
	assert.Equal(t, 6, w.Songs[1].Sections[3].Energy)
	assert.Empty(t, w.State.Unsaved)
	assert.True(t, w.State.Lamps.Follow)

	got = d.compose(t, "POST", "/edit", w.State.Tag, energy(3, 8))
	c := read[changed](t, got, 200)
	assert.NotEqual(t, w.State.Tag, c.State.Tag)
	assert.Equal(t, `"`+c.State.Tag+`"`, got.header.Get("ETag"))
	assert.Equal(t, []string{"songs/lanterns.yaml"}, c.State.Unsaved)
	assert.Contains(t, c.State.Undo, "energy 8")
	require.Len(t, c.Changed, 1, "nothing but that song")
	songs := c.Changed["songs"].([]any)
	require.Len(t, songs, 1)
	assert.InDelta(t, 8, songs[0].(map[string]any)["sections"].([]any)[3].(map[string]any)["energy"], 0)
	on := func() string {
		src, err := os.ReadFile(filepath.Join(d.dir, "songs", "lanterns.yaml"))
		require.NoError(t, err)
		return string(src)
	}
	was := on()

	u := read[changed](t, d.compose(t, "POST", "/undo", c.State.Tag, ""), 200)
	assert.Empty(t, u.State.Unsaved)
	assert.Contains(t, u.State.Redo, "energy 8")
	r := read[changed](t, d.compose(t, "POST", "/redo", u.State.Tag, "{}"), 200)
	assert.Equal(t, was, on(), "not saved yet")
	s := read[changed](t, d.compose(t, "POST", "/save", r.State.Tag, ""), 200)
	assert.Empty(t, s.State.Unsaved)
	assert.Empty(t, s.Changed)
	assert.Equal(t, strings.Replace(was, "chorus: {bars: 8, energy: 6", "chorus: {bars: 8, energy: 8", 1), on())
	e := read[changed](t, d.compose(t, "POST", "/edit", s.State.Tag, energy(0, 3)), 200)
	gone := read[changed](t, d.compose(t, "POST", "/discard", e.State.Tag, ""), 200)
	assert.Empty(t, gone.State.Unsaved)
	assert.Contains(t, gone.Changed, "songs")
	assert.Equal(t, 8, read[whole](t, d.compose(t, "GET", "", "", ""), 200).Songs[1].Sections[3].Energy)
}

// Each way in which a change is refused, and nothing has changed after it.
func TestComposeRefuses(t *testing.T) {
	d := newDesk(t)
	tag := d.tag(t)
	start, _, _ := strings.Cut(tag, ".")
	long := `{"edits": [` + strings.Repeat(" ", 128<<10) + `]}`
	for name, c := range map[string]struct {
		path, tag, body string
		status          int
		words           string
	}{
		"no If-Match":          {"/edit", "", energy(3, 8), 428, "If-Match is missing"},
		"another revision":     {"/edit", start + ".7", energy(3, 8), 412, "edited since"},
		"another start":        {"/edit", "AAAAAAAA.1", energy(3, 8), 412, "edited since"},
		"no tag":               {"/edit", "1", energy(3, 8), 400, "If-Match"},
		"a number too large":   {"/edit", start + ".99999999999999999999", energy(3, 8), 400, "If-Match"},
		"no body":              {"/edit", tag, "", 400, "the body is not like"},
		"no edits":             {"/edit", tag, `{}`, 400, "edits is missing"},
		"none":                 {"/edit", tag, `{"edits": []}`, 400, "0 edits"},
		"another key":          {"/edit", tag, `{"edits": [], "force": true}`, 400, "force"},
		"two bodies":           {"/edit", tag, energy(3, 8) + "{}", 400, "something follows"},
		"an unknown word":      {"/edit", tag, `{"edits": [{"do": "set energie"}]}`, 400, `did you mean \"set energy\"?`},
		"a key too many":       {"/edit", tag, strings.Replace(energy(3, 8), `"section"`, `"loud": 1, "section"`, 1), 400, "loud"},
		"too long":             {"/edit", tag, long, 413, "131072 bytes"},
		"an energy of 11":      {"/edit", tag, energy(3, 11), 422, `"file":"songs/lanterns.yaml"`},
		"no such section":      {"/edit", tag, energy(70, 3), 422, "there is no section 71"},
		"nothing to undo":      {"/undo", tag, "", 409, "nothing to undo"},
		"a body for undo":      {"/undo", tag, energy(3, 8), 400, "want no body"},
		"an unknown change":    {"/fly", tag, "", 404, "edit, undo, redo, save, reread, discard"},
		"undo without a state": {"/undo", "", "", 428, "If-Match is missing"},
	} {
		got := d.compose(t, "POST", c.path, c.tag, c.body)
		assert.Equal(t, c.status, got.status, "%s: %s", name, got.body)
		assert.Contains(t, string(got.body), c.words, name)
		if c.status != 404 {
			assert.Equal(t, `"`+tag+`"`, got.header.Get("ETag"), "%s: the present state", name)
		}
	}
	assert.Equal(t, tag, d.tag(t))
	refused := read[panel.ComposeRefusal](t, d.compose(t, "POST", "/edit", tag, energy(3, 11)), 422)
	assert.Equal(t, 0, *refused.Edit)
	require.NotEmpty(t, refused.Faults)
	assert.Equal(t, 18, refused.Faults[0].Line)
	assert.Equal(t, tag, refused.State.Tag)
}

// What another program has changed is shown, and taken in with the unsaved edits kept.
func TestComposeBesideAnEditor(t *testing.T) {
	d := newDesk(t)
	e := read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), energy(3, 8)), 200)
	file := filepath.Join(d.dir, "songs", "lanterns.yaml")
	src, err := os.ReadFile(file)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(src), "tempo: 72 bpm", "tempo: 74 bpm", 1)), 0o600))
	got := read[panel.ComposeRefusal](t, d.compose(t, "POST", "/save", e.State.Tag, ""), 409)
	require.Len(t, got.Conflicts, 1)
	assert.Equal(t, "songs/lanterns.yaml", got.Conflicts[0].File)
	assert.Contains(t, got.Conflicts[0].Lines, "+tempo: 74 bpm")
	r := read[changed](t, d.compose(t, "POST", "/reread", e.State.Tag, ""), 200)
	assert.Empty(t, r.State.Refused)
	assert.Equal(t, []string{"songs/lanterns.yaml"}, r.State.Unsaved)
	s := read[changed](t, d.compose(t, "POST", "/save", r.State.Tag, ""), 200)
	assert.Empty(t, s.State.Unsaved)
	src, err = os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(src), "tempo: 74 bpm")
	assert.Contains(t, string(src), "chorus: {bars: 8, energy: 8")
}

// Without a composer nothing can be read or changed here; with one, only by those who may
// control, and from no page of another site.
func TestComposeIsClosed(t *testing.T) {
	all := [][2]string{{"GET", ""}, {"GET", "/measured?song=songs/lanterns.yaml"}, {"GET", "/picture?look=tide"}, {"GET", "/night"}, {"GET", "/night/measured"}, {"GET", "/paper"}, {"GET", "/plot"}, {"POST", "/midi"}, {"GET", "/look?look=tide"}, {"GET", "/looks"}, {"GET", "/reaches"}, {"GET", "/colour?colour=red"}}
	for _, word := range []string{"edit", "undo", "redo", "save", "reread", "discard"} {
		all = append(all, [2]string{"POST", "/" + word})
	}
	plain := &desk{stage: newStage(t)}
	shut := newDesk(t, func(c *panel.Config) { c.Access = locked(t) })
	open := newDesk(t)
	for _, c := range all {
		got := plain.compose(t, c[0], c[1], "x.1", "")
		assert.Equal(t, 403, got.status, c)
		assert.Contains(t, string(got.body), "tactus run --compose", c)
		assert.Equal(t, 401, shut.compose(t, c[0], c[1], "x.1", "").status, c)
		r, err := http.NewRequestWithContext(t.Context(), c[0], open.url+"/api/v1/compose"+c[1], strings.NewReader(energy(3, 8)))
		require.NoError(t, err)
		r.Header.Set("Sec-Fetch-Site", "cross-site")
		a, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		a.Body.Close()
		assert.Equal(t, 403, a.StatusCode, c)
	}
	assert.EqualValues(t, 1, shut.session.State().Revision)
	assert.EqualValues(t, 1, open.session.State().Revision)
}

// Whoever may watch may not edit, and need not see the files.
func TestWatchersDoNotCompose(t *testing.T) {
	d := newDesk(t, func(c *panel.Config) { c.Access = locked(t) })
	token := d.login(t, "look but not touch")
	for _, c := range [][2]string{{"GET", ""}, {"POST", "/edit"}} {
		status, body, _ := d.request(t, c[0], "/api/v1/compose"+c[1], token, "")
		assert.Equal(t, 403, status, c)
		assert.Contains(t, body, "not control", c)
	}
}

// Of many changes for the same state that come at once, one is made.
func TestOneChangeAtATime(t *testing.T) {
	d := newDesk(t)
	tag := d.tag(t)
	var wait sync.WaitGroup
	var mu sync.Mutex
	count := map[int]int{}
	for i := range 12 {
		wait.Go(func() {
			status := d.compose(t, "POST", "/edit", tag, energy(3, i%3+7)).status
			mu.Lock()
			defer mu.Unlock()
			count[status]++
		})
	}
	wait.Wait()
	assert.Equal(t, map[int]int{200: 1, 412: 11}, count)
	assert.EqualValues(t, 2, d.session.State().Revision)
}

// Open streams are told of each new revision, and new streams of the present one.
func TestComposeEvents(t *testing.T) {
	d := newDesk(t)
	ctx, leave := context.WithCancel(t.Context())
	defer leave()
	r, err := http.NewRequestWithContext(ctx, "GET", d.url+"/api/v1/events?rate=1", http.NoBody)
	require.NoError(t, err)
	a, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer a.Body.Close()
	lines := bufio.NewScanner(a.Body)
	lines.Buffer(nil, 1<<20)
	next := func() (e panel.ComposeEvent) {
		for lines.Scan() {
			if lines.Text() == "event: composed" {
				require.True(t, lines.Scan())
				require.NoError(t, json.Unmarshal([]byte(strings.TrimPrefix(lines.Text(), "data: ")), &e))
				return e
			}
		}
		require.Fail(t, "the stream ended")
		return e
	}
	first := next()
	assert.EqualValues(t, 1, first.Revision)
	c := read[changed](t, d.compose(t, "POST", "/edit", first.Tag, energy(3, 8)), 200)
	d.ComposeChanged() // as who wires it does
	assert.Equal(t, panel.ComposeEvent{Tag: c.State.Tag, Revision: 2, Unsaved: 1}, next())
}

// A song is measured as it is edited, once for each revision.
func TestComposeMeasured(t *testing.T) {
	d := newDesk(t)
	strength := func(a reply) float64 {
		m := read[panel.Measured](t, a, 200)
		assert.Equal(t, "songs/lanterns.yaml", m.File)
		require.Len(t, m.Sections, 7)
		return m.Sections[3].Strength
	}
	before := d.compose(t, "GET", "/measured?song=songs/lanterns.yaml", "", "")
	was := strength(before)
	edit := `{"edits": [{"do": "set energy", "song": "songs/lanterns.yaml", "section": 3, "energy": 1}]}`
	c := read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), edit), 200)
	after := d.compose(t, "GET", "/measured?song=songs/lanterns.yaml", "", "")
	assert.InDelta(t, was, strength(after), 0, "the light is the same")
	assert.Equal(t, c.State.Tag, read[panel.Measured](t, after, 200).Tag)
	assert.NotEqual(t, read[panel.Measured](t, before, 200).Found, read[panel.Measured](t, after, 200).Found, "check finds that the section is too strong for its energy")
	assert.Equal(t, 422, d.compose(t, "GET", "/measured?song=songs/harbour.yaml", "", "").status)
}

// Measuring is given up when a newer edit comes.
func TestMeasuringIsGivenUp(t *testing.T) {
	d := newDesk(t)
	done := make(chan reply)
	ask := func() { done <- d.compose(t, "GET", "/measured?song=songs/saturday.yaml", "", "") }
	statuses := map[int]bool{}
	for i := range 20 { // until an edit comes while one is measured
		tag := d.tag(t)
		go ask()
		_ = read[changed](t, d.compose(t, "POST", "/edit", tag, energy(3, 7+i%2)), 200)
		d.ComposeChanged()
		a := <-done
		if statuses[a.status] = true; a.status == 409 {
			assert.Contains(t, string(a.body), "a newer edit has come")
			return
		}
	}
	require.Fail(t, "no measuring was given up", "%v", statuses)
}

// Pictures differ by look and song, and are not sent again to who has them.
func TestComposePicture(t *testing.T) {
	d := newDesk(t)
	tide := d.compose(t, "GET", "/picture?look=tide&song=songs/lanterns.yaml", "", "")
	require.Equal(t, 200, tide.status, "%s", tide.body)
	assert.Equal(t, "image/svg+xml", tide.header.Get("Content-Type"))
	assert.NotEqual(t, tide.body, d.compose(t, "GET", "/picture?look=tide&song=songs/saturday.yaml", "", "").body)
	assert.NotEqual(t, tide.body, d.compose(t, "GET", "/picture?look=embers&song=songs/lanterns.yaml", "", "").body)
	assert.NotEqual(t, tide.body, d.compose(t, "GET", "/picture?look=tide&song=songs/lanterns.yaml&effects=none", "", "").body)
	assert.NotEqual(t, tide.body, d.compose(t, "GET", "/picture?look=tide&song=songs/lanterns.yaml&effects=sway&effects=gather+in", "", "").body)
	for query, words := range map[string]string{
		"look=fog": "no such look", "look=tide&song=songs/fog.yaml": "the file of a song", "look=tide&effects=fog": "no effect",
	} {
		a := d.compose(t, "GET", "/picture?"+query, "", "")
		assert.Equal(t, 422, a.status, query)
		assert.Contains(t, string(a.body), words, query)
	}
	r, err := http.NewRequestWithContext(t.Context(), "GET", d.url+"/api/v1/compose/picture?look=tide", http.NoBody)
	require.NoError(t, err)
	r.Header.Set("If-None-Match", tide.header.Get("ETag"))
	a, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	a.Body.Close()
	assert.Equal(t, http.StatusNotModified, a.StatusCode)
}

// A show with faults can be read and repaired; what needs it whole says so.
func TestComposeAFaultyShow(t *testing.T) {
	d := newDesk(t)
	file := filepath.Join(d.dir, "songs", "saturday.yaml")
	require.NoError(t, os.WriteFile(file, []byte("song: Saturday\n"), 0o600))
	r := read[changed](t, d.compose(t, "POST", "/reread", d.tag(t), ""), 200)
	require.NotEmpty(t, r.State.Faults)
	assert.Equal(t, "songs/saturday.yaml", r.State.Faults[0].File)
	assert.Equal(t, 409, d.compose(t, "GET", "/measured?song=songs/lanterns.yaml", "", "").status)
	for _, path := range []string{"/picture?look=tide", "/look?look=tide", "/looks", "/reaches", "/colour?colour=red"} {
		assert.Equal(t, 409, d.compose(t, "GET", path, "", "").status, path)
	}
	assert.Equal(t, 200, d.compose(t, "GET", "", "", "").status)
	assert.Equal(t, 200, d.compose(t, "POST", "/edit", r.State.Tag, energy(3, 8)).status, "of another file")
}
