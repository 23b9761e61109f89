package draft_test

import (
	"cmp"
	"io/fs"
	"math"
	"os"
	"regexp"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/shows"
)

// measure plays a song by its own clock and returns the mean lightness of the
// stage in each section: the cube root of the light of heads that songs move,
// as CIE 1976 L* has it, summed.
func measure(show *shows.Show, index int32) []float64 {
	p := show.Program
	song := &p.Songs[index]
	heads := flash.Heads(p.Patch)
	all := make([]int32, len(p.Heads))
	for i := range all {
		all[i] = int32(i)
	}
	e := engine.New(p)
	pos := clock.Position{At: clock.Second, Tempo: song.Tempo, Playing: true, Jumps: 1}
	e.Do(engine.Command{Kind: engine.SelectSong, Index: index}, pos)
	sum, count := make([]float64, len(song.Sections)), make([]float64, len(song.Sections))
	step := clock.Quarter / 2
	for b := clock.Beat(0); b < song.Length(); b += step {
		pos.At, pos.Beat, pos.Pulse = clock.Second+song.TimeAt(b), b, b
		e.Frame(pos)
		light := 0.0
		for _, x := range e.View(pos).Explain(all...) {
			if !p.Heads[x.Head].Keep {
				light += math.Cbrt(flash.Luminance(heads[x.Head].Light(&x.State)))
			}
		}
		for i := range song.Sections {
			if s := &song.Sections[i]; b >= s.Start && b < s.Start+s.Length {
				sum[i], count[i] = sum[i]+light, count[i]+1
			}
		}
	}
	for i := range sum {
		sum[i] /= count[i]
	}
	return sum
}

// ranks are those of Spearman's correlation: ties share the mean.
func ranks(x []float64) []float64 {
	r := make([]float64, len(x))
	for i := range x {
		for j := range x {
			switch cmp.Compare(x[j], x[i]) {
			case -1:
				r[i]++
			case 0:
				r[i] += 0.5
			}
		}
	}
	return r
}

var (
	ownLight = regexp.MustCompile(`, (look|effects|set|fade): .*\}\n`)
	ownCues  = regexp.MustCompile(`(?s)\ncues:.*`)
)

// bareSongs are the demo's songs without their light, and songs of our own.
func bareSongs(t *testing.T) map[string]string {
	t.Helper()
	songs := map[string]string{}
	for _, name := range demoSongs() {
		src, err := fs.ReadFile(shows.Demo(), "songs/"+name+".yaml")
		require.NoError(t, err)
		head := ownCues.ReplaceAllString(string(src), "\n")
		songs[name] = ownLight.ReplaceAllString(head, "}\n")
	}
	for _, name := range []string{"long-shore", "lullaby"} {
		src, err := os.ReadFile("testdata/" + name + ".yaml")
		require.NoError(t, err)
		songs[name] = string(src)
	}
	return songs
}

func demoSongs() []string { return []string{"lanterns", "saturday", "breakwater"} }

// alone is the demo with one song and no other.
func alone(t *testing.T, src string) fstest.MapFS {
	t.Helper()
	files := hall(t, src)
	for _, other := range demoSongs() {
		delete(files, "songs/"+other+".yaml")
	}
	delete(files, "sets/november.yaml")
	return files
}

// Drafted, the light goes with the energies.
func TestLightFollowsEnergy(t *testing.T) {
	for name, src := range bareSongs(t) {
		files := alone(t, src)
		d := drafted(t, files)
		files["songs/new.yaml"].Data = d.Source
		show, problems := shows.Load(files, shows.Options{})
		require.Empty(t, problems)
		got := measure(show, 0)
		var energies []float64
		for _, s := range show.Program.Songs[0].Sections {
			energies = append(energies, float64(s.Energy))
		}
		assert.GreaterOrEqual(t, stat.Correlation(ranks(energies), ranks(got), nil), 0.9, "%s: rank correlation; energies %v\n%s", name, energies, d.Source)
		assert.NotContains(t, got, 0.0, "%s: rank correlation; energies %v\n%s", name, energies, d.Source)
	}
}
