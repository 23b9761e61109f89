package plan_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// The demo is as its songs ask for: nothing worse than a hint.
func TestDemoFollowsItsSongs(t *testing.T) {
	n, err := plan.Measure(context.Background(), showtest.Demo(t), plan.Options{})
	require.NoError(t, err)
	assert.Empty(t, n.Findings)
	for i := range n.Songs {
		assert.GreaterOrEqual(t, n.Songs[i].Follows(), 0.85, "%s: agreement of light and energy", n.Songs[i].Name)
		for _, f := range plan.Open(n.Songs[i].Findings, plan.Warning) {
			assert.Fail(t, fmt.Sprintf("%s, %s (%s): %s: %s; %s", f.Song, f.Place, f.Written, f.Kind, f.Reason, f.Suggestion))
		}
	}
}
