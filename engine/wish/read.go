package wish

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/osc"
)

// ErrReleased is a button that was let go of, which asks for nothing.
var ErrReleased = errors.New("released")

func asks(c engine.Command) (engine.Input, error) { return engine.Input{Command: c}, nil }

// pressed takes one argument at most: a number, or true or false. Surfaces with
// buttons send 1 when one is pressed and 0 when it is let go of (common
// practice, no source).
func pressed(args []osc.Arg) error {
	switch {
	case len(args) == 0:
		return nil
	case len(args) > 1:
		return fmt.Errorf("%d arguments, want none", len(args))
	case args[0].Tag == 'F':
		return ErrReleased
	}
	if n, ok := args[0].Number(); ok && n == 0 {
		return ErrReleased
	}
	return nil
}

func readButton(kind engine.CommandKind) func(*engine.Program, []osc.Arg) (engine.Input, error) {
	return func(_ *engine.Program, args []osc.Arg) (engine.Input, error) {
		c := engine.Command{Kind: kind}
		if kind == engine.ReleaseOverride {
			c.Index = engine.None
		}
		return engine.Input{Command: c}, pressed(args)
	}
}

func readTap(_ *engine.Program, args []osc.Arg) (engine.Input, error) {
	return engine.Input{Event: clock.Event{Kind: clock.Tap}}, pressed(args)
}

func readBeside(kind engine.CommandKind) func(*engine.Program, []osc.Arg) (engine.Input, error) {
	return func(_ *engine.Program, args []osc.Arg) (engine.Input, error) {
		c := engine.Command{Kind: kind, When: engine.NextBar}
		if len(args) == 1 && args[0].Tag == 's' {
			when, err := whenOf(args, 0, engine.AtOnce)
			c.When = when
			return engine.Input{Command: c}, err
		}
		return engine.Input{Command: c}, pressed(args)
	}
}

// whenOf reads argument i as a boundary, at most last; a bar when it is not there.
func whenOf(args []osc.Arg, i int, last engine.When) (engine.When, error) {
	if i >= len(args) {
		return engine.NextBar, nil
	}
	for w := engine.NextBeat; w <= last; w++ {
		if args[i].Tag == 's' && args[i].Text == w.String() {
			return w, nil
		}
	}
	return 0, fmt.Errorf("%s is no boundary", said(args[i]))
}

// indexOf reads a name from a list as its index, or a number from 1 as that less 1.
func indexOf(a osc.Arg, names []string, what string) (i int32, named bool, err error) {
	if a.Tag == 's' {
		if n := slices.Index(names, a.Text); n >= 0 {
			return int32(n), true, nil
		}
		return 0, true, fmt.Errorf("no %s %s", what, said(a))
	}
	if n, ok := a.Number(); ok && n >= 1 && n <= 1e6 && n == math.Trunc(n) {
		return int32(n) - 1, false, nil
	}
	return 0, false, fmt.Errorf("%s is neither the name nor the number of a %s", said(a), what)
}

// readSection asks for a section by name in whatever song plays by then, or by
// number.
func readSection(named, numbered engine.CommandKind) func(*engine.Program, []osc.Arg) (engine.Input, error) {
	most := 1
	if named == engine.ArmName {
		most = 2
	}
	return func(p *engine.Program, args []osc.Arg) (engine.Input, error) {
		if len(args) < 1 || len(args) > most {
			return engine.Input{}, fmt.Errorf("%d arguments, want 1 to %d", len(args), most)
		}
		i, isName, err := indexOf(args[0], p.Called, "section")
		if err != nil {
			return engine.Input{}, err
		}
		when, err := whenOf(args, 1, engine.NextPhrase)
		c := engine.Command{Kind: numbered, Index: i, When: when}
		if isName {
			c.Kind = named
		}
		return engine.Input{Command: c}, err
	}
}

func readSong(p *engine.Program, args []osc.Arg) (engine.Input, error) {
	if len(args) != 1 {
		return engine.Input{}, fmt.Errorf("%d arguments, want a name or a number", len(args))
	}
	names := make([]string, len(p.Songs))
	for i := range p.Songs {
		names[i] = p.Songs[i].Name
	}
	i, named, err := indexOf(args[0], names, "song")
	if err != nil {
		return engine.Input{}, err
	}
	if named {
		return asks(engine.Command{Kind: engine.SelectSong, Index: i})
	}
	return asks(engine.Command{Kind: engine.SelectPlace, Index: i})
}

func readLook(p *engine.Program, args []osc.Arg) (engine.Input, error) {
	if len(args) != 1 || args[0].Tag != 's' {
		return engine.Input{}, errors.New("want a look's name")
	}
	names := make([]string, len(p.Looks))
	for i := range p.Looks {
		names[i] = p.Looks[i].Name
	}
	i, _, err := indexOf(args[0], names, "look")
	return engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: i}}, err
}

// readLevel reads a level, and seconds if they are there.
func readLevel(c engine.Command, args []osc.Arg) (engine.Input, error) {
	if len(args) < 1 || len(args) > 2 {
		return engine.Input{}, fmt.Errorf("%d arguments for the level, want 1 or 2", len(args))
	}
	level, ok := args[0].Number()
	if !ok || !(level >= 0 && level <= 1) {
		return engine.Input{}, fmt.Errorf("%s is no level of 0 to 1", said(args[0]))
	}
	c.Level = level
	if len(args) == 2 {
		seconds, ok := args[1].Number()
		if !ok || !(seconds >= 0 && seconds <= 1000) {
			return engine.Input{}, fmt.Errorf("%s is no time of 0 to 1000 seconds", said(args[1]))
		}
		c.Over = clock.Time(seconds * float64(clock.Second))
	}
	return engine.Input{Command: c}, nil
}

func readMaster(_ *engine.Program, args []osc.Arg) (engine.Input, error) {
	return readLevel(engine.Command{Kind: engine.GrandMaster}, args)
}

func readGroup(p *engine.Program, args []osc.Arg) (engine.Input, error) {
	if len(args) < 2 || args[0].Tag != 's' {
		return engine.Input{}, errors.New("want a group's name and a level")
	}
	names := make([]string, len(p.Groups))
	for i := range p.Groups {
		names[i] = p.Groups[i].Name
	}
	i, _, err := indexOf(args[0], names, "group")
	if err != nil {
		return engine.Input{}, err
	}
	return readLevel(engine.Command{Kind: engine.GroupMaster, Index: i}, args[1:])
}

// said is an argument for a message, cut short.
func said(a osc.Arg) string {
	if n, ok := a.Number(); ok {
		return fmt.Sprintf("%.6g", n)
	}
	if a.Tag == 's' {
		return fmt.Sprintf("%.40q", a.Text)
	}
	return fmt.Sprintf("an argument of type %q", a.Tag)
}
