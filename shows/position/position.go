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

// Name prints where in a song a beat lies, as musicians say it:
// "chorus 2, bar 3 beat 1". It rounds down to whole beats. Before the song and
// after its end it counts from the nearest section.
func Name(song *engine.Song, at clock.Beat) string {
	if len(song.Sections) == 0 {
		return "no section"
	}
	if at < 0 {
		beat := song.Meter.Beat()
		return fmt.Sprintf("%s - %s", song.Sections[0].Name, beats(int64(-at.FloorTo(beat)/beat)))
	}
	if end := song.Length(); at >= end {
		last := song.Sections[len(song.Sections)-1].Name
		if n := int64((at - end) / song.MeterAt(end).Beat()); n > 0 {
			return fmt.Sprintf("%s end + %s", last, beats(n))
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

func beats(n int64) string {
	if n == 1 {
		return "1 beat"
	}
	return fmt.Sprintf("%d beats", n)
}

// Fault says why a position cannot be found.
type Fault struct{ What, Allowed, Nearest string }

// Error prints the fault.
func (f *Fault) Error() string {
	return language.Problem{File: "position", What: f.What, Allowed: f.Allowed, Nearest: f.Nearest}.String()
}

var (
	// Shift parts a place from what is added to it or taken off.
	Shift = regexp.MustCompile(`^(.*\S) ([+-]) (` + language.Musical + `)$`)
	// Bar parts a section from the bar and beat in it.
	Bar = regexp.MustCompile(`^(.*\S), bar ([1-9][0-9]{0,8})(?: beat ([1-9][0-9]{0,8}))?$`)
)

// Find reads a position as cues have it: a section, the end of one, a
// bar and beat in it, and a length before or after. It has to lie in the song.
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

// FindBar reads a position without a length before or after.
func FindBar(song *engine.Song, place string) (clock.Beat, *Fault) {
	bar, beat := 1, 1
	hasBar := false
	if m := Bar.FindStringSubmatch(place); m != nil {
		place, hasBar = m[1], true
		bar, _ = strconv.Atoi(m[2])
		if m[3] != "" {
			beat, _ = strconv.Atoi(m[3])
		}
	}
	s, end, fault := FindSection(song, place)
	if fault != nil {
		return 0, fault
	}
	from := s.Start
	if end {
		from += s.Length
	}
	if bars := int(song.SectionBars(int32(slices.IndexFunc(song.Sections, func(x engine.Section) bool { return x.Name == s.Name })))); hasBar && !end && bar > bars {
		return 0, &Fault{What: fmt.Sprintf("%s has no bar %d", s.Name, bar), Allowed: fmt.Sprintf("it has %d", bars)}
	}
	at := song.BarStart(from, int64(bar-1))
	meter := song.MeterAt(at)
	if beat > meter.Beats() {
		return 0, &Fault{What: fmt.Sprintf("a bar of %s has no beat %d", meter, beat), Allowed: fmt.Sprintf("it has %d", meter.Beats())}
	}
	return at + clock.Beat(beat-1)*meter.Beat(), nil
}

// FindSection finds a section by name, or by its name and "end".
func FindSection(song *engine.Song, place string) (s *engine.Section, end bool, fault *Fault) {
	byName := func(name string) *engine.Section {
		for i := range song.Sections {
			if song.Sections[i].Name == name {
				return &song.Sections[i]
			}
		}
		return nil
	}
	if s := byName(place); s != nil {
		return s, false, nil
	}
	base, isEnd := strings.CutSuffix(place, " end")
	if s := byName(base); s != nil && isEnd {
		return s, true, nil
	}
	names := make([]string, len(song.Sections))
	for i := range names {
		names[i] = song.Sections[i].Name
	}
	if slices.Contains(names, base+" 1") {
		return nil, false, &Fault{What: fmt.Sprintf("%q comes more than once", base), Allowed: "say which, such as " + base + " 1"}
	}
	return nil, false, &Fault{
		What:    fmt.Sprintf("no section %q", language.Shorten(base)),
		Allowed: language.Listed("sections are", names), Nearest: language.Nearest(base, names),
	}
}
