package draw

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

var update = flag.Bool("update", false, "rewrite the golden files; look at them and review the diff")

var sequence = regexp.MustCompile(`\x1b\[[?0-9;]*[A-Za-z]`)

// textOf is what a person reads: rows without control sequences.
func textOf(frame []byte) string {
	frame = bytes.ReplaceAll(frame, []byte("▀"), []byte(" ")) // light, not text
	s := regexp.MustCompile(`\x1b\[[0-9]+;1H`).ReplaceAllString(string(frame), "\n")
	lines := strings.Split(sequence.ReplaceAllString(s, ""), "\n")[1:]
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n") + "\n"
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "(run with -update once)")
	assert.Equal(t, string(want), got, "%s differs:\n%s", path, want)
}

const quarter = clock.Quarter

func TestFrameGolden(t *testing.T) {
	p := harbour(t)
	chorus := playing(p, 0, 4, 2*4*quarter)
	armed := playing(p, 1, 1, 3*quarter)
	armed.Status.Armed, armed.Status.ArmedAt = 5, armed.Status.Beat+quarter*3/2*3
	armed.Status.Held, armed.Status.Blackout = true, true
	armed.Pos.Sync, armed.Status.Grand = clock.Holdover, 0.8
	stopped := playing(p, 0, 0, 0)
	stopped.Pos.Playing, stopped.Status.Song, stopped.Status.Section = false, engine.None, engine.None
	stopped.Status.Look, stopped.Pos.Sync, stopped.Pos.Source = "doors", clock.Free, clock.Internal
	stopped.Health.Arrivals = clock.Arrivals{}
	for _, c := range []struct {
		name   string
		w, h   int
		colour bool
		s      *engine.Snapshot
	}{
		{"chorus-80x24.txt", 80, 24, true, chorus},
		{"chorus-80x24-no-colour.txt", 80, 24, false, chorus},
		{"chorus-60x16.txt", 60, 16, true, chorus},
		{"chorus-160x48.txt", 160, 48, true, chorus},
		{"armed-100x30.txt", 100, 30, true, armed},
		{"no-song-80x24.txt", 80, 24, true, stopped},
		{"small-40x12.txt", 40, 12, true, armed},
	} {
		frame := New(p, c.w, c.h, c.colour).Frame(nil, c.s)
		golden(t, c.name, textOf(frame))
		if c.name == "chorus-80x24.txt" {
			golden(t, "chorus-80x24.ansi", string(frame))
		}
		if dir := os.Getenv("DRAW_RAW"); dir != "" {
			os.WriteFile(dir+"/"+c.name+".ansi", frame, 0o644)
		}
	}
}

// Any show on any window: rows and columns stay within it, and the same
// snapshot gives the same frame, the clearing of the first aside.
func TestFrameProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := anyProgram(t, r)
		w, h := rapid.IntRange(-1, 220).Draw(r, "w"), rapid.IntRange(-1, 70).Draw(r, "h")
		d := New(p, w, h, rapid.Bool().Draw(r, "colour"))
		song := &p.Songs[0]
		s := &engine.Snapshot{Heads: make([]fixtures.State, len(p.Heads))}
		for i := range s.Heads {
			for q := range s.Heads[i] {
				s.Heads[i][q] = rapid.SampledFrom([]float64{0, 0.01, 0.5, 1, 7, math.NaN()}).Draw(r, "level")
			}
		}
		s.Pos.Tempo, s.Pos.Playing = 120_000_000, rapid.Bool().Draw(r, "playing")
		s.Status = engine.Status{
			Song: rapid.Int32Range(-1, 0).Draw(r, "song"), Section: engine.None, Armed: engine.None,
			Beat: clock.Beat(rapid.Int64Range(-100, 500).Draw(r, "beat")) * quarter / 2,
		}
		if n := int32(len(song.Sections)); n > 0 && s.Status.Song == 0 {
			s.Status.Armed = rapid.Int32Range(-1, n-1).Draw(r, "armed")
			s.Status.Section = rapid.Int32Range(-1, n-1).Draw(r, "section")
		}
		first := string(d.Frame(nil, s))
		lines := strings.Split(strings.TrimSuffix(textOf([]byte(first)), "\n"), "\n")
		require.Len(r, lines, max(1, h), "rows on a window of %d", h)
		for _, l := range lines {
			require.LessOrEqual(r, columns([]byte(l)), max(1, w), "columns on a window of %d: %q", w, l)
		}
		again := string(d.Frame(nil, s))
		require.Equal(r, again, strings.Replace(first, "\x1b[0m\x1b[2J", "", 1), "the same snapshot, another frame")
		d.Plain(nil, s)
	})
}

// Nothing is told by colour alone: without colours a frame has no colour in it
// and the same words.
func TestNoColour(t *testing.T) {
	p := harbour(t)
	s := playing(p, 0, 4, 0)
	s.Status.Blackout = true
	plain := string(New(p, 80, 24, false).Frame(nil, s))
	assert.False(t, regexp.MustCompile(`\x1b\[[0-9;]*[34][89]`).MatchString(plain), "colour in a frame without colour")
	for _, words := range []string{"BLACKOUT", "chorus 2, bar 1 beat 1", "blue+violet", "front 62 %", "midi locked", "▼"} {
		assert.Contains(t, plain, words)
	}
}

func TestWantsColour(t *testing.T) {
	for _, c := range []struct {
		no, term string
		want     bool
	}{{"", "xterm-256color", true}, {"1", "xterm-256color", false}, {"", "dumb", false}, {"", "", true}} {
		env := map[string]string{"NO_COLOR": c.no, "TERM": c.term}
		assert.Equal(t, c.want, WantsColour(func(k string) string { return env[k] }), c)
	}
}

// A brighter head makes its own cells brighter by exactly the encoding, and
// lights the floor below it.
func TestLampColour(t *testing.T) {
	p := harbour(t)
	d := New(p, 80, 24, true)
	s := playing(p, 0, 4, 0)
	for h := range s.Heads {
		s.Heads[h] = fixtures.State{}
	}
	d.Frame(nil, s)
	l := d.lamps[0]
	dark := *d.canvas.at(l.x, d.rows.stage+l.y)
	floor := d.canvas.at(l.x+l.w/2, d.rows.apart-1).bg
	assert.Equal(t, d.codes.colour(light{body, body, body}), dark.bg, "an unlit lamp")
	s.Heads[l.head] = fixtures.State{fixtures.Intensity: 0.5, fixtures.Red: 0.4}
	d.Frame(nil, s)
	assert.Equal(t, colour(encode(0.5*0.4+body)), d.canvas.at(l.x, d.rows.stage+l.y).bg>>16, "red")
	lit := d.canvas.at(l.x+l.w/2, d.rows.apart-1).bg
	assert.Greater(t, lit>>16, floor>>16, "red light on the floor: %06x before, %06x after", floor, lit)
	assert.Equal(t, floor&255, lit&255, "red light on the floor: %06x before, %06x after", floor, lit)
}

func hall200(t testing.TB) (*engine.Program, *engine.Snapshot) {
	r := &rig{t: t}
	wash := profileOf(t, "wash", "intensity", "red", "green", "blue")
	for i := range 200 {
		r.add(fmt.Sprint("wash ", i+1), wash, engine.Head{
			At: engine.Point{X: float64(i%40) - 20, Y: float64(i / 40), Z: 5},
		})
	}
	p := r.program()
	p.Songs = []engine.Song{song("Lanterns on the Pier", engine.Meter{Upper: 4, Lower: 4}, 96_000_000)}
	p.SetList = []int32{0}
	p.Songs[0].Palette = harbour(t).Songs[0].Palette
	return p, playing(p, 0, 4, 0)
}

// Twenty-five frames a second go on beside the loop that makes the light: all
// they take from the heap is the text of the position, in the two lines on top.
func TestFrameAllocs(t *testing.T) {
	p, s := hall200(t)
	d := New(p, 120, 40, true)
	b := d.Frame(nil, s)
	n := testing.AllocsPerRun(20, func() {
		d.canvas.clear()
		d.drawStage(s)
		d.drawAlarm(s)
		d.drawGroups(d.rows.apart, true, s)
		d.drawGroups(d.rows.words, false, s)
		d.drawRibbon(s)
		b = d.canvas.appendTo(b[:0])
	})
	assert.Zero(t, n, "allocations a frame below the two lines on top")
	s.Status.Song = engine.None
	assert.Zero(t, testing.AllocsPerRun(20, func() { b = d.Frame(b[:0], s) }), "allocations a frame without a song")
}

func BenchmarkFrame200Heads(b *testing.B) {
	for _, size := range [][2]int{{80, 24}, {120, 40}, {200, 60}} {
		b.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(b *testing.B) {
			p, s := hall200(b)
			d := New(p, size[0], size[1], true)
			var dst []byte
			for b.Loop() {
				dst = d.Frame(dst[:0], s)
			}
			if dir := os.Getenv("DRAW_RAW"); dir != "" {
				os.WriteFile(fmt.Sprintf("%s/many-%dx%d.ansi", dir, size[0], size[1]), dst, 0o644)
			}
			b.ReportMetric(float64(len(dst)), "bytes/frame")
		})
	}
}
