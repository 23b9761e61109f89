package rehearsal_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/rehearsal"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/panel"
	"tactus/shows"
	"tactus/shows/showtest"
)

// rehearsed plays the demo with a player, in fake time.
type rehearsed struct {
	*live.Session
	show *shows.Show
	set  *rehearsal.Player
	t    *testing.T
	snap engine.Snapshot
}

func rehearse(t *testing.T, act func(r *rehearsed)) {
	t.Helper()
	rehearseShow(t, showtest.Demo(t), act)
}

func rehearseShow(t *testing.T, show *shows.Show, act func(r *rehearsed)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		s, err := live.New(show, &live.Options{Options: senders.Options{Protocol: senders.Virtual}}, zerolog.Nop())
		require.NoError(t, err)
		set := rehearsal.NewPlayer(s, show.Program)
		s.SetPlayer(set)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { defer close(done); _ = s.Run(ctx) }()
		act(&rehearsed{Session: s, show: show, set: set, t: t})
		cancel()
		<-done
	})
}

// after lets time pass and returns where the show stands.
func (r *rehearsed) after(d time.Duration) *engine.Snapshot {
	time.Sleep(d)
	synctest.Wait()
	r.Snapshot(&r.snap)
	return &r.snap
}

func (r *rehearsed) request(w panel.PlayerRequest) {
	require.True(r.t, r.set.Request(w), "no room for a request")
	synctest.Wait()
}

// Left alone the player plays the set to its end, each song from its first
// downbeat after the rest that the night has there, and then ends the rehearsal.
func TestPlayerPlaysTheSet(t *testing.T) {
	rehearse(t, func(r *rehearsed) {
		p := r.show.Program
		at := time.Duration(0)
		for place, song := range p.SetList {
			// A look at the show is a sixteenth apart, and the preroll is four beats.
			at = 5 * time.Second
			s := r.after(at)
			require.Equal(t, song, s.Status.Song, "song %d of the set", place+1)
			require.True(t, s.Pos.Playing, "song %d of the set", place+1)
			require.Zero(t, s.Status.Section, "song %d of the set", place+1)
			require.Equal(t, place, r.set.Playing().Place, "song %d of the set", place+1)
			left := p.Songs[song].TimeAt(p.Songs[song].Length() - s.Status.Beat)
			select {
			case <-r.Ended():
				require.Fail(t, "it ended in the middle")
			case <-time.After(time.Duration(left)):
			}
			if place+1 < len(p.SetList) {
				s := &p.Songs[song]
				rest := time.Duration(s.TempoAt(s.Length()).Span(night.PlannedSongs(p)[place].Rest))
				if s := r.after(rest - 200*time.Millisecond); assert.False(t, s.Pos.Playing, "in the rest") {
					assert.Equal(t, p.SetList[place+1], s.Status.Song, "in the rest")
				}
				r.after(200 * time.Millisecond)
			}
		}
		select {
		case <-r.Ended():
		case <-time.After(5 * time.Second):
			assert.Fail(t, "the rehearsal goes on after the set")
		}
	})
}

func TestPlayerObeys(t *testing.T) {
	rehearse(t, func(r *rehearsed) {
		r.after(4 * time.Second)
		r.request(panel.PlayerRequest{Kind: panel.Jump, Place: 1, Beat: 30}) // bar 11 of a waltz: the verse's third
		s := r.after(time.Second)
		song := &r.show.Program.Songs[r.show.Program.SetList[1]]
		got, want := s.Status.Beat, 30*clock.Quarter+song.TempoAt(0).Beats(clock.Second)
		assert.Equal(t, r.show.Program.SetList[1], s.Status.Song, "a second after a jump to beat 30")
		assert.GreaterOrEqual(t, got, want-clock.Quarter/4, "a second after a jump to beat 30")
		assert.LessOrEqual(t, got, want+clock.Quarter/4, "a second after a jump to beat 30")
		r.request(panel.PlayerRequest{Kind: panel.Stop})
		stood := r.after(time.Second).Status.Beat
		s = r.after(2 * time.Second)
		assert.False(t, s.Pos.Playing, "after stop")
		assert.Equal(t, stood, s.Status.Beat, "after stop")
		assert.False(t, r.set.Playing().Plays, "after stop")
		// The next cue is seen, and the music stands at it.
		r.request(panel.PlayerRequest{Kind: panel.Browse, Steps: 1})
		s = r.after(2 * time.Second)
		next := engine.None
		for i := range song.Cues {
			if song.Cues[i].At > stood && next == engine.None {
				next = int32(i)
			}
		}
		d := s.Status.Beat - song.Cues[next].At
		assert.Equal(t, next, s.Status.Cue, "browsed, want cue %d at %d", next, song.Cues[next].At)
		assert.False(t, s.Pos.Playing, "browsed, want cue %d at %d", next, song.Cues[next].At)
		assert.GreaterOrEqual(t, d, clock.Beat(0), "browsed, want cue %d at %d", next, song.Cues[next].At)
		assert.LessOrEqual(t, d, clock.Sixteenth, "browsed, want cue %d at %d", next, song.Cues[next].At)
		r.request(panel.PlayerRequest{Kind: panel.Browse, Steps: -1})
		assert.Equal(t, next-1, r.after(2*time.Second).Status.Cue, "browsed back to cue")
		// At half the tempo it takes twice as long.
		r.request(panel.PlayerRequest{Kind: panel.Speed, Share: 0.5})
		r.request(panel.PlayerRequest{Kind: panel.Play})
		r.after(2 * time.Second)
		from := r.snap.Status.Beat
		to := r.after(4 * time.Second).Status.Beat
		want = song.TempoAt(from).Beats(2 * clock.Second)
		assert.GreaterOrEqual(t, to-from, want*98/100, "4 s at half the tempo")
		assert.LessOrEqual(t, to-from, want*102/100, "4 s at half the tempo")
	})
}

// Left alone a section that goes round is played once, as on the night; one at the
// end of a song ends it.
func TestPlayerLeavesLoopsAsPlanned(t *testing.T) {
	show := showtest.Demo(t)
	song := &show.Program.Songs[show.Program.SetList[0]]
	last := len(song.Sections) - 1
	song.Sections[1].Loop, song.Sections[last].Loop = true, true
	rehearseShow(t, show, func(r *rehearsed) {
		s := r.after(5 * time.Second)
		assert.Equal(t, int32(0), s.Status.Section)
		for i := 1; i <= last; i++ {
			left := song.TimeAt(song.Sections[i].Start) - song.TimeAt(s.Status.Beat)
			s = r.after(time.Duration(left + 200*clock.Millisecond))
			assert.Equal(t, int32(i), s.Status.Section)
			assert.Equal(t, 1, s.Status.Pass, song.Sections[i].Name)
			assert.InDelta(t, 0.2, song.TempoAt(s.Status.Beat).Span(s.Status.Beat-song.Sections[i].Start).Sub(0).Seconds(), 0.05, song.Sections[i].Name)
		}
		s = r.after(time.Duration(song.TimeAt(song.Length()) - song.TimeAt(s.Status.Beat) + clock.Second))
		assert.False(t, s.Pos.Playing)
		assert.Equal(t, show.Program.SetList[1], s.Status.Song)
	})
}

// A look for a talk leaves the song; a jump to the song, or to a place in it, goes on
// with it.
func TestPlayerComesBackFromALook(t *testing.T) {
	rehearse(t, func(r *rehearsed) {
		for _, beat := range []float64{0, 12} {
			r.after(6 * time.Second)
			require.True(t, r.TrySend(engine.Input{Command: engine.Command{Kind: engine.ShowTalk}}))
			require.Equal(t, engine.None, r.after(time.Second).Status.Song, "during the talk")
			r.request(panel.PlayerRequest{Kind: panel.Jump, Place: 0, Beat: beat})
			s := r.after(time.Second)
			assert.Equal(t, r.show.Program.SetList[0], s.Status.Song, "after a jump to beat %v", beat)
			assert.InDelta(t, beat+1.2, s.Status.Beat.Quarters(), 0.25, "a second after a jump, at 72 beats a minute")
		}
	})
}

// A section that goes round is entered again on its own downbeat, until it need not.
func TestPlayerLoops(t *testing.T) {
	rehearse(t, func(r *rehearsed) {
		r.after(4 * time.Second)
		r.request(panel.PlayerRequest{Kind: panel.Loop, On: true})
		song := &r.show.Program.Songs[r.show.Program.SetList[0]]
		round := time.Duration(song.TimeAt(song.Sections[0].Length))
		for pass := 2; pass <= 3; pass++ {
			s := r.after(round)
			require.Zero(t, s.Status.Section, "round %d", pass)
			require.Equal(t, pass, s.Status.Pass, "round %d", pass)
		}
		r.request(panel.PlayerRequest{Kind: panel.Loop})
		assert.EqualValues(t, 1, r.after(round).Status.Section, "after the loop")
	})
}
