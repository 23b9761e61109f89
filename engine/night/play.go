package night

import (
	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Run is a night that is being played, from the walk-in on, as fast as frames can
// be made.
type Run struct {
	program *engine.Program
	songs   []Song
	offline *engine.Offline

	song, section int        // index into songs, and into the song's Sections
	playing       bool       // false: the song has not started yet
	songStart     clock.Time // when the selected song starts
	sectionEnd    clock.Beat // of the present section, on the transport
	input         []engine.Input

	pos    clock.Position
	frame  []dmx.Universe
	inputs func(now clock.Time, in []engine.Input) // or nil; see Inputs
}

// Play prepares to play songs of a program after its walk-in look.
func Play(p *engine.Program, songs []Song) *Run {
	r := &Run{
		program: p, songs: songs, songStart: WalkIn,
		offline: engine.NewOffline(engine.New(p), clock.NewTransport(ClockConfig(p))),
	}
	r.selectSong()
	return r
}

// ClockConfig returns the clock of a night as planned: the internal one, at the
// written tempo of the first song.
func ClockConfig(p *engine.Program) clock.Config {
	c := clock.Config{Lead: clock.LeadInternal}
	if len(p.SetList) > 0 {
		c.Internal = p.Songs[p.SetList[0]].Tempo
	}
	return c
}

// Inputs has f called with what is sent, right before the frame that takes it.
func (r *Run) Inputs(f func(now clock.Time, in []engine.Input)) { r.inputs = f }

// selectSong selects the next song while the transport stands.
func (r *Run) selectSong() {
	if r.song == len(r.songs) {
		return
	}
	c := engine.Command{Kind: engine.SelectSong, Index: r.songs[r.song].Index}
	if place := r.songs[r.song].Place; place >= 0 {
		c = engine.Command{Kind: engine.SelectPlace, Index: int32(place)}
	}
	r.input = append(r.input, engine.Input{Command: c})
}

// Frame makes the next frame. It returns false once the rest after the last song
// is over.
func (r *Run) Frame() bool {
	for {
		now := r.offline.NextDue()
		if !r.playing && now >= r.songStart && r.song == len(r.songs) {
			return false
		}
		r.advance(now)
		if r.inputs != nil && len(r.input) > 0 {
			r.inputs(now, r.input)
		}
		var made bool
		r.pos, r.frame, made = r.offline.MakeFrame(now, r.input...)
		r.input = r.input[:0]
		if made {
			return true
		}
	}
}

// advance adds the inputs due by the frame at now: a song starts, a section is
// entered, a song ends.
func (r *Run) advance(now clock.Time) {
	if !r.playing {
		if now >= r.songStart {
			r.playing, r.section, r.sectionEnd = true, 0, 0
			r.input = append(r.input, engine.Input{Event: clock.Event{At: now, Kind: clock.Start}})
			r.enterSection()
		}
		return
	}
	beat := r.offline.PositionAt(now).Beat
	for beat >= r.sectionEnd {
		if r.section++; r.section == len(r.songs[r.song].Sections) {
			r.stopSong(now)
			return
		}
		r.enterSection()
	}
}

// enterSection enters the present section.
func (r *Run) enterSection() {
	s := r.songs[r.song].Sections[r.section].Index
	r.sectionEnd += r.program.Songs[r.songs[r.song].Index].Sections[s].Length
	r.input = append(r.input, engine.Input{Command: engine.Command{Kind: engine.FireSection, Index: s}})
}

// stopSong ends the present song, and selects the next.
func (r *Run) stopSong(now clock.Time) {
	s := &r.songs[r.song]
	r.input = append(r.input, engine.Input{Event: clock.Event{At: now, Kind: clock.Stop}})
	r.playing, r.songStart = false, now+s.RestTime(r.program)
	r.song++
	r.selectSong()
}

// Song returns the song of the last frame, or nil in the walk-in and between songs.
func (r *Run) Song() *Song {
	if !r.playing {
		return nil
	}
	return &r.songs[r.song]
}

// Section returns the section of the last frame, or nil.
func (r *Run) Section() *Section {
	if !r.playing {
		return nil
	}
	return &r.songs[r.song].Sections[r.section]
}

// Position returns the position of the transport in the last frame.
func (r *Run) Position() clock.Position { return r.pos }

// Beat returns the beat of the song in the last frame, 0 outside songs.
func (r *Run) Beat() clock.Beat {
	if !r.playing {
		return 0
	}
	s := &r.program.Songs[r.songs[r.song].Index].Sections[r.Section().Index]
	return s.Start + s.Length - (r.sectionEnd - r.pos.Beat)
}

// Universes returns the slots of the last frame. The next frame changes them.
func (r *Run) Universes() []dmx.Universe { return r.frame }

// HeadStates returns the state of each head in the last frame. The next frame
// changes them.
func (r *Run) HeadStates() []fixtures.State { return r.offline.SentLight() }

// Status returns the status of the show in the last frame.
func (r *Run) Status() engine.Status { return r.offline.Status(r.pos) }

// FlashAreas returns for how many parts of the rig flashes are counted.
func (r *Run) FlashAreas() int { return r.offline.FlashAreas() }

// FlashArea returns part i of those.
func (r *Run) FlashArea(i int) engine.FlashArea { return r.offline.FlashArea(i) }
