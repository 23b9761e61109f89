package main

import (
	"fmt"
	"io"
	"time"

	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"

	"github.com/rs/zerolog"
)

// newLog makes the logger that --log asks for.
func newLog(form string, out io.Writer, colour bool) (zerolog.Logger, error) {
	switch form {
	case "console":
		out = zerolog.ConsoleWriter{Out: out, NoColor: !colour, TimeFormat: time.TimeOnly, FormatMessage: messageText, FormatFieldValue: valueText}
	case "json":
		out = terminal.JSONWriter{To: out}
	default:
		return zerolog.Nop(), usage.Errorf("--log %q: want console or json", form)
	}
	return zerolog.New(out).With().Timestamp().Logger(), nil
}

// messageText is the message of a line: names from show files may be in it.
func messageText(message any) string {
	text, _ := message.(string)
	return terminal.Printable(text)
}

// valueText is a value of a line. zerolog quotes texts; it writes lists as JSON, which may
// hold what a terminal obeys.
func valueText(value any) string { return terminal.Printable(fmt.Sprintf("%s", value)) }
