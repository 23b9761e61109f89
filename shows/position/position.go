package position

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
)

// Name prints the place of a beat in a song, "chorus 2, bar 3 beat 1", rounded down
// to whole beats. Before the song and after its end it counts from the nearest
// section: "intro - 1 beat", "outro end + 2 beats".
func Name(song *engine.Song, at clock.Beat) string {
	if len(song.Sections) == 0 {
		return "no section"
	}
	if at < 0 {
		beat := song.Meter.Beat()
		return fmt.Sprintf("%s - %s", song.Sections[0].Name, language.Count(int64(-at.FloorTo(beat)/beat), "beat"))
	}
	if end := song.Length(); at >= end {
		last := song.Sections[len(song.Sections)-1].Name
		if n := int64((at - end) / song.MeterAt(end).Beat()); n > 0 {
			return fmt.Sprintf("%s end + %s", last, language.Count(n, "beat"))
		}
		return last + " end"
	}
	i := len(song.Sections) - 1
	for song.Sections[i].Start > at {
		i--
	}
	bar, start, m := song.BarAt(at)
	return fmt.Sprintf("%s, bar %d beat %d", song.Sections[i].Name, bar+1, (at-start)/m.Beat()+1)
}

// BaseName returns a section's name without its number: "chorus" for "chorus 2".
func BaseName(section string) string { return strings.TrimRight(section, " 0123456789") }

// Fault says why a place cannot be found.
type Fault struct {
	What, Allowed, Nearest string // as in [language.Problem]
	Unknown                bool   // the song has no section of that name
}

// Error prints the fault.
func (f *Fault) Error() string {
	return language.Problem{File: "position", What: f.What, Allowed: f.Allowed, Nearest: f.Nearest}.String()
}

var (
	// Shift splits "bridge - 1 beat" into the place, the sign and the length.
	Shift = regexp.MustCompile(`^(.*\S) ([+-]) (` + language.Musical + `)$`)
	// Bar splits "bridge, bar 5 beat 2" into the section, the bar and the beat.
	Bar = regexp.MustCompile(`^(.*\S), bar ([1-9][0-9]{0,8})(?: beat ([1-9][0-9]{0,8}))?$`)
)

// Find returns the beat of a place as cues have it: a section, the end of one, or a
// bar and beat in it; with a length before or after. It must be in the song.
func Find(song *engine.Song, text string) (clock.Beat, *Fault) {
	place, shift := text, engine.Length{}
	if m := Shift.FindStringSubmatch(place); m != nil {
		place = m[1]
		if shift = language.LengthOf(m[3]); m[2] == "-" {
			shift.Num = -shift.Num
		}
	}
	at, fault := FindBar(song, place)
	if fault != nil {
		return 0, fault
	}
	at = song.PlaceAfter(at, shift)
	if at < 0 || at >= song.Length() {
		return 0, &Fault{
			What:    fmt.Sprintf("%q lies outside the song", language.Shorten(text)),
			Allowed: fmt.Sprintf("it runs from %s to %s end", song.Sections[0].Name, song.Sections[len(song.Sections)-1].Name),
		}
	}
	return at, nil
}

// FindForCue is [Find] for a cue: the place may be the song's end too, as "outro end".
func FindForCue(song *engine.Song, text string) (clock.Beat, *Fault) {
	at, fault := Find(song, text)
	if fault != nil {
		if end, missing := FindBar(song, text); missing == nil && end == song.Length() {
			return end, nil
		}
	}
	return at, fault
}

// FindBar is [Find] without a length before or after; the place may be the song's
// end.
func FindBar(song *engine.Song, place string) (clock.Beat, *Fault) {
	bar, beat := 1, 1
	if m := Bar.FindStringSubmatch(place); m != nil {
		place = m[1]
		bar, _ = strconv.Atoi(m[2])
		if m[3] != "" {
			beat, _ = strconv.Atoi(m[3])
		}
	}
	i, end, fault := FindSection(song, place)
	if fault != nil {
		return 0, fault
	}
	s := &song.Sections[i]
	from := s.Start
	if end {
		from += s.Length
	}
	if bars := int(song.SectionBars(i)); !end && bar > max(1, bars) {
		return 0, &Fault{What: fmt.Sprintf("%s has no bar %d", s.Name, bar), Allowed: fmt.Sprintf("it has %d", bars)}
	}
	at := song.BarStart(from, int64(bar-1))
	meter := song.MeterAt(at)
	if beat > meter.Beats() {
		return 0, &Fault{What: fmt.Sprintf("a bar of %s has no beat %d", meter, beat), Allowed: fmt.Sprintf("it has %d", meter.Beats())}
	}
	return at + clock.Beat(beat-1)*meter.Beat(), nil
}

// FindSection returns the index of the section that a place names, and whether the
// place is its end: "chorus 2", "chorus 2 end".
func FindSection(song *engine.Song, place string) (index int32, end bool, fault *Fault) {
	names := make([]string, len(song.Sections))
	for i := range names {
		names[i] = song.Sections[i].Name
	}
	if i := slices.Index(names, place); i >= 0 {
		return int32(i), false, nil
	}
	base, isEnd := strings.CutSuffix(place, " end")
	if i := slices.Index(names, base); i >= 0 && isEnd {
		return int32(i), true, nil
	}
	if slices.Contains(names, base+" 1") {
		return 0, false, &Fault{What: fmt.Sprintf("%q comes more than once", base), Allowed: "say which, such as " + base + " 1"}
	}
	return 0, false, &Fault{
		What:    fmt.Sprintf("no section %q", language.Shorten(base)),
		Allowed: language.Listed("sections are", names), Nearest: language.Nearest(base, names), Unknown: true,
	}
}

// Named returns the index of the section that a cue's place names, wherever the place
// lies: "chorus 2 - 1 beat" names chorus 2. It is -1 where the song has no such section.
func Named(song *engine.Song, place string) int {
	if m := Shift.FindStringSubmatch(place); m != nil {
		place = m[1]
	}
	if m := Bar.FindStringSubmatch(place); m != nil {
		place = m[1]
	}
	i, _, fault := FindSection(song, place)
	if fault != nil {
		return -1
	}
	return int(i)
}
