package panel

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"golang.org/x/crypto/bcrypt"
)

// locked asks for two passphrases. The hashes are of the lowest cost, so that a
// test is not slow; TestHash looks at the real one.
func locked(t *testing.T) Access {
	t.Helper()
	hash := func(words string) []byte {
		h, err := bcrypt.GenerateFromPassword([]byte(words), bcrypt.MinCost)
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
	return Access{Control: hash("north mole light"), Watch: hash("look but not touch")}
}

func TestHash(t *testing.T) {
	h, err := Hash("north mole light")
	if err != nil {
		t.Fatal(err)
	}
	if cost, err := bcrypt.Cost(h); err != nil || cost < 11 {
		t.Errorf("cost %d, %v", cost, err)
	}
	if strings.Contains(string(h), "mole") {
		t.Error("the passphrase stands in what is kept")
	}
	for _, words := range []string{"", "short", strings.Repeat("x", MaxPassphrase+1)} {
		if _, err := Hash(words); err == nil {
			t.Errorf("%d octets are taken", len(words))
		}
	}
}

// request asks s with a token and returns status and body.
func (s *stage) request(t *testing.T, method, path, token, body string, head ...string) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, s.url+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
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
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(text), answer.Header
}

// login returns the token for a passphrase.
func (s *stage) login(t *testing.T, words string) string {
	t.Helper()
	status, body, head := s.request(t, "POST", "/api/v1/login", "", fmt.Sprintf(`{"passphrase": %q}`, words))
	if status != http.StatusOK {
		t.Fatalf("login: %d %s", status, body)
	}
	cookie := head.Get("Set-Cookie")
	for _, want := range []string{"HttpOnly", "SameSite=Strict", "Path=/"} {
		if !strings.Contains(cookie, want) {
			t.Errorf("cookie %q lacks %s", cookie, want)
		}
	}
	_, rest, _ := strings.Cut(body, `"token":"`)
	token, _, _ := strings.Cut(rest, `"`)
	return token
}

// Who may do what: nobody without a passphrase, watchers look, and only those
// who control are obeyed.
func TestRights(t *testing.T) {
	s := newStage(t, func(c *Config) { c.Access = locked(t) })
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
			if got, body, _ := s.request(t, c.method, c.path, token, ""); got != want {
				t.Errorf("%s %s with %.4q: %d, want %d; %s", c.method, c.path, token, got, want, body)
			}
		}
	}
	if len(s.asked) != 1 {
		t.Errorf("%d wishes came through, want 1", len(s.asked))
	}
	if status, _, _ := s.request(t, "POST", "/api/v1/logout", control, ""); status != http.StatusNoContent {
		t.Errorf("logout: %d", status)
	}
	if status, _, _ := s.request(t, "POST", "/api/v1/ask/hold", control, ""); status != http.StatusUnauthorized {
		t.Errorf("after logout: %d", status)
	}
}

// Who leaves sees no more, on a stream that is open either.
func TestStreamsEndWithTheRight(t *testing.T) {
	s := newStage(t, func(c *Config) { c.Access = locked(t) })
	watch := s.login(t, "look but not touch")
	r, err := http.NewRequestWithContext(t.Context(), "GET", s.url+"/api/v1/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+watch)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	first := make([]byte, 64)
	if _, err := io.ReadFull(answer.Body, first); err != nil || !strings.HasPrefix(string(first), "retry: 1000") {
		t.Fatalf("%q, %v", first, err)
	}
	if status, _, _ := s.request(t, "POST", "/api/v1/logout", watch, ""); status != http.StatusNoContent {
		t.Fatal(status)
	}
	if _, err := io.Copy(io.Discard, answer.Body); err != nil { // it ends, or the test runs out of time
		t.Fatal(err)
	}
}

// A guesser is let in to no more than a few tries, and then neither is the
// right passphrase from there.
func TestGuessing(t *testing.T) {
	s := newStage(t, func(c *Config) { c.Access = locked(t) })
	count := map[int]int{}
	for i := range 40 {
		status, _, head := s.request(t, "POST", "/api/v1/login", "", fmt.Sprintf(`{"passphrase": "guess %d"}`, i))
		count[status]++
		if status == http.StatusTooManyRequests && head.Get("Retry-After") == "" {
			t.Fatal("no Retry-After")
		}
	}
	// A slow machine may earn a further try every 5 s.
	if count[http.StatusUnauthorized] < maxTries || count[http.StatusUnauthorized] > maxTries+3 || count[http.StatusUnauthorized]+count[http.StatusTooManyRequests] != 40 {
		t.Errorf("answers: %v", count)
	}
}

// Names that are not ours, pages of others, and bodies too large are refused.
func TestGuard(t *testing.T) {
	s := newStage(t, func(c *Config) { c.Names = []string{"desk.local"} })
	host := strings.TrimPrefix(s.url, "http://")
	large := `{"with": ["` + strings.Repeat("x", 2*maxBody) + `"]}`
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
		if got, body, head := s.request(t, "POST", "/api/v1/ask/hold", "", c.body, c.head...); got != c.want {
			t.Errorf("%s: %d, want %d; %s", c.what, got, c.want, body)
		} else if p := head.Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'none'") || strings.Contains(p, "unsafe") {
			t.Errorf("%s: policy %q", c.what, p)
		}
		for len(s.asked) > 0 {
			<-s.asked
		}
	}
}
