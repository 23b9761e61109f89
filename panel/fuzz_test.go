package panel_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/panel"
)

// Whatever a client sends, the page answers without an inner error, keeps its policy,
// and gives the loop a command, or the files an edit, only for a POST that no page of
// another site made; and none at all where a passphrase is set and the client has not logged in.
func FuzzRequest(f *testing.F) {
	for _, seed := range []string{
		"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"GET /api/v1/show HTTP/1.1\r\nHost: 127.0.0.1:8080\r\n\r\n",
		"GET /api/v1/events?rate=30&slots=1 HTTP/1.1\r\nHost: [::1]:80\r\nLast-Event-ID: 7\r\n\r\n",
		"GET /api/v1/explain?head=wash+1 HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: cross-site\r\n\r\n",
		"GET /metrics HTTP/1.1\r\nHost: localhost\r\nAccept-Encoding: gzip\r\n\r\n",
		"GET /healthz HTTP/1.0\r\n\r\n",
		"POST /api/v1/ask/hold HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\n\r\n",
		"POST /api/v1/ask/section/arm HTTP/1.1\r\nHost: localhost\r\nContent-Length: 32\r\n\r\n{\"with\": [\"chorus 1\", \"beat\"]}  ",
		"POST /api/v1/login HTTP/1.1\r\nHost: localhost\r\nOrigin: http://elsewhere\r\nContent-Length: 2\r\n\r\n{}",
		"POST /api/v1/ask/master HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n13\r\n{\"with\": [1e999,2]}\r\n0\r\n\r\n",
		"GET /api/v1/compose HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"GET /api/v1/compose/picture?look=tide&song=songs/lanterns.yaml&effects=sway HTTP/1.1\r\nHost: localhost\r\nIf-None-Match: \"x.1\"\r\n\r\n",
		"GET /api/v1/compose/effect?effect=sway&song=songs/lanterns.yaml&period=2&flashes=yes HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"GET /api/v1/compose/measured?song=songs/lanterns.yaml HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"POST /api/v1/compose/undo HTTP/1.1\r\nHost: localhost\r\nIf-Match: \"x.1\"\r\nContent-Length: 2\r\n\r\n{}",
		fmt.Sprintf("POST /api/v1/compose/edit HTTP/1.1\r\nHost: localhost\r\nIf-Match: \"TAG\"\r\nContent-Length: %d\r\n\r\n%s", len(energy(3, 7)), energy(3, 7)),
		"GET /\x80 HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"GET /../../etc/passwd HTTP/1.1\r\nHost: localhost\r\n\r\n",
	} {
		f.Add([]byte(seed))
	}
	open := newDesk(f)
	shut := newDesk(f, func(c *panel.Config) { c.Access.Control = []byte("a hash that no passphrase has") })
	locked := shut.stage
	tag, revision := []byte(open.tag(f)), uint64(1)
	f.Fuzz(func(t *testing.T, src []byte) {
		for _, s := range []*stage{open.stage, locked} {
			r, err := http.ReadRequest(bufio.NewReader(bytes.NewReader(bytes.ReplaceAll(src, []byte("TAG"), tag))))
			if err != nil {
				return
			}
			ctx, leave := context.WithCancel(t.Context())
			leave() // a stream ends at once
			r.RemoteAddr = "127.0.0.1:40000"
			w := httptest.NewRecorder()
			s.ServeHTTP(w, r.WithContext(ctx))
			assert.NotEqual(t, http.StatusInternalServerError, w.Code, "%s", w.Body)
			assert.Contains(t, w.Header().Get("Content-Security-Policy"), "default-src 'none'")
			select {
			case <-s.asked:
				require.NotSame(t, locked, s, "a command without a passphrase: %q", src)
				require.Equal(t, http.MethodPost, r.Method, "%q", src)
				require.True(t, strings.HasPrefix(r.URL.Path, "/api/v1/"), "%q", src)
				require.NotEqual(t, "cross-site", r.Header.Get("Sec-Fetch-Site"), "%q", src)
			default:
			}
		}
		require.EqualValues(t, 1, shut.session.State().Revision, "an edit without a passphrase: %q", src)
		if now := open.session.State().Revision; now != revision {
			require.Contains(t, string(src), "POST", "%q", src)
			revision, tag = now, []byte(open.tag(t))
		}
	})
}
