package panel

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
	"tactus/shows"
	"tactus/shows/showtest"
)

// stage is a panel on the demo, with a loop that a test plays by hand.
type stage struct {
	*Panel
	asked chan engine.Input
	snap  engine.Snapshot
	url   string
}

func newStage(t *testing.T, change ...func(*Config)) *stage {
	t.Helper()
	show := showtest.Demo(t)
	e := engine.New(show.Program)
	pos := clock.Position{At: clock.Second, Tempo: clock.BPM(120)}
	s := &stage{asked: make(chan engine.Input, 4)}
	s.snap = engine.Snapshot{Program: show.Program, Pos: pos, Universes: e.Frame(pos), Status: e.Status(pos)}
	c := Config{
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
	s.Panel = New(c)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); s.Run(ctx) }()
	server := httptest.NewServer(s)
	t.Cleanup(func() { server.Close(); cancel(); <-done })
	s.url = server.URL
	return s
}

// What was edited is what plays once the loop has it, and not before.
func TestEdited(t *testing.T) {
	s := newStage(t)
	e := *s.c.Show
	e.Program = &engine.Program{Name: "edited"}
	e.Accepted = []shows.Accepted{{Finding: "flat"}}
	s.Edited(&e)
	got := s.showOf(s.c.Show.Program)
	assert.Same(t, s.c.Show.Program, got.Program, "before")
	assert.Empty(t, got.Accepted, "before")
	got = s.showOf(e.Program)
	assert.Same(t, e.Program, got.Program, "after")
	assert.Len(t, got.Accepted, 1, "after")
	other := (&engine.Program{})
	assert.Same(t, other, s.showOf(other).Program, "an unknown program is taken for another")
}

func TestShowIsDescribed(t *testing.T) {
	s := newStage(t)
	r, err := http.Get(s.url + "/api/v1/show")
	require.NoError(t, err)
	defer r.Body.Close()
	var d Description
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
			var m Moment
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
