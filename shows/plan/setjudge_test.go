package plan

import (
	"context"
	"math"
	"os"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/showtest"
)

// bestSwap finds what trying every swap finds: none has a larger least distance.
func TestBestSwap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 6).Draw(t, "songs")
		d := make([][]float64, n)
		order := rapid.Permutation([]int{0, 1, 2, 3, 4, 5}[:n]).Draw(t, "order")
		for i := range d {
			d[i] = make([]float64, n)
			for k := range i {
				d[i][k] = float64(rapid.IntRange(0, 5).Draw(t, "distance")) / 5
				d[k][i] = d[i][k]
			}
		}
		leastOf := func(o []int) float64 {
			least := math.Inf(1)
			for i := range o[1:] {
				least = min(least, d[o[i]][o[i+1]])
			}
			return least
		}
		a, b, least, better := bestSwap(order, d)
		most := leastOf(order)
		for i := range order {
			for k := range i {
				o := append([]int{}, order...)
				o[i], o[k] = o[k], o[i]
				most = max(most, leastOf(o))
			}
		}
		require.InDelta(t, most, least, 1e-12)
		require.Equal(t, most > leastOf(order), better)
		if better {
			order[a], order[b] = order[b], order[a]
			require.InDelta(t, least, leastOf(order), 1e-12)
		}
	})
}

// songsOf returns songs of sections with energies and strengths.
func songsOf(songs ...[][2]float64) (list []*Song) {
	for _, sections := range songs {
		s := &Song{}
		for _, x := range sections {
			s.Sections = append(s.Sections, Section{Energy: int8(x[0]), Measures: Measures{Strength: x[1]}})
		}
		list = append(list, s)
	}
	return list
}

// Songs are compared at the same energies, and one section out of place changes
// nothing.
func TestEvenness(t *testing.T) {
	off := func(songs ...[][2]float64) map[int]float64 {
		e := evennessOf(songsOf(songs...))
		return e.outliers(1.5)
	}
	usual := [][2]float64{{2, 2.5}, {4, 4}, {6, 5.5}, {8, 7}}
	assert.Empty(t, off(usual, usual, usual))
	assert.Empty(t, off(usual, [][2]float64{{1, 1.75}, {3, 3.25}}), "a quiet song beside one of all energies")
	assert.Empty(t, off(usual, [][2]float64{{2, 2.5}, {4, 9}, {6, 5.5}, {8, 7}}), "one section too strong")
	weak := off(usual, usual, [][2]float64{{2, 0.5}, {4, 2}, {6, 3.5}, {8, 5}})
	require.Len(t, weak, 1)
	assert.InDelta(t, -2, weak[2], 0.01)
	strong := off([][2]float64{{2, 5}, {5, 6}}, [][2]float64{{8, 5}, {10, 6}}) // no energy in common
	require.Len(t, strong, 1)
}

// The part of a song in the night is told by its neighbours.
func TestPartOf(t *testing.T) {
	strengths := []float64{4, 5, 4.9, 4, 5, 7, 6, 5}
	var parts []string
	for i := range strengths {
		parts = append(parts, partOf(strengths, i))
	}
	assert.Equal(t, []string{"opener", "rise", "level", "valley", "rise", "peak", "fall", "closer"}, parts)
	assert.Equal(t, "level", partOf([]float64{4, 4.1, 4}, 1), "songs alike have no peak")
}

// Hues have the names that people give them: the primaries and secondaries of sRGB by
// their hue in Oklab (Ottosson 2020).
func TestHueName(t *testing.T) {
	for name, hue := range map[string]float64{"red": 29.2, "yellow": 109.8, "green": 142.5, "cyan": 194.8, "blue": 264.1, "magenta": 328.4, "pink": 359} {
		assert.Equal(t, name, hueName(&Traits{Hue: hue, Chroma: 0.2}))
	}
	assert.Equal(t, "white", hueName(&Traits{Hue: 142, Chroma: 0.01}))
}

// A song accepts what is found of it beside others; where it is measured alone, that
// cannot be found, and is not called idle.
func TestFindingsOfTheSetAreAccepted(t *testing.T) {
	const shelf = "../../testdata/shows/findings"
	for _, kind := range []Kind{UnevenSet, SameSongs} {
		files := showtest.Files(t, os.DirFS(shelf+"/hall"), os.DirFS(shelf+"/"+string(kind)))
		song := string(files["songs/song.yaml"].Data) + "accepted:\n  - {finding: " + string(kind) + ", because: it is a reprise}\n"
		files["songs/song.yaml"] = &fstest.MapFile{Data: []byte(song)}
		show := showtest.Load(t, files)
		n, err := Measure(context.Background(), show, Options{})
		require.NoError(t, err)
		require.Len(t, n.Findings, 1)
		assert.Equal(t, "it is a reprise", n.Findings[0].Accepted)
		assert.Equal(t, "Song", n.Findings[0].Song)
		for i := range n.Songs {
			assert.Empty(t, n.Songs[i].Findings)
		}
		r := Report(n)
		require.NotNil(t, r.Set)
		assert.Len(t, r.Set.Songs, 3)
		n, err = Measure(context.Background(), show, Options{Songs: []int32{1}})
		require.NoError(t, err)
		assert.Empty(t, n.Findings)
		assert.Empty(t, n.Songs[0].Findings, "measured alone")
		assert.Nil(t, Report(n).Set)
	}
}
