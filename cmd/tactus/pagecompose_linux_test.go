package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fits shows the page on a screen: nothing is clipped, and if accessible is asked, axe finds
// nothing.
func (b *tab) fits(s screen, accessible bool) {
	b.t.Helper()
	b.setScreen(s)
	b.pictures()
	faults := []string{}
	b.js(clipped, &faults)
	assert.Empty(b.t, faults, s.name)
	if !accessible {
		return
	}
	b.uncover()
	for _, fault := range b.axe() {
		assert.Fail(b.t, fault, s.name)
	}
}

// hallCopy is a copy of the demo in a folder.
func hallCopy(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", dir)
	return dir
}

// readSong returns the text of a song's file.
func readSong(t *testing.T, dir, name string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(dir, "songs", name+".yaml"))
	require.NoError(t, err)
	return string(src)
}

// composes opens the view in which a song is changed, and chooses the song.
func (b *tab) composes(file string) {
	b.t.Helper()
	b.js(`location.hash = "#compose"`, nil)
	b.until(`document.querySelectorAll("#compose-score .body").length > 0`)
	b.js(fmt.Sprintf(`(() => { const s = document.getElementById("compose-song"); s.value = %q; s.dispatchEvent(new Event("change")); })()`, file), nil)
	b.until(fmt.Sprintf(`document.getElementById("compose-song").value === %q`, file))
}

// drag drags an element with a mouse by some pixels, in steps.
func (b *tab) drag(selector string, dx, dy float64, steps int) {
	b.t.Helper()
	var at []float64
	b.js(fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		e.scrollIntoView({block: "center"});
		const r = e.getBoundingClientRect();
		return [r.x + r.width / 2, r.y + r.height / 2];
	})()`, selector), &at)
	mouse := func(kind input.DispatchMouseEventType, x, y float64) {
		_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, Buttons: 1, ClickCount: 1})
		require.NoError(b.t, err)
	}
	mouse(input.DispatchMouseEventTypeMousePressed, at[0], at[1])
	for i := 1; i <= steps; i++ {
		mouse(input.DispatchMouseEventTypeMouseMoved, at[0]+dx*float64(i)/float64(steps), at[1]+dy*float64(i)/float64(steps))
	}
	mouse(input.DispatchMouseEventTypeMouseReleased, at[0]+dx, at[1]+dy)
}

// A song is changed by hand: energies and ends dragged, by keys too; looks and effects
// chosen from pictures; each undone; and saved, so that the file has just that changed.
func TestPageComposesASong(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readSong(t, dir, "lanterns")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.composes("songs/lanterns.yaml")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	b.until(`document.querySelector("#compose-score .measured").getAttribute("d").split("M").length === 8`)

	height := 0.0
	b.js(`document.querySelector("#compose-score .stave").getBoundingClientRect().top - document.querySelectorAll("#compose-score .stave")[5].getBoundingClientRect().top`, &height)
	b.drag("#compose-score .energy .grip", 0, 0, 1) // a press alone changes nothing
	b.js(`document.querySelectorAll("#compose-score .energy")[1].id = "verse-energy"`, nil)
	b.js(`document.querySelectorAll("#compose-score .end")[1].id = "verse-end"`, nil)
	b.js(`document.querySelectorAll("#compose-score .cue")[0].id = "first-cue"`, nil)
	b.drag("#verse-energy .grip", 0, -height*0.3, 12)
	b.until(`document.getElementById("verse-energy").getAttribute("aria-valuenow") === "5"`)
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved: songs/lanterns.yaml")`)
	assert.Contains(t, b.says("compose-last"), "energy 5")
	b.click("#compose-undo") // the whole drag
	b.until(`document.getElementById("verse-energy").getAttribute("aria-valuenow") === "2" && document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	b.click("#compose-redo")
	b.until(`document.getElementById("verse-energy").getAttribute("aria-valuenow") === "5"`)

	b.js(`document.getElementById("verse-end").focus()`, nil)
	b.js(`document.getElementById("verse-end").dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowLeft", bubbles: true}))`, nil)
	b.until(`document.getElementById("verse-end").getAttribute("aria-valuenow") === "7"`)
	b.js(`document.getElementById("first-cue").dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowRight", bubbles: true}))`, nil)
	b.until(`document.getElementById("first-cue").getAttribute("aria-valuetext") === "chorus 1, bar 5 beat 2"`)

	b.js(`(() => { const s = document.getElementById("part-choose"); s.selectedIndex = 2; s.dispatchEvent(new Event("change")); })()`, nil)
	b.until(`document.getElementById("part-where").textContent.startsWith("Bars 12 to 16")`)
	b.until(`[...document.querySelectorAll("#part-looks img")].every((i) => !i.loading || i.complete)`)
	b.click(`#part-looks [data-name="rising"]`)
	b.until(`document.querySelector('#part-looks [data-name="rising"]').getAttribute("aria-pressed") === "true"`)
	b.click(`#part-effects [data-name="sparkle"]`)
	b.until(`document.querySelector('#part-effects [data-name="sparkle"]').getAttribute("aria-pressed") === "true"`)
	assert.Equal(t, before, readSong(t, dir, "lanterns"), "nothing is written before it is saved")
	b.click("#compose-save")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	want := strings.NewReplacer(
		"verse: {bars: 8, energy: 2", "verse: {bars: 7, energy: 5",
		"pre-chorus: {bars: 4, energy: 4, look: tide}", "pre-chorus: {bars: 5, energy: 4, look: rising, effects: [climb, colour swing, sparkle]}",
		"at: chorus 1, bar 5\n", "at: chorus 1, bar 5 beat 2\n",
	).Replace(before)
	assert.Equal(t, want, readSong(t, dir, "lanterns"))

	b.js(`(() => { const s = document.getElementById("part-choose"); s.selectedIndex = 4; s.dispatchEvent(new Event("change")); })()`, nil)
	b.click("#part-remove")
	assert.Equal(t, "Remove: tap again", b.says("part-remove"))
	b.click("#part-remove")
	b.until(`document.querySelectorAll("#compose-score .body").length === 6`)
	b.click("#compose-discard")
	b.click("#compose-discard")
	b.until(`document.querySelectorAll("#compose-score .body").length === 7`)
	assert.Equal(t, want, readSong(t, dir, "lanterns"))
}

// A song that nobody has divided gets its sections while it plays; what an editor writes
// meanwhile is kept.
func TestPageMarksASongWhileItPlays(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", "lanterns.yaml"), []byte("song: Lanterns on the Pier\ntempo: 240 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 40, energy: 5, look: tide}\n"), 0o644))
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.composes("songs/lanterns.yaml")
	b.player("stop", "")
	b.until(`document.getElementById("mark-says").textContent === "Waiting for the music." && document.getElementById("mark-here").disabled`)
	b.touch("#mark-play", 1)
	b.until(`document.getElementById("mark-play").textContent === "Stop"`)
	b.until(`document.getElementById("mark-says").textContent.startsWith("Bar 6")`)
	b.js(`(() => { document.getElementById("mark-kind").value = "chorus"; document.getElementById("mark-energy").value = 8; document.getElementById("mark-energy").dispatchEvent(new Event("input")); })()`, nil)
	b.touch("#mark-here", 1)
	b.until(`document.querySelectorAll("#compose-score .body").length === 2`)
	var bars, energy string
	b.js(`document.querySelector("#compose-score .end").getAttribute("aria-valuenow")`, &bars)
	b.js(`document.querySelectorAll("#compose-score .energy")[1].getAttribute("aria-valuenow")`, &energy)
	assert.Equal(t, "8", energy)
	b.js(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "9", bubbles: true}))`, nil)
	b.until(`document.querySelectorAll("#compose-score .energy")[1].getAttribute("aria-valuenow") === "9"`)
	b.touch("#mark-play", 1)
	b.until(`document.getElementById("mark-play").textContent === "Play from the section"`)
	b.click("#compose-save")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	src := readSong(t, dir, "lanterns")
	assert.Contains(t, src, fmt.Sprintf("verse: {bars: %s, energy: 5, look: tide}", bars))
	assert.Contains(t, src, "energy: 9}")

	// An editor writes beside it: the page shows that.
	require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", "lanterns.yaml"), []byte(strings.Replace(src, "energy: 9}", "energy: 3}", 1)), 0o644))
	b.until(`document.querySelectorAll("#compose-score .energy")[1].getAttribute("aria-valuenow") === "3"`)
}

// The view fits every screen, and an independent checker finds nothing.
func TestPageComposeFits(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.composes("songs/lanterns.yaml")
	b.until(`document.querySelector("#compose-score .measured").getAttribute("d") !== ""`)
	for i, s := range screens() {
		b.fits(s, i%4 == 0)
		b.js("scrollTo(0, 0)", nil)
		b.savePicture("compose", s)
		b.js(`document.getElementById("compose-score").scrollIntoView({block: "start"})`, nil)
		b.savePicture("compose-score", s)
		b.js(`document.getElementById("part").scrollIntoView({block: "start"})`, nil)
		b.savePicture("compose-part", s)
	}
}

// Where a file was changed on the disk, saving is refused, and one press takes in what is
// there; the edits of the page are made again on it. In a run with --compose the page is
// the one that does so.
func TestPageComposeTakesInWhatOthersWrote(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	b := openTab(t, servePage(t, "run", dir, "--compose", "--to", "127.0.0.1"), 1024, 768)
	b.composes("songs/lanterns.yaml")
	assert.True(t, strings.Contains(b.says("compose-lamps"), "saved"), "the lamps follow what is saved")
	b.js(`document.querySelector("#compose-score .energy").dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowUp", bubbles: true}))`, nil)
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved")`)
	src := readSong(t, dir, "lanterns")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", "lanterns.yaml"), []byte(strings.Replace(src, "bridge: {bars: 4, energy: 3", "bridge: {bars: 4, energy: 5", 1)), 0o644))
	b.click("#compose-save")
	b.until(`!document.getElementById("compose-reread").hidden || document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	b.js(`document.getElementById("compose-reread").hidden || document.getElementById("compose-reread").click()`, nil)
	b.until(`document.querySelectorAll("#compose-score .energy")[4].getAttribute("aria-valuenow") === "5"`)
	b.until(`document.querySelector("#compose-score .energy").getAttribute("aria-valuenow") === "2" && document.getElementById("compose-reread").hidden`)
	b.click("#compose-save")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	want := strings.NewReplacer("intro: {bars: 4, energy: 1", "intro: {bars: 4, energy: 2", "bridge: {bars: 4, energy: 3", "bridge: {bars: 4, energy: 5").Replace(src)
	assert.Equal(t, want, readSong(t, dir, "lanterns"))
}

// A run does not let the page change its files, and says so in words.
func TestPageComposeIsClosedInARun(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "run", "demo"), 1024, 768)
	b.js(`location.hash = "#compose"`, nil)
	b.until(`document.getElementById("compose-state").textContent.includes("--compose") && !document.getElementById("compose-bar").contains(document.activeElement) && document.getElementById("compose-set").hidden`)
}
