package panel_test

import (
	"io"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/panel"
)

// other is a computer that is on the lamps while this one follows.
type other struct{}

func (other) Pair() panel.Pair {
	return panel.Pair{Connected: true, Follows: true, BehindMS: 2.5, Differing: 3, Words: "the leader is on the lamps"}
}
func (other) ChangeOver() error { return nil }

// Where the two computers stand is in health and metrics.
func TestPairIsTold(t *testing.T) {
	s := newStage(t, func(c *panel.Config) { c.Partner = other{} })
	get := func(path string) string {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.url+path, nil)
		require.NoError(t, err)
		answer, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		defer answer.Body.Close()
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		return string(body)
	}
	assert.Contains(t, get("/healthz"), "; the leader is on the lamps")
	metrics := get("/metrics")
	for _, line := range []string{"tactus_pair_on_lamps 0\n", "tactus_pair_follows 1\n", "tactus_pair_behind_seconds 0.0025\n", "tactus_pair_frames_differing_total 3\n"} {
		assert.Contains(t, metrics, line)
	}
}
