package plan

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The demo is as its songs ask for: nothing worse than a hint.
func TestDemoFollowsItsSongs(t *testing.T) {
	n, err := Measure(context.Background(), demo(t), Options{})
	require.NoError(t, err)
	show, songs := n.Check()
	for _, f := range show {
		assert.Fail(t, fmt.Sprintf("%+v", f))
	}
	for i := range songs {
		assert.GreaterOrEqual(t, n.Songs[i].Follows(), 0.85, "%s: light and energy agree by … only", n.Songs[i].Name)
		for _, f := range Open(songs[i], Warning) {
			assert.Fail(t, fmt.Sprintf("%s, %s (%s): %s: %s; %s", f.Song, f.Place, f.Written, f.Kind, f.Reason, f.Suggestion))
		}
	}
}
