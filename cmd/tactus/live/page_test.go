package live

import (
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/senders"
	"tactus/panel"
	"tactus/shows/showtest"
)

// A page without a passphrase answers to addresses and localhost alone: a neighbour can
// claim this computer's name and let it mean this computer later.
func TestPageWithoutPassphraseHasNoName(t *testing.T) {
	f := &Options{Options: senders.Options{Protocol: senders.Virtual}, PageAt: "127.0.0.1:0"}
	s, err := New(showtest.Demo(t), f, zerolog.Nop())
	require.NoError(t, err)
	require.NoError(t, s.OpenPage(f, false, &Notice{}))
	defer s.page.listen.Close()
	name, err := os.Hostname()
	require.NoError(t, err)
	require.NotEqual(t, "localhost", strings.ToLower(name))
	for host, want := range map[string]int{
		"localhost:4480": http.StatusOK, "127.0.0.1:4480": http.StatusOK,
		name + ":4480": http.StatusMisdirectedRequest, name + ".local:4480": http.StatusMisdirectedRequest,
	} {
		r := httptest.NewRequest("GET", "/api/v1/access", nil)
		r.Host = host
		w := httptest.NewRecorder()
		s.page.panel.ServeHTTP(w, r)
		assert.Equal(t, want, w.Code, "%s: %s", host, w.Body)
	}
	assert.NotEmpty(t, namesFor(&panel.Access{Control: []byte("hash")}), "names with a passphrase")
}

// Each computer has its share of the connections, and this one has some that nobody
// else gets; what is closed is free again.
func TestPageConnectionsAreShared(t *testing.T) {
	l := newPageListener(nil)
	take := func(from string, want int) (leave []func()) {
		t.Helper()
		for range maxPages + 1 {
			done, ok := l.enter(netip.MustParseAddr(from))
			if !ok {
				break
			}
			leave = append(leave, done)
		}
		assert.Len(t, leave, want, from)
		return leave
	}
	first := take("10.0.0.1", maxPagesOfOne)
	take("2001:db8::1", maxPagesOfOne)
	take("2001:db8::2", 0) // the same computer
	take("10.0.0.2", maxPagesOfOne)
	take("fe80::1%eth0", maxPagesOfOne)
	take("10.0.0.3", maxPages-keptForThisHost-4*maxPagesOfOne)
	take("10.0.0.4", 0)
	take("127.0.0.1", keptForThisHost)
	take("::1", 0)
	for _, leave := range first {
		leave()
	}
	take("10.0.0.4", maxPagesOfOne)
}
