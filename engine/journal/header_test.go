package journal_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine/journal"
)

func readHead(lines ...string) (*journal.Reader, error) {
	return journal.NewReader(strings.NewReader("tactus journal 1\n" + strings.Join(lines, "\n") + "\n\n"))
}

// The bounds of each line of a head.
func TestHeaderLines(t *testing.T) {
	cid := strings.Repeat("0f", 16)
	j, err := readHead("clock lead 255 internal 120000000 ahead 0.250000000", "lead 0.060000000", "cid "+cid, `to "a b"`, "later key of a later version")
	require.NoError(t, err)
	assert.Equal(t, clock.Config{Lead: 255, Internal: clock.BPM(120), Ahead: clock.Second / 4}, j.Header.Clock)
	assert.Equal(t, 60*clock.Millisecond, j.Header.Lead)
	assert.Equal(t, bytes.Repeat([]byte{15}, 16), j.Header.CID[:])
	assert.Equal(t, "a b", j.Header.To)
	_, err = readHead("clock ahead 0.000000000")
	require.NoError(t, err, "what is 0 may be left out")
	for line, says := range map[string]string{
		"clock lead 256 internal 1 ahead 0.000000000":     `clock: "256" is wrong`,
		"clock lead 1 internal 1 0.000000000":             `clock: "ahead" is wrong`,
		"clock lead 1 internal 1 ahead 0.000000000 later": "clock: its end is wrong",
		"clock lead 1 internal 1 ahead 0.5":               `clock: "0.5" is wrong`,
		"lead 0.060000000 more":                           "lead: its end is wrong",
		"lead 60":                                         `lead: "60" is wrong`,
		"cid " + cid + "00":                               "cid: have 17 bytes, need 16",
		"cid 0f":                                          "cid: have 1 bytes, need 16",
		"cid xy":                                          "cid: ",
		"started yesterday":                               "started: ",
		"show unquoted":                                   "show: ",
		"set x":                                           "set: ",
		"program ":                                        "program: ",
		"interface eth0":                                  "interface: ",
		"protocol sacn":                                   "protocol: ",
	} {
		_, err := readHead(line)
		require.ErrorIs(t, err, journal.ErrHeader, line)
		assert.ErrorContains(t, err, "line 2: ", line)
		assert.ErrorContains(t, err, says, line)
	}
	_, err = journal.NewReader(strings.NewReader("tactus journal 2\n\n"))
	assert.ErrorContains(t, err, `line 1 is "tactus journal 2", want "tactus journal 1"`)
}

// The wall clock is written in UTC, whatever the zone.
func TestHeaderIsInUTC(t *testing.T) {
	h := journal.Header{Started: time.Date(2026, 11, 27, 23, 28, 2, 0, time.FixedZone("", 4*3600))}
	assert.Contains(t, string(h.AppendTo(nil)), "\nstarted 2026-11-27T19:28:02Z\n")
}

// Lines up to 8191 bytes and their line feed are read, longer ones refused.
func TestLongLines(t *testing.T) {
	j, err := readHead("show \"" + strings.Repeat("x", 8191-len(`show ""`)) + "\"")
	require.NoError(t, err)
	assert.Len(t, j.Header.Show, 8191-len(`show ""`))
	_, err = readHead("show \"" + strings.Repeat("x", 8192-len(`show ""`)) + "\"")
	assert.ErrorContains(t, err, "line 2: journal: not a record: longer than 8192 bytes")
}

// The longest time that is read is 2^56 ns, either way.
func TestLongestTime(t *testing.T) {
	for text, want := range map[string]clock.Time{"72057594.037927936": 1 << 56, "-72057594.037927936": -1 << 56} {
		r, err := journal.ParseRecord(text + " end")
		require.NoError(t, err)
		assert.Equal(t, want, r.At)
		_, err = journal.ParseRecord(strings.Replace(text, "936", "937", 1) + " end")
		assert.ErrorIs(t, err, journal.ErrLine)
	}
}
