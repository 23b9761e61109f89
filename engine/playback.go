package engine

import (
	"math"
	"slices"

	"tactus/clock"
)

// playback is the song, where its first downbeat lies on the transport, the present
// cue and what is armed.
type playback struct {
	song  int32 // None while a look outside songs shows
	place int   // in the set list, of the song chosen last; -1 before the first
	// origin is the transport's beat at the song's first downbeat. Entering a
	// section moves it, so that the song goes on from there.
	origin         clock.Beat
	base           clock.Beat // origin is set to this when the transport jumps
	earliest       clock.Beat // lowest place in the song that songBeat returns
	dawDelay       clock.Beat // how much later the DAW's beats are than the transport's; see alignBars
	pulseSkew      clock.Beat // Position.Pulse minus Beat since a section was entered while stopped
	cue            int32      // index in the song; None before its first cue
	noteGrid       clock.Beat // step of the song to which early notes are moved
	lead           clock.Time // how far positions are ahead of the music
	live           bool       // the song's light is shown, not the light before the song
	settlesAtStart bool       // the song begins where the transport starts to play
	selectedAgain  bool       // it was selected again while stopped, and restarts if play starts outside it
	end            clock.Beat // length of the song
	armed          armed
	// programSong is a song that a program change asked for while another played, or
	// None. It waits; see selectByProgram.
	programSong int32
	programAt   clock.Beat // the transport's beat in the music when that came
	// leftSong is a song that a program change ended before its time, or None. A note
	// that only this song has brings it back, with its base.
	leftSong int32
	leftBase clock.Beat
	playFrom clock.Beat // the transport's beat where play started last, or the song since then
	// soon is a section armed by a note that came a little early, while a section armed
	// by hand waits for a later boundary.
	soon armed
	// handEntry is the beat of the transport at which the last section armed by hand
	// was entered: notes for that beat change nothing.
	handEntry      clock.Beat
	keepLightUntil clock.Beat // the light does not change before this place in the song; 0: it follows the song; noMark: until a jump or an entry

	section int32 // present section, for counting passes; None before the first
	passes  [MaxSections]uint8

	entries uint32 // counts entries of sections and jumps of the transport
	jumps   uint32 // Position.Jumps of the last position
	playing bool
}

// armed is a section or song that starts at a boundary. At most one of the two is
// not None.
type armed struct {
	section  int32
	song     int32
	boundary clock.Beat // in the present song; of an armed song, on the transport
	when     When
	fromNote bool // by a note or program change that came early, within Program.Window
	byHand   bool // by a command that is not a section's note: such notes do not replace it
}

func (a *armed) clear() { a.section, a.song = None, None }

// MaxSections is how many sections of a song have their passes counted.
const MaxSections = 128

const noEarliest = clock.Beat(math.MinInt64 / 4)

// noteGrid is what the place of a note or program change is rounded to: an eighth,
// or a sixteenth in meters counted in those. A DAW's notes arrive some milliseconds
// late, and are read up to a frame later; played ones are further off.
func noteGrid(m Meter) clock.Beat { return min(clock.Quarter/2, m.unit()) }

// heardBeat returns the place that a note or program change at pos means: that of
// the music, without the lead of the light.
func (p *playback) heardBeat(pos clock.Position) clock.Beat {
	return (p.musicBeat(pos) - p.dawDelay).RoundTo(p.noteGrid) + p.dawDelay
}

// musicBeat returns the transport's beat without the lead of the light.
func (p *playback) musicBeat(pos clock.Position) clock.Beat {
	if !pos.Playing {
		return pos.Beat
	}
	return pos.Beat - pos.Tempo.Beats(p.lead)
}

// earlyCommand returns the place that a note or program change at pos is meant for, and
// whether that place is ahead of the light by at most the window: the command then waits
// for it.
func (p *playback) earlyCommand(pos clock.Position, window clock.Time) (at clock.Beat, yes bool) {
	at = p.heardBeat(pos)
	return at, pos.Playing && at > pos.Beat && at-pos.Beat <= pos.Tempo.Beats(window)
}

// songBeat returns where in the song the transport stands.
func (p *playback) songBeat(pos clock.Position) clock.Beat {
	return max(pos.Beat-p.origin, p.earliest)
}

func (p *playback) withinSong(pos clock.Position) bool {
	here := p.songBeat(pos)
	return here >= 0 && here < p.end
}

// followTransport follows jumps, starts and stops of the transport. It reports
// whether there was one, so that beats before and after cannot be compared.
func (p *playback) followTransport(pos clock.Position, runsOn bool) (broken bool) {
	wasPlaying := p.playing
	broken = pos.Playing != wasPlaying
	if pos.Jumps != p.jumps {
		p.jumps = pos.Jumps
		p.entries++
		broken = true
		p.disarm()
		p.section, p.passes = None, [MaxSections]uint8{}
		p.earliest, p.keepLightUntil, p.dawDelay = noEarliest, 0, 0
		p.live = pos.Playing // a stopped DAW that winds back does not change the light
		if !runsOn {
			p.base = 0
		}
		p.origin = p.base
	}
	p.playing = pos.Playing
	if pos.Playing {
		p.pulseSkew = 0
	}
	if pos.Playing && p.selectedAgain {
		p.selectedAgain = false
		if !p.withinSong(pos) {
			p.settlesAtStart, p.cue = true, None
		}
	}
	if pos.Playing && p.settlesAtStart {
		p.settlesAtStart = false
		p.origin = p.heardBeat(pos)
		p.base = p.origin - p.dawDelay
		p.earliest = 0
	}
	if pos.Playing && p.song != None && (!wasPlaying || broken && p.heardBeat(pos) == 0) {
		p.playFrom = p.heardBeat(pos)
	}
	if broken && pos.Playing && p.song != None && p.end > 0 && p.heardBeat(pos)-p.origin > p.end {
		p.keepLightUntil = noMark // a place after the song, which may end dark, changes no light
	}
	return broken
}

// startSong starts a song, with its first downbeat at `at` while the transport
// plays, else at its next start. Until then the light stays.
func (p *playback) startSong(song int32, s *Song, pos clock.Position, runsOn bool, at clock.Beat) {
	p.song, p.noteGrid, p.end = song, s.noteGrid(), s.Length()
	p.selectedAgain = false
	p.programSong, p.leftSong = None, None
	p.cue = None
	p.live = false
	p.disarm()
	p.section, p.passes = None, [MaxSections]uint8{}
	p.settlesAtStart = false
	p.earliest, p.keepLightUntil = noEarliest, 0
	p.origin, p.base = 0, 0
	if pos.Playing {
		p.origin, p.base = at, at-p.dawDelay
		p.earliest, p.playFrom = 0, at
	} else if runsOn {
		p.settlesAtStart = true
	}
}

// enterNow goes to a section at pos. While the transport is stopped, its effects
// begin on the nearest beat of the pulse.
func (p *playback) enterNow(s *Section, pos clock.Position) {
	at := p.heardBeat(pos)
	if !pos.Playing {
		p.pulseSkew = pos.Pulse.RoundTo(p.noteGrid) - at
	}
	p.enterAt(s, at)
}

// enterAt puts a section's first downbeat at the transport's beat `at`. Called twice
// with the same values it counts one pass.
func (p *playback) enterAt(s *Section, at clock.Beat) {
	if p.origin != at-s.Start || p.earliest != s.Start {
		p.section = None
		p.entries++
	}
	by := p.origin - (at - s.Start)
	p.origin -= by
	p.earliest, p.keepLightUntil = s.Start, 0
	p.live = true
	if p.settlesAtStart { // the song was chosen while stopped, and begins here
		p.settlesAtStart = false
		p.base = p.origin - p.dawDelay
	}
	p.soon.clear()
	if p.armed.section == None || !p.armed.byHand {
		p.armed.clear()
		return
	}
	p.armed.boundary += by // it waits for the same beat of the transport
}

// disarm lets nothing wait any longer.
func (p *playback) disarm() {
	p.armed.clear()
	p.soon.clear()
	p.handEntry = noEarliest
}

// handWins reports whether a note for a beat of the transport changes nothing,
// because a section that was armed by hand is entered there, or was just now.
func (p *playback) handWins(at clock.Beat) bool {
	near := func(b clock.Beat) bool { return at > b-p.noteGrid && at < b+p.noteGrid }
	return near(p.handEntry) || p.armed.section != None && p.armed.byHand && near(p.origin+p.armed.boundary)
}

// confirmWindow: a request to enter a section, up to this long before or after the
// section starts by plan, means that start. A DAW's note comes up to a frame and some
// jitter late; a hand misses a beat by some 100 ms (common practice, no source).
const confirmWindow = 150 * clock.Millisecond

// confirmSection reports whether a request at pos to enter a section only confirms the
// plan: the section has just begun, or is planned next and about to begin. It is then not
// entered a second time: its pass, cues and effects continue.
func (p *playback) confirmSection(song *Song, section int32, byHand bool, pos clock.Position) bool {
	if !pos.Playing || !p.live || p.settlesAtStart {
		return false
	}
	s := &song.Sections[section]
	window := pos.Tempo.Beats(confirmWindow)
	past := p.musicBeat(pos) - p.origin - s.Start
	began, begins := max(past, -past) <= window, past < 0 && past >= -window
	if section == p.section {
		return began || s.Loop && past < s.Length && past >= s.Length-window
	}
	if !begins || section != p.section+1 {
		return false
	}
	p.armSoon(armed{section: section, song: None, boundary: s.Start, fromNote: true, byHand: byHand})
	return true
}

// armSoon arms a section for a note that came a little early. If a section is armed by
// hand, that one stays armed too.
func (p *playback) armSoon(a armed) {
	if p.armed.section != None && p.armed.byHand {
		p.soon = a
		return
	}
	p.armed = a
}

// armSection arms a section for the next boundary after pos. Bars count from the start
// of the present section. The end of that section is a boundary even inside a bar.
func (p *playback) armSection(song *Song, section int32, when When, phrase int64, byHand bool, pos clock.Position) {
	here := p.songBeat(pos)
	start, end := song.barsAround(here)
	bars := song.barRunAt(start, here)
	at := bars.next(here, bars.meter.Bar())
	switch when {
	case NextBeat:
		at = bars.next(here, bars.meter.Beat())
	case NextPhrase:
		bar := bars.bars + int64((here-bars.start).FloorTo(bars.meter.Bar())/bars.meter.Bar())
		at = song.BarStart(start, floorTo(bar, phrase)+phrase)
	}
	if at > end || when == SectionEnd && here < song.Length() {
		at = min(end, song.Length())
	}
	p.armed = armed{section: section, song: None, boundary: at, when: when, byHand: byHand}
}

// dueAt reports whether a place in the song is at or after the boundary.
func (a *armed) dueAt(here clock.Beat) bool { return a.section != None && here >= a.boundary }

// enterDue enters an armed section at its boundary, and a looping one again at its end.
func (p *playback) enterDue(song *Song, pos clock.Position) {
	if !pos.Playing {
		return
	}
	if p.soon.dueAt(p.songBeat(pos)) {
		p.enterAt(&song.Sections[p.soon.section], p.origin+p.soon.boundary)
	}
	if a := p.armed; a.dueAt(p.songBeat(pos)) {
		at := p.origin + a.boundary
		p.armed.clear()
		p.enterAt(&song.Sections[a.section], at)
		if a.byHand {
			p.handEntry = at
		}
	}
	if _, next, on := p.expectedPlace(song, pos.Beat); next != None {
		p.enterAt(&song.Sections[next], on)
	}
}

// countPass counts a pass if another section is present than before.
func (p *playback) countPass(section int32) {
	if section == p.section {
		return
	}
	p.section = section
	if section != None && section < MaxSections && p.passes[section] < 255 {
		p.passes[section]++
	}
}

func (p *playback) pass() int {
	if p.section == None || p.section >= MaxSections {
		return 0
	}
	return int(p.passes[p.section])
}

// floorTo returns the last multiple of step, 1 or more, at or before n.
func floorTo(n, step int64) int64 { return int64(clock.Beat(n).FloorTo(clock.Beat(step))) }

func (s *Song) sectionAt(at clock.Beat) int32 {
	for i := range s.Sections {
		if at >= s.Sections[i].Start && at < s.Sections[i].Start+s.Sections[i].Length {
			return int32(i)
		}
	}
	return None
}

// sectionByNote returns the section that a note enters, or None.
func (s *Song) sectionByNote(note int32) int32 {
	return int32(slices.IndexFunc(s.Sections, func(c Section) bool { return int32(c.Note) == note && note <= 127 }))
}

// sectionCalled returns the index of the section with a name, given as an index in
// Program.SectionNames; or None.
func (s *Song) sectionCalled(name int32) int32 {
	return int32(slices.IndexFunc(s.Sections, func(c Section) bool { return name >= 0 && c.NameNumber == name+1 }))
}

// barsAround returns where the bars around a place are counted from, and where they
// end: those of its section; after the song's last section from its end on; before
// its first from the first downbeat.
func (s *Song) barsAround(at clock.Beat) (start, end clock.Beat) {
	if i := s.sectionAt(at); i != None {
		return s.Sections[i].Start, s.Sections[i].Start + s.Sections[i].Length
	}
	if length := s.Length(); at >= length {
		return length, noMark
	}
	return 0, noMark
}
