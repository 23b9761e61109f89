package plan_test

import (
	"context"
	"fmt"
	"io/fs"
	"maps"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/dmx"
	"tactus/shows"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// nightOf returns the demo with other songs: of so many minutes each, at 120, in
// sections of five bars that take turns with the demo's looks. Each has a pickup.
func nightOf(t testing.TB, songs, minutes int) fstest.MapFS {
	t.Helper()
	files := showtest.Files(t, shows.Demo())
	maps.DeleteFunc(files, func(name string, _ *fstest.MapFile) bool { return strings.Contains(name, "/") })
	parts := []string{
		"verse: {bars: 5, energy: 2, look: embers}",
		"pre-chorus: {bars: 5, energy: 4, look: tide, effects: [colour swing, gather in]}",
		"chorus: {bars: 5, energy: 7, look: singalong}",
		"bridge: {bars: 5, energy: 5, look: storm}",
		"tag: {bars: 5, energy: 8, look: full sail}",
	}
	var names []string
	for i := range songs {
		var b strings.Builder
		fmt.Fprintf(&b, "song: Song %d\ntempo: 120 bpm\nmeter: 4/4\nsections:\n", i+1)
		for s := range minutes * 6 { // of ten seconds
			fmt.Fprintf(&b, "  - %s\n", parts[(s+i)%len(parts)])
		}
		second, _, _ := strings.Cut(parts[(1+i)%len(parts)], ":")
		if minutes > 1 {
			second += " 1"
		}
		fmt.Fprintf(&b, "cues:\n  - {at: %s - 1 beat, look: dark, fade: 1/2 beat}\n", second)
		name := fmt.Sprintf("song-%d", i+1)
		names = append(names, name)
		files["songs/"+name+".yaml"] = &fstest.MapFile{Data: []byte(b.String())}
	}
	files["sets/night.yaml"] = &fstest.MapFile{Data: []byte("set: Night\nsongs: [" + strings.Join(names, ", ") + "]\nwalk-in: walk-in\n")}
	return files
}

// wider puts more washes on a truss of the demo's rig: on a universe of its own,
// and in the group of the back truss.
func wider(files fstest.MapFS, heads int) {
	if heads == 0 {
		return
	}
	rig := string(files["rig.yaml"].Data)
	rig = strings.Replace(rig, "universes:\n", "universes:\n  more: {virtual: yes}\n", 1)
	rig = strings.Replace(rig, "fixtures:\n", fmt.Sprintf("fixtures:\n  more 1-%d: {profile: dimmer-rgb, universe: more, address: 1, from: [-3 m, 6 m, 4 m], to: [3 m, 6 m, 4 m]}\n", heads), 1)
	rig = strings.Replace(rig, "back truss: wash 5-8\n", fmt.Sprintf("back truss: [wash 5-8, more 1-%d]\n", heads), 1)
	files["rig.yaml"] = &fstest.MapFile{Data: []byte(rig)}
}

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
func BenchmarkCheck(b *testing.B) { benchmarkCheck(b, nightOf(b, 12, 5)) }

// BenchmarkCheckMinutes and BenchmarkCheckHeads say whether time grows as music
// and rigs do: ns/frame stays for the one, ns/head for the other.
func BenchmarkCheckMinutes(b *testing.B) {
	for _, minutes := range []int{1, 2, 4, 8} {
		b.Run(fmt.Sprint(minutes), func(b *testing.B) { benchmarkCheck(b, nightOf(b, 1, minutes)) })
	}
}

// The demo's rig with more washes: 16, 32, 64 and 128 heads.
func BenchmarkCheckHeads(b *testing.B) {
	for _, more := range []int{0, 16, 48, 112} {
		b.Run(fmt.Sprint(16+more), func(b *testing.B) {
			files := nightOf(b, 1, 1)
			wider(files, more)
			benchmarkCheck(b, files)
		})
	}
}
