package plan

import (
	"context"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/engine/night"
	"tactus/protocol/dmx"
	"tactus/shows"
)

// Options say what is measured.
type Options struct {
	// Songs are indexes of Program.Songs; nil: those of the set, each once.
	Songs []int32
	// InShort plays of the songs before one in the set only what decides in which light
	// it begins; see night.SongInShort. It is for one song, quickly: light that comes in
	// cycles through the whole night may differ a little from that of the night.
	InShort bool
	// Progress is called with the length of music played so far and of all; or nil.
	Progress func(done, all clock.Time)

	sampled func(*night.Run) // called after each frame that is measured, by tests
}

// Measure plays the night as planned, measures the light of songs, and checks it.
// A song is played after the songs before it in the set; one that is not in the set
// is played right after the walk-in. Measure stops with ctx's error when ctx is
// done.
func Measure(ctx context.Context, show *shows.Show, o Options) (*Night, error) {
	p := show.Program
	n := &Night{Show: show, Heads: flash.Heads(p.Patch), Stage: shows.StageHeads(p)}
	for h := range p.Heads {
		if head := &p.Heads[h]; n.Heads[h].Flux > 0 && head.Keep && !head.House {
			n.Faces = append(n.Faces, int32(h))
		}
	}
	if o.Songs == nil {
		o.Songs = once(p.SetList)
	}
	w := progress{show: show, report: o.Progress}
	runs := runsOf(p, o.Songs)
	if o.InShort {
		runs = shortRunsOf(p, o.Songs)
	}
	for _, run := range runs {
		for i := range run {
			w.all += w.length(&run[i])
		}
	}
	songs := map[int32]Song{}
	for _, run := range runs {
		if err := n.measure(ctx, run, &o, &w, songs); err != nil {
			return nil, err
		}
	}
	for _, s := range o.Songs {
		n.Songs = append(n.Songs, songs[s])
	}
	n.check()
	return n, nil
}

// once returns the songs of a list in order, without repeats.
func once(list []int32) (out []int32) {
	for _, s := range list {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// runsOf lists what has to be played to measure some songs: the set up to the last
// of them, and by itself each song that is not in the set.
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

// shortRunsOf lists what has to be played to measure each song by itself.
func shortRunsOf(p *engine.Program, wanted []int32) (runs [][]night.Song) {
	for _, s := range once(wanted) {
		if songs := night.SongInShort(p, s); len(songs) > 0 {
			runs = append(runs, songs)
		}
	}
	return runs
}

// measure plays songs, and measures those of the options that are not in done yet.
func (n *Night) measure(ctx context.Context, songs []night.Song, o *Options, w *progress, done map[int32]Song) error {
	run := night.Play(n.Show.Program, songs)
	before := engine.None
	var m *lightLevels
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
					m = newLightLevels(n, at.Index, before, run)
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

// progress reports how much of the music has been played.
type progress struct {
	show      *shows.Show
	report    func(done, all clock.Time) // or nil
	done, all clock.Time
	song      *night.Song
	frames    int
}

func (w *progress) length(s *night.Song) clock.Time { return w.show.Length([]int32{s.Index}) }

// frame counts a frame. Where a song begins or ends, and every four seconds, it
// reports and returns ctx's error.
func (w *progress) frame(ctx context.Context, run *night.Run) error {
	now, played := run.Song(), clock.Time(0)
	if w.frames++; now == w.song && w.frames%(4*dmx.MaxRate) != 0 {
		return nil
	}
	if now != w.song && w.song != nil {
		w.done += w.length(w.song)
	}
	if w.song = now; now != nil {
		played = w.show.Program.Songs[now.Index].TimeAt(run.Beat())
	}
	if w.report != nil {
		w.report(w.done+played, w.all)
	}
	return ctx.Err()
}
