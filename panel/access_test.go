package panel_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/bcrypt"

	"tactus/engine"
	"tactus/panel"
)

// locked asks for two passphrases. The hashes are of the lowest cost, so that a
// test is not slow; TestHash looks at the real one.
func locked(t *testing.T) panel.Access {
	t.Helper()
	hash := func(words string) []byte {
		h, err := bcrypt.GenerateFromPassword([]byte(words), bcrypt.MinCost)
		require.NoError(t, err)
		return h
	}
	return panel.Access{Control: hash("north mole light"), Watch: hash("look but not touch")}
}

func TestHash(t *testing.T) {
	h, err := panel.Hash("north mole light")
	require.NoError(t, err)
	cost, err := bcrypt.Cost(h)
	assert.NoError(t, err)
	assert.GreaterOrEqual(t, cost, 11)
	assert.NotContains(t, string(h), "mole", "the passphrase stands in what is kept")
	for _, words := range []string{"", "short", strings.Repeat("x", panel.MaxPassphrase+1)} {
		_, err := panel.Hash(words)
		assert.Error(t, err, "%d octets are taken", len(words))
	}
}

// request asks s with a token and returns status and body.
func (s *stage) request(t *testing.T, method, path, token, body string, head ...string) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, s.url+path, strings.NewReader(body))
	require.NoError(t, err)
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	for i := 0; i+1 < len(head); i += 2 {
		if head[i] == "Host" {
			r.Host = head[i+1]
		}
		r.Header.Set(head[i], head[i+1])
	}
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(text), answer.Header
}

// login returns the token for a passphrase.
func (s *stage) login(t *testing.T, words string) string {
	t.Helper()
	status, body, head := s.request(t, "POST", "/api/v1/login", "", fmt.Sprintf(`{"passphrase": %q}`, words))
	require.Equal(t, http.StatusOK, status, "login: %s", body)
	cookie := head.Get("Set-Cookie")
	for _, want := range []string{"HttpOnly", "SameSite=Strict", "Path=/"} {
		assert.Contains(t, cookie, want)
	}
	_, rest, _ := strings.Cut(body, `"token":"`)
	token, _, _ := strings.Cut(rest, `"`)
	return token
}

// Who may do what: nobody without a passphrase, watchers look, and only those
// who control are obeyed.
func TestRights(t *testing.T) {
	s := newStage(t, func(c *panel.Config) { c.Access = locked(t) })
	watch, control := s.login(t, "look but not touch"), s.login(t, "north mole light")
	for _, c := range []struct {
		method, path string
		nobody       int
		watch        int
		control      int
	}{
		{"GET", "/api/v1/show", 401, 200, 200},
		{"POST", "/api/v1/ask/hold", 401, 403, 204},
		{"GET", "/metrics", 401, 200, 200},
		{"GET", "/api/v1/access", 200, 200, 200},
	} {
		for token, want := range map[string]int{"": c.nobody, "forged": c.nobody, watch: c.watch, control: c.control} {
			got, body, _ := s.request(t, c.method, c.path, token, "")
			assert.Equal(t, want, got, "%s %s with %.4q; %s", c.method, c.path, token, body)
		}
	}
	assert.Len(t, s.asked, 1, "requests came through")
	status, _, _ := s.request(t, "POST", "/api/v1/logout", control, "")
	assert.Equal(t, http.StatusNoContent, status, "logout")
	status, _, _ = s.request(t, "POST", "/api/v1/ask/hold", control, "")
	assert.Equal(t, http.StatusUnauthorized, status, "after logout")
}

// Who leaves sees no more, on a stream that is open either.
func TestStreamsEndWithTheRight(t *testing.T) {
	s := newStage(t, func(c *panel.Config) { c.Access = locked(t) })
	watch := s.login(t, "look but not touch")
	r, err := http.NewRequestWithContext(t.Context(), "GET", s.url+"/api/v1/events", nil)
	require.NoError(t, err)
	r.Header.Set("Authorization", "Bearer "+watch)
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	first := make([]byte, 64)
	_, err = io.ReadFull(answer.Body, first)
	require.NoError(t, err, "%q", first)
	require.True(t, strings.HasPrefix(string(first), "retry: 1000"), "%q", first)
	status, _, _ := s.request(t, "POST", "/api/v1/logout", watch, "")
	require.Equal(t, http.StatusNoContent, status)
	_, err = io.Copy(io.Discard, answer.Body) // it ends, or the test runs out of time
	require.NoError(t, err)
}

// A guesser is let in to no more than a few tries, and then neither is the
// right passphrase from there.
func TestGuessing(t *testing.T) {
	s := newStage(t, func(c *panel.Config) { c.Access = locked(t) })
	count := map[int]int{}
	for i := range 40 {
		status, _, head := s.request(t, "POST", "/api/v1/login", "", fmt.Sprintf(`{"passphrase": "guess %d"}`, i))
		count[status]++
		if status == http.StatusTooManyRequests {
			require.NotEmpty(t, head.Get("Retry-After"), "no Retry-After")
		}
	}
	const tries = 5 // A slow machine may earn a further one every 5 s.
	assert.GreaterOrEqual(t, count[http.StatusUnauthorized], tries, "answers")
	assert.LessOrEqual(t, count[http.StatusUnauthorized], tries+3, "answers")
	assert.Equal(t, 40, count[http.StatusUnauthorized]+count[http.StatusTooManyRequests], "answers")
}

// Names that are not ours, pages of others, and bodies too large are refused.
func TestGuard(t *testing.T) {
	s := newStage(t, func(c *panel.Config) { c.Names = []string{"desk.local"} })
	host := strings.TrimPrefix(s.url, "http://")
	large := `{"with": ["` + strings.Repeat("x", 8<<10) + `"]}` // 4 KiB are allowed
	for _, c := range []struct {
		what, body string
		head       []string
		want       int
	}{
		{"our address", "", nil, 204},
		{"localhost", "", []string{"Host", "localhost:4480"}, 204},
		{"our name", "", []string{"Host", "Desk.local.:4480"}, 204},
		{"IPv6", "", []string{"Host", "[::1]:4480"}, 204},
		{"a name pointed at us", "", []string{"Host", "evil.example:4480"}, 421},
		{"a name that ends like ours", "", []string{"Host", "notdesk.local"}, 421},
		{"our own page", "", []string{"Origin", "http://" + host, "Sec-Fetch-Site", "same-origin"}, 204},
		{"another page", "", []string{"Origin", "http://evil.example"}, 403},
		{"another port", "", []string{"Origin", "http://127.0.0.1:1"}, 403},
		{"a page without an origin", "", []string{"Origin", "null"}, 403},
		{"another page of this site", "", []string{"Sec-Fetch-Site", "same-site"}, 403},
		{"a large body", large, nil, 400},
	} {
		if got, body, head := s.request(t, "POST", "/api/v1/ask/hold", "", c.body, c.head...); assert.Equal(t, c.want, got, "%s; %s", c.what, body) {
			p := head.Get("Content-Security-Policy")
			assert.Contains(t, p, "default-src 'none'", c.what)
			assert.NotContains(t, p, "unsafe", c.what)
		}
		for len(s.asked) > 0 {
			<-s.asked
		}
	}
}

// Pages of other sites get nothing but the page's own files, by GET neither. Clients that
// are no browsers, and an address that a person types, get everything.
func TestOtherSitesAskForNothing(t *testing.T) {
	s := newStage(t)
	for _, path := range []string{"/api/v1/explain?head=0", "/api/v1/show", "/api/v1/access", "/api/v1/nothing", "/healthz", "/metrics", "/"} {
		for _, c := range []struct {
			from    []string
			refused bool
		}{
			{nil, false},
			{[]string{"Sec-Fetch-Site", "same-origin"}, false},
			{[]string{"Sec-Fetch-Site", "none"}, false},
			{[]string{"Sec-Fetch-Site", "cross-site"}, path != "/"},
			{[]string{"Sec-Fetch-Site", "same-site"}, path != "/"},
			{[]string{"Origin", "http://evil.example"}, path != "/"},
		} {
			status, body, _ := s.request(t, "GET", path, "", "", c.from...)
			assert.Equal(t, c.refused, status == http.StatusForbidden, "%s of %s: %d %.200s", path, c.from, status, body)
		}
	}
}

// A question for which there is no room is told when to come again.
func TestExplainHasNoRoom(t *testing.T) {
	s := newStage(t, func(c *panel.Config) {
		c.View = func(context.Context) (*engine.View, error) { return nil, engine.ErrManyViews }
	})
	status, body, head := s.request(t, "GET", "/api/v1/explain?head=0", "", "")
	assert.Equal(t, http.StatusServiceUnavailable, status, body)
	assert.Equal(t, "1", head.Get("Retry-After"))
	assert.Contains(t, body, "8 copies")
}
