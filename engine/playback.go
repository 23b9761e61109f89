package engine

import (
	"math"

	"tactus/clock"
)

// playback is where the show stands: which song, where its first downbeat lies
// on the transport, which cue is in force and what is armed. The engine's
// goroutine owns it.
type playback struct {
	song  int32 // None while a look of its own shows
	place int   // in the set list, of the song last chosen; -1 before the first
	// origin is the transport's beat at the song's first downbeat. Entering a
	// section anywhere moves it, so that the plan goes on from there.
	origin   clock.Beat
	base     clock.Beat // what origin returns to when the transport jumps, and lean ends
	earliest clock.Beat // the song does not stand before this place
	// lean is how much later the DAW's beats are than the transport's, as its notes
	// have shown; until the transport jumps.
	dawDelay clock.Beat
	// skew is how far the pulse, which effects ride on, is past the beat since a
	// section was entered while the transport stood.
	pulseSkew      clock.Beat
	cue            int32      // of the song; None before its first
	noteGrid       clock.Beat // of the song
	lead           clock.Time // how far ahead of the music positions are
	live           bool       // the song's cues are in force, not the light before it
	settlesAtStart bool       // base is taken when the transport starts to play
	selectedAgain  bool       // chosen again at rest: settles if play starts outside the song
	end            clock.Beat // of the song
	armed          armed
	// soon is a section whose note came a little early while a section that was armed
	// by hand waits for a later boundary.
	soon armed
	// handEntry is the beat of the transport at which the last section armed by hand
	// was entered: notes for that beat change nothing.
	handEntry      clock.Beat
	keepLightUntil clock.Beat // in the song: the light stays up to there; 0: it follows

	section int32 // that is being played, for counting passes; None before the first
	passes  [MaxSections]uint8

	entries uint32 // how often a section was entered, or the transport jumped
	jumps   uint32 // of the last position seen
	playing bool
}

// armed is what waits for its boundary: a section of the song, or another song
// when song is not None (its section is then None).
type armed struct {
	section  int32      // None: no section waits
	song     int32      // None: no song waits
	boundary clock.Beat // in the present song; of a song that waits, on the transport
	when     When
	fromNote bool // came a little early, as a note or program change: the window
	byHand   bool // armed by a command that is no section's note: such notes do not replace it
}

// nothing waits.
func (a *armed) clear() { a.section, a.song = None, None }

// MaxSections is how many sections of a song have their passes counted.
const MaxSections = 128

const noEarliest = clock.Beat(math.MinInt64 / 4)

// noteGrid is how coarsely the place where a note or program change entered a song
// or section is understood: the nearest eighth, or sixteenth in meters counted
// in them. A DAW's note reaches us some milliseconds and up to a frame late, a
// hand's is early or late by more.
func noteGrid(m Meter) clock.Beat { return min(clock.Quarter/2, m.unit()) }

// heardBeat returns the place that a note or program change means when it is acted
// on at pos: where the music is, not the light that is rendered ahead of it.
func (p *playback) heardBeat(pos clock.Position) clock.Beat {
	at := pos.Beat
	if pos.Playing {
		at -= pos.Tempo.Beats(p.lead)
	}
	return (at - p.dawDelay).RoundTo(p.noteGrid) + p.dawDelay
}

// early reports whether what is heard at pos is a little early: its boundary is
// still to come in the light, by no more than the window and half the grid. It
// then waits, and its first frame is the boundary. What comes later, or too
// early to be meant for that boundary, is acted on at once.
func (p *playback) early(pos clock.Position, window clock.Time) (at clock.Beat, yes bool) {
	at = p.heardBeat(pos)
	return at, pos.Playing && at > pos.Beat && at-pos.Beat <= pos.Tempo.Beats(window)
}

// songBeat returns where in the song the transport stands.
func (p *playback) songBeat(pos clock.Position) clock.Beat {
	return max(pos.Beat-p.origin, p.earliest)
}

// effectsSkew returns how far effects are off the song.
func (p *playback) effectsSkew(settle bool) clock.Beat {
	if settle {
		return 0
	}
	return p.pulseSkew
}

// within reports whether the transport stands inside the song.
func (p *playback) within(pos clock.Position) bool {
	here := p.songBeat(pos)
	return here >= 0 && here < p.end
}

// followTransport takes note of transport jumps and of play starting and stopping. It
// reports whether beats before and after it cannot be compared.
func (p *playback) followTransport(pos clock.Position, runsOn bool) (broken bool) {
	broken = pos.Playing != p.playing
	if pos.Jumps != p.jumps {
		p.jumps = pos.Jumps
		p.entries++
		broken = true
		p.disarm()
		p.section, p.passes = None, [MaxSections]uint8{}
		p.earliest, p.keepLightUntil, p.dawDelay = noEarliest, 0, 0
		// A DAW that winds back when it is stopped does not move the light.
		p.live = pos.Playing
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
		if !p.within(pos) {
			p.settlesAtStart, p.cue = true, None
		}
	}
	if pos.Playing && p.settlesAtStart {
		p.settlesAtStart = false
		p.origin = p.heardBeat(pos)
		p.base = p.origin - p.dawDelay
		p.earliest = 0
	}
	return broken
}

// startSong starts a song: at once while the transport plays, else at its next
// start. Until then the light stays. at is its first downbeat if it plays.
func (p *playback) startSong(song int32, s *Song, pos clock.Position, runsOn bool, at clock.Beat) {
	p.song, p.noteGrid, p.end = song, s.noteGrid(), s.Length()
	p.selectedAgain = false
	p.cue = None
	p.live = false
	p.disarm()
	p.section, p.passes = None, [MaxSections]uint8{}
	p.settlesAtStart = false
	p.earliest, p.keepLightUntil = noEarliest, 0
	p.origin, p.base = 0, 0
	if pos.Playing {
		p.origin, p.base = at, at-p.dawDelay
		p.earliest = 0
	} else if runsOn {
		p.settlesAtStart = true
	}
}

// enterNow goes to a section at pos. While the transport stands, its effects
// begin with the beat of the pulse that is nearest.
func (p *playback) enterNow(s *Section, pos clock.Position) {
	at := p.heardBeat(pos)
	if !pos.Playing {
		p.pulseSkew = pos.Pulse.RoundTo(p.noteGrid) - at
	}
	p.enterAt(s, at)
}

// enterAt goes to a section's first downbeat at the transport's beat `at`. The
// same note again a moment later finds it there and counts no second pass.
func (p *playback) enterAt(s *Section, at clock.Beat) {
	if p.origin != at-s.Start || p.earliest != s.Start {
		p.section = None
		p.entries++
	}
	by := p.origin - (at - s.Start)
	p.origin -= by
	p.earliest, p.keepLightUntil = s.Start, 0
	p.live = true
	if p.settlesAtStart { // a song chosen before the clock: this is where it lies
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

// confirmWindow is how far before or after a section's start a request to enter it
// means that start: a DAW's note comes up to a frame and some jitter late, a hand
// misses a beat by some 100 ms (common practice, no source).
const confirmWindow = 150 * clock.Millisecond

// confirmSection reports whether a request at pos to enter a section means a start
// of it that the song brings anyway: it has just begun, or is planned next and about
// to begin. It is then not entered again: its pass, cues and effects stay.
func (p *playback) confirmSection(song *Song, section int32, byHand bool, pos clock.Position) bool {
	if !pos.Playing || !p.live || p.settlesAtStart {
		return false
	}
	s := &song.Sections[section]
	window := pos.Tempo.Beats(confirmWindow)
	past := pos.Beat - pos.Tempo.Beats(p.lead) - p.origin - s.Start
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

// armSoon sets a section to be entered in a moment, beside a section armed by hand.
func (p *playback) armSoon(a armed) {
	if p.armed.section != None && p.armed.byHand {
		p.soon = a
		return
	}
	p.armed = a
}

// armSection sets a section to be entered at the next boundary after pos, counted
// from the start of the present section. Its end is a boundary too, even where
// it cuts a bar short; beyond the last section bars count on from there.
func (p *playback) armSection(song *Song, section int32, when When, phrase int64, byHand bool, pos clock.Position) {
	here := p.songBeat(pos)
	present := song.sectionAt(here)
	start, end := clock.Beat(0), song.Length()
	if present != None {
		start = song.Sections[present].Start
		end = start + song.Sections[present].Length
	} else if here >= end {
		start = end
	}
	bars := song.barRunAt(start, here)
	at := bars.next(here, bars.meter.Bar())
	switch when {
	case NextBeat:
		at = bars.next(here, bars.meter.Beat())
	case NextPhrase:
		bar := bars.bars + int64((here-bars.start).FloorTo(bars.meter.Bar())/bars.meter.Bar())
		at = song.BarStart(start, floorTo(bar, phrase)+phrase)
	}
	if here < end && (when == SectionEnd || present != None && at > end) {
		at = end
	}
	p.armed = armed{section: section, song: None, boundary: at, when: when, byHand: byHand}
}

// fireArmed enters what waits once its boundary has come.
func (p *playback) fireArmed(song *Song, pos clock.Position) {
	if soon := p.soon; soon.section != None && pos.Playing && p.songBeat(pos) >= soon.boundary {
		p.enterAt(&song.Sections[soon.section], p.origin+soon.boundary)
	}
	waits := p.armed
	if waits.section == None || !pos.Playing || p.songBeat(pos) < waits.boundary {
		return
	}
	at := p.origin + waits.boundary
	p.armed.clear()
	p.enterAt(&song.Sections[waits.section], at)
	if waits.byHand {
		p.handEntry = at
	}
}

// loopSection goes back to the start of a section that is to go round until something
// else is entered, once its end has come.
func (p *playback) loopSection(song *Song, pos clock.Position) {
	if p.section == None || !pos.Playing {
		return
	}
	s := &song.Sections[p.section]
	here := p.songBeat(pos)
	if over := here - (s.Start + s.Length); s.Loop && s.Length > 0 && over >= 0 {
		p.enterAt(s, p.origin+s.Start+s.Length+over.FloorTo(s.Length))
	}
}

// countPass notes a section that begins.
func (p *playback) countPass(section int32) {
	if section == p.section {
		return
	}
	p.section = section
	if section != None && section < MaxSections && p.passes[section] < 255 {
		p.passes[section]++
	}
}

// pass returns which time the present section is played, from 1; 0 outside.
func (p *playback) pass() int {
	if p.section == None || p.section >= MaxSections {
		return 0
	}
	return int(p.passes[p.section])
}

// floorTo returns the last multiple of step, 1 or more, at or before n.
func floorTo(n, step int64) int64 { return int64(clock.Beat(n).FloorTo(clock.Beat(step))) }

// sectionAt returns the section that covers a place in the song, or None.
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
	for i := range s.Sections {
		if int32(s.Sections[i].Note) == note && note <= 127 {
			return int32(i)
		}
	}
	return None
}

// sectionCalled returns the section with a name of Program.SectionNames, or None.
func (s *Song) sectionCalled(name int32) int32 {
	for i := range s.Sections {
		if name >= 0 && s.Sections[i].NameNumber == name+1 {
			return int32(i)
		}
	}
	return None
}
