package sacn_test

import (
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/protocol/sacn"
)

// E1.31-2018, 9.3.1.
func TestGroups(t *testing.T) {
	for _, row := range sacn.ReferenceTable(t, "sacn-multicast.csv") {
		u, err := strconv.ParseUint(row[0], 10, 16)
		require.NoError(t, err)
		assert.Equal(t, row[1], sacn.Group(uint16(u)).String(), "Group(%d)", u)
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
		assert.Equal(t, want, sacn.NewSourceName(in).String(), "%q", in)
	}
	full := sacn.SourceName([]byte(strings.Repeat("x", 64))) // from a source that does not terminate
	assert.Equal(t, strings.Repeat("x", 64), full.String(), "unterminated")
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "name")
		n := sacn.NewSourceName(s)
		require.Zero(t, n[63], "%q", s)
		require.True(t, utf8.ValidString(n.String()), "%q", s)
		if !strings.ContainsRune(s, 0) {
			require.True(t, strings.HasPrefix(s, n.String()), "%q became %q", s, n)
		}
	})
}
