package plan

import (
	"context"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/engine/night"
	"tactus/shows"
)

// Options say how a set is measured.
type Options struct {
	// Songs are indexes of Program.Songs; nil: those of the set, each once.
	Songs []int32
	// Progress is told how many seconds of music have been played; or nil.
	Progress func(done, all clock.Time)

	// sampled is told of each frame that is measured; or nil. It is for tests.
	sampled func(*night.Run)
}

// Measure plays the night as planned and measures the light of songs: each follows
// from what came before it in the set, and is measured where it comes first. A song
// outside the set comes right after the walk-in. It ends early with ctx's error.
func Measure(ctx context.Context, show *shows.Show, o Options) (*Night, error) {
	p := show.Program
	n := &Night{Show: show, Heads: flash.Heads(p.Patch)}
	for h := range p.Heads {
		switch head := &p.Heads[h]; {
		case n.Heads[h].Flux == 0 || head.House:
		case head.Keep:
			n.Faces = append(n.Faces, int32(h))
		default:
			n.Stage = append(n.Stage, int32(h))
		}
	}
	if o.Songs == nil {
		o.Songs = once(p.SetList)
	}
	w := newWatch(p, o.Progress)
	runs := runsOf(p, o.Songs)
	for _, run := range runs {
		w.expect(run)
	}
	songs := map[int32]Song{}
	for _, run := range runs {
		if err := n.measure(ctx, run, &o, w, songs); err != nil {
			return nil, err
		}
	}
	for _, s := range o.Songs {
		n.Songs = append(n.Songs, songs[s])
	}
	return n, nil
}

// once drops what comes again.
func once(list []int32) (out []int32) {
	for _, s := range list {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// runsOf lists what has to be played for some songs: the set up to the last of
// them, and each that is not in the set by itself.
func runsOf(p *engine.Program, wanted []int32) (runs [][]night.Song) {
	var set []night.Song
	for _, s := range once(wanted) {
		songs := night.SongsUpTo(p, s)
		switch {
		case len(songs) == 0: // it has no sections
		case songs[0].Place < 0:
			runs = append(runs, songs)
		case len(songs) > len(set):
			set = songs
		}
	}
	if set != nil {
		runs = append([][]night.Song{set}, runs...)
	}
	return runs
}

// measure plays songs and measures those that are wanted and have not been.
func (n *Night) measure(ctx context.Context, songs []night.Song, o *Options, w *watch, done map[int32]Song) error {
	run := night.Play(n.Show.Program, songs)
	before := engine.None
	var m *meter
	for at := (*night.Song)(nil); run.Frame(); {
		if now := run.Song(); now != at {
			if m != nil {
				done[m.song.Index] = m.finished()
				m = nil
			}
			if at != nil {
				before = at.Index
			}
			if at = now; at != nil {
				if _, have := done[at.Index]; !have && slices.Contains(o.Songs, at.Index) {
					m = newMeter(n, at.Index, before, run)
				}
			}
		}
		if m != nil {
			m.frame()
			if o.sampled != nil {
				o.sampled(run)
			}
		}
		if err := w.frame(ctx, run); err != nil {
			return err
		}
	}
	return nil
}

// watch tells how far it is, and whether to go on.
type watch struct {
	program   *engine.Program
	progress  func(done, all clock.Time)
	done, all clock.Time
	song      *night.Song
	frames    int
}

func newWatch(p *engine.Program, progress func(done, all clock.Time)) *watch {
	if progress == nil {
		progress = func(_, _ clock.Time) {}
	}
	return &watch{program: p, progress: progress}
}

// expect adds what is going to be played.
func (w *watch) expect(songs []night.Song) {
	for i := range songs {
		w.all += w.length(&songs[i])
	}
}

func (w *watch) length(s *night.Song) clock.Time {
	song := &w.program.Songs[s.Index]
	return song.TimeAt(song.Length())
}

// frame looks at a frame, and now and then at ctx.
func (w *watch) frame(ctx context.Context, run *night.Run) error {
	now := run.Song()
	if now != w.song {
		if w.song != nil {
			w.done += w.length(w.song)
			w.progress(w.done, w.all)
		}
		w.song = now
	}
	if w.frames++; w.frames%(Rate*4) != 0 {
		return nil
	}
	if now != nil {
		w.progress(w.done+w.program.Songs[now.Index].TimeAt(run.Beat()), w.all)
	}
	return ctx.Err()
}
