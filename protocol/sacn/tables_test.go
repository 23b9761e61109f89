package sacn

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func referenceTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(referenceDir, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

func number(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// E1.31-2018, 6.7.2.
func TestSequenceTable(t *testing.T) {
	for _, row := range referenceTable(t, "sacn-sequence.csv") {
		last, next := uint8(number(t, row[0])), uint8(number(t, row[1]))
		if got, want := Accept(last, next), row[3] == "accept"; got != want {
			t.Errorf("Accept(%d, %d) = %v, want %v", last, next, got, want)
		}
	}
}

// 20 of 256 followers of each number are discarded: computed from the rule.
func TestSequenceCount(t *testing.T) {
	discarded := 0
	for last := range 256 {
		for next := range 256 {
			if !Accept(uint8(last), uint8(next)) {
				discarded++
			}
		}
	}
	if discarded != 5120 {
		t.Errorf("%d of 65536 pairs discarded, want 5120", discarded)
	}
}

// E1.31-2018, 9.3.1 and 9.3.2.
func TestGroups(t *testing.T) {
	for _, row := range referenceTable(t, "sacn-multicast.csv") {
		u := uint16(number(t, row[0]))
		if got := Group(u).String(); got != row[1] {
			t.Errorf("Group(%d) = %s, want %s", u, got, row[1])
		}
		if got := Group6(u).String(); got != row[3] {
			t.Errorf("Group6(%d) = %s, want %s", u, got, row[3])
		}
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
		if got := NewSourceName(in).String(); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
	full := SourceName([]byte(strings.Repeat("x", 64))) // from a source that does not terminate
	if full.String() != strings.Repeat("x", 64) {
		t.Errorf("unterminated: %q", full.String())
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "name")
		n := NewSourceName(s)
		if n[63] != 0 || !utf8.ValidString(n.String()) {
			t.Fatalf("%q: % x", s, n)
		}
		if !strings.ContainsRune(s, 0) && !strings.HasPrefix(s, n.String()) {
			t.Fatalf("%q became %q", s, n)
		}
	})
}
