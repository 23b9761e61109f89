package smf

import (
	"tactus/clock"
	"tactus/engine"
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

// gapBars lie between songs at the least, and between the last song and the
// walk-out; tailBars are what the walk-out has to itself.
const (
	gapBars  = 2
	tailBars = 4
)

// Plan lists the timeline in order of time: each section of each song of the
// set list, and the walk-out if a note asks for it. Songs without sections are
// left out.
func Plan(p *engine.Program) []Entry {
	entries, _ := lay(p)
	return entries
}

// lay returns the timeline and where it ends.
func lay(p *engine.Program) (entries []Entry, end clock.Beat) {
	var t timeline
	for place, index := range p.SetList {
		song := &p.Songs[index]
		if len(song.Sections) == 0 {
			continue
		}
		if place > 0 && t.last != nil {
			t.gap()
		}
		t.begin(song)
		for i := range song.Sections {
			s := &song.Sections[i]
			e := Entry{
				Beat: t.start + s.Start, At: t.at(t.start + s.Start),
				Song: index, Section: int32(i), Name: song.Name + ": " + s.Name,
			}
			if i == 0 {
				e.Select = selection(p, place)
			}
			e.Channel, e.Note = sectionNote(p, song, int32(i))
			entries = append(entries, e)
		}
	}
	if t.last == nil {
		return nil, 0
	}
	t.gap()
	if e, ok := walkOut(p, &t); ok {
		entries = append(entries, e)
		return entries, t.start + tailBars*t.last.MeterAt(t.last.Length()).Bar()
	}
	return entries, t.start
}

// timeline is where the writing stands.
type timeline struct {
	last  *engine.Song // on the timeline, or nil
	start clock.Beat   // of the last song; after gap, of what comes next

	// Elapsed time at from, the last song's first downbeat, in ticks ×
	// microseconds a quarter note, so that nothing is rounded on the way.
	from    clock.Beat
	elapsed int64
}

// begin puts a song at start.
func (t *timeline) begin(s *engine.Song) {
	if t.last != nil {
		t.elapsed = t.sum(t.start)
	}
	t.from = t.start
	t.last = s
}

// gap moves start past the last song, to a bar line on a whole quarter note.
func (t *timeline) gap() {
	end := t.last.Length()
	bar := t.last.MeterAt(end).Bar()
	if len(t.last.Meters) == 0 {
		end = end.CeilTo(bar)
	}
	t.start += end + gapBars*bar
	for range 4 { // a bar is a whole number of sixteenths
		if t.start%clock.Quarter != 0 {
			t.start += bar
		}
	}
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

func walkOut(p *engine.Program, t *timeline) (Entry, bool) {
	note := controlNote(p, engine.ShowWalkOut)
	if p.WalkOut == engine.None || note == engine.NoNote {
		return Entry{}, false
	}
	return Entry{
		At: t.at(t.start), Beat: t.start, Song: engine.None, Section: engine.None,
		Name: "walk-out", Select: Select{Program: -1, Note: engine.NoNote},
		Channel: controlChannel(p), Note: note,
	}, true
}
