package draft

import (
	"slices"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/position"
)

// part is a section with what the draft needs of it.
type part struct {
	name      string
	energy    int
	bars      int
	spoken    bool
	sung      bool
	breakdown bool
	theirs    bool // a person wrote its first light
	inside    bool // a person wrote cues in it, but for its last bar
	lastBar   bool // a person wrote cues in its last bar
	step      step // the step of the ladder that its light is from
	look      picture
}

// song is a song and what people have written in it.
type song struct {
	show  *shows.Show
	index int32 // in Program.Songs
	song  *engine.Song
	parts []part
	peak  int // the highest energy of sections that are neither spoken nor breakdowns
}

func newSong(show *shows.Show, index int) *song {
	s := &song{show: show, index: int32(index), song: &show.Program.Songs[index], peak: -1}
	for i := range s.song.Sections {
		sec := &s.song.Sections[i]
		p := part{
			name: sec.Name, energy: int(sec.Energy), spoken: sec.Spoken, sung: sec.Sung, bars: s.bars(i),
			breakdown: isBreakdown(sec.Name),
		}
		s.parts = append(s.parts, p)
		s.written(i)
		if !p.spoken && !p.breakdown {
			s.peak = max(s.peak, p.energy)
		}
	}
	return s
}

// isBreakdown goes by a section's name without its number.
func isBreakdown(name string) bool {
	return slices.Contains([]string{"breakdown", "break down", "break", "down chorus"}, position.BaseName(strings.ToLower(name)))
}

// written records what a person wrote in a section. Cues that only send messages do
// not count.
func (s *song) written(i int) {
	sec, p := &s.song.Sections[i], &s.parts[i]
	end := sec.Start + sec.Length
	note := func(cues []engine.Cue) {
		for k := range cues {
			switch c := &cues[k]; {
			case c.SendsOnly || c.At < sec.Start || c.At >= end:
			case c.At == sec.Start:
				p.theirs = true
				p.look = picture{look: c.Name, effects: s.names(c.Effects)}
			case c.At >= s.lastBar(i):
				p.lastBar = true
			default:
				p.inside = true
			}
		}
	}
	for k := range s.song.Variants {
		note(s.song.Variants[k].Cues)
	}
	note(s.song.Cues)
}

func (s *song) names(effects []int32) (names []string) {
	for _, e := range effects {
		names = append(names, s.show.Program.Effects[e].Name)
	}
	return names
}

func (s *song) effect(name string) *engine.Effect {
	for i := range s.show.Program.Effects {
		if e := &s.show.Program.Effects[i]; e.Name == name {
			return e
		}
	}
	return nil
}

func (s *song) meter(i int) engine.Meter { return s.song.MeterAt(s.song.Sections[i].Start) }
func (s *song) tempo(i int) clock.Tempo  { return s.song.TempoAt(s.song.Sections[i].Start) }
func (s *song) bars(i int) int           { return int(s.song.SectionBars(int32(i))) }

// lastBar is where a section's last bar begins.
func (s *song) lastBar(i int) clock.Beat {
	return s.song.BarStart(s.song.Sections[i].Start, int64(s.bars(i)-1))
}

// beatsAMinute prints a section's tempo as the song's file has it.
func (s *song) beatsAMinute(i int) string {
	return strconv.FormatFloat(s.meter(i).PerBeat(s.tempo(i)).BPM(), 'g', 4, 64)
}

// find returns the beat of a place in the song; the song's end if there is none.
func (s *song) find(at string) clock.Beat {
	b, fault := position.FindForCue(s.song, at)
	if fault != nil {
		return s.song.Length()
	}
	return b
}
