package commands

import (
	"errors"
	"fmt"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/osc"
)

// OSC stands before the path of every OSC address.
const OSC = "/tactus/"

// ErrReleased is returned for a button that was released, which asks for nothing.
var ErrReleased = errors.New("released")

// Address is what OSC and the page ask by. Most addresses have one command. Those
// of sections and songs have two: the first by a name, the second by a number.
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

// DescribeArgs describes the arguments in order; empty if there are none.
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

// Description says what the address asks for.
func (a *Address) Description() string { return a.Rows[0].Description }

// Parse returns the input that the arguments ask for. Names in args are those of p.
// The error says what is wrong with args, or is [ErrReleased]. Events have no time:
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

// checkPress accepts at most one argument: a number, or true or false. Control
// surfaces send 1 when a button is pressed and 0 when it is released (common
// practice, no source).
func checkPress(args []osc.Arg) error {
	if len(args) > 1 {
		return fmt.Errorf("%d arguments, want none", len(args))
	}
	for _, a := range args {
		if n, ok := a.Number(); a.Tag == 'F' || ok && n == 0 {
			return ErrReleased
		}
	}
	return nil
}
