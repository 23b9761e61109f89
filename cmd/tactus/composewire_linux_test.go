package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/sacn"
)

// composeWait is how long a test waits for light, and for an answer.
const composeWait = 20 * time.Second

// frontSlot is the slot of the demo's first front light on universe 1. The walk-in look has
// it at 35 %.
const frontSlot = 57

// editor edits a show over HTTP, and sees the light that its program sends.
type editor struct {
	t    testing.TB
	url  string
	conn *net.UDPConn
	tag  string // of the last state
}

// openEditor starts the program, with its light on loopback. The player of a rehearsal is
// stopped, so that the walk-in look stays.
func openEditor(t testing.TB, args ...string) *editor {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	require.NoError(t, conn.SetReadBuffer(4<<20))
	e := &editor{t: t, conn: conn}
	e.url = servePage(t, append(args, "--to", conn.LocalAddr().String(), "--protocol", "sacn", "--rise", "0s")...)
	if args[0] == "rehearse" {
		status, body := e.post("player/stop", "")
		require.Equal(t, http.StatusNoContent, status, "%s", body)
	}
	return e
}

// post sends a request for the last state, and keeps the new one.
func (e *editor) post(path, body string) (status int, answer []byte) {
	e.t.Helper()
	return e.request("POST", path, body)
}

func (e *editor) request(method, path, body string) (status int, answer []byte) {
	e.t.Helper()
	r, err := http.NewRequestWithContext(e.t.Context(), method, e.url+"api/v1/"+path, strings.NewReader(body))
	require.NoError(e.t, err)
	if e.tag != "" {
		r.Header.Set("If-Match", e.tag)
	}
	a, err := http.DefaultClient.Do(r)
	require.NoError(e.t, err)
	defer a.Body.Close()
	answer, err = io.ReadAll(a.Body)
	require.NoError(e.t, err)
	if tag := a.Header.Get("ETag"); tag != "" {
		e.tag = tag
	}
	return a.StatusCode, answer
}

// done makes a change that has to succeed.
func (e *editor) done(path, body string) (state map[string]any) {
	e.t.Helper()
	status, answer := e.post("compose/"+path, body)
	require.Equal(e.t, http.StatusOK, status, "%s: %s", path, answer)
	var all struct {
		State map[string]any `json:"state"`
	}
	require.NoError(e.t, json.Unmarshal(answer, &all))
	return all.State
}

// until reads the front light's level until it is as wanted, and returns it and when it came.
func (e *editor) until(what string, wanted func(level byte) bool) (level byte, at time.Time) {
	e.t.Helper()
	require.NoError(e.t, e.conn.SetReadDeadline(time.Now().Add(composeWait)))
	buf := make([]byte, 1500)
	for {
		n, err := e.conn.Read(buf)
		require.NoError(e.t, err, "%s: the front light is at %d", what, level)
		at = time.Now()
		var p sacn.DataPacket
		if p.Parse(buf[:n]) == nil && p.Universe == 1 {
			if level = p.Slots[frontSlot-1]; wanted(level) {
				return level, at
			}
		}
	}
}

// readFor reads light for a while.
func (e *editor) readFor(d time.Duration) {
	e.t.Helper()
	require.NoError(e.t, e.conn.SetReadDeadline(time.Now().Add(d)))
	buf := make([]byte, 1500)
	for {
		if _, err := e.conn.Read(buf); err != nil {
			require.ErrorIs(e.t, err, os.ErrDeadlineExceeded)
			return
		}
	}
}

func is(want byte) func(byte) bool { return func(level byte) bool { return level == want } }

// walkIn is an edit of the walk-in look's front light, which two of the demo's heads have.
func walkIn(percent int) string {
	return fmt.Sprintf(`{"edits": [{"do": "set look level", "look": "walk-in", "on": "fronts", "level": "intensity", "to": "%d %%"}]}`, percent)
}

// An edit on the page lights the stage of a rehearsal at once; undone, the light is as
// before; saved, the file has that line and all others as they were. What an editor saves
// beside it is taken in.
func TestComposeOnTheWire(t *testing.T) {
	hall := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", hall)
	looks := filepath.Join(hall, "looks.yaml")
	before, err := os.ReadFile(looks)
	require.NoError(t, err)
	e := openEditor(t, "rehearse", hall, "--plain")
	e.until("walk-in", is(89)) // 35 % of 255
	status, _ := e.request("GET", "compose", "")
	require.Equal(t, http.StatusOK, status)

	state := e.done("edit", walkIn(70))
	assert.Equal(t, []any{"looks.yaml"}, state["unsaved"])
	e.until("edited", is(179))
	e.done("undo", "")
	e.until("undone", is(89))
	e.done("redo", "")
	e.until("made again", is(179))
	on, err := os.ReadFile(looks)
	require.NoError(t, err)
	assert.Equal(t, string(before), string(on), "it is not saved yet")

	state = e.done("save", "")
	assert.Empty(t, state["unsaved"])
	on, err = os.ReadFile(looks)
	require.NoError(t, err)
	want := strings.Replace(string(before), "fronts: {intensity: 35 %}", "fronts: {intensity: 70 %}", 1)
	assert.Equal(t, want, string(on))

	e.done("edit", walkIn(20))
	e.until("edited again", is(51))
	song := filepath.Join(hall, "songs", "lanterns.yaml")
	src, err := os.ReadFile(song)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(song, bytes.Replace(src, []byte("tempo: 72 bpm"), []byte("tempo: 74 bpm"), 1), 0o600))
	end := time.Now().Add(composeWait)
	for {
		_, body := e.request("GET", "compose", "")
		if bytes.Contains(body, []byte(`"tempo":74`)) {
			assert.Contains(t, string(body), `"unsaved":["looks.yaml"]`)
			break
		}
		require.True(t, time.Now().Before(end), "the editor's change does not come")
		e.until("meanwhile", is(51))
	}
	e.done("save", "")
	on, err = os.ReadFile(looks)
	require.NoError(t, err)
	assert.Contains(t, string(on), "fronts: {intensity: 20 %}")
}

// The demo can be edited, and has no folder to be saved in.
func TestComposeTheDemo(t *testing.T) {
	e := openEditor(t, "rehearse", "demo", "--plain")
	e.until("walk-in", is(89))
	e.request("GET", "compose", "")
	e.done("edit", walkIn(70))
	e.until("edited", is(179))
	status, answer := e.post("compose/save", "")
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, string(answer), "tactus new")
}

// A run changes no files unless --compose says so, and then the lamps have an edit once it
// is saved.
func TestComposeInARun(t *testing.T) {
	hall := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", hall)
	e := openEditor(t, "run", hall, "--health", "0")
	for _, path := range []string{"edit", "undo", "redo", "save", "reread", "discard"} {
		status, answer := e.post("compose/"+path, walkIn(70))
		assert.Equal(t, http.StatusForbidden, status, path)
		assert.Contains(t, string(answer), "tactus run --compose", path)
	}
	e = openEditor(t, "run", hall, "--health", "0", "--compose")
	e.until("walk-in", is(89))
	e.request("GET", "compose", "")
	state := e.done("edit", walkIn(70))
	assert.Equal(t, map[string]any{"follow": false, "words": "The lamps have an edit when it is saved."}, state["lamps"])
	for range 50 { // more than a second of frames
		e.until("not saved", is(89))
	}
	e.done("save", "")
	e.until("saved", is(179))
}

// manySongs is manyHeads with 40 songs in its set.
func manySongs(t testing.TB) string {
	t.Helper()
	dir := manyHeads(t)
	src, err := os.ReadFile(filepath.Join(dir, "songs", "saturday.yaml"))
	require.NoError(t, err)
	names := "lanterns, saturday, breakwater"
	for i := 4; i <= 40; i++ {
		name := fmt.Sprintf("tide-%d", i)
		names += ", " + name
		one := strings.Replace(string(src), "song: ", fmt.Sprintf("song: Tide %d, ", i), 1)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", name+".yaml"), []byte(one), 0o600))
	}
	set := filepath.Join(dir, "sets", "november.yaml")
	on, err := os.ReadFile(set)
	require.NoError(t, err)
	on = bytes.Replace(on, []byte("songs: [lanterns, saturday, breakwater]"), []byte("songs: ["+names+"]"), 1)
	require.NoError(t, os.WriteFile(set, on, 0o600))
	return dir
}

// BenchmarkCompose says how long it takes from the request with an edit to the first frame
// on the wire that has it, and to the answer: of the demo, and of a show with 40 songs and
// 216 heads. A frame comes each 23 ms; the edits come at all times between two of them.
func BenchmarkCompose(b *testing.B) {
	for _, c := range []struct {
		name string
		hall func(testing.TB) string
	}{
		{"demo", func(testing.TB) string { return "demo" }},
		{"40-songs-216-heads", manySongs},
	} {
		b.Run(c.name, func(b *testing.B) {
			e := openEditor(b, "rehearse", c.hall(b), "--plain")
			e.until("walk-in", is(89))
			e.request("GET", "compose", "")
			const edits = 40
			var light, answers []time.Duration
			at := byte(89)
			for i := range edits {
				percent, to := 70, byte(179)
				if i%2 == 1 {
					percent, to = 35, 89
				}
				answered := make(chan time.Duration, 1)
				e.readFor(time.Duration(i*9%23) * time.Millisecond)
				began := time.Now()
				go func() {
					e.done("edit", walkIn(percent))
					answered <- time.Since(began)
				}()
				_, came := e.until("changed", func(level byte) bool { return level != at })
				light, answers = append(light, came.Sub(began)), append(answers, <-answered)
				e.until("there", is(to))
				at = to
			}
			for name, list := range map[string][]time.Duration{"light": light, "answer": answers} {
				slices.Sort(list)
				for _, share := range []int{50, 95} {
					b.ReportMetric(float64(list[len(list)*share/100])/float64(time.Millisecond), fmt.Sprintf("p%d-%s-ms", share, name))
				}
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}
