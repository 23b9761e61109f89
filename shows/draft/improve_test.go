package draft

import (
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

const measuredHead = "song: New\ntempo: 120 bpm\nmeter: 4/4\ncharacter: plain\nsections:\n"

// improverOf is ready to draft a song.
func improverOf(t *testing.T, files fs.FS, file string) *improver {
	t.Helper()
	sources, unread, err := readWith(files, file)
	require.NoError(t, err)
	m := &improver{sources: sources, unread: unread, file: file, text: read(sources[file]), tries: maxTries}
	m.show, err = m.bare()
	require.NoError(t, err)
	return m
}

// A ladder whose top goes to a dark blue and back: the peak as the ladder has it is darker
// than what comes before it. The draft is measured, and one of the two gets another light.
func TestDraftIsMeasuredAndPutRight(t *testing.T) {
	const file = "songs/new.yaml"
	files := showtest.Yard(measuredHead + "  - verse: {bars: 8, energy: 3}\n  - pre-chorus: {bars: 8, energy: 6}\n  - chorus: {bars: 8, energy: 8}\n")
	looks := string(files["looks.yaml"].Data)
	changed := strings.Replace(looks, "high: {set: {lamps: {colour: warm, intensity: 100 %}}, effects: quick}", "high: {set: {lamps: {colour: second, intensity: 62 %}}, effects: sink}", 1)
	changed = strings.Replace(changed, "effects:\n", "effects:\n  sink: {on: lamps, wave: square, moves: colour, from: second, to: \"#0c5a54\", period: 4 bars, duty: 90 %}\n", 1)
	require.Greater(t, len(changed), len(looks)+40)
	files["looks.yaml"].Data = []byte(changed)
	m := improverOf(t, files, file)
	first, err := m.attempt(adjustments{})
	require.NoError(t, err)
	peak, brighter := first.song.DimPeak()
	require.NotNil(t, peak, "the first draft has nothing to put right")
	assert.Equal(t, []string{"chorus", "pre-chorus"}, []string{peak.Name, brighter.Name})

	best, err := m.best()
	require.NoError(t, err)
	peak, _ = best.song.DimPeak()
	assert.Nil(t, peak, "the peak is still darker: %s", best.source)
	assert.Zero(t, best.score)
	d, err := New(files, file)
	require.NoError(t, err)
	assert.Equal(t, string(best.source), string(d.Source))
	assert.True(t, slices.ContainsFunc(d.Rows, func(r Row) bool { return strings.Contains(r.Reason, "as measured") }), "no row says so: %+v", d.Rows)
	files[file].Data = d.Source
	again, err := New(files, file)
	require.NoError(t, err)
	assert.Equal(t, string(d.Source), string(again.Source), "drafted again")
}

// Sections of one energy and other names do not look alike either: an intro and a
// verse.
func TestNeighboursOfOneEnergyDiffer(t *testing.T) {
	files := showtest.Files(t, shows.Demo())
	files["songs/new.yaml"] = &fstest.MapFile{Data: []byte(measuredHead + "  - intro: {bars: 8, energy: 2}\n  - verse: {bars: 8, energy: 2}\n  - verse: {bars: 8, energy: 2}\n  - chorus: {bars: 8, energy: 8}\n")}
	d, err := New(files, "songs/new.yaml")
	require.NoError(t, err)
	intro, verse := d.Rows[0], d.Rows[1]
	require.Equal(t, []string{"intro", "verse 1"}, []string{intro.At, verse.At})
	assert.False(t, picture{intro.Look, intro.Effects}.same(picture{verse.Look, verse.Effects}), "%+v and %+v", intro, verse)
	files["songs/new.yaml"].Data = d.Source
	m := improverOf(t, files, "songs/new.yaml")
	a, err := m.attempt(adjustments{})
	require.NoError(t, err)
	for _, f := range a.song.Findings {
		assert.NotEqual(t, plan.Alike, f.Kind, f.Reason)
	}
}

// A long section that measuring gave another light changes from that light, not from
// the one that the ladder has for its energy.
func TestForcedLightChangesInLongSections(t *testing.T) {
	const file = "songs/new.yaml"
	files := showtest.Files(t, shows.Demo())
	files[file] = &fstest.MapFile{Data: []byte(measuredHead + "  - verse: {bars: 8, energy: 3}\n  - bridge: {bars: 16, energy: 8}\n  - chorus: {bars: 8, energy: 10}\n")}
	m := improverOf(t, files, file)
	for _, forced := range []step{{8, calmer}, {8, own}, {7, calmer}, {7, full}} {
		a, err := m.attempt(adjustments{steps: map[int]step{1: forced}})
		require.NoError(t, err)
		find := func(at string) *Row {
			i := slices.IndexFunc(a.writer.rows, func(r Row) bool { return r.At == at })
			require.GreaterOrEqual(t, i, 0, "forced to %+v: nothing at %s: %+v", forced, at, a.writer.rows)
			return &a.writer.rows[i]
		}
		first, change := find("bridge"), find("bridge, bar 9")
		assert.Equal(t, first.Look, change.Look, "forced to %+v", forced)
		assert.False(t, sameSet(first.Effects, change.Effects), "forced to %+v: %v", forced, change.Effects)
	}
}
