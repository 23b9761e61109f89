package plan_test

import (
	"context"
	"fmt"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// foundIn measures a song that is laid over a folder of the shelf, and lists where a
// kind is found.
func foundIn(t *testing.T, folder string, kind plan.Kind, song string) (list []string) {
	t.Helper()
	files := laid(t, folder)
	files["songs/song.yaml"] = &fstest.MapFile{Data: []byte("song: Song\ntempo: 120 bpm\nmeter: 4/4\nsections:\n" + song)}
	n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{Songs: []int32{0}})
	require.NoError(t, err)
	for _, f := range n.Songs[0].Findings {
		if f.Kind == kind {
			list = append(list, f.Place)
		}
	}
	return list
}

// Front light may change where a section begins, on the way there, by the minimum
// levels of speech, and with the song's last cue; not at once inside a section.
func TestFrontLightChangesWithSections(t *testing.T) {
	const sections = `  - verse: {bars: 8, energy: 2, look: low}
  - chorus: {bars: 8, energy: 8, look: high%s}
  - outro: {bars: 8, energy: 2, look: low}
`
	song := func(chorus, cues string) []string {
		return foundIn(t, "fine", plan.FacesFlicker, fmt.Sprintf(sections, chorus)+"cues:\n"+cues)
	}
	const none = "  - {at: \"chorus, bar 2\", effects: none}\n"
	assert.Empty(t, song(", set: {front: {intensity: 100 %}}", none), "with the section")
	assert.Empty(t, song("", "  - {at: chorus, set: {front: {intensity: 20 %}}, fade: 2 beats, lands: yes}\n"), "on the way to the section")
	assert.Empty(t, song("", "  - {at: outro end - 1 bar, set: {front: {intensity: 5 %}}, fade: snap}\n"), "the song's last cue")
	assert.Empty(t, song("", "  - {at: \"chorus, bar 4\", set: {front: {intensity: 5 %}}, fade: 4 bars}\n"), "slowly")
	assert.Equal(t, []string{"chorus, bar 4 beat 1"}, song("", "  - {at: \"chorus, bar 4\", set: {front: {intensity: 5 %}}, fade: snap}\n"))
}

// Fixtures that face the audience may be bright for a moment; how bright, depends on
// the energy. A bright stretch may not hide behind a change of section.
func TestAudienceMayBeLitForAMoment(t *testing.T) {
	const sections = "  - verse: {bars: 8, energy: 2, look: low}\n  - pre-chorus: {bars: 1, energy: 4, look: mid%s}\n  - chorus: {bars: 8, energy: 8, look: high%s}\n"
	song := func(pre, chorus, cues string) []string {
		return foundIn(t, "eyes-lit", plan.EyesLit, fmt.Sprintf(sections, pre, chorus)+cues)
	}
	const flash = ", set: {blinder 1-2: {intensity: 100 %}}"
	const off = "set: {blinder 1-2: {intensity: 0 %}}"
	assert.Empty(t, song("", "", ""))
	assert.Empty(t, song("", flash, "cues:\n  - {at: \"chorus, bar 1 beat 3\", "+off+"}\n"), "for a second")
	assert.Empty(t, song("", ", set: {blinder 1-2: {intensity: 20 %}}", ""), "dim")
	assert.Equal(t, []string{"chorus, bar 1 beat 1"}, song("", flash, "cues:\n  - {at: \"chorus, bar 3\", "+off+"}\n"))
	assert.Equal(t, []string{"chorus, bar 1 beat 1"}, song(flash, flash, "cues:\n  - {at: \"chorus, bar 1 beat 4\", "+off+"}\n"), "2 s and 1.5 s")
}

// Three effects are too many for a quiet section, and what only faces get does not
// count; nor does what is over within a beat.
func TestEffectsAtOnceAreCountedOnStage(t *testing.T) {
	song := func(effects, cues string) []string {
		return foundIn(t, "crowded", plan.Crowded, "  - verse: {bars: 8, energy: 2, look: low, effects: "+effects+"}\n  - chorus: {bars: 8, energy: 8, look: high}\n"+cues)
	}
	assert.Empty(t, song("[drift, swell]", ""))
	assert.Equal(t, []string{"verse, bar 1 beat 1"}, song("[drift, swell, glow]", ""))
	assert.Empty(t, song("[drift, swell]", "cues:\n  - {at: \"verse, bar 4 beat 1\", effects: [drift, swell, glow]}\n  - {at: \"verse, bar 4 beat 1 + 1/2 beat\", effects: drift}\n"))
}
