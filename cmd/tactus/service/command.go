package service

import (
	"errors"
	"fmt"
)

// Command is what a supervisor runs.
type Command struct {
	Description string   // for people, of one line
	Program     string   // absolute path
	Args        []string // without the program
	Folder      string   // absolute path in which relative names are looked up
	Writable    []string // folders that must be writable besides the state, absolute
}

// ErrControl means that a word has a control character, such as a line feed. Supervisors'
// files cannot hold it safely.
var ErrControl = errors.New("it has a control character")

// checkPlain refuses text with control characters.
func checkPlain(text string) error {
	for _, r := range text {
		if r < ' ' || r == 0x7F {
			return fmt.Errorf("%q cannot stand in a supervisor's file: %w", text, ErrControl)
		}
	}
	return nil
}

// check refuses control characters in any part.
func (c *Command) check() error {
	errs := []error{checkPlain(c.Description), checkPlain(c.Program), checkPlain(c.Folder)}
	for _, a := range append(c.Args, c.Writable...) {
		errs = append(errs, checkPlain(a))
	}
	return errors.Join(errs...)
}
