//go:build unix

package main

import (
	le "encoding/binary"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/showtest"
)

// writeSong writes a recording of a song at 120 BPM in 4/4: eight bars of soft chords, eight
// of loud ones with drums, and both again.
func writeSong(t *testing.T, name string) {
	t.Helper()
	const rate, beat = 22050, 0.5
	samples := make([]float64, int(rate*(32*4*beat+1)))
	add := func(at, seconds float64, f func(s float64) float64) {
		for i := range int(seconds * rate) {
			if k := int(at*rate) + i; k < len(samples) {
				samples[k] += f(float64(i) / rate)
			}
		}
	}
	soft, loud := []float64{220, 262, 196, 247}, []float64{175, 131, 220, 196}
	seed := uint32(1)
	for bar := range 32 {
		at, strong := 0.5+float64(bar)*4*beat, bar/8%2 == 1
		root, level := soft[bar%4], 0.04
		if strong {
			root, level = loud[bar%4], 0.15
		}
		for _, ratio := range []float64{1, 1.25, 1.5} {
			add(at, 4*beat, func(s float64) float64 {
				return level * math.Exp(-s) * (math.Sin(2*math.Pi*root*ratio*s) + 0.5*math.Sin(4*math.Pi*root*ratio*s))
			})
		}
		for b := range 4 {
			add(at+float64(b)*beat, 0.1, func(s float64) float64 { // low strokes on 1 and 3, noise on 2 and 4
				seed = seed*1664525 + 1013904223
				v := 0.02 * (float64(seed>>8)/(1<<24) - 0.5)
				if strong {
					v *= 12
				}
				switch b {
				case 0:
					return 2 * level * math.Sin(2*math.Pi*60*s) * math.Exp(-20*s)
				case 2:
					return level * math.Sin(2*math.Pi*60*s) * math.Exp(-20*s)
				}
				return v * math.Exp(-40*s)
			})
		}
	}
	b := []byte("RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x22\x56\x00\x00\x44\xac\x00\x00\x02\x00\x10\x00data")
	b = le.LittleEndian.AppendUint32(b, uint32(2*len(samples)))
	for _, v := range samples {
		b = le.LittleEndian.AppendUint16(b, uint16(int16(32767*max(-1, min(1, v)))))
	}
	require.NoError(t, os.WriteFile(name, b, 0o644))
}

// From a recording to a drafted light in two commands: what is written loads in a show.
func TestListen(t *testing.T) {
	dir := t.TempDir()
	recording, show := filepath.Join(dir, "Long Shore.wav"), filepath.Join(dir, "hall")
	writeSong(t, recording)
	command(t, "tactus", "new", show)
	file := filepath.Join(show, "songs", "long-shore.yaml")
	picture := filepath.Join(dir, "shore.svg")
	printed := command(t, "tactus", "listen", recording, "--out", file, "--picture", picture)
	assert.Regexp(t, `^Long Shore: 4/4 at 120 BPM, 32 bars in 1:05\. Bar 1 begins 0\.(49|5[012]) s`, printed)
	assert.Contains(t, printed, "like bar 1 on")
	src, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(src), "song: Long Shore\ntempo: 120 bpm\nmeter: 4/4\nsections:\n")
	drawn, err := os.ReadFile(picture)
	require.NoError(t, err)
	assert.Contains(t, string(drawn), "<svg")
	loaded := showtest.Load(t, os.DirFS(show))
	song := loaded.Program.Songs[len(loaded.Program.Songs)-1]
	for i := range loaded.Program.Songs {
		if loaded.Program.Songs[i].Name == "Long Shore" {
			song = loaded.Program.Songs[i]
		}
	}
	require.Equal(t, "Long Shore", song.Name)
	require.Len(t, song.Sections, 4)
	for i := range 4 {
		assert.EqualValues(t, 8, song.SectionBars(int32(i)), "section %d", i)
	}
	assert.Greater(t, song.Sections[1].Energy, song.Sections[0].Energy+2)
	assert.InDelta(t, song.Sections[1].Energy, song.Sections[3].Energy, 1)
	command(t, "tactus", "draft", file)
}
