package plan_test

import (
	"context"
	"fmt"
	"io/fs"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/dmx"
	"tactus/shows"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// live runs the engine alone over the same music, as the live loop does with
// every frame: playback, effects, limiter and the bytes of the universes.
func live(show *shows.Show) (frames int) {
	p := show.Program
	for _, index := range p.SetList {
		s := &p.Songs[index]
		e := engine.New(p)
		pos := clock.Position{At: clock.Second, Tempo: s.Tempo}
		e.Do(engine.Command{Kind: engine.SelectSong, Index: index}, pos)
		pos.Playing, pos.Jumps = true, 1
		for i := range int(s.TimeAt(s.Length()) * dmx.MaxRate / clock.Second) {
			t := clock.Time(i) * clock.Second / dmx.MaxRate
			pos.At, pos.Beat = clock.Second+t, s.BeatAt(t)
			pos.Pulse = pos.Beat
			e.Frame(pos)
			frames++
		}
	}
	return frames
}

// benchmarkCheck measures and judges a night on one core, then runs the engine
// alone over it. "realtime" is how many seconds of music a second takes.
func benchmarkCheck(b *testing.B, files fs.FS) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	show := showtest.Load(b, files)
	var own, peer clock.Time
	frames, alone := 0, 0
	base := clock.NewBase()
	for b.Loop() {
		began := base.Now()
		n, err := plan.Measure(context.Background(), show, plan.Options{})
		if err != nil {
			require.NoError(b, err)
		}
		own += base.Now() - began
		for i := range n.Songs {
			frames += n.Songs[i].Frames
		}
		began = base.Now()
		alone += live(show)
		peer += base.Now() - began
	}
	each := float64(own) / float64(frames)
	b.ReportMetric(each, "ns/frame")
	b.ReportMetric(float64(peer)/float64(alone), "peer-ns/frame")
	b.ReportMetric(float64(clock.Second)/(each*dmx.MaxRate), "realtime")
	b.ReportMetric(float64(frames)/float64(b.N), "frames")
	b.ReportMetric(float64(own)/float64(b.N)/1e6, "ms/night")
	b.ReportMetric(each/float64(len(show.Program.Heads)), "ns/head")
}

// BenchmarkCheck takes a set of an hour on the demo's rig: 12 songs, 158,400
// frames. The peer is what the live loop's frames take.
func BenchmarkCheck(b *testing.B) { benchmarkCheck(b, showtest.Night(b, 12, 5)) }

// BenchmarkCheckMinutes and BenchmarkCheckHeads say whether time grows as music
// and rigs do: ns/frame stays for the one, ns/head for the other.
func BenchmarkCheckMinutes(b *testing.B) {
	for _, minutes := range []int{1, 2, 4, 8} {
		b.Run(fmt.Sprint(minutes), func(b *testing.B) { benchmarkCheck(b, showtest.Night(b, 1, minutes)) })
	}
}

// The demo's rig with more washes: 16, 32, 64 and 128 heads.
func BenchmarkCheckHeads(b *testing.B) {
	for _, more := range []int{0, 16, 48, 112} {
		b.Run(fmt.Sprint(16+more), func(b *testing.B) {
			files := showtest.Night(b, 1, 1)
			showtest.Widen(b, files, more)
			benchmarkCheck(b, files)
		})
	}
}
