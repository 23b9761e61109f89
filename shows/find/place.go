package find

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
)

var positionPass = regexp.MustCompile(`^([^,]*[^, ]), pass ([1-9][0-9]?)(,.*| [+-] .*)?$`)

// Place reads a place in a show: a song, a position in it as cues have it, and
// optionally the pass of the section; or the name of a look.
//
//	Long Shore, chorus 2, bar 3 beat 1
//	long-shore, bridge - 1 beat      the song by its file
//	Long Shore, chorus, pass 3       the third time it is played
//	Long Shore                       its first downbeat
//	walk-in
//
// Where a song has one chorus, "chorus 2" is its second pass. Letter
// case does not matter in a song's name, in bar, beat and pass.
func Place(s *shows.Show, text string) (night.Place, *position.Fault) {
	name, rest, more := strings.Cut(text, ",")
	name, rest = strings.TrimSpace(name), strings.TrimSpace(rest)
	i, fault := findSong(s, name)
	if fault != nil {
		look := slices.IndexFunc(s.Program.Looks, func(c engine.Cue) bool { return c.Name == name })
		if look >= 0 && !more {
			return night.Place{Song: engine.None, Look: int32(look), Section: engine.None, Pass: 1}, nil
		}
		return night.Place{}, fault
	}
	at := night.Place{Song: i, Look: engine.None, Pass: 1}
	song := &s.Program.Songs[i]
	if more || len(song.Sections) == 0 {
		if at.At, at.Pass, fault = findPass(song, rest); fault != nil {
			return night.Place{}, fault
		}
	}
	for n := range song.Sections {
		if song.Sections[n].Start <= at.At {
			at.Section = int32(n)
		}
	}
	return at, nil
}

// findSong finds a song by its name, or by its file without .yaml.
func findSong(s *shows.Show, name string) (int32, *position.Fault) {
	var names []string
	for i := range s.Program.Songs {
		if strings.EqualFold(s.Program.Songs[i].Name, name) {
			return int32(i), nil
		}
		names = append(names, s.Program.Songs[i].Name)
	}
	near := slices.Clone(names)
	for i, file := range s.Files {
		if strings.EqualFold(shows.StemOf(file), name) {
			return int32(i), nil
		}
		near = append(near, shows.StemOf(file))
	}
	for i := range s.Program.Looks {
		near = append(near, s.Program.Looks[i].Name)
	}
	return 0, &position.Fault{What: fmt.Sprintf("no song %q", language.Shorten(name)), Allowed: language.Listed("songs are", names), Nearest: language.Nearest(name, near)}
}

// findPass reads a position with a pass in it. A number after the name of a section
// that comes once is its pass.
func findPass(song *engine.Song, text string) (at clock.Beat, pass int, fault *position.Fault) {
	text = language.CanonicalPlace(text)
	if m := positionPass.FindStringSubmatch(text); m != nil {
		pass, _ = strconv.Atoi(m[2])
		at, fault = position.Find(song, m[1]+m[3])
		return at, pass, fault
	}
	if at, fault = position.Find(song, text); fault == nil {
		return at, 1, nil
	}
	if m := numbered.FindStringSubmatch(text); m != nil && !strings.Contains(m[1], ",") {
		_, _, other := position.FindSection(song, m[1])
		if other == nil {
			pass, _ = strconv.Atoi(m[2])
			at, fault = position.Find(song, m[1]+m[3])
			return at, pass, fault
		}
		if fault.Nearest == "" {
			fault.Nearest = other.Nearest
		}
	}
	return 0, 0, fault
}

// numbered is a section's name with a number, and what follows.
var numbered = regexp.MustCompile(`^([^,]*[^, ]) ([1-9][0-9]?)(,.*| [+-] .*)?$`)

// Fixture returns the index of a fixture in the patch. Where the name is that of a
// head, "bar 1 head 2", head is its number from 1; else 0.
func Fixture(s *shows.Show, name string) (fixture int32, head int, fault *position.Fault) {
	list := s.Program.Patch.Placements()
	var names []string
	for i := range list {
		if list[i].Name == name {
			return int32(i), 0, nil
		}
		names = append(names, list[i].Name)
	}
	for h := range s.Program.Heads {
		if n := &s.Program.Heads[h]; n.Name == name {
			return n.Fixture, h - list[n.Fixture].Head + 1, nil
		}
	}
	fault = &position.Fault{What: fmt.Sprintf("no fixture %q", language.Shorten(name)), Allowed: language.Listed("fixtures are", language.Ranges(names)), Nearest: language.Nearest(name, names)}
	for _, g := range s.Groups {
		if g.Name == name {
			fault.What, fault.Nearest = fmt.Sprintf("%q is a group", name), ""
			if len(g.Heads) > 0 {
				fault.Nearest = list[s.Program.Heads[g.Heads[0]].Fixture].Name
			}
		}
	}
	return 0, 0, fault
}
