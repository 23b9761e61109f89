package compose_test

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
	"tactus/shows/plan"
)

const shelf = "../../testdata/shows/findings"

// shelved opens the small hall with a song in which check finds something.
func shelved(t *testing.T, name string) *compose.Session {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(shelf+"/hall")))
	over := os.DirFS(shelf + "/" + name)
	require.NoError(t, copyOver(dir, over))
	s, err := compose.Open(dir, compose.Options{})
	require.NoError(t, err)
	require.NotNil(t, s.Show(), "%v", s.State().Faults)
	return s
}

// findings are those of the first song as check measures it, in short.
func findings(t *testing.T, s *compose.Session) (list []plan.Finding) {
	t.Helper()
	n, err := plan.Measure(t.Context(), s.Show(), plan.Options{Songs: []int32{0}, InShort: true})
	require.NoError(t, err)
	return plan.Open(n.Songs[0].Findings, plan.Hint)
}

// What check finds is gone, by the real checker, once the remedy is taken, and nothing else
// is found; one undo takes it back. For the kinds that name none there is none on the shelf.
func TestEachRemedyTakesItsFindingAway(t *testing.T) {
	for name, words := range map[string]string{
		"crowded":         "Take shine away in pre-chorus",
		"too-busy":        "Take hurry away in verse",
		"against-beat":    "",
		"alike":           "Give verse the look mid",
		"inversion":       "",
		"dim-peak":        "",
		"flat":            "",
		"does-not-follow": "",
		"long-fade":       "take 1 bar",
		"faces-dark":      "Set front to 70 % in reading",
		"front-light-out": "",
		"faces-flicker":   "",
		"faces-coloured":  "Set front to warm",
		"house-lit":       "in chorus 1, chorus 2 and outro",
		"dark-gap":        "",
		"dark-gap-asked":  "Bring high back at chorus, bar 5",
		"off-palette":     "",
		"eyes-lit":        "",
		"flashing":        "",
		"accepted-idle":   "Take the line away",
		"never-fires":     "none",
	} {
		t.Run(name, func(t *testing.T) {
			s := shelved(t, name)
			found := findings(t, s)
			require.NotEmpty(t, found)
			for range len(found) {
				f := found[0]
				r, ok, err := s.RemedyOf(t.Context(), s.View(), 0, f.Kind, f.Beat)
				require.NoError(t, err)
				if words == "none" {
					require.False(t, ok, r.Words)
					return
				}
				require.True(t, ok, "no remedy for %s at %s: %s", f.Kind, f.Place, f.Reason)
				t.Logf("%s at %s: %s", f.Kind, f.Place, r.Words)
				assert.Contains(t, r.Words, words)
				before := s.Sources()
				state, err := s.Apply(s.State().Revision, r.Edits)
				require.NoError(t, err)
				now := findings(t, s)
				assert.Less(t, len(now), len(found))
				assert.False(t, slices.ContainsFunc(now, func(g plan.Finding) bool { return g.Kind == f.Kind && g.Beat == f.Beat }), "%+v", now)
				if len(now) == 0 {
					_, err = s.Undo(state.Revision)
					require.NoError(t, err)
					assert.Equal(t, before, s.Sources())
					return
				}
				found = now
			}
		})
	}
}

// A search that is no longer wanted ends.
func TestRemedyIsCancelled(t *testing.T) {
	s := shelved(t, "crowded")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, ok, err := s.RemedyOf(ctx, s.View(), 0, plan.Crowded, 0)
	assert.ErrorIs(t, err, context.Canceled)
	assert.False(t, ok)
	_, ok, err = s.RemedyOf(t.Context(), s.View(), 0, plan.Flashing, 0)
	require.NoError(t, err)
	assert.False(t, ok, "what was not found has no remedy")
}

// copyOver copies files over those of a folder.
func copyOver(dir string, from fs.FS) error {
	return fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return errors.Join(err, os.MkdirAll(filepath.Join(dir, name), 0o755))
		}
		src, err := fs.ReadFile(from, name)
		return errors.Join(err, os.WriteFile(filepath.Join(dir, name), src, 0o644))
	})
}
