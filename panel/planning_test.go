package panel_test

import (
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Whoever asks for pictures and does not read them keeps nobody else from them.
func TestPicturesThatNobodyReads(t *testing.T) {
	s := newStage(t)
	host := strings.TrimPrefix(s.url, "http://")
	c, err := net.Dial("tcp", host)
	require.NoError(t, err)
	defer c.Close()
	ask := fmt.Sprintf("GET /api/v1/picture?song=0 HTTP/1.1\r\nHost: %s\r\n\r\n", host)
	_, err = c.Write([]byte(strings.Repeat(ask, 200)))
	require.NoError(t, err)
	// Others come by until the answers above must have filled what lies between.
	client := &http.Client{Timeout: 20 * time.Second}
	for range 60 {
		r, err := client.Get(s.url + "/api/v1/plan")
		require.NoError(t, err)
		r.Body.Close()
	}
}
