package hearing

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// result is what is right about a song that was heard.
type result struct {
	Tempo, Meter         float64 // 0 or 1
	BeatF, DownF         float64
	Late, Off            float64 // ms
	Boundary, Boundary3  float64 // within 0.5 s and 3 s
	Energy               float64 // rank correlation, on the true sections
	SecondsMinute        float64 // of wall time, for a minute
	Pieces, Found, Truth int
}

func heardOf(t *testing.T, src io.Reader, asked Asked) (*Take, *Heard) {
	t.Helper()
	take, err := Open(src, nil)
	require.NoError(t, err)
	h, err := take.Song(asked)
	require.NoError(t, err)
	return take, h
}

// judge compares what was heard with the truth. after is how much later the recording is.
func judge(take *Take, h *Heard, tr *truth, after float64) (r result) {
	var beats, downs, starts, ends, parts []float64
	for _, b := range tr.Beats {
		beats = append(beats, b.T+after)
	}
	for _, d := range tr.Downs {
		downs = append(downs, d+after)
	}
	var found, gaps []float64
	for i, b := range h.Beats {
		if h.Places[i] == 0 {
			found = append(found, b)
		}
		if i > 0 {
			gaps = append(gaps, b-h.Beats[i-1])
		}
	}
	r.BeatF, r.DownF = fMeasure(beats, h.Beats, 0.07), fMeasure(downs, found, 0.07)
	r.Late, r.Off = lateness(beats, h.Beats)
	if math.Abs(60/percentile(gaps, 0.5)/tr.Tempo-1) < 0.04 {
		r.Tempo = 1
	}
	if fmt.Sprintf("%d/%d", h.Readings[0].Upper, h.Readings[0].Lower) == tr.Meter {
		r.Meter = 1
	}
	var energies []EnergyParts
	for i, s := range tr.Sections {
		if i > 0 {
			starts = append(starts, s.Start+after)
		}
		e := s.Energy
		if s.EnergyTo != nil {
			e = (e + *s.EnergyTo) / 2
		}
		energies, parts = append(energies, take.partsBetween(s.Start+after, s.End+after)), append(parts, e)
	}
	for _, s := range h.Sections[1:] {
		ends = append(ends, h.Lines[s.First])
	}
	r.Boundary, r.Boundary3 = fMeasure(starts, ends, 0.5), fMeasure(starts, ends, 3)
	scores, _ := strength(energies)
	r.Energy = spearman(parts, scores)
	r.Pieces, r.Found, r.Truth = len(h.Pieces), len(h.Sections), len(tr.Sections)
	return r
}

// Songs of the corpus, played by a synthesiser of the test's own: the notes are performed by
// people's rules, and their truth is exact. None of its sounds was there when weights were set.
func TestMadeSongs(t *testing.T) {
	for _, name := range []string{"paper-boats", "iron-street"} {
		t.Run(name, func(t *testing.T) {
			tr, samples := made(t, name)
			take, h := heardOf(t, recording(samples, 0, 0.5), Asked{})
			r := judge(take, h, &tr, 0)
			t.Logf("%+v", r)
			assert.EqualValues(t, 1, r.Tempo, "tempo")
			assert.EqualValues(t, 1, r.Meter, "meter")
			assert.GreaterOrEqual(t, r.BeatF, 0.95, "beats within 70 ms")
			assert.GreaterOrEqual(t, r.DownF, 0.9, "downbeats within 70 ms")
			assert.LessOrEqual(t, math.Abs(r.Late), 8.0, "late, ms")
			assert.GreaterOrEqual(t, r.Boundary, 0.6, "boundaries within 0.5 s")
			assert.GreaterOrEqual(t, r.Energy, 0.8, "energies")

			song := string(h.Import(name).AppendTo(nil))
			_, again := heardOf(t, recording(samples, 0, 0.5), Asked{})
			assert.Equal(t, song, string(again.Import(name).AppendTo(nil)), "the same file twice")
			later, softer := heardOf(t, recording(samples, 1, 0.05), Asked{})
			s := judge(later, softer, &tr, 1)
			assert.InDelta(t, r.Boundary, s.Boundary, 0.15, "a second later and 20 dB softer")
			assert.InDelta(t, r.DownF, s.DownF, 0.03)
			assert.InDelta(t, h.Lines[0]+1, softer.Lines[0], 0.05)
		})
	}
}

// TestCorpus judges all songs of a folder that make_corpus.py has written, and prints what is
// right about each:
//
//	TACTUS_CORPUS=folder go test ./shows/hearing -run 'TestCorpus$' -v
func TestCorpus(t *testing.T) {
	root := os.Getenv("TACTUS_CORPUS")
	if root == "" {
		t.Skip("TACTUS_CORPUS=folder names songs made by testdata/listening/make_corpus.py")
	}
	files, err := filepath.Glob(filepath.Join(root, "*.truth.json"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var sum result
	line := "%-24s tempo %.2f meter %.2f beats %.3f downbeats %.3f late %5.1f off %4.1f ms boundaries %.3f %.3f energy %.3f, %.1f s a minute"
	count := 0.0
	for _, name := range files {
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		var tr truth
		require.NoError(t, json.Unmarshal(src, &tr))
		f, err := os.Open(strings.TrimSuffix(name, ".truth.json") + ".flac")
		if err != nil {
			continue // not rendered yet
		}
		began := time.Now()
		take, h := heardOf(t, f, Asked{})
		f.Close()
		r := judge(take, h, &tr, 0)
		r.SecondsMinute = time.Since(began).Minutes() * 60 * 60 / tr.Duration
		t.Logf(line+", %d sections of %d, %d tempi", tr.ID, r.Tempo, r.Meter, r.BeatF, r.DownF, r.Late, r.Off, r.Boundary, r.Boundary3, r.Energy, r.SecondsMinute, r.Found, r.Truth, r.Pieces)
		count++
		sum.Tempo += r.Tempo
		sum.Meter += r.Meter
		sum.BeatF += r.BeatF
		sum.DownF += r.DownF
		sum.Late += math.Abs(r.Late)
		sum.Off += r.Off
		sum.Boundary += r.Boundary
		sum.Boundary3 += r.Boundary3
		sum.Energy += r.Energy
		sum.SecondsMinute += r.SecondsMinute
	}
	require.NotZero(t, count, "recordings")
	t.Logf(line, "mean", sum.Tempo/count, sum.Meter/count, sum.BeatF/count, sum.DownF/count, sum.Late/count, sum.Off/count, sum.Boundary/count, sum.Boundary3/count, sum.Energy/count, sum.SecondsMinute/count)
}
