package shows

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
)

// Planned plays the show as planned up to a place, and returns the light there:
// the walk-in look, the songs of the set up to this one, and this one from its
// top. Sections are entered by command as a DAW's notes do, the last one as often
// as the place's pass says. A look by itself has been up for a minute. then are
// given at the place.
//
// A song that is not in the set comes right after the walk-in.
func (s *Show) Planned(at Place, then ...engine.Command) *engine.View {
	p := player{engine: engine.New(s.Program), program: s.Program}
	p.pos = clock.Position{At: clock.Second, Tempo: clock.BPM(120)}
	p.engine.Frame(p.pos)
	if at.Song == engine.None {
		p.send(engine.ShowLook, at.Look)
		p.engine.Frame(p.pos)
		p.on(p.pos.Tempo.Beats(60 * clock.Second))
	} else {
		list := s.Program.SetList
		for _, song := range list[:max(0, slices.Index(list, at.Song))] {
			p.song(song, Place{Song: song, At: s.Program.Songs[song].Length(), Section: int32(len(s.Program.Songs[song].Sections)), Pass: 1})
			p.pos.Playing = false
			p.engine.Frame(p.pos)
		}
		p.song(at.Song, at)
	}
	p.engine.Frame(p.pos)
	for _, c := range then {
		p.engine.Do(c, p.pos)
	}
	p.engine.Frame(p.pos)
	return p.engine.View(p.pos)
}

// player plays what is planned.
type player struct {
	engine  *engine.Engine
	program *engine.Program
	pos     clock.Position
}

func (p *player) send(kind engine.CommandKind, index int32) {
	p.engine.Do(engine.Command{Kind: kind, Index: index}, p.pos)
}

// on moves on by some beats.
func (p *player) on(by clock.Beat) {
	p.pos.At += p.pos.Tempo.Span(by)
	p.pos.Pulse += by
	if p.pos.Playing {
		p.pos.Beat += by
	}
}

// song starts a song and plays it up to a place in it.
func (p *player) song(index int32, to Place) {
	song := &p.program.Songs[index]
	p.send(engine.SelectSong, index)
	p.pos.Tempo, p.pos.Playing, p.pos.Beat, p.pos.Pulse = song.Tempo, true, 0, 0
	p.pos.Jumps++
	for i := range song.Sections {
		last := int32(i) == to.Section
		rounds := 1
		if last {
			rounds = to.Pass
		}
		for n := range rounds {
			end := song.Sections[i].Start + song.Sections[i].Length
			if last && n == rounds-1 {
				end = to.At
			}
			p.pos.Tempo = song.TempoAt(song.Sections[i].Start)
			p.send(engine.FireSection, int32(i))
			p.section(song, song.Sections[i].Start, end)
		}
		if last {
			return
		}
	}
}

// section plays from a place in the song up to another, with a frame on every
// beat and cue, and one just before each cue for the fade from there.
func (p *player) section(song *engine.Song, from, to clock.Beat) {
	marks := []clock.Beat{}
	for b := from; b < to; b = song.NextBeat(b) {
		marks = append(marks, b)
	}
	for i := range song.Tempos {
		marks = append(marks, song.Tempos[i].At)
	}
	note := func(cues []engine.Cue) {
		for i := range cues {
			marks = append(marks, cues[i].At-clock.Quarter/64, cues[i].At)
		}
	}
	note(song.Cues)
	for i := range song.Variants {
		note(song.Variants[i].Cues)
	}
	marks = append(marks, to-clock.Quarter/64)
	slices.Sort(marks)
	at := from
	p.pos.Tempo = song.TempoAt(at)
	for _, m := range marks {
		if m < at || m >= to || m == at && m != from {
			continue
		}
		p.on(m - at)
		at = m
		p.pos.Tempo = song.TempoAt(at)
		p.engine.Frame(p.pos)
	}
	p.on(to - at)
}
