package smf

import (
	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
)

// Entry is one thing on the timeline: a section's downbeat or the walk-out.
type Entry struct {
	At   clock.Time // from the start of the file, by the tempos as written
	Beat clock.Beat // from the start of the file

	Song    int32  // index into Program.Songs; engine.None for the walk-out
	Section int32  // of the song; engine.None for the walk-out
	Name    string // the marker: "Lanterns on the Pier: chorus 2"

	Select  Select
	Channel uint8 // of Note, 1..16
	// Note enters the section; engine.NoNote if nothing is sent. A note that
	// the engine would take for something else is left out: the plan goes on
	// by song position all the same.
	Note uint8
}

// Select is how a song is chosen at its first downbeat.
type Select struct {
	Channel uint8 // 1..16; 0: this entry chooses no song
	Program int16 // 0..127, or -1
	Note    uint8 // asks for the next song of the set list; engine.NoNote if not
}

// tailBars are what the walk-out has to itself.
const tailBars = 4

// lay lists the timeline in order of time: each section of each song of the
// night as planned, and the walk-out if a note asks for it; and where it ends.
func lay(p *engine.Program) (entries []Entry, end clock.Beat) {
	var t timeline
	songs := night.PlannedSongs(p)
	for i := range songs {
		s := &songs[i]
		song := &p.Songs[s.Index]
		t.begin(song, s.Start)
		for n, part := range s.Sections {
			section := &song.Sections[part.Index]
			at := s.Start + section.Start
			e := Entry{Beat: at, At: t.at(at), Song: s.Index, Section: part.Index, Name: song.Name + ": " + section.Name}
			if n == 0 {
				e.Select = selection(p, s.Place)
			}
			e.Channel, e.Note = sectionNote(p, song, part.Index)
			entries = append(entries, e)
		}
	}
	if len(songs) == 0 {
		return nil, 0
	}
	end = songs[len(songs)-1].NextStart(p)
	if e, ok := walkOut(p, &t, end); ok {
		entries = append(entries, e)
		end += tailBars * t.last.MeterAt(t.last.Length()).Bar()
	}
	return entries, end
}

// timeline is how far the writing has come.
type timeline struct {
	last *engine.Song // on the timeline, or nil

	// Elapsed time at from, the last song's first downbeat, in ticks ×
	// microseconds a quarter note, so that nothing is rounded on the way.
	from    clock.Beat
	elapsed int64
}

// begin puts a song at a beat.
func (t *timeline) begin(s *engine.Song, at clock.Beat) {
	if t.last != nil {
		t.elapsed = t.sum(at)
	}
	t.from = at
	t.last = s
}

// at returns when a beat of the last song, or after it, falls.
func (t *timeline) at(b clock.Beat) clock.Time {
	return clock.Time(t.sum(b) * 1000 / Division)
}

func (t *timeline) sum(b clock.Beat) int64 {
	sum, from, micros := t.elapsed, t.from, microsPerQuarter(t.last.Tempo)
	for i := range t.last.Tempos {
		c := &t.last.Tempos[i]
		at := t.from + c.At
		if at > b {
			break
		}
		sum += int64(ticks(at-from)) * micros
		from, micros = at, microsPerQuarter(c.Tempo)
	}
	return sum + int64(ticks(b-from))*micros
}

func walkOut(p *engine.Program, t *timeline, at clock.Beat) (Entry, bool) {
	note := controlNote(p, engine.ShowWalkOut)
	if p.WalkOut == engine.None || note == engine.NoNote {
		return Entry{}, false
	}
	return Entry{
		At: t.at(at), Beat: at, Song: engine.None, Section: engine.None,
		Name: "walk-out", Select: Select{Program: -1, Note: engine.NoNote},
		Channel: controlChannel(p), Note: note,
	}, true
}
