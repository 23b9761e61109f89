package usage

import "fmt"

// Error is a command line that makes no sense.
type Error struct{ error }

// Errorf makes one, as [fmt.Errorf] does.
func Errorf(format string, args ...any) error { return Error{fmt.Errorf(format, args...)} }

// Wrap makes one of another error.
func Wrap(err error) error { return Error{err} }

// Unwrap returns what was wrong.
func (e Error) Unwrap() error { return e.error }
