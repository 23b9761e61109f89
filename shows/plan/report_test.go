package plan_test

import (
	"context"
	"encoding/json"
	"flag"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/plan"
	"tactus/shows/showtest"
)

var update = flag.Bool("update", false, "rewrite the expected report; read the diff")

// The report of a set of three songs, with the measures of the set and the traits of
// each song, is the same to the byte wherever it is made.
func TestReportGolden(t *testing.T) {
	const file = "testdata/report.json"
	n, err := plan.Measure(context.Background(), showtest.Load(t, laid(t, "uneven-set")), plan.Options{})
	require.NoError(t, err)
	got, err := json.MarshalIndent(plan.Report(n), "", "  ")
	require.NoError(t, err)
	got = append(got, '\n')
	if *update {
		require.NoError(t, os.WriteFile(file, got, 0o644))
		return
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "%s differs; review it and run the test with -update.", file)
}
