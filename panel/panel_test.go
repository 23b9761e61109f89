package panel

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
)

// stage is a panel on the demo, with a loop that a test plays by hand.
type stage struct {
	*Panel
	asked chan engine.Input
	snap  engine.Snapshot
	url   string
}

func demo(t *testing.T) *shows.Show {
	t.Helper()
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return show
}

func newStage(t *testing.T, change ...func(*Config)) *stage {
	t.Helper()
	show := demo(t)
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
	if got := s.showOf(s.c.Show.Program); got.Program != s.c.Show.Program || len(got.Accepted) != 0 {
		t.Errorf("before: %q", got.Program.Name)
	}
	if got := s.showOf(e.Program); got.Program != e.Program || len(got.Accepted) != 1 {
		t.Errorf("after: %q, %d accepted", got.Program.Name, len(got.Accepted))
	}
	if other := (&engine.Program{}); s.showOf(other).Program != other {
		t.Error("an unknown program is taken for another")
	}
}

func TestShowIsDescribed(t *testing.T) {
	s := newStage(t)
	r, err := http.Get(s.url + "/api/v1/show")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	var d Description
	if err := json.NewDecoder(r.Body).Decode(&d); err != nil {
		t.Fatal(err)
	}
	if d.Revision != 1 || d.Show != "Harbour Hall" || len(d.Heads) != 16 || len(d.Songs) != 3 || len(d.Wishes) < 20 {
		t.Errorf("%+v", d)
	}
}

func TestMomentsAreStreamed(t *testing.T) {
	s := newStage(t)
	r, err := http.Get(s.url + "/api/v1/events?rate=30&slots=1")
	if err != nil {
		t.Fatal(err)
	}
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
			if err := json.Unmarshal([]byte(data), &m); err != nil {
				t.Fatal(err)
			}
			if m.Revision != 1 || m.Song != engine.None || m.Look != "walk-in" || len(m.Slots) != 2 {
				t.Fatalf("%+v", m)
			}
		}
		if kind != "" {
			kinds[kind] = true
		}
	}
	if !kinds["moment"] || !kinds["report"] {
		t.Errorf("streamed: %v", kinds)
	}
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
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		got := engine.CommandKind(0)
		if len(s.asked) > 0 {
			got = (<-s.asked).Command.Kind
		}
		if r.StatusCode != c.status || got != c.want {
			t.Errorf("%s %s: %d, command %d; want %d, %d", c.path, c.body, r.StatusCode, got, c.status, c.want)
		}
	}
}
