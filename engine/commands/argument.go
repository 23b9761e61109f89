package commands

import (
	"fmt"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/osc"
)

// ArgumentKind is what an argument means, and so its type and range.
type ArgumentKind uint8

// The kinds of arguments.
const (
	SectionName    ArgumentKind = iota + 1 // text: a name that some song of the show has
	SectionNumber                          // whole number from 1, in the song that plays
	SongName                               // text
	SongNumber                             // whole number from 1, in the set
	LookName                               // text
	GroupName                              // text
	Level                                  // number, 0 to 1
	Seconds                                // number, 0 to MaxSeconds
	Boundary                               // text: beat, bar, phrase or section end
	BoundaryOrOnce                         // text: the same, or once
	numKinds
)

const (
	// MaxSeconds is the longest time that a command may take, in seconds.
	MaxSeconds = 1000
	// maxNumber is the highest number of a section or song that is accepted.
	maxNumber = 1e6
)

// Argument is one argument of a command.
type Argument struct {
	Kind     ArgumentKind
	Optional bool
}

// Describe says what the argument is, with its range and default.
func (a Argument) Describe() string {
	words := [numKinds]string{
		SectionName: "a section's name", SectionNumber: "its number in the song, from 1",
		SongName: "a song's name", SongNumber: "its number in the set, from 1",
		LookName: "a look's name", GroupName: "a group's name",
		Level: "a level 0 to 1", Seconds: fmt.Sprintf("seconds 0 to %d", MaxSeconds),
		Boundary:       "beat, bar, phrase or section end",
		BoundaryOrOnce: "beat, bar, phrase, section end or once",
	}[a.Kind]
	switch {
	case !a.Optional:
		return words
	case a.Kind == Seconds:
		return words + " (default 0)"
	}
	return words + " (default bar)"
}

// parseInto puts an argument into a command. The error names the value and what it
// is not.
func (a Argument) parseInto(p *engine.Program, arg osc.Arg, c *engine.Command) (err error) {
	switch a.Kind {
	case SectionName:
		c.Index, err = findName(arg, "section", p.SectionNames, func(name string) string { return name })
	case SongName:
		c.Index, err = findName(arg, "song", p.Songs, func(s engine.Song) string { return s.Name })
	case LookName:
		c.Index, err = findName(arg, "look", p.Looks, func(l engine.Cue) string { return l.Name })
	case GroupName:
		c.Index, err = findName(arg, "group", p.Groups, func(g engine.Group) string { return g.Name })
	case SectionNumber:
		c.Index, err = parseIndex(arg, "section")
	case SongNumber:
		c.Index, err = parseIndex(arg, "song")
	case Level:
		c.Level, err = parseNumber(arg, 1, "level of 0 to 1")
	case Seconds:
		var seconds float64
		seconds, err = parseNumber(arg, MaxSeconds, fmt.Sprintf("time of 0 to %d seconds", MaxSeconds))
		c.Over = clock.Time(seconds * float64(clock.Second))
	case Boundary:
		c.When, err = parseBoundary(arg, engine.NextPhrase)
	case BoundaryOrOnce:
		c.When, err = parseBoundary(arg, engine.AtOnce)
	}
	return err
}

// findName returns the index of the one with a name in a list.
func findName[T any](arg osc.Arg, what string, list []T, nameOf func(T) string) (int32, error) {
	if arg.Tag != 's' {
		return 0, fmt.Errorf("%s is not the name of a %s", quoteArg(arg), what)
	}
	if i := slices.IndexFunc(list, func(e T) bool { return nameOf(e) == arg.Text }); i >= 0 {
		return int32(i), nil
	}
	return 0, fmt.Errorf("no %s %s", what, quoteArg(arg))
}

// parseIndex returns a number, which counts from 1, as an index.
func parseIndex(arg osc.Arg, what string) (int32, error) {
	if n, ok := arg.Number(); ok && n >= 1 && n <= maxNumber && n == math.Trunc(n) {
		return int32(n) - 1, nil
	}
	return 0, fmt.Errorf("%s is neither the name nor the number of a %s", quoteArg(arg), what)
}

// parseNumber returns a number, 0..most.
func parseNumber(arg osc.Arg, most float64, what string) (float64, error) {
	n, ok := arg.Number()
	if !ok || !(n >= 0 && n <= most) {
		return 0, fmt.Errorf("%s is not a %s", quoteArg(arg), what)
	}
	return n, nil
}

// parseBoundary returns the boundary with a name, up to last in the order of
// engine.When.
func parseBoundary(arg osc.Arg, last engine.When) (engine.When, error) {
	for w := engine.NextBeat; w <= last; w++ {
		if arg.Tag == 's' && arg.Text == w.String() {
			return w, nil
		}
	}
	return 0, fmt.Errorf("%s is not a boundary", quoteArg(arg))
}

// quoteArg returns an argument for a message, shortened.
func quoteArg(a osc.Arg) string {
	if n, ok := a.Number(); ok {
		return fmt.Sprintf("%.6g", n)
	}
	if a.Tag == 's' {
		return fmt.Sprintf("%.40q", a.Text)
	}
	return fmt.Sprintf("an argument of type %q", a.Tag)
}
