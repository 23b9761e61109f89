package main

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names from the network and from show files are in the log; no form of it speaks to the
// terminal (C1 codes: ISO 6429).
func TestLogCannotSpeakToTheTerminal(t *testing.T) {
	const hostile = "desk\x1b[2J\x7f\u009b31m\u202e"
	for _, form := range []string{"console", "json"} {
		var out bytes.Buffer
		log, err := newLog(form, &out, false)
		require.NoError(t, err)
		log.Warn().Str("from", hostile).Strs("nodes", []string{hostile}).Msg(hostile)
		assert.False(t, bytes.ContainsAny(out.Bytes(), "\x1b\x7f\u009b\u202e"), "%s: %q", form, &out)
		if form == "json" {
			var line struct{ From, Message string }
			require.NoError(t, json.Unmarshal(out.Bytes(), &line))
			assert.Equal(t, hostile, line.From)
			assert.Equal(t, hostile, line.Message)
		}
	}
}
