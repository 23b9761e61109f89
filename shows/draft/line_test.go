package draft

import (
	"testing"

	goyaml "github.com/goccy/go-yaml"
	yaml "go.yaml.in/yaml/v4"

	"tactus/clock"
)

// What is written reads as text, by two readers.
func TestQuotedTextIsText(t *testing.T) {
	for _, word := range []string{
		"embers", "full sail", "no", "Yes", "on", "null", "NULL", "true", "1", "12", "1.5", "1e3", "0x1f", "50 %", "12.5 %", "3200 K +2 tint",
		"don't stop", "chorus 2, bar 9", "bridge - 1 beat", "a/b", "#ff8040", "2 Hz", "nan", ".inf", "R&B", "hey!", "hey (slow)", "été", "first - last",
	} {
		src := []byte("{k: " + quote(word) + ", l: [" + quote(word) + "]}")
		var one, other map[string]any
		if err := yaml.Unmarshal(src, &one); err != nil || one["k"] != word || one["l"].([]any)[0] != word {
			t.Errorf("%s reads as %v, %v", src, one, err)
		}
		if err := goyaml.Unmarshal(src, &other); err != nil || other["k"] != word {
			t.Errorf("%s reads as %v, %v", src, other, err)
		}
	}
	if got := quote("full sail"); got != "full sail" {
		t.Errorf("needless quotes: %s", got)
	}
}

// A line is the draft's as long as every letter of it is as it was.
func TestAnyLetterBreaksTheSeal(t *testing.T) {
	c := Cue{At: "chorus 1", Look: "full sail", Effects: []string{"a", "b"}, Fade: "1/2 beat", Why: "energy 8, up 2"}
	line := c.String()
	if at, ok := place(line); !ok || at != "chorus 1" || !untouched(line, "") {
		t.Fatalf("%s is not taken for a drafted line", line)
	}
	for i := range line {
		for _, with := range []string{"", "x", line[i:i+1] + " "} {
			if now := line[:i] + with + line[i+1:]; now != line && untouched(now, "") {
				t.Errorf("%s passes for untouched", now)
			}
		}
	}
	if untouched(line, saltGap) {
		t.Error("the seal fits with any salt")
	}
}

func FuzzClear(f *testing.F) {
	c := Cue{At: "a", Look: "low", Why: "x"}
	head := sealed(heading, "")
	for _, src := range []string{
		"", "\n", "cues:", head, head + "\n  " + c.String(), "a: b\n\n" + sealed(heading, saltGap) + "\n  " + c.String() + "\n  - {at: b}\n",
		"cues:\n  -\n   at: b\n# - " + c.String() + "\nx: y", "cues: [1]\r\n" + c.String() + "\r\n", "a: \u2028b\rcues:\n  - {at: x}", "- cues:\n", "? cues\n: - a",
	} {
		f.Add([]byte(src))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		cleared, n := Clear(src)
		if n == 0 && len(cleared) > len(src) {
			t.Errorf("%q became longer: %q", src, cleared)
		}
		text := read(src)
		lists, err := text.find()
		if err != nil {
			return
		}
		if lists.head >= len(text.lines) || lists.end > len(text.lines) {
			t.Errorf("%q: cues at %d to %d of %d lines", src, lists.head, lists.end, len(text.lines))
		}
		if _, err := text.weave([]Cue{c}, func(string) (b clock.Beat) { return b }); err != nil {
			t.Errorf("%q: %v", src, err)
		}
	})
}
