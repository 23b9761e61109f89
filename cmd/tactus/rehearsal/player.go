package rehearsal

import (
	"context"
	"slices"
	"sync/atomic"
	"time"

	"tactus/clock"
	"tactus/cmd/tactus/live"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/panel"
)

// Player plays the set of a rehearsal as a DAW would on the night: MIDI clock
// without a pause, program changes, start, stop, song position. The order of songs
// and the rests between them are those of package night. The place in the song is
// read back from the show, so that a section entered by hand moves it too.
type Player struct {
	session  *live.Session
	base     clock.Base
	requests chan panel.PlayerRequest

	shown atomic.Pointer[panel.Playing] // a copy of playing, for the page

	playing    panel.Playing
	alone      bool // nobody has taken the controls
	ticks      int64
	snap       engine.Snapshot
	began      bool
	peek       int // ticks until it stops; 0: it does not
	looped     bool
	startsAt   clock.Time // when the selected song starts by itself; 0: it does not
	loopEndsAt clock.Time // when the present loop is over as planned; 0: there is none
}

const (
	// preroll is how many ticks come before the first start, for the clock to lock.
	preroll = 4 * 24
	// lookTicks is how many ticks pass between looks at the show.
	lookTicks = 6
	// peekTicks is how many ticks the player plays at a place before it stops there, so
	// that the light of that place is shown: longer than a frame.
	peekTicks = 3
)

// NewPlayer prepares a player of a session at the first song of the set. The end of the
// set ends the rehearsal, unless somebody has opened the page: a tablet that was asleep
// can then reconnect.
func NewPlayer(s *live.Session, p *engine.Program) *Player {
	r := &Player{session: s, base: s.Base(), requests: make(chan panel.PlayerRequest, 16), alone: true}
	r.playing.Share = 1
	r.snap.Program = p
	r.publish()
	return r
}

// Request implements [panel.Player].
func (r *Player) Request(w panel.PlayerRequest) bool {
	select {
	case r.requests <- w:
		return true
	default:
		return false
	}
}

// Playing implements [panel.Player].
func (r *Player) Playing() panel.Playing { return *r.shown.Load() }

func (r *Player) publish() {
	playing := r.playing
	r.shown.Store(&playing)
}

// Run plays until ctx ends, or the set does.
func (r *Player) Run(ctx context.Context) {
	timer := time.NewTimer(0)
	defer timer.Stop()
	for next := r.base.Now(); ; {
		select {
		case <-ctx.Done():
			return
		case w := <-r.requests:
			r.obey(w, r.base.Now())
			r.publish()
			continue
		case <-timer.C:
		}
		if !r.tick(next) {
			return
		}
		r.publish()
		next = max(next+r.interval(), r.base.Now()-clock.Second) // asleep: no burst
		timer.Reset(max(0, r.base.Until(next)))
	}
}

// interval is how long a tick takes now.
func (r *Player) interval() clock.Time {
	tempo := clock.BPM(120)
	if song, beat := r.here(); song != nil {
		tempo = song.TempoAt(beat)
	}
	return clock.Time(float64(tempo.Span(clock.Tick)) / r.playing.Share)
}

// here returns the song and where in it the show stands; before the first look
// the first song of the set.
func (r *Player) here() (*engine.Song, clock.Beat) {
	p, st := r.snap.Program, &r.snap.Status
	if st.Song != engine.None && int(st.Song) < len(p.Songs) && r.began {
		return &p.Songs[st.Song], max(0, st.Beat)
	}
	if r.playing.Place < len(p.SetList) {
		return &p.Songs[p.SetList[r.playing.Place]], 0
	}
	return nil, 0
}

// event sends what a DAW would. A loop that does not keep up loses it: a tick that
// is late is worse than one that is lost.
func (r *Player) event(at clock.Time, kind clock.Kind) {
	r.session.TrySend(engine.Input{Event: clock.Event{At: at, Kind: kind}})
}

func (r *Player) command(c engine.Command) { r.session.TrySend(engine.Input{Command: c}) }

// tick is one tick of the clock. It returns false at the end of the set.
func (r *Player) tick(at clock.Time) bool {
	if r.ticks == preroll && r.alone && !r.began {
		r.start(at, 0, 0)
	}
	if r.startsAt > 0 && at >= r.startsAt {
		r.start(at, r.playing.Place, 0)
	}
	r.event(at, clock.Tick24)
	r.ticks++
	if r.loopEndsAt > 0 && at >= r.loopEndsAt-r.interval()/2 {
		r.loopEndsAt = 0
		if !r.leaveLoop(at) {
			return false
		}
	}
	if r.peek > 0 {
		if r.peek--; r.peek == 0 {
			r.stop(at)
		}
	}
	if r.ticks%lookTicks == 0 {
		r.session.Snapshot(&r.snap)
		return r.followShow(at)
	}
	return true
}

// followShow keeps up a loop that was asked for, and ends the song at its end. It
// returns false at the end of the set.
func (r *Player) followShow(at clock.Time) bool {
	p, st := r.snap.Program, &r.snap.Status
	r.adoptSong()
	if p == nil || !r.playing.Plays || st.Song == engine.None || !r.snap.Pos.Playing {
		return true
	}
	if r.playing.Loops && st.Section != engine.None && st.Armed == engine.None {
		r.command(engine.Command{Kind: engine.ArmSection, Index: st.Section, When: engine.SectionEnd})
		r.looped = true
	}
	r.planLoopEnd(at)
	if song := &p.Songs[st.Song]; st.Beat >= song.Length() {
		return r.end(at, r.snap.Pos.At-song.TempoAt(st.Beat).Span(st.Beat-song.Length()))
	}
	return true
}

// planLoopEnd finds when a looping section is over as planned: on the night the DAW
// enters the next one then. After somebody has taken the controls the loop goes on.
// The end is not changed shortly before it comes: the show is rendered ahead of the
// music, and may have begun the next round already.
func (r *Player) planLoopEnd(at clock.Time) {
	p, st := r.snap.Program, &r.snap.Status
	if r.loopEndsAt > 0 && r.loopEndsAt-at < 2*lookTicks*r.interval() {
		return
	}
	r.loopEndsAt = 0
	if !r.alone || r.playing.Loops || st.Section == engine.None || st.Armed != engine.None {
		return
	}
	song := &p.Songs[st.Song]
	if s := &song.Sections[st.Section]; s.Loop {
		r.loopEndsAt = r.snap.Pos.At + song.TimeAt(s.Start+s.Length) - song.TimeAt(st.Beat)
	}
}

// leaveLoop enters the section after the present one, or ends the song. It returns
// false at the end of the set.
func (r *Player) leaveLoop(at clock.Time) bool {
	r.session.Snapshot(&r.snap)
	p, st := r.snap.Program, &r.snap.Status
	if st.Song == engine.None || st.Section == engine.None || st.Armed != engine.None {
		return true
	}
	if next := st.Section + 1; int(next) < len(p.Songs[st.Song].Sections) {
		r.command(engine.Command{Kind: engine.FireSection, Index: next})
		return true
	}
	return r.end(at, at)
}

// end stops after the end of a song, which was at over. Unless somebody has taken the
// controls it selects the next song, to start after the rest. It returns false at the end of the set.
func (r *Player) end(at, over clock.Time) bool {
	r.stop(at)
	if !r.alone {
		return true
	}
	p := r.snap.Program
	set := night.PlannedSongs(p)
	i := slices.IndexFunc(set, func(s night.Song) bool { return s.Place >= r.playing.Place })
	if i < 0 || i+1 == len(set) || set[i].Place != r.playing.Place {
		return r.session.Visited()
	}
	song := &p.Songs[set[i].Index]
	r.startsAt = over + song.TempoAt(song.Length()).Span(set[i].Rest)
	r.choose(set[i+1].Place)
	return true
}

// choose selects a song of the set.
func (r *Player) choose(place int) {
	r.command(engine.Command{Kind: engine.SelectPlace, Index: int32(place)})
	r.playing.Place = place
}

// start plays a song of the set from a place in it. The song is chosen again where a
// look, such as one for a talk, has left it.
func (r *Player) start(at clock.Time, place int, beat clock.Beat) {
	if !r.began || place != r.playing.Place || r.snap.Status.Song == engine.None {
		r.choose(place)
	}
	r.began, r.playing.Plays, r.startsAt, r.loopEndsAt = true, true, 0, 0
	if beat == 0 {
		r.event(at, clock.Start)
		return
	}
	r.locate(at, beat)
	r.event(at, clock.Continue)
}

func (r *Player) locate(at clock.Time, beat clock.Beat) {
	r.session.TrySend(engine.Input{Event: clock.Event{At: at, Kind: clock.Locate, Sixteenths: int32(beat / clock.Sixteenth)}})
}

func (r *Player) stop(at clock.Time) {
	r.event(at, clock.Stop)
	r.playing.Plays = false
}

// obey does what somebody asks for. From then on the set does not go on by itself.
func (r *Player) obey(w panel.PlayerRequest, at clock.Time) {
	r.alone, r.peek, r.startsAt, r.loopEndsAt = false, 0, 0, 0
	r.session.Snapshot(&r.snap)
	r.adoptSong()
	switch w.Kind {
	case panel.Play:
		r.play(at)
	case panel.Stop:
		r.stop(at)
	case panel.Jump:
		r.jump(at, w.Place, clock.Beat(w.Beat*float64(clock.Quarter)))
	case panel.Loop:
		r.loop(w.On)
	case panel.Speed:
		r.playing.Share = w.Share
	case panel.Browse:
		r.browse(at, w.Steps)
	}
}

// adoptSong takes over which song of the set plays, since others may choose one.
func (r *Player) adoptSong() {
	p, song := r.snap.Program, r.snap.Status.Song
	if p == nil || song == engine.None || !r.began || r.playing.Place < len(p.SetList) && p.SetList[r.playing.Place] == song {
		return
	}
	if i := slices.Index(p.SetList, song); i >= 0 {
		r.playing.Place = i
	}
}

func (r *Player) play(at clock.Time) {
	if r.playing.Plays {
		return
	}
	if song, beat := r.here(); !r.began || song != nil && beat >= song.Length() {
		r.start(at, r.playing.Place, 0) // from the top
		return
	}
	r.event(at, clock.Continue)
	r.playing.Plays = true
}

// jump goes to a place in the set, and plays on from there if it was playing.
func (r *Player) jump(at clock.Time, place int, beat clock.Beat) {
	plays := r.playing.Plays
	r.stop(at)
	r.start(at, place, beat)
	if !plays {
		r.peek = peekTicks
	}
}

func (r *Player) loop(on bool) {
	r.playing.Loops = on
	if !on && r.looped {
		r.command(engine.Command{Kind: engine.Disarm})
		r.looped = false
	}
}

// browse stops at the next cue, or at the one before.
func (r *Player) browse(at clock.Time, steps int) {
	song, beat := r.here()
	if song == nil {
		return
	}
	target, found := clock.Beat(0), false
	for i := range song.Cues {
		c := song.Cues[i].At
		switch {
		case c < 0:
		case steps > 0 && c > beat && !found, steps < 0 && c < beat-clock.Sixteenth:
			target, found = c, true
		}
	}
	if !found {
		return
	}
	r.stop(at)
	r.start(at, r.playing.Place, target)
	r.peek = peekTicks
}
