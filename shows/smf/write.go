package smf

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/engine"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// The reasons why a show or a song cannot be written, or a file cannot be read.
var (
	ErrEmpty  = errors.New("no song with sections in the set list")
	ErrTempo  = errors.New("tempo")
	ErrSelect = errors.New("no MIDI message selects the song")
	ErrLong   = errors.New("too long")
)

const (
	velocity = 100
	// maxDelta is the largest delta time in ticks: the most that four octets of a
	// variable-length quantity hold (SMF 1.1). A file must not be longer, so that
	// no delta time is.
	maxDelta = 0x0FFFFFFF
)

// Write returns the set as a MIDI file of format 1 with Division ticks a quarter note.
// Equal programs give equal bytes.
//
// It refuses a set list without sections (ErrEmpty), tempos outside the clock's range
// (ErrTempo), songs that neither a program change nor a "next song" note can select
// (ErrSelect), and more than 77 hours at 60 BPM (ErrLong).
func Write(p *engine.Program) ([]byte, error) {
	entries, end := entriesOf(p)
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
	return fileOf(end, tempoTrack(p, entries, name), noteTrack(p, entries))
}

// fileOf returns a file of tracks; every track ends at end.
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

// check returns an error if a song's tempos are out of range or no message selects it.
func check(p *engine.Program, e *entry) error {
	if e.section != 0 {
		return nil
	}
	song := &p.Songs[e.song]
	if err := checkTempos(song); err != nil {
		return err
	}
	if e.selects.program < 0 && e.selects.note == engine.NoNote {
		return fmt.Errorf("%w: %s: give it a program number", ErrSelect, song.Name)
	}
	return nil
}

func checkTempos(song *engine.Song) error {
	for _, c := range append([]engine.TempoChange{{Tempo: song.Tempo}}, song.Tempos...) {
		if t := c.Tempo; t < clock.MinTempo || t > clock.MaxTempo || microsPerQuarter(t) > maxMicros {
			return fmt.Errorf("%w: %s: %v quarter notes, want %v to %v", ErrTempo, song.Name, t, clock.MinTempo, clock.MaxTempo)
		}
	}
	return nil
}

type event struct {
	at      clock.Beat // in ticks
	message []byte
}

// tempoTrack returns the first track: tempo map, meters and markers (SMF 2.2).
func tempoTrack(p *engine.Program, entries []entry, name string) []event {
	events := []event{{0, smf.MetaTrackSequenceName(name)}}
	for i := range entries {
		e := &entries[i]
		at := ticks(e.beat)
		if e.section == 0 {
			song := &p.Songs[e.song]
			events = append(events,
				event{at, tempoEvent(microsPerQuarter(song.Tempo))}, event{at, meterEvent(song.Meter)})
			for _, c := range song.Tempos {
				events = append(events, event{at + ticks(c.At), tempoEvent(microsPerQuarter(c.Tempo))})
			}
			for _, c := range song.Meters {
				events = append(events, event{at + ticks(c.At), meterEvent(c.Meter)})
			}
		}
		events = append(events, event{at, smf.MetaMarker(e.name)})
	}
	// A stable sort: at the same tick, tempo and meter stay before the marker.
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.at, b.at) })
	return events
}

// noteTrack returns the second track: program changes and notes. A note lasts a
// quarter, or half its section if that is shorter, so that it ends before the next
// note.
func noteTrack(p *engine.Program, entries []entry) []event {
	events := []event{{0, smf.MetaTrackSequenceName("lights")}}
	note := func(at clock.Beat, length clock.Beat, channel, key uint8) {
		events = append(events,
			event{at, midi.NoteOn(channel-1, key, velocity)},
			event{at + length, midi.NoteOff(channel-1, key)})
	}
	for i := range entries {
		e := &entries[i]
		at, length := ticks(e.beat), clock.Beat(Division)
		if e.section != engine.None {
			length = max(1, min(length, ticks(p.Songs[e.song].Sections[e.section].Length/2)))
		}
		switch {
		case e.selects.channel == 0:
		case e.selects.program >= 0:
			events = append(events, event{at, midi.ProgramChange(e.selects.channel-1, uint8(e.selects.program))})
		default:
			note(at, length, e.selects.channel, e.selects.note)
		}
		if e.note != engine.NoNote {
			note(at, length, e.channel, e.note)
		}
	}
	// A stable sort: messages at the same tick keep their order.
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.at, b.at) })
	return events
}

// track turns the events' times into delta times and ends the track at end.
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
