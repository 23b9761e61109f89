package language_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tactus/shows/language"
)

// Every name is listed, however many there are.
func TestListed(t *testing.T) {
	assert.Equal(t, "there are none", language.Listed("looks are", nil))
	var names []string
	for i := range 40 {
		names = append(names, fmt.Sprintf("look %c%d", 'a'+i%26, i))
	}
	assert.Equal(t, "looks are: "+strings.Join(names, ", "), language.Listed("looks are", names))
}

func TestRanges(t *testing.T) {
	for want, names := range map[string][]string{
		"":                              nil,
		"wash 1-4, back":                {"wash 1", "wash 2", "wash 3", "wash 4", "back"},
		"wash 1, wash 2, spot 3-5":      {"wash 1", "wash 2", "spot 3", "spot 4", "spot 5"},
		"wash 1-3, wash 5, wash 4":      {"wash 1", "wash 2", "wash 3", "wash 5", "wash 4"},
		"wash 01, wash 02, wash 03":     {"wash 01", "wash 02", "wash 03"},
		"bar 2 head 1-3, bar 3 head 4":  {"bar 2 head 1", "bar 2 head 2", "bar 2 head 3", "bar 3 head 4"},
		"a 999999997, a 9999999999, a ": {"a 999999997", "a 9999999999", "a "},
	} {
		assert.Equal(t, want, strings.Join(language.Ranges(names), ", "))
	}
}

// A long list begins a line of its own and goes over several; nothing of it is lost.
func TestWrapList(t *testing.T) {
	const short = `looks.yaml:4:3: no look "ember"; looks are: embers, tide`
	assert.Equal(t, short, language.WrapList(short, 40))
	twelve := "no key; keys are: a, b, c, d, e, f, g, h, i, j, k, l"
	assert.Equal(t, twelve, language.WrapList(twelve, 20))
	assert.Equal(t, "no key;\n    keys are: a, b, c,\n    d, e, f, g, h, i,\n    j, k, l, m", language.WrapList(twelve+", m", 22))
	no := strings.Repeat("word ", 40) + "; and more without a list"
	assert.Equal(t, no, language.WrapList(no, 40))
	assert.Equal(t, `rig.yaml:4:3: no profile "x" (did you mean "rgb"?);
    profiles are: dimmer, dimmer-16,
    rgb, rgba, rgbw, head-rgbw, hazer,
    rgb-bar-4, a, b, c, d,
    e; also at rig.yaml:9`, language.WrapList(`rig.yaml:4:3: no profile "x" (did you mean "rgb"?); profiles are: dimmer, dimmer-16, rgb, rgba, rgbw, head-rgbw, hazer, rgb-bar-4, a, b, c, d, e; also at rig.yaml:9`, 38))
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfN(rapid.StringMatching(`[a-zé]{1,20}( [0-9])?`), 1, 60).Draw(t, "names")
		message := "looks.yaml:1:1: no look; looks are: " + strings.Join(names, ", ")
		lines := strings.Split(language.WrapList(message, 50), "\n")
		assert.Equal(t, message, strings.ReplaceAll(strings.Join(lines, "\n"), "\n    ", " "))
		for _, line := range lines[1:] {
			assert.LessOrEqual(t, len([]rune(line)), 50, line)
		}
	})
}
