package paper_test

import (
	"context"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/language"
	"tactus/shows/paper"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

const shelf = "../../testdata/shows/findings/"

// watched is a song with everything that the last column of a cue sheet names.
const watched = `song: Song
tempo: 120 bpm
meter: 4/4
sections:
  - verse: {bars: 4, energy: 2, look: low, loop: yes, spoken: yes}
  - fill: {bars: 2, energy: 4, look: mid, fade: 3 bars}
  - chorus: {bars: 4, energy: 8, look: high, tempo: 140 bpm, meter: 3/4}
  - outro: {bars: 4, energy: 3, look: low, meter: 4/4, tempo: 120 bpm}
cues:
  - {at: fill - 1 beat, look: dark, fade: 2 beats}
  - {at: "fill, bar 2", send: [{osc: /slides/show 1}]}
  - {at: "chorus, bar 3", look: spot}
  - {at: "chorus, bar 4", look: low, fade: 1/4 beat}
  - {at: "outro, bar 1 beat 2", look: glow, fade: 3 beats}
  - {at: "outro, bar 3", look: full, effects: none}
  - {at: "outro, bar 4", look: dark, effects: flicker}
  - {at: "outro, bar 4 beat 2", look: dark, effects: flare}
changes:
  - {at: "outro, bar 2 beat 3", tempo: 100 bpm}
  - {at: "outro, bar 3", meter: 3/4}
after the end: fade out
`

func watchedShow(t *testing.T) *shows.Show {
	t.Helper()
	files := showtest.Files(t, os.DirFS(shelf+"hall"), fstest.MapFS{"songs/song.yaml": {Data: []byte(watched)}})
	files["looks.yaml"].Data = []byte(strings.Replace(string(files["looks.yaml"].Data), "looks:\n", `looks:
  spot: {set: {lamp 1: {colour: main, intensity: 100 %}}}
  glow: {set: {lamps: {colour: main, intensity: 5 %}}}
  full: {fade: 1 bar, set: {lamps: {colour: main, intensity: 100 %}}}
  fade out: {fade: 3 s, set: {lamps: {colour: main, intensity: 0 %}}}
`, 1))
	files["looks.yaml"].Data = append(files["looks.yaml"].Data, "  flare: {on: lamps, wave: sine, moves: intensity, period: 1 bar, blend: highest}\n"...)
	return showtest.Load(t, files)
}

// Counted by hand. A bar of 4/4 is four beats, one of 3/4 three. The fade of 3 bars
// into the fill of 2 is too long; the cue that only sends has no fade. A pickup's
// fade of 2 beats, one before the downbeat it leads to, is over in its section. One
// lamp at full is not dark, nor is a look that an effect lifts; all at 5 % are, and
// an effect that only scales leaves them dark.
func TestWhatToWatch(t *testing.T) {
	book := paper.NewBook(watchedShow(t), paper.Options{Only: true})
	require.Len(t, book.Sheets, 1)
	var got []string
	for _, row := range book.Sheets[0].Tables[0].Rows {
		got = append(got, row.Cells[0]+" "+row.Cells[1]+": "+row.Cells[6])
	}
	assert.Equal(t, []string{
		"1 verse, 4 bars: loops until another section is entered; someone speaks: faces stay lit",
		"4 bar 4 beat 4: pickup into fill; stage all but dark for 1 beat",
		"5 fill, 2 bars: fade outlasts the section",
		"6 bar 2: sends /slides/show 1",
		"7 chorus, 4 bars: in 3/4; 140 BPM",
		"9 bar 3: ",
		"10 bar 4: ",
		"11 outro, 4 bars: in 4/4; from bar 3 in 3/4; 120 BPM; from bar 2 beat 3 100 BPM",
		"11 bar 1 beat 2: stage all but dark for 7 beats",
		"13 bar 3: ",
		"14 bar 4: stage all but dark for 1 beat",
		"14 bar 4 beat 2: ",
		"- outro end: stage all but dark to the end",
	}, got)
}

// Check and the cue sheet name the same fades as too long, and neither names a cue
// that only sends, a pickup's fade into its own section, or the look after the end.
func TestSheetAndCheckNameTheSameLongFades(t *testing.T) {
	show := watchedShow(t)
	n, err := plan.Measure(context.Background(), show, plan.Options{})
	require.NoError(t, err)
	var checked, printed []string
	for _, f := range n.Songs[0].Findings {
		if f.Kind == plan.LongFade {
			checked = append(checked, f.Place)
		}
	}
	for _, row := range paper.NewBook(show, paper.Options{Only: true}).Sheets[0].Tables[0].Rows {
		if strings.Contains(row.Cells[6], "fade outlasts the section") {
			printed = append(printed, row.Cells[1])
		}
	}
	assert.Equal(t, []string{"fill, bar 1 beat 1"}, checked)
	assert.Equal(t, []string{"fill, 2 bars"}, printed)
}

// A look that the draft proposes for the dark is one that the cue sheet calls dark:
// a single lamp at full, 5 % of twenty on average, is neither.
func TestDraftAndSheetNameTheSameLooksDark(t *testing.T) {
	for look, dark := range map[string]bool{
		"lamps: {colour: main, intensity: 5 %}":   true,
		"lamps: {colour: main, intensity: 6 %}":   false,
		"lamp 1: {colour: main, intensity: 15 %}": false,
		"lamp 1: {colour: main, intensity: 0 %}":  true,
	} {
		files := showtest.Files(t, os.DirFS(shelf+"hall"), os.DirFS(shelf+"fine"))
		files["looks.yaml"].Data = []byte(strings.Replace(string(files["looks.yaml"].Data), "  dark: {fade: snap, set: {lamps: {colour: main, intensity: 0 %}}}", "  dark: {set: {"+look+"}}", 1))
		song := "song: Song\ntempo: 120 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 4, energy: 2, look: dark}\n"
		files["songs/song.yaml"] = &fstest.MapFile{Data: []byte(song)}
		show := showtest.Load(t, files)
		sheet := paper.NewBook(show, paper.Options{Only: true}).Sheets[0].Tables[0].Rows[0].Cells[6]
		assert.Equal(t, dark, strings.Contains(sheet, "all but dark"), look)
		assert.Equal(t, dark, strings.Contains(draft.Propose(show), "breath: dark"), look)
	}
}

// The set list and the lengths of its songs come to the same as the whole show's.
func TestLengthOnPaper(t *testing.T) {
	show := showtest.Demo(t)
	want := language.Minutes(show.Length(show.Program.SetList))
	assert.Equal(t, "6:10", want)
	assert.Contains(t, paper.NewBook(show, paper.Options{}).Sheets[0].Under, want+" of music as planned")
}
