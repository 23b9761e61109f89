package draft_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/language"
	"tactus/shows/showtest"
)

// yardDraft drafts a song of the yard from "name bars energy" and more keys.
func yardDraft(t *testing.T, head string, sections ...string) *draft.Draft {
	t.Helper()
	return drafted(t, showtest.Yard(songOf(head, sections...)))
}

func songOf(head string, sections ...string) string {
	var b strings.Builder
	b.WriteString("song: New\n" + head + "\nsections:\n")
	for _, s := range sections {
		f := strings.SplitN(s, " ", 4)
		extra := ""
		if len(f) == 4 {
			extra = ", " + f[3]
		}
		fmt.Fprintf(&b, "  - %s: {bars: %s, energy: %s%s}\n", f[0], f[1], f[2], extra)
	}
	return b.String()
}

const plainHead = "tempo: 120 bpm\nmeter: 4/4\ncharacter: plain"

func TestFades(t *testing.T) {
	for _, c := range []struct {
		name     string
		head     string
		sections []string
		want     []string // of each section
	}{
		{"calm in bars", plainHead, []string{"a 8 1", "b 8 2", "c 8 1"}, []string{"2 bars", "2 bars", "2 bars"}},
		{"lifts in beats", plainHead, []string{"a 8 2", "b 8 4", "c 8 6", "d 8 9"}, []string{"2 bars", "2 beats", "1 beat", "1/2 beat"}},
		{"falls", plainHead, []string{"a 8 9", "b 8 8", "c 8 4", "d 8 0"}, []string{"1 beat", "2 beats", "2 beats", "2 beats"}},
		{"at most half a section, a quarter of the first", plainHead, []string{"a 2 1", "b 1 1", "c 3 1"}, []string{"2 beats", "2 beats", "1 bar"}},
		{"a bar of one beat", "tempo: 120 bpm\nmeter: 1/4", []string{"a 1 1", "b 2 1"}, []string{"1/2 beat", "1 bar"}},
		{"at most ten seconds: 2 bars at 40 are 12", "tempo: 40 bpm\nmeter: 4/4", []string{"a 8 1", "b 8 1"}, []string{"1 bar", "1 bar"}},
		{"talk and breakdown", plainHead, []string{"a 8 8", "talk 8 1 spoken: yes", "c 8 8", "breakdown 8 2"}, []string{"1 beat", "2 beats", "1/2 beat", "1 beat"}},
	} {
		d := yardDraft(t, c.head, c.sections...)
		for i, s := range c.sections {
			name, _, _ := strings.Cut(s, " ")
			assert.Equal(t, c.want[i], rowAt(t, d, name).Fade, "%s: %s comes up", c.name, name)
		}
	}
}

func TestBreaths(t *testing.T) {
	for _, c := range []struct {
		name     string
		sections []string
		want     bool
	}{
		{"a lift of three", []string{"a 8 3", "b 8 6"}, true},
		{"a lift of two", []string{"a 8 4", "b 8 6"}, false},
		{"a large lift to something calm", []string{"a 8 1", "b 8 5"}, false},
		{"someone speaks before it", []string{"a 8 3 spoken: yes", "b 8 8"}, false},
		{"someone speaks in it", []string{"a 8 3", "b 8 8 spoken: yes"}, false},
		{"a single bar before it", []string{"a 1 3", "b 8 8"}, false},
		{"a person wrote it", []string{"a 8 3", "b 8 8 look: high"}, false},
	} {
		d := yardDraft(t, plainHead, c.sections...)
		assert.Equal(t, c.want, hasRow(d, "b - 1 beat"), "%s: a breath", c.name)
	}
	d := drafted(t, showtest.Yard(songOf(plainHead, "a 8 3", "b 8 8")+"cues:\n  - {at: b - 2 beats, look: low}\n"))
	assert.False(t, hasRow(d, "b - 1 beat"), "a breath beside a person's own")
}

func TestLongSectionsChange(t *testing.T) {
	for bars, want := range map[int][]int{12: {7}, 14: {9}, 16: {9}, 17: {9}, 20: {9, 17}, 24: {9, 17}, 40: {9, 17, 25, 33}} {
		var got []int
		for _, r := range yardDraft(t, plainHead, fmt.Sprintf("a %d 1", bars)).Rows {
			if bar, ok := strings.CutPrefix(r.At, "a, bar "); ok {
				n, err := strconv.Atoi(bar)
				require.NoError(t, err)
				got = append(got, n)
			}
		}
		assert.Equal(t, want, got, "%d bars change", bars)
	}
	d := yardDraft(t, plainHead, "a 16 1", "b 11 1", "c 16 1 spoken: yes", "d 8 8")
	for at, want := range map[string]bool{"a, bar 9": true, "b, bar 6": false, "b, bar 7": false, "c, bar 9": false, "d, bar 5": false} {
		assert.Equal(t, want, hasRow(d, at), "a change at %q", at)
	}
	d = drafted(t, showtest.Yard(songOf(plainHead, "a 16 1")+"cues:\n  - {at: \"a, bar 5\", look: mid}\n"))
	assert.False(t, hasRow(d, "a, bar 9"), "a change where a person has written one")
}

// Energies that share a rung are told apart, and the top waits for the peak.
func TestClimb(t *testing.T) {
	d, err := draft.Unmeasured(showtest.Yard(songOf(plainHead, "verse 8 3", "chorus 8 6", "verse 8 4", "chorus 8 7", "bridge 8 3", "chorus 8 8", "chorus 8 8")), "songs/new.yaml")
	require.NoError(t, err)
	looks := map[string]string{}
	for _, r := range d.Rows {
		if r.In != "" {
			continue
		}
		looks[r.At] = fmt.Sprint(r.Look, " ", r.Effects)
	}
	for at, want := range map[string]string{
		"verse 1":  "mid [slow]",
		"verse 2":  "mid [slow]",      // not that of the chorus before it
		"bridge":   "mid [tint]",      // the second rung of energy 3
		"chorus 2": "mid [slow tint]", // quick is too fast for it
		"chorus 4": "high [slow]",
	} {
		assert.Equal(t, want, looks[at], at)
	}
	for _, r := range d.Rows {
		if r.Look == "high" && r.Energy >= 0 {
			assert.GreaterOrEqual(t, r.Energy, 8, "%s of energy %d has the top", r.At, r.Energy)
		}
	}
}

// Faces get their light with the first cue and again after a talk.
func TestBeginAndTalk(t *testing.T) {
	d := yardDraft(t, plainHead, "a 8 3", "talk 8 1 spoken: yes", "b 8 3", "c 8 4")
	src := string(d.Source)
	for at, want := range map[string]string{"a": "50 %", "talk": "70 %", "b": "50 %"} {
		assert.Contains(t, src, "{at: "+at+", look", "%s does not set the front to %s", at, want)
		assert.Contains(t, lineOf(src, "{at: "+at+","), "set: {front: {intensity: "+want+"}", "%s does not set the front to %s", at, want)
	}
	assert.NotContains(t, lineOf(src, "{at: c,"), "front:", "levels are said again")
}

func lineOf(src, part string) string {
	for line := range strings.Lines(src) {
		if strings.Contains(line, part) {
			return line
		}
	}
	return ""
}

func TestDeclinedLinesStayOut(t *testing.T) {
	d := yardDraft(t, plainHead, "a 8 3", "b 8 8")
	src := strings.Replace(string(d.Source), "  - {at: b - 1 beat", "  # - {at: b - 1 beat", 1)
	d = drafted(t, showtest.Yard(src))
	assert.Equal(t, src, string(d.Source), "commented out")
	assert.False(t, hasRow(d, "b - 1 beat"), "commented out")
}

func TestFollowsEnergies(t *testing.T) {
	d := yardDraft(t, plainHead, "a 8 3", "b 8 6")
	src := strings.Replace(string(d.Source), "energy: 6}", "energy: 4}", 1)
	out := string(drafted(t, showtest.Yard(src)).Source)
	assert.NotContains(t, out, "b - 1 beat", "with less energy it is")
	var places []string
	for _, r := range drafted(t, showtest.Yard(src)).Rows {
		places = append(places, r.At)
	}
	assert.Equal(t, []string{"a", "b - 1 beat", "b", "b end"}, places, "lines that go too are in the song's order")
	assert.Contains(t, lineOf(out, "{at: b,"), "energy 4, up 1", "with less energy it is")
	fresh := string(yardDraft(t, plainHead, "a 8 3", "b 8 4").Source)
	assert.Equal(t, fresh, out, "changed\nfrom nothing")
}

func TestWhatCannotBeDrafted(t *testing.T) {
	const file = "songs/new.yaml"
	files := showtest.Yard(songOf(plainHead, "a 8 3") + "cues: [{at: a, look: low}]\n")
	_, err := draft.New(files, file)
	assert.ErrorIs(t, err, draft.ErrFlow, "cues in brackets")
	files = showtest.Yard(songOf(plainHead, "a 8 3"))
	looks := string(files["looks.yaml"].Data)
	files["looks.yaml"].Data = []byte(looks[:strings.Index(looks, "ladder:")])
	_, err = draft.New(files, file)
	assert.ErrorIs(t, err, draft.ErrNoLadder, "no ladder")
	assert.ErrorContains(t, err, "    - {energy: 1, look: low}\n    - {energy: 5, look: mid}\n    - {energy: 9, look: high}\n  begin: {front: {intensity: 50 %}}\n  breath: \"off\"\n", "no ladder")
	// The ladder that is proposed loads.
	_, proposed, _ := strings.Cut(err.Error(), "\n\n")
	files["looks.yaml"].Data = append(files["looks.yaml"].Data, proposed...)
	assert.Contains(t, lineOf(string(drafted(t, files).Source), "{at: a,"), "set: {front: {intensity: 50 %}", "the draft from it")

	// Of the demo's rig: faces lit, house lights nearly out, and nothing for the hazer.
	files = showtest.Files(t, shows.Demo())
	looks = string(files["looks.yaml"].Data)
	files["looks.yaml"].Data = []byte(looks[:strings.Index(looks, "ladder:")])
	_, err = draft.New(files, "songs/lanterns.yaml")
	assert.ErrorContains(t, err, "\n  begin: {fronts: {intensity: 50 %}, house lights: {intensity: 10 %}}\n")

	// A fault below drafted lines is told with its line in the file.
	d := yardDraft(t, plainHead, "a 8 3")
	_, err = draft.New(showtest.Yard(string(d.Source)+"after the end: nothing\n"), file)
	var problems language.Problems
	assert.ErrorAs(t, err, &problems, "a fault")
	assert.Equal(t, strings.Count(string(d.Source), "\n")+1, problems[0].Line, "a fault")
	files = showtest.Yard("{song: New, tempo: 120 bpm, meter: 4/4, sections: [{a: {bars: 8, energy: 3}}]}\n")
	_, err = draft.New(files, file)
	assert.ErrorContains(t, err, "no room for lines", "a file in braces")
	_, err = draft.New(files, "songs/none.yaml")
	assert.Error(t, err, "a file that is not there")
}

// A person's edit of a section's line leaves the drafted lines beside it. Lines that
// go are in the table.
func TestAnEditLeavesItsNeighbours(t *testing.T) {
	first := yardDraft(t, plainHead, "a 8 3", "b 16 8", "c 8 3")
	src := string(first.Source)
	for _, at := range []string{"b - 1 beat", "b, bar 9"} {
		require.True(t, hasRow(first, at), "nothing to keep at %s: %v", at, first.Rows)
	}
	edited := strings.Replace(src, "{at: b, look: high", "{at: b, look: mid", 1)
	require.NotEqual(t, src, edited)
	d := drafted(t, showtest.Yard(edited))
	assert.Equal(t, lineOf(src, "{at: b - 1 beat"), lineOf(string(d.Source), "{at: b - 1 beat"))
	assert.NotEmpty(t, lineOf(string(d.Source), `{at: "b, bar 9"`))
	assert.True(t, rowAt(t, d, "b").Theirs)
	for _, r := range d.Rows {
		assert.False(t, r.Removed, "%+v", r)
	}
	assert.Equal(t, string(d.Source), string(drafted(t, showtest.Yard(string(d.Source))).Source), "drafted again")

	// Of two changes inside a section, the one that nobody edited stays.
	src = string(yardDraft(t, plainHead, "a 8 3", "b 24 8", "c 8 3").Source)
	ninth := lineOf(src, `{at: "b, bar 9"`)
	for _, at := range []string{"b, bar 9", "b, bar 17"} {
		line := lineOf(src, `{at: "`+at+`"`)
		require.NotEmpty(t, line, at)
		edited := strings.Replace(src, line, strings.Replace(line, "fade: 2 beats", "fade: 3 beats", 1), 1)
		require.NotEqual(t, src, edited)
		d = drafted(t, showtest.Yard(edited))
		assert.Equal(t, edited, string(d.Source), "the fade at %s edited", at)
		for _, r := range d.Rows {
			assert.False(t, r.Removed, "the fade at %s edited: %+v", at, r)
		}
	}
	// Nor is a change drafted where an earlier draft had none.
	edited = strings.Replace(src, ninth, "  - {at: \"b, bar 5\", look: mid}\n", 1)
	require.NotEqual(t, src, edited)
	d = drafted(t, showtest.Yard(edited))
	assert.False(t, hasRow(d, "b, bar 9"), "a change that a person took out")
	assert.True(t, hasRow(d, "b, bar 17"), "beside it")

	src = string(first.Source)
	for _, end := range []string{"\n", "\r\n"} {
		quiet := strings.ReplaceAll(strings.Replace(src, "energy: 8}", "energy: 4}", 1), "\n", end)
		quiet = strings.Replace(quiet, "- b:", "- d:", 1)
		d = drafted(t, showtest.Yard(quiet))
		assert.Equal(t, draft.Row{At: "b - 1 beat", Section: -1, Beat: rowAt(t, d, "b - 1 beat").Beat, Before: draft.Otherwise, Energy: -1, Reason: "taken out; it was drafted for: dark before a lift of 5", Removed: true}, rowAt(t, d, "b - 1 beat"))
		assert.True(t, rowAt(t, d, "b").Removed, "of a section that has another name")
		var places []string
		for _, r := range d.Rows {
			places = append(places, r.At)
		}
		assert.Equal(t, []string{"a", "d", "c", "c end", "b - 1 beat", "b", "b", "b, bar 9"}, places, "places that the song no longer has come last")
		assert.NotContains(t, string(d.Source), "at: b", "what the table says is gone is there")
	}
}
