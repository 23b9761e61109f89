package smf

import (
	"errors"
	"fmt"
	"sort"

	"tactus/clock"
	"tactus/engine"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// Faults of a show that no file can play.
var (
	ErrEmpty  = errors.New("no song with sections in the set list")
	ErrTempo  = errors.New("tempo")
	ErrSelect = errors.New("no MIDI message selects the song")
	ErrLong   = errors.New("too long")
)

const (
	velocity = 100
	// maxDelta is the most that four octets of a variable-length quantity hold
	// (SMF 1.1). A whole file shorter than this has no delta that is longer.
	maxDelta = 0x0FFFFFFF
)

// Write returns the file: format 1, Division ticks a quarter note. Equal
// programs give equal bytes.
//
// It refuses a set list without sections (ErrEmpty), tempos that the clock
// would not follow (ErrTempo), songs that neither a program change nor a note
// for the next song can select (ErrSelect), and more than 77 hours at 60 BPM
// (ErrLong).
func Write(p *engine.Program) ([]byte, error) {
	entries, end := lay(p)
	if len(entries) == 0 {
		return nil, ErrEmpty
	}
	if ticks(end) > maxDelta {
		return nil, fmt.Errorf("%w: %d ticks, at most %d", ErrLong, ticks(end), maxDelta)
	}
	for i := range entries {
		if err := check(p, &entries[i]); err != nil {
			return nil, err
		}
	}
	name := p.Name
	if p.SetName != "" {
		name += ": " + p.SetName
	}
	return fileOf(end, score(p, entries, name), messages(p, entries))
}

// fileOf makes a file of tracks.
func fileOf(end clock.Beat, tracks ...[]event) ([]byte, error) {
	file := smf.NewSMF1()
	file.TimeFormat = smf.MetricTicks(Division)
	for _, events := range tracks {
		if err := file.Add(track(events, end)); err != nil {
			return nil, err
		}
	}
	return file.Bytes()
}

func check(p *engine.Program, e *Entry) error {
	if e.Section != 0 {
		return nil
	}
	song := &p.Songs[e.Song]
	if err := checkTempos(song); err != nil {
		return err
	}
	if e.Select.Program < 0 && e.Select.Note == engine.NoNote {
		return fmt.Errorf("%w: %s: give it a program number", ErrSelect, song.Name)
	}
	return nil
}

func checkTempos(song *engine.Song) error {
	for at := -1; at < len(song.Tempos); at++ {
		t := song.Tempo
		if at >= 0 {
			t = song.Tempos[at].Tempo
		}
		if t < clock.MinTempo || t > clock.MaxTempo || microsPerQuarter(t) > maxMicros {
			return fmt.Errorf("%w: %s: %v quarter notes, want %v to %v", ErrTempo, song.Name, t, clock.MinTempo, clock.MaxTempo)
		}
	}
	return nil
}

// event is a message at a place on the timeline.
type event struct {
	at      clock.Beat // in ticks
	message []byte
}

// score is the first track: tempo map, meters and markers (SMF 2.2).
func score(p *engine.Program, entries []Entry, name string) []event {
	events := []event{{0, smf.MetaTrackSequenceName(name)}}
	for i := range entries {
		e := &entries[i]
		at := ticks(e.Beat)
		if e.Section == 0 {
			song := &p.Songs[e.Song]
			events = append(events,
				event{at, tempo(microsPerQuarter(song.Tempo))}, event{at, meter(song.Meter)})
			for _, c := range song.Tempos {
				events = append(events, event{at + ticks(c.At), tempo(microsPerQuarter(c.Tempo))})
			}
			for _, c := range song.Meters {
				events = append(events, event{at + ticks(c.At), meter(c.Meter)})
			}
		}
		events = append(events, event{at, smf.MetaMarker(e.Name)})
	}
	// Stable: at one tick, tempo and meter come before the marker.
	sort.SliceStable(events, func(a, b int) bool { return events[a].at < events[b].at })
	return events
}

// messages is the second track: program changes and notes.
func messages(p *engine.Program, entries []Entry) []event {
	events := []event{{0, smf.MetaTrackSequenceName("lights")}}
	note := func(at clock.Beat, length clock.Beat, channel, key uint8) {
		events = append(events,
			event{at, midi.NoteOn(channel-1, key, velocity)},
			event{at + length, midi.NoteOff(channel-1, key)})
	}
	for i := range entries {
		e := &entries[i]
		at := ticks(e.Beat)
		length := clock.Beat(Division)
		if e.Section != engine.None {
			length = noteTicks(p.Songs[e.Song].Sections[e.Section].Length)
		}
		switch {
		case e.Select.Channel == 0:
		case e.Select.Program >= 0:
			events = append(events, event{at, midi.ProgramChange(e.Select.Channel-1, uint8(e.Select.Program))})
		default:
			note(at, length, e.Select.Channel, e.Select.Note)
		}
		if e.Note != engine.NoNote {
			note(at, length, e.Channel, e.Note)
		}
	}
	// Stable: at one tick, messages keep the order in which they were added.
	sort.SliceStable(events, func(a, b int) bool { return events[a].at < events[b].at })
	return events
}

// track turns places into delta times and closes the track at end.
func track(events []event, end clock.Beat) smf.Track {
	var t smf.Track
	last := clock.Beat(0)
	for _, e := range events {
		t.Add(uint32(e.at-last), e.message)
		last = e.at
	}
	t.Close(uint32(max(0, ticks(end)-last)))
	return t
}
