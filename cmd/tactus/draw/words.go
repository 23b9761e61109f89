package draw

import (
	"strconv"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
	"tactus/shows/position"
)

const dot = " · "

// appendTitle prints song, place, tempo and clock: "Lanterns on the Pier · chorus 2,
// bar 3 beat 1 · 96.0 BPM · midi locked". It shortens the song's name if the whole
// is wider than room cells.
func appendTitle(b []byte, p *engine.Program, s *engine.Snapshot, room int) []byte {
	start := len(b)
	b = appendTitleCut(b, p, s, 1<<20)
	over := columns(b[start:]) - room
	song := songOf(p, s)
	if over <= 0 || song == nil {
		return b
	}
	return appendTitleCut(b[:start], p, s, max(shortName, len(song.Name)-over))
}

// shortName is the least length of a shortened name, in bytes.
const shortName = 8

func appendTitleCut(b []byte, p *engine.Program, s *engine.Snapshot, name int) []byte {
	song := songOf(p, s)
	tempo := s.Pos.Tempo
	switch {
	case song == nil:
		b = append(b, "no song"...)
		if s.Status.Look != "" {
			b = appendAll(b, dot+"look ", s.Status.Look)
		}
	case notBegun(song, s):
		b = appendName(b, song.Name, name)
		b = append(b, dot+"waits for play"...)
	default:
		b = appendName(b, song.Name, name)
		b = appendAll(b, dot, position.Name(song, s.Status.Beat))
	}
	if song != nil {
		tempo = song.MeterAt(s.Status.Beat).PerBeat(tempo)
	}
	b = strconv.AppendFloat(append(b, dot...), tempo.BPM(), 'f', 1, 64)
	return appendAll(b, " BPM"+dot, s.Pos.Source.String(), " ", s.Pos.Sync.String())
}

// appendName cuts a name to room cells.
func appendName(b []byte, name string, room int) []byte {
	if len(name) <= room {
		return append(b, name...)
	}
	start := len(b)
	b = append(b, name...)
	b = b[:start+fittingBytes(b[start:], room-1)]
	return append(b, "…"...)
}

func songOf(p *engine.Program, s *engine.Snapshot) *engine.Song {
	if s.Status.Song < 0 || int(s.Status.Song) >= len(p.Songs) {
		return nil
	}
	return &p.Songs[s.Status.Song]
}

// notBegun reports whether a song is chosen but has not begun: the transport is
// stopped, and no section plays although the position is inside the song.
func notBegun(song *engine.Song, s *engine.Snapshot) bool {
	return s.Status.Section == engine.None && !s.Pos.Playing && s.Status.Beat < song.Length()
}

// appendAlarm prints blackout, hold, a lost clock and failing outputs.
func appendAlarm(b []byte, s *engine.Snapshot) []byte {
	start := len(b)
	for _, a := range [...]struct {
		on   bool
		word string
	}{
		{s.Status.Blackout, "BLACKOUT"},
		{s.Status.Held, "HOLD"},
		{s.Pos.Sync == clock.Holdover, "CLOCK LOST, carrying on"},
		{s.Health.LastErr != nil, "OUTPUT FAILING"},
	} {
		if !a.on {
			continue
		}
		if len(b) > start {
			b = append(b, dot...)
		}
		b = append(b, a.word...)
	}
	return b
}

// appendState prints whether the show plays, its energy and what comes next:
// "playing · energy 8 · then bridge in 2 bars".
func appendState(b []byte, p *engine.Program, s *engine.Snapshot) []byte {
	if s.Pos.Playing {
		b = append(b, "playing"...)
	} else {
		b = append(b, "stopped"...)
	}
	if s.Status.Grand < 1 {
		b = appendPercent(append(b, dot+"grand master "...), percent(s.Status.Grand))
	}
	song := songOf(p, s)
	if song == nil {
		return b
	}
	if s.Status.Section != engine.None {
		b = strconv.AppendInt(append(b, dot+"energy "...), int64(song.Sections[s.Status.Section].Energy), 10)
	}
	if s.Status.Armed != engine.None {
		return appendArmed(b, song, s)
	}
	return appendNext(b, song, s)
}

// appendArmed prints "armed bridge at chorus 2, bar 5 beat 1, in 3 beats".
func appendArmed(b []byte, song *engine.Song, s *engine.Snapshot) []byte {
	b = appendAll(b, dot+"armed ", song.Sections[s.Status.Armed].Name, " at ", position.Name(song, s.Status.ArmedAt), ", in ")
	return appendCount(b, max(0, song.BeatsUntil(s.Status.Beat, s.Status.ArmedAt)), "beat")
}

// appendNext prints the next section, or the song's end: "then bridge in 2 bars".
func appendNext(b []byte, song *engine.Song, s *engine.Snapshot) []byte {
	i := s.Status.Section
	if i == engine.None {
		return b
	}
	b = append(b, dot+"then "...)
	if int(i)+1 < len(song.Sections) {
		b = append(b, song.Sections[i+1].Name...)
	} else {
		b = append(b, "the end"...)
	}
	b = append(b, " in "...)
	at, end := s.Status.Beat, song.Sections[i].Start+song.Sections[i].Length
	if end-at > song.MeterAt(at).Bar() {
		return appendCount(b, song.BarsUntil(at, end), "bar")
	}
	return appendCount(b, song.BeatsUntil(at, end), "beat")
}

// appendPlace prints the place in the set: "song 1 of 3, then Gull Street". The next
// song is left out unless full is true.
func appendPlace(b []byte, p *engine.Program, s *engine.Snapshot, full bool) []byte {
	for i, song := range p.SetList {
		if song != s.Status.Song {
			continue
		}
		b = strconv.AppendInt(append(b, "song "...), int64(i+1), 10)
		b = strconv.AppendInt(append(b, " of "...), int64(len(p.SetList)), 10)
		if full && i+1 < len(p.SetList) {
			b = appendAll(b, ", then ", p.Songs[p.SetList[i+1]].Name)
		}
		return b
	}
	b = append(b, p.Name...)
	if full && p.SetName != "" {
		b = appendAll(b, ": ", p.SetName)
	}
	return b
}

// appendClock prints how far the DAW's bars are from the bars counted here, if they
// differ, and how steadily its clock arrives: "clock: even, beat within 0.4 ms".
func appendClock(b []byte, s *engine.Snapshot) []byte {
	if bars := &s.Health.BarOffset; bars.Ticks != 0 {
		b = inwords.AppendBars(b, bars.By, int(bars.Notes))
		b = append(b, dot...)
	}
	return inwords.Append(append(b, "clock: "...), &s.Health.Arrivals, &s.Pos)
}

// appendHealth prints the counts of the output loop, and the clock if clock is true.
// The clock comes last, or earlier when it needs action, because the row may be cut.
func appendHealth(b []byte, s *engine.Snapshot, clock bool) []byte {
	h := &s.Health
	switch {
	case h.LastErr != nil:
		b = appendAll(b, "output fails: ", h.LastErr.Error())
	case h.Errors > 0:
		b = appendCount(append(b, "output well again after "...), int64(h.Errors), "error")
	default:
		b = append(b, "output well"...)
	}
	costs := h.BarOffset.Ticks != 0 || inwords.LevelOf(&h.Arrivals, &s.Pos) > inwords.Well
	if clock && costs {
		b = appendClock(append(b, dot...), s)
	}
	b = appendCount(append(b, dot...), int64(h.Frames), "frame")
	if h.Missed == 0 {
		b = append(b, ", none missed"...)
	} else {
		b = strconv.AppendUint(append(b, ", "...), h.Missed, 10)
		b = append(b, " MISSED"...)
	}
	b = strconv.AppendFloat(append(b, dot+"worst wake "...), float64(h.WorstAt)/1e6, 'f', 1, 64)
	b = append(b, " ms late"...)
	if s.Status.Unknown > 0 {
		b = appendCount(append(b, dot...), int64(s.Status.Unknown), "command")
		b = append(b, " not understood"...)
	}
	if clock && !costs {
		b = appendClock(append(b, dot...), s)
	}
	return b
}
