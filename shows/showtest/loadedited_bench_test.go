package showtest_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/showtest"
)

// BenchmarkLoadEdited says how long it takes from changed bytes of one file to a show
// that plays: for the demo, and for 40 songs of 4 minutes on 216 heads. The peer of
// load-ms is a load from nothing. prepare-ms is engine.NewReload. These are outside the
// loop. Within the loop the frame that takes the edit over (taken-us) has the frame
// before it (frame-us) as its measure. All are the 95th of 100 edits.
//
// Another white asks for other mixers of all heads, so that nothing but parsing is saved.
func BenchmarkLoadEdited(b *testing.B) {
	demo, large := showtest.Files(b, shows.Demo()), showtest.Night(b, 40, 4)
	showtest.Widen(b, large, 200)
	for _, size := range []struct {
		name, song string
		files      fstest.MapFS
	}{{"demo", "songs/lanterns.yaml", demo}, {"40songs", "songs/song-7.yaml", large}} {
		for _, edit := range []struct {
			name, file, old string
			to              [2]string // in turns
		}{
			{"song", size.song, "energy: 2", [2]string{"energy: 3", "energy: 4"}},
			{"looks", "looks.yaml", "colour: main", [2]string{"colour: second", "colour: accent"}},
			{"rig", "rig.yaml", "fronts: 30 %", [2]string{"fronts: 31 %", "fronts: 32 %"}},
			{"white", "rig.yaml", "white: 5600 K", [2]string{"white: 5601 K", "white: 5602 K"}},
		} {
			b.Run(size.name+"/"+edit.name, func(b *testing.B) {
				src := string(size.files[edit.file].Data)
				require.Contains(b, src, edit.old)
				var sources [2][]byte
				for i, to := range edit.to {
					sources[i] = []byte(strings.ReplaceAll(src, edit.old, to))
				}
				for b.Loop() {
					benchmarkEdits(b, size.files, edit.file, sources)
				}
			})
		}
	}
}

// edits is how many edits benchmarkEdits makes.
const edits = 100

func benchmarkEdits(b *testing.B, files fstest.MapFS, name string, sources [2][]byte) {
	before := files[name]
	defer func() { files[name] = before }()
	var loader shows.Loader
	first, problems := loader.Load(files, shows.Options{})
	require.NoError(b, problems.Err())
	stage := newPlaying(first.Program)
	base := clock.NewBase()
	var load, nothing, prepare, taken, frame []clock.Time
	timed := func(list *[]clock.Time, f func()) {
		began := base.Now()
		f()
		*list = append(*list, base.Now()-began)
	}
	for i := range edits {
		files[name] = &fstest.MapFile{Data: sources[i%2]}
		var show *shows.Show
		timed(&load, func() { show, problems = loader.Load(files, shows.Options{}) })
		require.NoError(b, problems.Err())
		if i%5 == 0 {
			timed(&nothing, func() { _, problems = shows.Load(files, shows.Options{}) })
			require.NoError(b, problems.Err())
		}
		var reload *engine.Reload
		var err error
		timed(&prepare, func() { reload, err = engine.NewReload(stage.engine.Program(), show.Program) })
		if err != nil { // another white is another patch: the old one goes on
			require.ErrorIs(b, err, engine.ErrRestart)
			continue
		}
		stage.frame()
		timed(&frame, stage.frame)
		timed(&taken, func() {
			if !stage.engine.Reload(reload, stage.pos) {
				require.Fail(b, "not taken over")
			}
			stage.frame()
		})
	}
	b.ReportMetric(p95(load, clock.Millisecond), "load-ms")
	b.ReportMetric(p95(nothing, clock.Millisecond), "peer-load-ms")
	b.ReportMetric(p95(prepare, clock.Millisecond), "prepare-ms")
	if len(taken) > 0 {
		b.ReportMetric(p95(taken, clock.Microsecond), "taken-us")
		b.ReportMetric(p95(frame, clock.Microsecond), "frame-us")
	}
}

// p95 returns the 95th percentile of times in a unit.
func p95(list []clock.Time, unit clock.Time) float64 {
	slices.Sort(list)
	return float64(list[(len(list)-1)*95/100]) / float64(unit)
}

// playing is an engine that plays the first song at 120 bpm, 44 frames a second.
type playing struct {
	engine *engine.Engine
	pos    clock.Position
}

func newPlaying(p *engine.Program) *playing {
	s := &playing{engine.New(p), clock.Position{At: clock.Second, Tempo: clock.BPM(120)}}
	s.engine.Do(engine.Command{Kind: engine.SelectSong}, s.pos)
	s.pos.Playing, s.pos.Jumps = true, 1
	for range 44 {
		s.frame()
	}
	return s
}

func (s *playing) frame() {
	s.pos.At += clock.Second / 44
	s.pos.Beat += 2 * clock.Quarter / 44
	s.pos.Pulse = s.pos.Beat
	s.engine.Frame(s.pos)
}
