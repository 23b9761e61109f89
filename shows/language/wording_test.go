package language_test

import (
	"testing"

	goyaml "github.com/goccy/go-yaml"
	"github.com/stretchr/testify/assert"
	yaml "go.yaml.in/yaml/v4"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
)

// What is written reads as text, by two readers.
func TestQuotedTextIsText(t *testing.T) {
	for _, word := range []string{
		"embers", "full sail", "no", "Yes", "on", "null", "NULL", "true", "1", "12", "1.5", "1e3", "0x1f", "50 %", "12.5 %", "3200 K +2 tint",
		"don't stop", "chorus 2, bar 9", "bridge - 1 beat", "a/b", "#ff8040", "2 Hz", "nan", ".inf", "R&B", "hey!", "hey (slow)", "été", "first - last",
		"a \"word\"", `a\b`, "line\nbreak", "B.C.", "a + b", "it's", "100 %", "two: three", "",
	} {
		src := []byte("{k: " + language.Quote(word) + ", l: [" + language.Quote(word) + "]}")
		var one, other map[string]any
		if assert.NoError(t, yaml.Unmarshal(src, &one), "%s", src) {
			assert.Equal(t, word, one["k"], "%s", src)
			assert.Equal(t, word, one["l"].([]any)[0], "%s", src)
		}
		assert.NoError(t, goyaml.Unmarshal(src, &other), "%s", src)
		assert.Equal(t, word, other["k"], "%s", src)
	}
	assert.Equal(t, "full sail", language.Quote("full sail"), "needless quotes")
}

// Times round to the nearest second, so that every program that prints one length
// prints the same.
func TestMinutes(t *testing.T) {
	for at, want := range map[clock.Time]string{
		0: "0:00", 499 * clock.Millisecond: "0:00", 500 * clock.Millisecond: "0:01", 59*clock.Second + 500*clock.Millisecond: "1:00",
		125*clock.Second + 600*clock.Millisecond: "2:06", 3600 * clock.Second: "60:00",
	} {
		assert.Equal(t, want, language.Minutes(at), "%v", at.Sub(0))
	}
}

func TestCount(t *testing.T) {
	assert.Equal(t, "0 bars", language.Count(0, "bar"))
	assert.Equal(t, "1 bar", language.Count(int64(1), "bar"))
	assert.Equal(t, "2 bars", language.Count(2, "bar"))
}

func TestLength(t *testing.T) {
	for want, l := range map[string]engine.Length{
		"1 beat": {Num: 1, Den: 1}, "2 bars": {Num: 2, Den: 1, Bars: true}, "1/2 beat": {Num: 1, Den: 2}, "3/2 beats": {Num: 3, Den: 2}, "4 beats": {Num: 4},
	} {
		assert.Equal(t, want, language.Length(l))
	}
}

// Letters to insert, drop, change or swap with their neighbour, counted by hand.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"ember", "ember", 0}, {"ember", "embers", 1}, {"embers", "ember", 1}, {"ember", "amber", 1}, {"tdie", "tide", 1}, {"", "tide", 4}, {"tide", "", 4}, {"sway", "tide", 4}, {"ca", "abc", 3}} {
		assert.Equal(t, c.want, language.Distance([]rune(c.a), []rune(c.b)), "%q and %q", c.a, c.b)
	}
	assert.Equal(t, "embers", language.Nearest("ember", []string{"tide", "embers", "amber light"}))
	assert.Equal(t, "tide", language.Nearest("TDIE", []string{"tide", "tied"}), "the first of equal ones")
	assert.Empty(t, language.Nearest("storm", []string{"tide"}))
}
