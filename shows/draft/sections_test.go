package draft_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/draft"
)

const fourParts = `song: Ferry Bell
tempo: 112 bpm
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2}
  - verse: {bars: 8, energy: 4}
  - chorus: {bars: 8, energy: 9}  # all sing
  - outro: {bars: 4, energy: 2}
`

// linesOf are the drafted lines at places of a section, and the others.
func linesOf(src []byte, section string) (its, others []string) {
	for line := range strings.SplitSeq(string(src), "\n") {
		switch {
		case !strings.Contains(line, "# drafted: ") || !strings.Contains(line, "at: "):
		case strings.Contains(line, "at: "+section):
			its = append(its, line)
		default:
			others = append(others, line)
		}
	}
	return its, others
}

// Some sections can be drafted alone: their lines, the breath before them too, are those of
// the whole draft; the lines of others stay, or stay away.
func TestDraftOfSomeSections(t *testing.T) {
	files := hall(t, fourParts)
	whole := drafted(t, files)
	require.NotEmpty(t, whole.Strengths)

	only, err := whole.For([]int{2})
	require.NoError(t, err)
	its, others := linesOf(only, "chorus")
	assert.Empty(t, others)
	require.GreaterOrEqual(t, len(its), 2, "the breath and the section: %s", only)
	assert.Contains(t, its[0], "chorus - 1 beat")
	assert.Contains(t, its[1], "fronts: {intensity:", "levels that an earlier section would have set")
	row := rowAt(t, whole, "chorus")
	assert.Contains(t, its[1], "look: "+row.Look)
	assert.Equal(t, 2, row.Section)
	assert.Equal(t, draft.Nothing, row.Before)
	assert.Equal(t, 2, rowAt(t, whole, "chorus - 1 beat").Section)
	cleared, _ := draft.Clear(only)
	assert.Equal(t, fourParts, string(cleared))
	files["songs/new.yaml"].Data = only
	show, problems := shows.Load(files, shows.Options{})
	require.NotNil(t, show, "%v", problems)

	files["songs/new.yaml"].Data = whole.Source
	for _, r := range drafted(t, files).Rows {
		assert.Equal(t, draft.TheSame, r.Before, "%+v", r)
	}

	// Drafted whole, then one section again after a change: the others stay.
	files["songs/new.yaml"].Data = []byte(strings.Replace(string(whole.Source), "verse: {bars: 8, energy: 4}", "verse: {bars: 8, energy: 1}", 1))
	again := drafted(t, files)
	assert.Equal(t, draft.Otherwise, rowAt(t, again, "verse").Before)
	part, err := again.For([]int{1})
	require.NoError(t, err)
	_, stay := linesOf(whole.Source, "verse")
	verse, now := linesOf(part, "verse")
	assert.Equal(t, stay, now)
	assert.Len(t, verse, 1)
	assert.Contains(t, verse[0], "energy 1")

	// And its lines are taken out alone.
	without, n := draft.ClearAt(whole.Source, func(at string) bool { return strings.HasPrefix(at, "chorus") })
	its, others = linesOf(without, "chorus")
	assert.Empty(t, its)
	assert.NotEmpty(t, others)
	assert.GreaterOrEqual(t, n, 2)
	all, err := again.For([]int{0, 1, 2, 3})
	require.NoError(t, err)
	assert.Equal(t, string(again.Source), string(all), "all sections are the whole draft")
}
