package osc

import (
	"encoding/csv"
	"os"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestMatchTable(t *testing.T) {
	f, err := os.Open(reference + "osc-match.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 33 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, row := range rows[1:] {
		if got := Match(row[0], row[1]); got != (row[2] == "yes") {
			t.Errorf("%s on %s: %v", row[0], row[1], got)
		}
	}
}

func TestMatchIncomplete(t *testing.T) {
	for _, pattern := range []string{"/[a", "/{a", "/a]", "/[]", "/" + strings.Repeat("a", 300)} {
		if Match(pattern, "/a") || Match(pattern, "/"+strings.Repeat("a", 300)) {
			t.Errorf("%q matches", pattern)
		}
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
		if got, want := Match(pattern, address), asRegexp(pattern).MatchString(address); got != want {
			t.Fatalf("%s on %s: %v, regexp says %v", pattern, address, got, want)
		}
	})
}

// Patterns that take others for ever. The test's own deadline is the check.
func TestMatchHostile(t *testing.T) {
	a := "/" + strings.Repeat("a", maxPart)
	if Match("/"+strings.Repeat("*a", 5000)+"b", a) || Match("/"+strings.Repeat("{a,aa}", 5000), a) {
		t.Error("matches")
	}
	if !Match("/"+strings.Repeat("*", 5000), a) || !Match("/"+strings.Repeat("{a,aa}", 200), a) {
		t.Error("does not match")
	}
}

func FuzzMatch(f *testing.F) {
	f.Add("/{foo,bar}[!a-]*?", "/barxyz")
	f.Add("/[a-", "/a")
	f.Fuzz(func(t *testing.T, pattern, address string) {
		got := Match(pattern, address)
		if plain := !strings.ContainsAny(pattern, "?*[]{}"); plain && got != (pattern == address) && len(address) <= maxPart {
			t.Fatalf("%q on %q: %v", pattern, address, got)
		}
	})
}
