package plan_test

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/limits"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// judged measures a show with one limit adjusted in show.yaml, and returns its report
// and what is found and measured as text, without the words of the findings.
func judged(t *testing.T, files fstest.MapFS, adjust string) (plan.Summary, string) {
	t.Helper()
	own := maps.Clone(files)
	own["show.yaml"] = &fstest.MapFile{Data: []byte(string(files["show.yaml"].Data) + adjust)}
	n, err := plan.Measure(context.Background(), showtest.Load(t, own), plan.Options{})
	require.NoError(t, err)
	r := plan.Report(n)
	var b strings.Builder
	for _, f := range r.Show {
		fmt.Fprintln(&b, f.Kind, f.Place, f.Severity)
	}
	for i, s := range r.Songs {
		fmt.Fprintln(&b, n.Songs[i].FollowsInWords(), s.Sections, s.Traits)
		for _, f := range s.Findings {
			fmt.Fprintln(&b, f.Kind, f.Place, f.Severity)
		}
	}
	return r, b.String()
}

// Every limit of the table decides something: adjusted to one end of its range it
// changes what is found or measured in one of the bad songs, and the report says that
// it is adjusted.
func TestEachLimitDecides(t *testing.T) {
	dirs, err := os.ReadDir(shelf)
	require.NoError(t, err)
	type bad struct {
		name, usual string
		files       fstest.MapFS
	}
	var list []bad
	for _, dir := range dirs {
		if dir.IsDir() && dir.Name() != "hall" {
			files := laid(t, dir.Name())
			_, found := judged(t, files, "")
			list = append(list, bad{dir.Name(), found, files})
		}
	}
	for k := range limits.NumLimits {
		l := &limits.Table()[k]
		decides := false
		// Songs of the findings that it is about come first: they are fastest.
		slices.SortStableFunc(list, func(a, b bad) int {
			about := func(x bad) int { return strings.Index(l.Meaning+x.name, x.name) }
			return cmp.Compare(about(a), about(b))
		})
		for i := 0; i < 2*len(list) && !decides; i++ {
			value := l.Least
			if i%2 == 1 {
				value = l.Most
			}
			if value == l.Default {
				continue
			}
			r, found := judged(t, list[i/2].files, fmt.Sprintf("judge: {%s: %v}\n", l.Name, value))
			decides = found != list[i/2].usual
			require.Equal(t, []plan.AdjustedLimit{{Limit: l.Name, Value: value, Default: l.Default, Unit: l.Unit}}, r.Adjusted)
		}
		assert.True(t, decides, "%s decides nothing", l.Name)
	}
}

// A finding says by which limit it was found, and if the show adjusted it.
func TestFindingsSayTheirLimit(t *testing.T) {
	files := laid(t, "too-busy")
	r, _ := judged(t, files, "")
	require.Len(t, r.Songs[0].Findings, 1)
	assert.Contains(t, r.Songs[0].Findings[0].Reason, "at most 0.12 a second")
	r, _ = judged(t, files, "judge: {quiet motion: 0.05}\n")
	require.Len(t, r.Songs[0].Findings, 1)
	assert.Contains(t, r.Songs[0].Findings[0].Reason, "at most 0.05 a second (adjusted in show.yaml)")
	r, _ = judged(t, files, "judge: {quiet motion: 0.5}\n")
	assert.Empty(t, r.Songs[0].Findings)
}
