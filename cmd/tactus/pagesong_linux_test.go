package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bareSong is a song with sections, and light of a person's own in one of them.
const bareSong = `song: Ferry Bell   # for Ann
tempo: 112 bpm
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2}
  - verse: {bars: 8, energy: 4, look: hearth}   # as she asked
  - chorus: {bars: 8, energy: 9}
  - outro: {bars: 4, energy: 2}
`

// hallWith is a copy of the demo with a song instead of the calm one.
func hallWith(t *testing.T, song string) string {
	t.Helper()
	dir := hallCopy(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", "lanterns.yaml"), []byte(song), 0o644))
	return dir
}

// savedSong presses Save and returns the song's file.
func (b *tab) savedSong(dir string) string {
	b.t.Helper()
	b.click("#compose-save")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	src, err := os.ReadFile(filepath.Join(dir, "songs", "lanterns.yaml"))
	require.NoError(b.t, err)
	return string(src)
}

// A song is drafted from the page: looked at in words, on the score and as lines; taken for
// one section, then whole; undone as one. Lines of a person stay.
func TestPageDraftsASong(t *testing.T) {
	needBrowser(t)
	dir := hallWith(t, bareSong)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.composes("songs/lanterns.yaml")
	b.touch("#draft-song", 1)
	b.until(`!document.getElementById("draft-shown").hidden`)
	assert.Contains(t, b.says("draft-says"), "Nothing is changed yet.")
	assert.Contains(t, b.says("draft-says"), "1 section has light of your own, which stays.")
	assert.Contains(t, b.says("draft-rows"), "verse: stays as you have it: look hearth")
	assert.Contains(t, b.says("draft-rows"), "New at chorus - 1 beat: look dark")
	assert.Contains(t, b.says("draft-lines"), "+  - {at: chorus, look:")
	rings := 0
	b.js(`document.querySelectorAll("#compose-score .ghost circle").length`, &rings)
	assert.GreaterOrEqual(t, rings, 4, "rings on the score")
	assert.Equal(t, bareSong, readSong(t, dir, "lanterns"))
	assert.Contains(t, b.says("compose-state"), "Everything is saved")
	b.savePicture("song-draft", screens()[0])

	b.js(`[...document.querySelectorAll("#draft-rows input")].forEach((e, i) => { if (!e.disabled && i !== 2) e.click(); })`, nil)
	b.until(`document.getElementById("draft-take").textContent === "Take the draft of chorus" && !document.getElementById("draft-lines").textContent.includes("at: intro")`)
	b.touch("#draft-take", 1)
	b.until(`document.querySelectorAll("#compose-score .cue.drafted").length >= 2 && document.getElementById("draft-shown").hidden`)
	part := b.savedSong(dir)
	assert.NotContains(t, part, "at: intro")
	assert.Contains(t, part, "  - {at: chorus, look: ")
	assert.True(t, strings.HasPrefix(part, bareSong), "all lines of the person stay: %s", part)

	b.touch("#draft-song", 1)
	b.until(`!document.getElementById("draft-shown").hidden && document.getElementById("draft-take").textContent === "Take the whole draft"`)
	b.touch("#draft-take", 1)
	b.until(`document.getElementById("compose-last").textContent === "Last change: draft of songs/lanterns.yaml"`)
	b.until(`document.querySelectorAll("#compose-score .cue.drafted").length >= 4`)
	b.click("#compose-undo")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	b.click("#compose-redo")
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved")`)
	whole := b.savedSong(dir)
	assert.True(t, strings.HasPrefix(whole, bareSong), whole)
	assert.Contains(t, whole, "at: intro")
	b.js(`document.getElementById("draft-clear").scrollIntoView({block: "center"})`, nil) // not under the bar
	b.touch("#draft-clear", 1)
	b.until(`document.getElementById("draft-clear").textContent === "Nothing is drafted"`)
	assert.Equal(t, bareSong, b.savedSong(dir))
}

// Breaths of dark, a rise and speech come and go with one press each, and a section that is
// added says which notes of the DAW it moves.
func TestPageMomentsOfASection(t *testing.T) {
	needBrowser(t)
	dir := hallWith(t, bareSong)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.composes("songs/lanterns.yaml")
	assert.True(t, b.is("#part-breath", "disabled"), "nothing is before the song")
	b.js(`(() => { const s = document.getElementById("part-choose"); s.selectedIndex = 2; s.dispatchEvent(new Event("change")); })()`, nil)
	for _, id := range []string{"breath", "breath-end", "rise", "spoken"} {
		b.click("#part-" + id)
		b.until(`document.getElementById("part-` + id + `").getAttribute("aria-pressed") === "true"`)
	}
	src := b.savedSong(dir)
	for _, want := range []string{"  - {at: chorus - 1 beat, look: dark, fade: 1/2 beat}\n", "  - {at: outro - 1 beat, look: dark, fade: 1/2 beat}\n", "chorus: {bars: 8, energy: 9, build: rise, spoken: yes}"} {
		assert.Contains(t, src, want)
	}
	for _, id := range []string{"breath", "breath-end", "rise", "spoken"} {
		b.click("#part-" + id)
		b.until(`document.getElementById("part-` + id + `").getAttribute("aria-pressed") === "false"`)
	}
	assert.Equal(t, bareSong, strings.TrimRight(b.savedSong(dir), "\n")+"\n", "an empty line may stay")

	assert.True(t, b.is("#compose-notes", "hidden"))
	b.click("#part-add")
	b.until(`!document.getElementById("compose-notes").hidden`)
	assert.Equal(t, "The DAW's notes of 1 section of Ferry Bell change: outro from 39 to 40.", b.says("compose-notes"))
	b.click("#compose-undo")
	b.until(`document.getElementById("compose-notes").hidden`)

	b.click(`#song-roles [data-role="accent"]`)
	b.click(`#song-swatches .paint:nth-child(2)`)
	b.until(`document.querySelector("#song-swatches .paint:nth-child(2)").getAttribute("aria-pressed") === "true"`)
	assert.Contains(t, b.savedSong(dir), "palette: {accent: \"#")
	b.click("#song-shared")
	b.until(`document.getElementById("song-shared").disabled`)
	assert.Equal(t, bareSong, strings.TrimRight(b.savedSong(dir), "\n")+"\n", "an empty line may stay")
}

// is returns a property of an element that is true or false.
func (b *tab) is(selector, property string) (is bool) {
	b.t.Helper()
	b.js(`document.querySelector("`+selector+`").`+property, &is)
	return is
}

// Cues are put on the score by a second tap, a press that is held, a button and keys; their
// light is chosen from pictures; Delete takes one out.
func TestPageCuesOnTheScore(t *testing.T) {
	needBrowser(t)
	dir := hallWith(t, bareSong)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.player("stop", "")
	b.composes("songs/lanterns.yaml")
	b.until(`document.getElementById("cue-here").textContent === "Cue at intro, bar 3"`)
	// Two taps in the middle of the third section.
	at := []float64{}
	b.js(`(() => { const e = document.querySelectorAll("#compose-score .body")[2]; e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.x + r.width / 2 + 1, r.bottom - 30]; })()`, &at)
	for n := 1; n <= 2; n++ {
		for _, kind := range []input.DispatchMouseEventType{input.DispatchMouseEventTypeMousePressed, input.DispatchMouseEventTypeMouseReleased} {
			_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: at[0], Y: at[1], Button: input.MouseButtonLeft, ClickCount: int64(n)})
			require.NoError(t, err)
		}
	}
	b.until(`document.querySelectorAll("#compose-score .cue").length === 1 && !document.getElementById("cue-set").hidden`)
	b.click(`#cue-looks [data-name="full sail"]`)
	b.until(`document.querySelector('#cue-looks [data-name="full sail"]').getAttribute("aria-pressed") === "true"`)
	b.click(`#cue-effects [data-name="slow breathe"]`)
	b.until(`document.querySelector('#cue-effects [data-name="slow breathe"]').getAttribute("aria-pressed") === "true"`)
	b.js(`(() => { const s = document.getElementById("cue-fade"); s.value = "1 bar"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.until(`document.getElementById("compose-last").textContent.includes("fade of cue")`)
	b.click("#cue-bar-more")
	b.until(`document.querySelector("#compose-score .cue").getAttribute("aria-valuetext") === "chorus, bar 6"`)
	b.click("#cue-beat-more")
	b.until(`document.querySelector("#compose-score .cue").getAttribute("aria-valuetext") === "chorus, bar 6 beat 2"`)
	src := b.savedSong(dir)
	assert.Regexp(t, `(?m)^  - \{at: "?chorus, bar 6 beat 2"?, look: full sail, (fade: 1 bar, )?effects: \[.*slow breathe.*\](, fade: 1 bar)?\}$`, src)
	assert.True(t, strings.HasPrefix(src, bareSong), src)

	// A press that is held.
	_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMousePressed, X: at[0], Y: at[1], Button: input.MouseButtonLeft, ClickCount: 1})
	require.NoError(t, err)
	b.until(`document.querySelectorAll("#compose-score .cue").length === 2`)
	_, err = chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMouseReleased, X: at[0], Y: at[1], Button: input.MouseButtonLeft, ClickCount: 1})
	require.NoError(t, err)

	// By keys: the button, and Delete on a note.
	b.js(`(() => { const s = document.getElementById("part-choose"); s.selectedIndex = 3; s.dispatchEvent(new Event("change")); document.getElementById("cue-here").focus(); })()`, nil)
	b.do(chromedp.KeyEvent("\r"))
	b.until(`document.querySelectorAll("#compose-score .cue").length === 3`)
	b.js(`document.querySelectorAll("#compose-score .cue")[2].focus()`, nil)
	b.until(`document.getElementById("cue-choose").selectedOptions[0].textContent === "outro, bar 3"`)
	for n := 3; n > 0; n-- {
		b.js(`document.querySelectorAll("#compose-score .cue")[0].focus()`, nil)
		b.do(chromedp.KeyEvent("\u007f"))
		b.until(`document.querySelectorAll("#compose-score .cue").length === ` + string(rune('0'+n-1)))
	}
	assert.Equal(t, bareSong, strings.TrimRight(b.savedSong(dir), "\n")+"\n", "an empty line may stay")
}

// What check finds is marked on the score; one press takes a remedy over, and it is gone;
// or it is accepted with a reason.
func TestPageTakesRemedies(t *testing.T) {
	needBrowser(t)
	song := strings.Replace(bareSong, "intro: {bars: 4, energy: 2}", "intro: {bars: 4, energy: 2, look: embers, effects: [sparkle, sway, climb, colour swing]}", 1)
	dir := hallWith(t, song)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.composes("songs/lanterns.yaml")
	b.until(`document.querySelectorAll("#compose-score .found").length > 0 && document.querySelector("#part-found .big:not([hidden])")`)
	before := 0
	b.js(`document.querySelectorAll("#part-found > li").length`, &before)
	b.js(`document.querySelector("#compose-score .found").focus()`, nil)
	b.do(chromedp.KeyEvent("\r"))
	b.until(`document.activeElement.closest("#part-found") !== null`)
	b.savePicture("song-found", screens()[0])
	b.until(`document.querySelector("#part-found .big:not([hidden])") !== null`)
	b.click(`#part-found .big:not([hidden])`)
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved")`)
	b.until(`document.querySelectorAll("#part-found > li").length < ` + string(rune('0'+before)))
	b.click("#compose-undo")
	b.until(`document.querySelectorAll("#part-found > li").length === ` + string(rune('0'+before)))
	b.js(`(() => { const li = document.querySelector("#part-found > li"); [...li.querySelectorAll("button")].find((e) => e.textContent.startsWith("It is right")).click(); li.querySelector("input").value = "the band: \"stops\""; [...li.querySelectorAll("button")].find((e) => e.textContent === "Accept it").click(); })()`, nil)
	b.until(`document.querySelectorAll("#part-found > li").length < ` + string(rune('0'+before)))
	assert.Contains(t, b.savedSong(dir), "accepted: [{finding: ")
}

// The room fits every screen, and an independent checker finds nothing, with a draft and
// with findings shown.
func TestPageSongFits(t *testing.T) {
	needBrowser(t)
	dir := hallWith(t, strings.Replace(bareSong, "outro: {bars: 4, energy: 2}", "outro: {bars: 4, energy: 2, look: embers, effects: [sparkle, sway, climb, colour swing]}\ncues:\n  - {at: \"verse, bar 5\", look: tide}", 1))
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.composes("songs/lanterns.yaml")
	b.until(`document.querySelector("#part-found .big:not([hidden])")`)
	b.js(`document.querySelector("#compose-score .cue").focus()`, nil)
	b.click("#draft-song")
	b.until(`!document.getElementById("draft-shown").hidden`)
	for i, s := range screens() {
		b.fits(s, i%4 == 0)
		for _, part := range []string{"compose-score", "draft", "part-moments-title", "cue-part", "song-found", "song-colours"} {
			b.js(`document.getElementById("`+part+`").scrollIntoView({block: "start"})`, nil)
			b.savePicture("song-"+part, s)
		}
	}
}

// In a drafted section the look that is up is the pressed one, and another is chosen by its
// picture: it takes the place of the drafted cue, and one undo brings that back.
func TestPageChoosesALookInADraftedSection(t *testing.T) {
	needBrowser(t)
	dir := hallWith(t, strings.Replace(bareSong, ", look: hearth", "", 1))
	command(t, "tactus", "draft", dir, "lanterns")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.composes("songs/lanterns.yaml")
	b.js(`(() => { const s = document.getElementById("part-choose"); s.selectedIndex = 2; s.dispatchEvent(new Event("change")); })()`, nil)
	pressed := func(look string) string {
		return `document.querySelector('#part-looks [data-name="` + look + `"]')?.getAttribute("aria-pressed") === "true"`
	}
	b.until(pressed("full sail"))
	b.click(`#part-looks [data-name="hearth"]`)
	b.until(pressed("hearth"))
	song := b.savedSong(dir)
	assert.Contains(t, song, "  - chorus: {bars: 8, energy: 9, look: hearth, effects: [climb, sparkle], fade: 1/2 beat}\n")
	assert.NotContains(t, song, "at: chorus, ")
	assert.Contains(t, song, "at: chorus - 1 beat, ")
	b.click("#compose-undo")
	b.until(pressed("full sail"))
	assert.Contains(t, b.savedSong(dir), "at: chorus, look: full sail")
}
