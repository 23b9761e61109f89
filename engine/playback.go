package engine

import (
	"math"
	"slices"

	"tactus/clock"
)

// playback is the song, where its first downbeat lies on the transport, the present
// cue and what is armed.
type playback struct {
	song         int32 // None while a look outside songs shows
	setListIndex int   // in the set list, of the song chosen last; -1 before the first
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
	left        leftSong
	playFrom    clock.Beat // the transport's beat where play started last, or the song since then
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
	p.programSong, p.left = None, leftSong{song: None}
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
