package draft_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/plan"
)

// BenchmarkDraftSet drafts six songs of a set, each measured and put right, and says how
// many times as long as loading and measuring the set once that takes.
func BenchmarkDraftSet(b *testing.B) {
	r := rigs()[0]
	for b.Loop() {
		songs := map[string]string{}
		for i := range 6 {
			songs[fmt.Sprintf("song %c", 'a'+i)] = rapid.Custom(func(t *rapid.T) string {
				return aForm(t, fmt.Sprintf("SONG %c", 'A'+i), "")
			}).Example(i)
		}
		files := r.files(songs)
		began := time.Now()
		for _, file := range sortedKeys(songs) {
			d, err := draft.New(files, "songs/"+file+".yaml")
			require.NoError(b, err)
			files["songs/"+file+".yaml"].Data = d.Source
		}
		drafted := time.Since(began)
		began = time.Now()
		show, problems := shows.Load(files, shows.Options{})
		require.Empty(b, problems)
		_, err := plan.Measure(context.Background(), show, plan.Options{})
		require.NoError(b, err)
		b.ReportMetric(drafted.Seconds()/time.Since(began).Seconds(), "x-measured")
		b.ReportMetric(drafted.Seconds(), "s/set")
	}
}
