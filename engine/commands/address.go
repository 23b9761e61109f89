package commands

import (
	"errors"
	"fmt"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/osc"
)

// OSC is what an OSC address has before the path.
const OSC = "/tactus/"

// ErrReleased is a button that was let go of, which asks for nothing.
var ErrReleased = errors.New("released")

// Address is what OSC and the page ask by. Most addresses are of one command.
// Those of sections and songs are of two: the first by a name, the second by a
// number.
type Address struct {
	Path string // such as section/arm
	Rows []Row
}

// Addresses returns all addresses, in the order of the table.
func Addresses() []Address {
	var list []Address
	at := map[string]int{}
	for _, r := range Table() {
		i, known := at[r.Path]
		switch {
		case r.Path == "":
		case known:
			list[i].Rows = append(list[i].Rows, r)
		default:
			at[r.Path] = len(list)
			list = append(list, Address{r.Path, []Row{r}})
		}
	}
	return list
}

// DescribeArgs says what goes with the address, in order; empty if nothing does.
func (a *Address) DescribeArgs() string {
	var words []string
	for i, arg := range a.Rows[0].Args {
		w := arg.Describe()
		if i == 0 && len(a.Rows) > 1 {
			w += ", or " + a.Rows[1].Args[0].Describe()
		}
		words = append(words, w)
	}
	return strings.Join(words, "; ")
}

// Description says what it asks for.
func (a *Address) Description() string { return a.Rows[0].Description }

// Parse returns what the loop is to take. The names in args are those of p. The
// error says what is wrong with them, or is [ErrReleased]. Events have no time:
// the caller stamps them.
func (a *Address) Parse(p *engine.Program, args []osc.Arg) (engine.Input, error) {
	row := &a.Rows[0]
	if len(a.Rows) > 1 && len(args) > 0 && args[0].Tag != 's' {
		row = &a.Rows[1]
	}
	in := engine.Input{Command: row.Command, Event: clock.Event{Kind: row.Event}}
	least := 0
	for _, arg := range row.Args {
		if !arg.Optional {
			least++
		}
	}
	if least == 0 && (len(row.Args) == 0 || len(args) == 0 || args[0].Tag != 's') {
		return in, checkPress(args)
	}
	if len(args) < least || len(args) > len(row.Args) {
		return engine.Input{}, fmt.Errorf("%d arguments; want %s", len(args), a.DescribeArgs())
	}
	for i := range args {
		if err := row.Args[i].parseInto(p, args[i], &in.Command); err != nil {
			return engine.Input{}, err
		}
	}
	return in, nil
}

// checkPress takes one argument at most: a number, or true or false. Surfaces with
// buttons send 1 when one is pressed and 0 when it is let go of (common
// practice, no source).
func checkPress(args []osc.Arg) error {
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
