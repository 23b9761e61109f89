package draft

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/showtest"
)

func oneOf(t *rapid.T, words ...string) string { return rapid.SampledFrom(words).Draw(t, "word") }

// aSong is a song as people write them, with some light in it already.
func aSong(t *rapid.T) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\nsong: New\ntempo: %d bpm\nmeter: %s\n%ssections:\n", oneOf(t, "A song.", "- {at: x}", "cues:"),
		rapid.IntRange(40, 240).Draw(t, "tempo"), oneOf(t, "4/4", "3/4", "6/8", "2/4", "7/8", "1/4"), oneOf(t, "", "\n", "# Parts.\n"))
	var names []string
	indent := oneOf(t, "", "  ", "    ")
	for range rapid.IntRange(1, 12).Draw(t, "sections") {
		name := oneOf(t, "verse", "chorus", "bridge", "breakdown", "tune a", "don't stop", "no")
		names = append(names, name)
		extra := oneOf(t, "", "", "", ", spoken: yes", ", look: mid", ", effects: tint, fade: 1 beat", ", set: {front: {intensity: 60 %}}", ", loop: yes, climb: 1")
		fmt.Fprintf(&b, "%s- %s: {bars: %d, energy: %d%s}%s\n", indent, language.Quote(name), rapid.IntRange(1, 40).Draw(t, "bars"),
			rapid.IntRange(0, 10).Draw(t, "energy"), extra, oneOf(t, "", "", "  # hm", "\n", "\n# Next."))
	}
	if rapid.Bool().Draw(t, "cues") {
		fmt.Fprintf(&b, "\ncues:%s\n", oneOf(t, "", "  # mine", "\n  # The first."))
		for i, name := range names {
			if slices.Index(names, name) != i || !rapid.Bool().Draw(t, "cue") && i > 0 {
				continue
			}
			if slices.Index(names[i+1:], name) >= 0 {
				name += " 1"
			}
			at := language.Quote(name + oneOf(t, "", ", bar 1 beat 1"))
			b.WriteString(oneOf(t,
				fmt.Sprintf("%s- {at: %s, look: high, fade: 1 beat}\n", indent, at),
				fmt.Sprintf("%s- at: %s\n%s  effects: [slow]\n", indent, at, indent),
				fmt.Sprintf("%s# mine\n%s-\n%s  at: %s\n%s  look: low\n", indent, indent, indent, at, indent),
				fmt.Sprintf("%s- {at: %s,\n%s   look: low\n%s  }\n\n", indent, at, indent, indent)))
		}
	}
	b.WriteString(oneOf(t, "", "", "after the end: low\n", "# The end.\n", "\n\n"))
	s := b.String()
	if rapid.Bool().Draw(t, "no end") {
		s = strings.TrimRight(s, "\n")
	}
	if rapid.Bool().Draw(t, "cr") {
		s = strings.ReplaceAll(s, "\n", "\r\n")
	}
	return s
}

// anyDraft drafts a song of the yard, unless it is none: names come twice.
func anyDraft(t *rapid.T, src string) *Draft {
	d, err := draftOf(showtest.Yard(src), "songs/new.yaml", 0)
	var problems language.Problems
	if errors.As(err, &problems) {
		t.Skip("not a song")
	}
	require.NoError(t, err, src)
	return d
}

// theirs is a text without the lines that are the draft's.
func theirs(src string) string {
	cleared, _ := Clear([]byte(src))
	return string(cleared)
}

func TestDraftsOfAnySong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := aSong(t)
		d := anyDraft(t, src)
		tries := 0
		if rapid.IntRange(0, 19).Draw(t, "measured") == 0 { // measuring takes most of the time
			tries = 2
			var err error
			d, err = draftOf(showtest.Yard(src), "songs/new.yaml", tries)
			require.NoError(t, err, src)
		}
		once := string(d.Source)
		files := showtest.Yard(once)
		_, problems := shows.Load(files, shows.Options{})
		require.Empty(t, problems, "faults in the draft\n%s", once)
		require.Equal(t, src, theirs(once), "cleared")
		again, err := draftOf(files, "songs/new.yaml", tries)
		require.NoError(t, err, "drafted again\n%s", once)
		require.Equal(t, once, string(again.Source), "drafted again it is\nfirst it was")
		inOrder(t, src, once)
		checkPlan(t, showtest.Yard(src), d)
	})
}

// inOrder: every line that a person wrote is there, byte for byte and in order.
func inOrder(t *rapid.T, src, out string) {
	rest := strings.Split(out, "\n")
	for _, line := range strings.Split(src, "\n") {
		i := slices.Index(rest, line)
		require.GreaterOrEqual(t, i, 0, "%q is gone from\n%s", line, out)
		rest = rest[i+1:]
	}
}

// checkPlan: the top of the ladder is for the peak, and neighbours of different
// energies do not look alike, as long as the ladder has anything between.
func checkPlan(t *rapid.T, files fstest.MapFS, d *Draft) {
	show, _ := shows.Load(files, shows.Options{})
	s := newSong(show, 0)
	for i := range s.parts {
		p := &s.parts[i]
		k := slices.IndexFunc(d.Rows, func(r Row) bool { return r.At == p.name })
		require.GreaterOrEqual(t, k, 0, "section %q, written by a person, the row", p.name)
		require.Equal(t, p.theirs, d.Rows[k].Theirs, "section %q, written by a person, the row", p.name)
		r := d.Rows[k]
		if p.theirs || p.spoken || p.breakdown {
			continue
		}
		if r.Look == "high" {
			require.GreaterOrEqual(t, p.energy, s.peak, "%s of energy %d has the top, the peak", p.name, p.energy)
		}
		for _, name := range r.Effects {
			hz := turns(s.effect(name), s.meter(i), s.tempo(i))
			require.LessOrEqual(t, hz, calm(p.energy), "%s of energy %d has %s at %.2f Hz", p.name, p.energy, name, hz)
		}
	}
}

// However a drafted line is edited, the edit is there after the next draft, and
// the rest follows the energies.
func TestEditsStay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyDraft(t, aSong(t))
		lines := strings.Split(string(d.Source), "\n")
		var mine []int
		for i, m := range read(d.Source).mine {
			if m {
				mine = append(mine, i)
			}
		}
		if len(mine) == 0 {
			t.Skip("nothing drafted")
		}
		k := rapid.SampledFrom(mine).Draw(t, "line")
		lines[k] = edited(t, lines[k])
		now := strings.Join(lines, "\n")
		if rapid.Bool().Draw(t, "energies too") {
			now = strings.Replace(now, "energy: 3", "energy: 9", 1)
		}
		if lines[k] == strings.Split(string(d.Source), "\n")[k] {
			t.Skip("no edit")
		}
		again := anyDraft(t, now)
		require.Contains(t, strings.Split(string(again.Source), "\n"), lines[k], "the edit is gone from\n%s", again.Source)
		third, err := draftOf(showtest.Yard(string(again.Source)), "songs/new.yaml", 0)
		require.NoError(t, err, "drafted again it is\n%s", again.Source)
		require.Equal(t, string(again.Source), string(third.Source), "drafted again it is\n%s", again.Source)
	})
}

// edited changes a drafted line as people do, in its light, its place, its
// reason or its sum.
func edited(t *rapid.T, line string) string {
	line, cr := strings.CutSuffix(line, "\r")
	end := ""
	if cr {
		end = "\r"
	}
	swap := func(old, now string) string { return strings.Replace(line, old, now, 1) }
	return rapid.SampledFrom([]string{
		swap("look: low", "look: mid"), swap("look: mid", "look: high"), swap("look: ", "look:  "),
		swap("fade: ", "fade: 1 beat #"), swap("1 bar", "2 bars"), swap("2 beats", "3 beats"), swap("effects: slow", "effects: none"),
		swap("}  #", "} #"), swap("drafted: ", "drafted: good, "), swap("energy", "Energy"), line + " ", swap(")", ""), swap("  # drafted", "  # was drafted"),
		swap(", bar 9", ", bar 10"), swap("{at", "{ at"), strings.Split(line, "  # drafted")[0], swap("- 1 beat", "- 2 beats"),
		swap("- {", "# - {"), swap("- {", "#- {"),
	}).Draw(t, "edit") + end
}

// draftOf drafts a song, and tries other lights up to so many times.
func draftOf(files fs.FS, file string, tries int) (*Draft, error) {
	sources, unread, err := readWith(files, file)
	if err != nil {
		return nil, err
	}
	return newDraft(sources, unread, file, tries)
}
