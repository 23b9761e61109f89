package plan

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/protocol/dmx"
	"tactus/shows"
	"tactus/shows/explain"
	"tactus/shows/showtest"
)

// drawHectic draws the files of a show that has all that a night may have: looks
// that name front light or leave it, fades of both kinds, effects that flash,
// strobes, floors, a hazer's cycle, sections that go round, cues by pass, pickups,
// tempos that change, songs outside the set.
func drawHectic(t *rapid.T) fstest.MapFS {
	files := fstest.MapFS{}
	put := func(name, src string) { files[name] = &fstest.MapFile{Data: []byte(src)} }
	pick := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	put("show.yaml", "show: Hectic\ndaw: {song position: "+pick("position", "restarts", "runs on")+"}\nwhile stopped: effects "+pick("stopped", "carry on", "settle")+"\n")
	put("rig.yaml", `venue: Hall
universes:
  u1: {virtual: yes}
fixtures:
  lamp 1-3: {profile: dimmer-rgb, universe: u1, address: 1, from: [-2 m, 1 m, 4 m], to: [2 m, 1 m, 4 m]}
  flash 1-2: {profile: dimmer-rgb-strobe, universe: u1, address: 21, from: [-1 m, 4 m, 4 m], to: [1 m, 4 m, 4 m]}
  front 1-2: {profile: dimmer, universe: u1, address: 41, from: [-1 m, -4 m, 4 m], to: [1 m, -4 m, 4 m]}
  hazer: {profile: hazer, universe: u1, address: 51, at: [0 m, 5 m, 0 m]}
groups:
  lamps: lamp 1-3
  flashes: flash 1-2
  stage: [lamps, flashes]
  fronts: front 1-2
keep: [fronts, hazer]
floors: {fronts: 30 %}
haze cycle: {on: 2 s, every: 5 s}
`)
	put("looks.yaml", fmt.Sprintf(`palette: {main: "#ff0000", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}
looks:
  one: {set: {lamps: {colour: main, intensity: %d %%}, flashes: {colour: warm, intensity: 100 %%}, hazer: {haze: 40 %%}}}
  two: {set: {stage: {colour: second, intensity: 100 %%}, fronts: {intensity: %d %%}}}
  three: {set: {flashes: {colour: accent, intensity: 80 %%, strobe: 60 %%}}}
  off: {set: {stage: {intensity: 0 %%}}}
effects:
  flicker: {on: stage, wave: square, moves: intensity, period: %s, depth: 100 %%}
  turn: {on: flashes, wave: triangle, moves: colour, from: main, to: accent, period: 1/2 beat}
  wave: {on: lamps, wave: sine, moves: intensity, period: 2 bars, depth: 50 %%, path: left-right}
`, rapid.IntRange(0, 100).Draw(t, "lamps"), rapid.IntRange(0, 100).Draw(t, "fronts"), pick("period", "1/8 beat", "1/4 beat", "1/2 beat")))
	look := func() string { return pick("look", "one", "two", "three", "off") }
	fade := func() string { return pick("fade", "0 s", "1 s", "1 beat", "1 bar") }
	effects := func() string { return pick("effects", "none", "flicker", "turn", "[wave, turn]", "flicker") }
	for i := range 3 {
		var b strings.Builder
		fmt.Fprintf(&b, "song: Song %d\ntempo: %d bpm\nmeter: %s\nsections:\n", i+1, rapid.IntRange(90, 200).Draw(t, "tempo"), pick("meter", "4/4", "3/4", "6/8"))
		sections := rapid.IntRange(1, 2).Draw(t, "sections")
		for k := range sections {
			fmt.Fprintf(&b, "  - part %c: {bars: %d, energy: 5, look: %s, fade: %s, colour fade: %s, effects: %s, loop: %s, spoken: %s%s}\n", 'a'+k,
				rapid.IntRange(1, 2).Draw(t, "bars"), look(), fade(), fade(), effects(), pick("loop", "yes", "no"), pick("spoken", "yes", "no"),
				pick("changes", "", ", tempo: 150 bpm"))
		}
		last := 'a' + sections - 1
		fmt.Fprintf(&b, "cues:\n  - {at: \"part a + 1 beat\", look: %s, fade: %s, effects: %s}\n", look(), fade(), effects())
		if last == 'b' {
			fmt.Fprintf(&b, "  - {at: \"part b - 1/3 beat\", look: %s}\n", look())
		}
		fmt.Fprintf(&b, "  - {at: \"part %c + 1/2 beat\", in: again, look: %s, effects: %s}\n", last, look(), effects())
		put(fmt.Sprintf("songs/song-%d.yaml", i+1), b.String())
	}
	put("sets/set.yaml", "set: Set\nsongs: "+pick("set", "[song-1, song-2]", "[song-3, song-1, song-2]", "[song-2]")+"\nwalk-in: one\n")
	return files
}

// sample is a frame of the night.
type sample struct {
	at   clock.Time
	song string // "": between songs
	beat clock.Beat
	u    []dmx.Universe
}

// playedSamples plays a show's set and keeps every frame, and what was sent.
func playedSamples(p *engine.Program) (frames []sample, sent map[clock.Time][]engine.Input, held int) {
	sent = map[clock.Time][]engine.Input{}
	r := night.Play(p, night.PlannedSongs(p))
	r.Inputs(func(now clock.Time, in []engine.Input) { sent[now] = append(sent[now], in...) })
	for r.Frame() {
		s := sample{at: r.Position().At, u: slices.Clone(r.Universes())}
		if now := r.Song(); now != nil {
			s.song, s.beat = p.Songs[now.Index].Name, r.Beat()
		}
		frames = append(frames, s)
		if f := r.Status().Limiter; f.Acting && f.Last() == s.at {
			held++
		}
	}
	return frames, sent, held
}

// tape keeps what a loop sends.
type tape struct{ frames []sample }

func (o *tape) Send(now clock.Time, u []dmx.Universe, _ []bool) error {
	o.frames = append(o.frames, sample{at: now, u: slices.Clone(u)})
	return nil
}
func (o *tape) Close() error { return nil }

// loopSamples runs the loop of the live night in fake time, with its own timer
// replaced by one that hands it, before each frame, what was sent up to then.
func loopSamples(t *testing.T, p *engine.Program, sent map[clock.Time][]engine.Input, end clock.Time) []sample {
	o := &tape{}
	synctest.Test(t, func(t *testing.T) {
		base, input := clock.NewBase(), make(chan engine.Input, 64)
		ctx, cancel := context.WithCancel(context.Background())
		l := engine.NewLoop(engine.LoopConfig{
			Engine: engine.New(p), Clock: clock.NewTransport(night.ClockConfig(p)), Base: base, Input: input, Outputs: []engine.Output{o},
			Wait: func(until clock.Time) {
				if until > end {
					cancel()
					return
				}
				for _, in := range sent[until] {
					input <- in
				}
				time.Sleep(base.Until(until))
			},
		})
		assert.NoError(t, l.Run(ctx))
	})
	return o.frames
}

// Whatever the show: what check measures, what explain explains and what the live
// loop sends are the same bytes, frame by frame, where the flash limiter holds
// light back too.
func TestCheckExplainAndLoopShowTheSameLight(t *testing.T) {
	held, explained, named := 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		show, problems := shows.Load(drawHectic(rt), shows.Options{})
		require.Empty(rt, problems)
		p := show.Program
		frames, sent, softened := playedSamples(p)
		held += softened

		live := loopSamples(t, p, sent, frames[len(frames)-1].at)
		require.Len(rt, live, len(frames))
		for i := range frames {
			require.Equal(rt, live[i].at, frames[i].at, "frame %d", i)
			require.True(rt, slices.Equal(frames[i].u, live[i].u), "frame %d", i)
		}

		first := firstTime(frames)
		n := 0
		_, err := Measure(context.Background(), show, Options{sampled: func(r *night.Run) {
			f := &first[n]
			n++
			require.Equal(rt, r.Position().At, f.at, "check's sample %d at %v of %s differs from the night's frame", n, r.Position().At.Sub(0), f.song)
			require.Equal(rt, p.Songs[r.Song().Index].Name, f.song, "check's sample %d at %v of %s differs from the night's frame", n, r.Position().At.Sub(0), f.song)
			require.Equal(rt, r.Beat(), f.beat, "check's sample %d at %v of %s differs from the night's frame", n, r.Position().At.Sub(0), f.song)
			require.True(rt, slices.Equal(f.u, r.Universes()), "check's sample %d at %v of %s differs from the night's frame", n, r.Position().At.Sub(0), f.song)
		}})
		require.NoError(rt, err)
		require.Equal(rt, len(first), n)

		for range 3 {
			f := &first[rapid.IntRange(0, len(first)-1).Draw(rt, "frame")]
			explained++
			if explainedAs(rt, show, f) != "" {
				named++
			}
		}
	})
	assert.NotZero(t, held, "frames in which the limiter held light back")
	assert.NotZero(t, named, "of %d explanations", explained)
	t.Logf("%d frames held back; the limiter named in %d of %d explanations", held, named, explained)
}

// firstTime returns the frames of songs, of each the first time that it is played.
func firstTime(frames []sample) (out []sample) {
	seen, now := map[string]bool{}, ""
	for _, f := range frames {
		if f.song != now {
			seen[now] = true
			now = f.song
		}
		if now != "" && !seen[now] {
			out = append(out, f)
		}
	}
	return out
}

// explainedAs explains every fixture where a frame lies, holds the slots against
// the frame's, and returns what is said of the flash limiter where it decides.
func explainedAs(t require.TestingT, show *shows.Show, f *sample) string {
	p := show.Program
	at := night.Place{Look: engine.None, At: f.beat, Pass: 1}
	at.Song = int32(slices.IndexFunc(p.Songs, func(s engine.Song) bool { return s.Name == f.song }))
	for i := range p.Songs[at.Song].Sections {
		if p.Songs[at.Song].Sections[i].Start <= f.beat {
			at.Section = int32(i)
		}
	}
	v := night.View(p, at)
	require.Equal(t, f.at, v.Position().At)
	var words strings.Builder
	for i, fixture := range p.Patch.Placements() {
		for _, h := range explain.Fixture(show, v, int32(i), 0).Heads {
			for _, s := range h.Slots {
				require.Equal(t, int(f.u[fixture.Universe].Slots[s.Address-1]), s.Value,
					"slot %d of %s at beat %v of %s", s.Address, h.Head, f.beat.Quarters(), f.song)
			}
			for _, q := range h.Params {
				if q.Decider == engine.FlashLayer.String() {
					words.WriteString(h.Head + ": " + q.Layers[len(q.Layers)-1].Words + "\n")
				}
			}
		}
	}
	return words.String()
}

// The show of the shelf whose chorus flickers four times a second: at 76 places, as
// far apart as in any song, explain tells the night's slots, and names the limiter
// where it holds back, which it does from the first second of the chorus on.
func TestFlashingIsExplainedAsItIsPlayed(t *testing.T) {
	show := showtest.Load(t, showtest.Files(t, os.DirFS("../../testdata/shows/findings/hall"), os.DirFS("../../testdata/shows/findings/flashing")))
	p := show.Program
	frames, _, held := playedSamples(p)
	require.NotZero(t, held)
	const places = 76
	named, chorus := 0, p.Songs[0].Sections[1].Start
	for n := range places {
		at := p.Songs[0].Length() * clock.Beat(n) / places
		last := &frames[0]
		for i := range frames {
			if frames[i].song != "" && frames[i].beat <= at {
				last = &frames[i]
			}
		}
		if words := explainedAs(t, show, last); words != "" {
			named++
			assert.Greater(t, at, chorus)
			assert.Contains(t, words, "lamp 1: would flash too often, held back: lamp 1, ")
			assert.Contains(t, words, " general flashes a second asked, 3.0 let through, 3 may be")
		}
	}
	assert.Greater(t, named, places/4, "places of the chorus, a half of all, where the limiter decides")
}
