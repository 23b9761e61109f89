package sacn

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func referenceTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(referenceDir, name))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err, name)
	require.GreaterOrEqual(t, len(rows), 2, name)
	return rows[1:]
}

func number(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

// E1.31-2018, 6.7.2.
func TestSequenceTable(t *testing.T) {
	for _, row := range referenceTable(t, "sacn-sequence.csv") {
		last, next := uint8(number(t, row[0])), uint8(number(t, row[1]))
		assert.Equal(t, row[3] == "accept", accept(last, next), "accept(%d, %d)", last, next)
	}
}

// 20 of 256 followers of each number are discarded: computed from the rule.
func TestSequenceCount(t *testing.T) {
	discarded := 0
	for last := range 256 {
		for next := range 256 {
			if !accept(uint8(last), uint8(next)) {
				discarded++
			}
		}
	}
	assert.Equal(t, 5120, discarded, "65536 pairs discarded")
}

// E1.31-2018, 9.3.1.
func TestGroups(t *testing.T) {
	for _, row := range referenceTable(t, "sacn-multicast.csv") {
		u := uint16(number(t, row[0]))
		assert.Equal(t, row[1], Group(u).String(), "Group(%d)", u)
	}
}

func TestSourceName(t *testing.T) {
	for in, want := range map[string]string{
		"":                               "",
		"Harbour Hall":                   "Harbour Hall",
		strings.Repeat("a", 63):          strings.Repeat("a", 63),
		strings.Repeat("a", 64):          strings.Repeat("a", 63),
		strings.Repeat("a", 62) + "é":    strings.Repeat("a", 62), // 64 octets: é does not fit
		strings.Repeat("a", 61) + "éé":   strings.Repeat("a", 61) + "é",
		strings.Repeat("日", 40):          strings.Repeat("日", 21),
		"front\x00back":                  "front",
		"bad\xff":                        "bad\uFFFD",
		strings.Repeat("a", 62) + "\xff": strings.Repeat("a", 62),
	} {
		assert.Equal(t, want, NewSourceName(in).String(), "%q", in)
	}
	full := SourceName([]byte(strings.Repeat("x", 64))) // from a source that does not terminate
	assert.Equal(t, strings.Repeat("x", 64), full.String(), "unterminated")
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "name")
		n := NewSourceName(s)
		require.Zero(t, n[63], "%q", s)
		require.True(t, utf8.ValidString(n.String()), "%q", s)
		if !strings.ContainsRune(s, 0) {
			require.True(t, strings.HasPrefix(s, n.String()), "%q became %q", s, n)
		}
	})
}
