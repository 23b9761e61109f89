package night

import (
	"tactus/clock"
	"tactus/engine"
)

// Place is a place in a show: a beat of a song, or a look by itself.
type Place struct {
	Song    int32      // index into Program.Songs; None: a look
	Look    int32      // index into Program.Looks when Song is None
	Section int32      // of the song
	At      clock.Beat // in the song, in that section
	Pass    int        // which time the section is played, from 1
}

// lookTime is how long a look by itself has been up when it is viewed.
const lookTime = 60 * clock.Second

// View plays the night up to a place and returns the frame that is lit there: the
// last at or before it, or the first of the section if there is none before. Before
// pass n the section is played n-1 times. A look by itself follows the walk-in and
// has been up for a minute.
//
// The commands of then are given at that moment, and the frame is made again with
// them.
func View(p *engine.Program, at Place, then ...engine.Command) *engine.View {
	if at.Song == engine.None {
		r := Play(p, nil)
		for r.Frame() {
		}
		return r.viewLook(at.Look, then)
	}
	songs := SongsUpTo(p, at.Song)
	last := &songs[len(songs)-1]
	last.Sections = last.Sections[:at.Section:at.Section]
	for pass := range max(1, at.Pass) {
		last.Sections = append(last.Sections, Section{at.Section, pass + 1})
	}
	r := Play(p, songs)
	for r.Frame() {
		if r.song == len(songs)-1 && r.section == len(last.Sections)-1 && r.playing && r.nextBeat() > at.At {
			break
		}
	}
	return r.offline.View(r.pos, then...)
}

// viewLook shows a look after everything that was played.
func (r *Run) viewLook(index int32, then []engine.Command) *engine.View {
	r.input = append(r.input, engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: index}})
	for r.songStart += lookTime; r.Frame(); {
	}
	return r.offline.View(r.pos, then...)
}

// nextBeat returns the beat of the song in the next frame.
func (r *Run) nextBeat() clock.Beat {
	return r.Beat() + r.offline.PositionAt(r.offline.NextDue()).Beat - r.pos.Beat
}
