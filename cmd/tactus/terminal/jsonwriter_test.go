package terminal

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A line of JSON says the same, without what a terminal obeys.
func TestJSONWriter(t *testing.T) {
	const hostile = "Höll \x1b[2J\a\r\n\x7f\u0085\u009b31m\u202e\u2066 → \"é\" \\ 🎹"
	line, err := json.Marshal(hostile) // escapes C0, and neither DEL nor C1
	require.NoError(t, err)
	line = append(line, '\n')
	var out bytes.Buffer
	n, err := JSONWriter{&out}.Write(line)
	require.NoError(t, err)
	assert.Equal(t, len(line), n)
	for _, r := range out.String() {
		assert.True(t, r == '\n' || !obeyed(r), "%q", r)
	}
	var text string
	require.NoError(t, json.Unmarshal(out.Bytes(), &text))
	assert.Equal(t, hostile, text)
}
