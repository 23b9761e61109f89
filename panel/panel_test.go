package panel_test

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/panel"
	"tactus/shows/showtest"
)

// stage is a panel on the demo, with a loop that a test plays by hand.
type stage struct {
	*panel.Panel
	asked chan engine.Input
	snap  engine.Snapshot
	url   string
}

func newStage(t testing.TB, change ...func(*panel.Config)) *stage {
	t.Helper()
	show := showtest.Demo(t)
	e := engine.New(show.Program)
	pos := clock.Position{At: clock.Second, Tempo: clock.BPM(120)}
	s := &stage{asked: make(chan engine.Input, 4)}
	s.snap = engine.Snapshot{Program: show.Program, Pos: pos, Universes: e.Frame(pos), Status: e.Status(pos)}
	c := panel.Config{
		Show: show, Base: clock.NewBase(),
		Snapshot: func(dst *engine.Snapshot) { *dst = s.snap },
		View:     func(context.Context) (*engine.View, error) { return e.View(pos), nil },
		Ask: func(in engine.Input) bool {
			select {
			case s.asked <- in:
				return true
			default:
				return false
			}
		},
	}
	for _, f := range change {
		f(&c)
	}
	s.Panel = panel.New(c)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); s.Run(ctx) }()
	server := httptest.NewServer(s)
	t.Cleanup(func() { server.Close(); cancel(); <-done })
	s.url = server.URL
	return s
}

func TestShowIsDescribed(t *testing.T) {
	s := newStage(t)
	r, err := http.Get(s.url + "/api/v1/show")
	require.NoError(t, err)
	defer r.Body.Close()
	var d panel.Description
	require.NoError(t, json.NewDecoder(r.Body).Decode(&d))
	assert.EqualValues(t, 1, d.Revision)
	assert.Equal(t, "Harbour Hall", d.Show)
	assert.Len(t, d.Heads, 16)
	assert.Len(t, d.Songs, 3)
	assert.GreaterOrEqual(t, len(d.Requests), 20)
}

func TestMomentsAreStreamed(t *testing.T) {
	s := newStage(t)
	r, err := http.Get(s.url + "/api/v1/events?rate=30&slots=1")
	require.NoError(t, err)
	defer r.Body.Close()
	kinds := map[string]bool{}
	lines := bufio.NewScanner(r.Body)
	lines.Buffer(nil, 1<<20)
	kind := ""
	for lines.Scan() && len(kinds) < 2 {
		if name, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			kind = name
		}
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok && kind == "moment" {
			var m panel.Moment
			require.NoError(t, json.Unmarshal([]byte(data), &m))
			require.EqualValues(t, 1, m.Revision)
			require.Equal(t, engine.None, m.Song)
			require.Equal(t, "walk-in", m.Look)
			require.Len(t, m.Slots, 2)
		}
		if kind != "" {
			kinds[kind] = true
		}
	}
	assert.True(t, kinds["moment"], "streamed: %v", kinds)
	assert.True(t, kinds["report"], "streamed: %v", kinds)
}

// streamed returns the first event of a kind.
func streamed[T any](t *testing.T, s *stage, kind string) (event T) {
	t.Helper()
	r, err := http.Get(s.url + "/api/v1/events?rate=30")
	require.NoError(t, err)
	defer r.Body.Close()
	lines := bufio.NewScanner(r.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		if lines.Text() != "event: "+kind {
			continue
		}
		require.True(t, lines.Scan(), kind)
		data, ok := strings.CutPrefix(lines.Text(), "data: ")
		require.True(t, ok, lines.Text())
		require.NoError(t, json.Unmarshal([]byte(data), &event))
		return event
	}
	require.Fail(t, "the stream ended without an event of the kind "+kind, lines.Err())
	return event
}

func TestAsking(t *testing.T) {
	s := newStage(t)
	for _, c := range []struct {
		path, body string
		status     int
		want       engine.CommandKind
	}{
		{"hold", "", http.StatusNoContent, engine.Hold},
		{"section/arm", `{"with": ["chorus 1", "beat"]}`, http.StatusNoContent, engine.ArmName},
		{"master", `{"with": [0.5, 2]}`, http.StatusNoContent, engine.GrandMaster},
		{"hold", `{"with": [0]}`, http.StatusNoContent, 0},
		{"section/arm", `{"with": ["coda"]}`, http.StatusUnprocessableEntity, 0},
		{"section/arm", `{"with": [true]}`, http.StatusBadRequest, 0},
		{"section/arm", `chorus`, http.StatusBadRequest, 0},
		{"fly", "", http.StatusNotFound, 0},
	} {
		r, err := http.Post(s.url+"/api/v1/ask/"+c.path, "application/json", strings.NewReader(c.body))
		require.NoError(t, err)
		r.Body.Close()
		got := engine.CommandKind(0)
		if len(s.asked) > 0 {
			got = (<-s.asked).Command.Kind
		}
		assert.Equal(t, c.status, r.StatusCode, "%s %s", c.path, c.body)
		assert.Equal(t, c.want, got, "%s %s", c.path, c.body)
	}
}
