package newrig_test

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/shows/newrig"
	"tactus/shows/plan"
)

var update = flag.Bool("update", false, "rewrite expected output; read the diff with care")

// hang makes a description of answers.
func hang(t *testing.T, answers ...string) *newrig.Description {
	t.Helper()
	d := &newrig.Description{Venue: "Dockside Hall"}
	for _, a := range answers {
		one, remarks := newrig.ReadHanging(a, newrig.ListOptions{})
		require.Empty(t, newrig.FaultsOf(remarks), a)
		d.Fixtures = append(d.Fixtures, one.Fixtures...)
	}
	return d
}

// halls lists what hangs in four halls.
func halls() map[string][]string {
	return map[string][]string{
		"washes-only":  {"4 dimmer-rgbw on front truss", "4 dimmer-rgb on back truss", "2 rgba on left side", "2 rgba on right side"},
		"dimmers-only": {"6 dimmer on middle truss", "2 dimmer in hall", "1 dimmer, house"},
		"no-back":      {"4 rgbw on front truss", "2 warm-cool on front truss", "2 dimmer in hall"},
		"moving":       {"4 head-rgbw on back truss, universe 2", "2 rgb-bar-4 on back floor, universe 2", "4 dimmer-rgbw on front truss", "2 dimmer-warm-cool in hall", "dimmer in house", "hazer, universe 3"},
	}
}

// Four halls, as files that somebody reads.
func TestGoldenRigs(t *testing.T) {
	for name, answers := range halls() {
		m, err := newrig.Undrafted(hang(t, answers...))
		require.NoError(t, err, name)
		for _, file := range []string{"rig.yaml", "looks.yaml"} {
			golden := filepath.Join("testdata", "golden", name, file)
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
				require.NoError(t, os.WriteFile(golden, m.Files[file], 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			require.Equal(t, string(want), string(m.Files[file]), golden)
		}
	}
}

// Nothing is found in the first song of the four halls: its light follows its energies.
func TestFirstSongs(t *testing.T) {
	for name, answers := range halls() {
		m, err := newrig.Make(hang(t, answers...))
		require.NoError(t, err, name)
		night, err := plan.Measure(context.Background(), m.Show, plan.Options{})
		require.NoError(t, err)
		require.Empty(t, night.Findings, name)
		require.Empty(t, night.Songs[0].Findings, "the drafted song of %s", name)
	}
}
