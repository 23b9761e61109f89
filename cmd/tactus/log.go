package main

import (
	"io"
	"time"

	"tactus/cmd/tactus/usage"

	"github.com/rs/zerolog"
)

// newLog makes the logger that --log asks for.
func newLog(form string, out io.Writer, colour bool) (zerolog.Logger, error) {
	switch form {
	case "console":
		out = zerolog.ConsoleWriter{Out: out, NoColor: !colour, TimeFormat: time.TimeOnly}
	case "json":
	default:
		return zerolog.Nop(), usage.Errorf("--log %q: want console or json", form)
	}
	return zerolog.New(out).With().Timestamp().Logger(), nil
}
