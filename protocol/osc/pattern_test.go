package osc_test

import (
	"encoding/csv"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/protocol/osc"
)

func TestMatchTable(t *testing.T) {
	f, err := os.Open("../../testdata/reference/osc-match.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(rows), 33, "rows")
	for _, row := range rows[1:] {
		assert.Equal(t, row[2] == "yes", osc.Match(row[0], row[1]), "%s on %s", row[0], row[1])
	}
}

func TestMatchIncomplete(t *testing.T) {
	for _, pattern := range []string{"/[a", "/{a", "/a]", "/[]", "/" + strings.Repeat("a", 300)} {
		assert.False(t, osc.Match(pattern, "/a"), "%q matches", pattern)
		assert.False(t, osc.Match(pattern, "/"+strings.Repeat("a", 300)), "%q matches", pattern)
	}
}

// asRegexp translates a complete pattern for the standard library.
func asRegexp(pattern string) *regexp.Regexp {
	var b strings.Builder
	list := false
	for _, c := range pattern {
		switch {
		case c == '?':
			b.WriteString("[^/]")
		case c == '*':
			b.WriteString("[^/]*")
		case c == '{':
			b.WriteString("(?:")
			list = true
		case c == '}':
			b.WriteString(")")
			list = false
		case c == ',' && list:
			b.WriteString("|")
		default:
			b.WriteString(regexp.QuoteMeta(string(c)))
		}
	}
	return regexp.MustCompile("^" + b.String() + "$")
}

func TestMatchAgreesWithRegexp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "/", "?", "*", "{a,ab}", "{,b}", "{ba,a,b}"}), 0, 12).Draw(t, "pattern")
		pattern := "/" + strings.Join(pieces, "")
		address := "/" + rapid.StringMatching("[ab/]{0,10}").Draw(t, "address")
		require.Equal(t, asRegexp(pattern).MatchString(address), osc.Match(pattern, address), "%s on %s", pattern, address)
	})
}

// Patterns that take others for ever. The test's own deadline is the check.
func TestMatchHostile(t *testing.T) {
	a := "/" + strings.Repeat("a", 255)
	assert.False(t, osc.Match("/"+strings.Repeat("*a", 5000)+"b", a), "matches")
	assert.False(t, osc.Match("/"+strings.Repeat("{a,aa}", 5000), a), "matches")
	assert.True(t, osc.Match("/"+strings.Repeat("*", 5000), a), "does not match")
	assert.True(t, osc.Match("/"+strings.Repeat("{a,aa}", 200), a), "does not match")
}

func FuzzMatch(f *testing.F) {
	f.Add("/{foo,bar}[!a-]*?", "/barxyz")
	f.Add("/[a-", "/a")
	f.Fuzz(func(t *testing.T, pattern, address string) {
		got := osc.Match(pattern, address)
		if !strings.ContainsAny(pattern, "?*[]{}") && len(address) <= 255 {
			require.Equal(t, pattern == address, got, "%q on %q", pattern, address)
		}
	})
}
