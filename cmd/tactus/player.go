package main

import (
	"context"
	"slices"
	"sync/atomic"
	"time"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/panel"
)

// player plays the set of a rehearsal as a DAW would on the night: MIDI clock
// without a pause, program changes, start, stop, song position. What comes after
// what, and how long the transport stands in between, it has from package night.
// Where the song stands it reads from the show, so that a section that is entered
// again takes it along.
type player struct {
	base     clock.Base
	out      chan<- engine.Input
	look     func(*engine.Snapshot)
	requests chan panel.PlayerRequest
	ends     func() bool // whether the end of the set ends the rehearsal

	shown atomic.Pointer[panel.Playing]

	at     panel.Playing
	alone  bool // nobody has taken the controls
	ticks  int64
	snap   engine.Snapshot
	began  bool
	peek   int // ticks until it stops, 0: it does not
	looped bool
	starts clock.Time // when the song that is selected starts by itself; 0: it does not
	leaves clock.Time // when a section that goes round is over as planned; 0: there is none
}

const (
	// preroll is how many ticks come before the first start, for the clock to lock.
	preroll = 4 * 24
	// lookTicks is how many ticks lie between looks at the show.
	lookTicks = 6
	// peekTicks is how long it plays to show a place where it then stands: more than a
	// frame.
	peekTicks = 3
)

// newPlayer prepares a player at the first song of the set.
func newPlayer(base clock.Base, out chan<- engine.Input, look func(*engine.Snapshot), p *engine.Program, ends func() bool) *player {
	r := &player{base: base, out: out, look: look, requests: make(chan panel.PlayerRequest, 16), ends: ends, alone: true}
	r.at.Share = 1
	r.snap.Program = p
	r.tell()
	return r
}

// Request implements [panel.Player].
func (r *player) Request(w panel.PlayerRequest) bool {
	select {
	case r.requests <- w:
		return true
	default:
		return false
	}
}

// Playing implements [panel.Player].
func (r *player) Playing() panel.Playing { return *r.shown.Load() }

func (r *player) tell() {
	at := r.at
	r.shown.Store(&at)
}

// run plays until ctx ends, or the set does.
func (r *player) run(ctx context.Context) {
	timer := time.NewTimer(0)
	defer timer.Stop()
	for next := r.base.Now(); ; {
		select {
		case <-ctx.Done():
			return
		case w := <-r.requests:
			r.take(w, r.base.Now())
			r.tell()
			continue
		case <-timer.C:
		}
		if !r.tick(next) {
			return
		}
		r.tell()
		next = max(next+r.interval(), r.base.Now()-clock.Second) // asleep: no burst
		timer.Reset(max(0, r.base.Until(next)))
	}
}

// interval is how long a tick takes now.
func (r *player) interval() clock.Time {
	tempo := clock.BPM(120)
	if song, beat := r.here(); song != nil {
		tempo = song.TempoAt(beat)
	}
	return clock.Time(float64(tempo.Span(clock.Tick)) / r.at.Share)
}

// here returns the song and where in it the show stands; before the first look
// the first song of the set.
func (r *player) here() (*engine.Song, clock.Beat) {
	p, st := r.snap.Program, &r.snap.Status
	if st.Song != engine.None && int(st.Song) < len(p.Songs) && r.began {
		return &p.Songs[st.Song], max(0, st.Beat)
	}
	if r.at.Place < len(p.SetList) {
		return &p.Songs[p.SetList[r.at.Place]], 0
	}
	return nil, 0
}

func (r *player) send(in engine.Input) {
	select {
	case r.out <- in:
	default: // the loop stands still; a tick that is late is worse than one that is lost
	}
}

func (r *player) event(at clock.Time, kind clock.Kind) {
	r.send(engine.Input{Event: clock.Event{At: at, Kind: kind}})
}

// tick is one tick of the clock. It returns false at the end of the set.
func (r *player) tick(at clock.Time) bool {
	if r.ticks == preroll && r.alone && !r.began {
		r.start(at, 0, 0)
	}
	if r.starts > 0 && at >= r.starts {
		r.start(at, r.at.Place, 0)
	}
	r.event(at, clock.Tick24)
	r.ticks++
	if r.leaves > 0 && at >= r.leaves-r.interval()/2 {
		r.leaves = 0
		if !r.leave(at) {
			return false
		}
	}
	if r.peek > 0 {
		if r.peek--; r.peek == 0 {
			r.stop(at)
		}
	}
	if r.ticks%lookTicks == 0 {
		r.look(&r.snap)
		return r.watch(at)
	}
	return true
}

// watch follows the show: the next song at the end of one, a loop that is kept.
func (r *player) watch(at clock.Time) bool {
	p, st := r.snap.Program, &r.snap.Status
	r.follow()
	if p == nil || !r.at.Plays || st.Song == engine.None || !r.snap.Pos.Playing {
		return true
	}
	if r.at.Loops && st.Section != engine.None && st.Armed == engine.None {
		r.send(engine.Input{Command: engine.Command{Kind: engine.ArmSection, Index: st.Section, When: engine.SectionEnd}})
		r.looped = true
	}
	r.plan(at)
	if song := &p.Songs[st.Song]; st.Beat >= song.Length() {
		return r.end(at, r.snap.Pos.At-song.TempoAt(st.Beat).Span(st.Beat-song.Length()))
	}
	return true
}

// plan finds when a section that goes round is over as planned: on the night the
// DAW enters the next one then. Who has taken the controls goes round. What is known
// shortly before that moment stands, for the show is rendered ahead of the music,
// and may have gone round already.
func (r *player) plan(at clock.Time) {
	p, st := r.snap.Program, &r.snap.Status
	if r.leaves > 0 && r.leaves-at < 2*lookTicks*r.interval() {
		return
	}
	r.leaves = 0
	if !r.alone || r.at.Loops || st.Section == engine.None || st.Armed != engine.None {
		return
	}
	song := &p.Songs[st.Song]
	if s := &song.Sections[st.Section]; s.Loop {
		r.leaves = r.snap.Pos.At + song.TimeAt(s.Start+s.Length) - song.TimeAt(st.Beat)
	}
}

// leave enters the section after the present one, or ends the song. It returns
// false at the end of the set.
func (r *player) leave(at clock.Time) bool {
	r.look(&r.snap)
	p, st := r.snap.Program, &r.snap.Status
	if st.Song == engine.None || st.Section == engine.None || st.Armed != engine.None {
		return true
	}
	if next := st.Section + 1; int(next) < len(p.Songs[st.Song].Sections) {
		r.send(engine.Input{Command: engine.Command{Kind: engine.FireSection, Index: next}})
		return true
	}
	return r.end(at, at)
}

// end stops after the end of a song, which came at over. Left alone the player selects
// the next one and starts it after the rest. It returns false at the end of the set.
func (r *player) end(at, over clock.Time) bool {
	r.stop(at)
	if !r.alone {
		return true
	}
	p := r.snap.Program
	set := night.PlannedSongs(p)
	i := slices.IndexFunc(set, func(s night.Song) bool { return s.Place >= r.at.Place })
	if i < 0 || i+1 == len(set) || set[i].Place != r.at.Place {
		return !r.ends()
	}
	song := &p.Songs[set[i].Index]
	r.starts = over + song.TempoAt(song.Length()).Span(set[i].Rest)
	r.choose(set[i+1].Place)
	return true
}

// choose selects a song of the set.
func (r *player) choose(place int) {
	r.send(engine.Input{Command: engine.Command{Kind: engine.SelectPlace, Index: int32(place)}})
	r.at.Place = place
}

// start plays a song of the set from a place in it.
func (r *player) start(at clock.Time, place int, beat clock.Beat) {
	if !r.began || place != r.at.Place {
		r.choose(place)
	}
	r.began, r.at.Plays, r.starts, r.leaves = true, true, 0, 0
	if beat == 0 {
		r.event(at, clock.Start)
		return
	}
	r.locate(at, beat)
	r.event(at, clock.Continue)
}

func (r *player) locate(at clock.Time, beat clock.Beat) {
	r.send(engine.Input{Event: clock.Event{At: at, Kind: clock.Locate, Sixteenths: int32(beat / clock.Sixteenth)}})
}

func (r *player) stop(at clock.Time) {
	r.event(at, clock.Stop)
	r.at.Plays = false
}

// take does what somebody requests. From then on the set does not go on by itself.
func (r *player) take(w panel.PlayerRequest, at clock.Time) {
	r.alone, r.peek, r.starts, r.leaves = false, 0, 0, 0
	r.look(&r.snap)
	r.follow()
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
		r.at.Share = w.Share
	case panel.Browse:
		r.browse(at, w.Steps)
	}
}

// follow notes which song of the set plays, since others may choose one.
func (r *player) follow() {
	p, song := r.snap.Program, r.snap.Status.Song
	if p == nil || song == engine.None || !r.began || r.at.Place < len(p.SetList) && p.SetList[r.at.Place] == song {
		return
	}
	if i := slices.Index(p.SetList, song); i >= 0 {
		r.at.Place = i
	}
}

func (r *player) play(at clock.Time) {
	if r.at.Plays {
		return
	}
	if song, beat := r.here(); !r.began || song != nil && beat >= song.Length() {
		r.start(at, r.at.Place, 0) // from the top
		return
	}
	r.event(at, clock.Continue)
	r.at.Plays = true
}

// jump goes to a place; what played plays on from there.
func (r *player) jump(at clock.Time, place int, beat clock.Beat) {
	plays := r.at.Plays
	r.stop(at)
	r.start(at, place, beat)
	if !plays {
		r.peek = peekTicks
	}
}

func (r *player) loop(on bool) {
	r.at.Loops = on
	if !on && r.looped {
		r.send(engine.Input{Command: engine.Command{Kind: engine.Disarm}})
		r.looped = false
	}
}

// browse stops at the next cue, or at the one before.
func (r *player) browse(at clock.Time, steps int) {
	song, beat := r.here()
	if song == nil {
		return
	}
	to, found := clock.Beat(0), false
	for i := range song.Cues {
		c := song.Cues[i].At
		switch {
		case c < 0:
		case steps > 0 && c > beat && !found, steps < 0 && c < beat-clock.Sixteenth:
			to, found = c, true
		}
	}
	if !found {
		return
	}
	r.stop(at)
	r.start(at, r.at.Place, to)
	r.peek = peekTicks
}
