package panel_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
	"tactus/panel"
)

// apiFile reads openapi.yaml with an independent library.
func apiFile(t *testing.T) *openapi3.T {
	t.Helper()
	for _, kind := range []string{"image/svg+xml", "text/html"} {
		openapi3filter.RegisterBodyDecoder(kind, openapi3filter.PlainBodyDecoder)
	}
	for _, kind := range []string{"image/png", "application/pdf"} {
		openapi3filter.RegisterBodyDecoder(kind, openapi3filter.FileBodyDecoder)
	}
	src, err := os.ReadFile("openapi.yaml")
	require.NoError(t, err)
	doc, err := openapi3.NewLoader().LoadFromData(src)
	require.NoError(t, err)
	require.NoError(t, doc.Validate(context.Background()))
	return doc
}

// makesFrames has the last frame made just now, however long a test takes.
func makesFrames(c *panel.Config) {
	snapshot, base := c.Snapshot, c.Base
	c.Snapshot = func(dst *engine.Snapshot) {
		snapshot(dst)
		dst.Pos.At = base.Now()
	}
}

// Real answers, good and bad, are as the file says.
func TestAnswersAreAsDescribed(t *testing.T) {
	doc := apiFile(t)
	walked := newStage(t, func(c *panel.Config) { c.Walker = strolling{} })
	follows := newStage(t, makesFrames, func(c *panel.Config) { c.Partner = other{} })
	open, shut := newStage(t, makesFrames), newStage(t, func(c *panel.Config) { c.Access = locked(t) })
	desk := newDesk(t)
	edited := desk.stage
	tag := desk.tag(t)
	for _, c := range []struct {
		method, path, body string
		at                 *stage
		status             int
	}{
		{"GET", "/api/v1/compose", "", open, 403},
		{"GET", "/api/v1/compose", "", edited, 200},
		{"GET", "/api/v1/compose/measured?song=songs/lanterns.yaml", "", edited, 200},
		{"GET", "/api/v1/compose/measured?song=fog", "", edited, 422},
		{"GET", "/api/v1/compose/draft?song=songs/lanterns.yaml", "", edited, 200},
		{"GET", "/api/v1/compose/draft?song=songs/lanterns.yaml&sections=0,2", "", edited, 200},
		{"GET", "/api/v1/compose/draft?song=songs/lanterns.yaml&sections=0,x", "", edited, 422},
		{"GET", "/api/v1/compose/draft?song=fog", "", edited, 422},
		{"GET", "/api/v1/compose/remedy?song=songs/lanterns.yaml&finding=flat&beat=0", "", edited, 200},
		{"GET", "/api/v1/compose/remedy?song=songs/lanterns.yaml&finding=flat&beat=NaN", "", edited, 422},
		{"GET", "/api/v1/compose/remedy?song=fog&finding=flat&beat=0", "", edited, 422},
		{"GET", "/api/v1/compose/picture?look=tide", "", edited, 200},
		{"GET", "/api/v1/compose/picture?look=fog", "", edited, 422},
		{"GET", "/api/v1/compose/night", "", edited, 200},
		{"GET", "/api/v1/compose/night?set=fog", "", edited, 422},
		{"GET", "/api/v1/compose/night/measured?set=sets/november.yaml", "", edited, 200},
		{"GET", "/api/v1/compose/paper", "", edited, 200},
		{"GET", "/api/v1/compose/paper?format=html&paper=letter", "", edited, 200},
		{"GET", "/api/v1/compose/paper?format=doc", "", edited, 422},
		{"GET", "/api/v1/compose/plot", "", edited, 200},
		{"GET", "/api/v1/compose/plot?what=stage&format=png", "", edited, 200},
		{"GET", "/api/v1/compose/plot?what=song&song=fog", "", edited, 422},
		{"POST", "/api/v1/compose/midi?name=tide", string(tune(t)), edited, 200},
		{"POST", "/api/v1/compose/midi", "no tune", edited, 422},
		{"POST", "/api/v1/compose/midi", "", open, 403},
		{"GET", "/api/v1/compose/hanging", "", edited, 200},
		{"GET", "/api/v1/compose/hanging", "", open, 403},
		{"POST", "/api/v1/compose/hang", `{"rows": [{"count": 2, "profile": "rgb", "place": "back truss"}], "try": true}`, edited, 200},
		{"POST", "/api/v1/compose/hang", `{"list": "wash 1, rgbv, 1, 1"}`, edited, 422},
		{"POST", "/api/v1/compose/hang", `{"lost": ""}`, edited, 400},
		{"POST", "/api/v1/compose/hang", "{}", open, 403},
		{"POST", "/api/v1/compose/gdtf", "no archive", edited, 422},
		{"POST", "/api/v1/compose/gdtf", "", shut, 401},
		{"GET", "/api/v1/compose/effect?effect=sway&song=songs/lanterns.yaml&flashes=yes", "", edited, 200},
		{"GET", "/api/v1/compose/effect?effect=far%20lightning&period=3", "", edited, 200},
		{"GET", "/api/v1/compose/effect?effect=fog", "", edited, 422},
		{"GET", "/api/v1/compose/effect?effect=sway", "", open, 403},
		{"GET", "/api/v1/compose/look?look=tide&song=songs/lanterns.yaml", "", edited, 200},
		{"GET", "/api/v1/compose/look?look=fog", "", edited, 422},
		{"GET", "/api/v1/compose/looks", "", edited, 200},
		{"GET", "/api/v1/compose/looks?song=fog", "", edited, 422},
		{"GET", "/api/v1/compose/reaches", "", edited, 200},
		{"GET", "/api/v1/compose/reaches", "", open, 403},
		{"GET", "/api/v1/compose/colour?colour=3200+K", "", edited, 200},
		{"GET", "/api/v1/compose/colour?colour=mud", "", edited, 422},
		{"POST", "/api/v1/compose/fly", "", edited, 404},
		{"POST", "/api/v1/compose/undo", "", edited, 409},
		{"POST", "/api/v1/compose/edit", "{", edited, 400},
		{"POST", "/api/v1/compose/edit", energy(3, 11), edited, 422},
		{"POST", "/api/v1/compose/edit", energy(3, 8), edited, 200},
		{"POST", "/api/v1/compose/edit", energy(3, 8), edited, 412},
		{"POST", "/api/v1/compose/edit", energy(3, 8), shut, 401},
		{"GET", "/api/v1/access", "", open, 200},
		{"GET", "/api/v1/show", "", open, 200},
		{"GET", "/api/v1/openapi.yaml", "", open, 200},
		{"GET", "/metrics", "", open, 200},
		{"GET", "/healthz", "", open, 200},
		{"GET", "/api/v1/explain?head=0", "", open, 200},
		{"GET", "/api/v1/explain?head=99", "", open, 422},
		{"GET", "/api/v1/plan", "", open, 200},
		{"GET", "/api/v1/picture?song=0", "", open, 200},
		{"GET", "/api/v1/picture?song=9", "", open, 422},
		{"GET", "/api/v1/events?rate=99", "", open, 400},
		{"POST", "/api/v1/ask/hold", "", open, 204},
		{"POST", "/api/v1/ask/section/arm", `{"with": ["coda"]}`, open, 422},
		{"POST", "/api/v1/ask/fly", "", open, 404},
		{"POST", "/api/v1/player/play", "", open, 409},
		{"POST", "/api/v1/walk/next", "", open, 409},
		{"POST", "/api/v1/walk/next", "", walked, 200},
		{"POST", "/api/v1/walk/wrong", `{"with": ["swapped with wash 2"]}`, walked, 200},
		{"POST", "/api/v1/walk/run", "", walked, 404},
		{"POST", "/api/v1/walk/find", `{"with": [1]}`, walked, 422},
		{"POST", "/api/v1/change-over", "", open, 409},
		{"POST", "/api/v1/change-over", "", follows, 204},
		{"POST", "/api/v1/change-over", "", shut, 401},
		{"POST", "/api/v1/ask/hold", "", follows, 409},
		{"GET", "/healthz", "", follows, 200},
		{"GET", "/metrics", "", follows, 200},
		{"POST", "/api/v1/login", `{"passphrase": "not this one"}`, shut, 401},
		{"POST", "/api/v1/login", `{"passphrase": "north mole light"}`, shut, 200},
		{"POST", "/api/v1/login", "nothing", shut, 400},
		{"POST", "/api/v1/logout", "", shut, 204},
		{"GET", "/api/v1/show", "", shut, 401},
		{"POST", "/api/v1/ask/hold", "", shut, 401},
		{"POST", "/api/v1/player/play", "", shut, 401},
	} {
		r, err := http.NewRequestWithContext(t.Context(), c.method, c.at.url+c.path, strings.NewReader(c.body))
		require.NoError(t, err)
		if strings.HasPrefix(c.path, "/api/v1/compose") {
			r.Header.Set("If-Match", `"`+tag+`"`)
		}
		answer, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		body, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		require.NoError(t, err)
		if !assert.Equal(t, c.status, answer.StatusCode, "%s %s; %s", c.method, c.path, body) {
			continue
		}
		path, _, _ := strings.Cut(c.path, "?")
		for _, prefix := range []string{"/api/v1/ask/", "/api/v1/player/", "/api/v1/walk/", "/api/v1/compose/"} {
			if strings.HasPrefix(path, prefix) && c.method == "POST" && doc.Paths.Value(path) == nil {
				path = prefix + map[string]string{"/api/v1/walk/": "{word}", "/api/v1/compose/": "{change}"}[prefix]
				if path == prefix {
					path += "{request}"
				}
			}
		}
		item := doc.Paths.Value(path)
		found := &routers.Route{Spec: doc, Path: path, PathItem: item, Method: c.method, Operation: item.GetOperation(c.method)}
		err = openapi3filter.ValidateResponse(t.Context(), &openapi3filter.ResponseValidationInput{
			RequestValidationInput: &openapi3filter.RequestValidationInput{Request: r, Route: found, QueryParams: url.Values{}},
			Status:                 answer.StatusCode, Header: answer.Header, Body: io.NopCloser(bytes.NewReader(body)),
			Options: &openapi3filter.Options{IncludeResponseStatus: true},
		})
		assert.NoError(t, err, "%s %s", c.method, c.path)
	}
}

// What is streamed is as the file says.
func TestEventsAreAsDescribed(t *testing.T) {
	doc := apiFile(t)
	s := newDesk(t, func(c *panel.Config) { c.Player = still{} })
	r, err := http.Get(s.url + "/api/v1/events?slots=1")
	require.NoError(t, err)
	defer r.Body.Close()
	lines := bufio.NewScanner(r.Body)
	lines.Buffer(nil, 1<<20)
	seen := map[string]bool{}
	kind := ""
	for len(seen) < 3 && lines.Scan() {
		if name, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			kind = name
		}
		data, ok := strings.CutPrefix(lines.Text(), "data: ")
		if !ok {
			continue
		}
		var v any
		require.NoError(t, json.Unmarshal([]byte(data), &v))
		name := map[string]string{"moment": "Moment", "report": "Report", "composed": "ComposeEvent"}[kind]
		require.NotEmpty(t, name, kind)
		schema := doc.Components.Schemas[name].Value
		assert.NoError(t, schema.VisitJSON(v, openapi3.MultiErrors()), kind)
		seen[kind] = true
	}
}

// strolling is a walk that gets nowhere.
type strolling struct{}

func (strolling) Walk(word, rest string) string { return word + " " + rest }

// still is a player that nobody hears.
type still struct{}

func (still) Request(panel.PlayerRequest) bool { return true }
func (still) Playing() panel.Playing           { return panel.Playing{Share: 1} }
