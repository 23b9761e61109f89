package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readFile returns the text of a file of a show.
func readFile(t *testing.T, dir, name string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	require.NoError(t, err)
	return string(src)
}

// enters opens a room of Compose.
func (b *tab) enters(room, ready string) {
	b.t.Helper()
	b.js(fmt.Sprintf(`location.hash = "#compose/%s"`, room), nil)
	b.until(fmt.Sprintf(`!document.getElementById("room-%s").hidden && (%s)`, room, ready))
}

// spots returns where heads are on the screen, from the first to the last of a row.
func (b *tab) spots(first, last int) (list [][2]float64) {
	b.t.Helper()
	b.js(fmt.Sprintf(`(() => {
		const c = document.getElementById("lights");
		let r = c.getBoundingClientRect();
		if (r.top < 40 || r.bottom > innerHeight - 100) { c.scrollIntoView({block: "center"}); r = c.getBoundingClientRect(); }
		return c.spots.slice(%d, %d).map(([x, y]) => [r.x + x, r.y + y]);
	})()`, first, last+1), &list)
	return list
}

// mouseFrom presses, moves in steps and lets go.
func (b *tab) mouseFrom(from, to [2]float64) {
	b.t.Helper()
	mouse := func(kind input.DispatchMouseEventType, x, y float64) {
		_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, Buttons: 1, ClickCount: 1})
		require.NoError(b.t, err)
	}
	mouse(input.DispatchMouseEventTypeMousePressed, from[0], from[1])
	const steps = 10
	for i := 1; i <= steps && from != to; i++ {
		x := float64(i) / steps
		mouse(input.DispatchMouseEventTypeMouseMoved, from[0]+(to[0]-from[0])*x, from[1]+(to[1]-from[1])*x)
	}
	mouse(input.DispatchMouseEventTypeMouseReleased, to[0], to[1])
}

// fingerFrom does the same with a finger.
func (b *tab) fingerFrom(from, to [2]float64) {
	b.t.Helper()
	finger := func(kind input.DispatchTouchEventType, at ...*input.TouchPoint) {
		if at == nil {
			at = []*input.TouchPoint{}
		}
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: at})
		require.NoError(b.t, err)
	}
	finger(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: from[0], Y: from[1]})
	const steps = 10
	for i := 1; i <= steps; i++ {
		x := float64(i) / steps
		finger(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: from[0] + (to[0]-from[0])*x, Y: from[1] + (to[1]-from[1])*x})
	}
	finger(input.DispatchTouchEventTypeTouchEnd)
}

// around returns two corners of a box around spots.
func around(spots [][2]float64) (from, to [2]float64) {
	first, last := spots[0], spots[len(spots)-1]
	return [2]float64{first[0] - 14, first[1] - 9}, [2]float64{last[0] + 14, last[1] + 9}
}

// brightness is the mean of the stage as it is drawn.
func (b *tab) brightness() float64 {
	b.t.Helper()
	b.pictures()
	list := b.watch(50)
	return list[len(list)-1].Light
}

// saves presses Save and waits until it is done.
func (b *tab) saves() {
	b.t.Helper()
	b.until(`!document.getElementById("compose-save").disabled`)
	b.click("#compose-save")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
}

// A look is shaped with the mouse: heads pressed and boxed on the picture of the stage,
// level dragged, colours by role, on the field and as text; copied for one song, renamed,
// removed. The picture shows it at once, says so, and the files change by just that.
func TestPageShapesALook(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readFile(t, dir, "looks.yaml")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.enters("looks", `document.querySelectorAll("#looks-list .choice").length === 11`)
	b.until(`[...document.querySelectorAll("#looks-list small")].every((e) => e.textContent.includes("Light"))`)
	var names []string
	b.js(`[...document.querySelectorAll("#looks-list .choice")].map((e) => e.dataset.name)`, &names)
	assert.Equal(t, []string{"hearth", "embers", "tide", "rising", "singalong", "full sail", "dark", "talk", "storm", "walk-in", "walk-out"}, names, "the ladder's, then the others by their brightness")
	b.click(`#looks-list [data-name="tide"]`)
	b.until(`/^Preview of “tide”, without effects, in the colours of the house\. The rehearsal itself plays “.+”\.$/.test(document.getElementById("compose-preview").textContent)`)
	assert.Contains(t, b.says("the-look-used-says"), "A change here is a change in")
	assert.Contains(t, b.says("the-look-used"), "Lanterns on the Pier: pre-chorus, bridge")
	assert.Contains(t, b.says("the-look-used"), "Ladder, from which songs are drafted: energy 3, energy 4")
	assert.Contains(t, b.says("the-look-light"), "The ladder has it at energy 3 and 4.")

	// Heads on the picture: one, then a box.
	wash3 := b.spots(2, 2)[0]
	b.mouseFrom(wash3, wash3)
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: wash 3 (1 head)"`)
	b.mouseFrom(around(b.spots(0, 3)))
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: front truss (4 heads)"`)
	assert.Equal(t, "", b.says("why-title"), "choosing explains nothing")
	b.until(`document.querySelector("#the-look-level output").textContent === "60 %"`)

	// The level by a drag, which is one change, and is seen at once.
	was := b.brightness()
	b.drag("#the-look-level .track", 120, 0, 12)
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved: looks.yaml") && !/60 %/.test(document.querySelector("#the-look-parts button").textContent)`)
	b.until(`(() => { const out = document.querySelector("#the-look-level output").textContent; return document.querySelector("#the-look-parts button").textContent.includes(out); })()`)
	now := b.brightness()
	for range 100 { // until the light of the look is there
		if now > was+0.2 {
			break
		}
		now = b.brightness()
	}
	assert.Greater(t, now, was+0.2, "the picture is brighter")
	assert.Equal(t, before, readFile(t, dir, "looks.yaml"), "nothing is written yet")
	b.click("#compose-undo")
	b.until(`document.querySelector("#the-look-parts button").textContent === "front truss: main, 60 %" && document.getElementById("compose-undo").disabled && document.querySelector("#the-look-level output").textContent === "60 %"`)

	// One of them apart: a line of its own; all of them again: the line goes.
	wash3 = b.spots(2, 2)[0]
	b.click("#the-look-none")
	b.mouseFrom(wash3, wash3)
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: wash 3 (1 head)"`)
	b.click(`#the-look-level [aria-label="Level up 10 %"]`)
	b.until(`document.getElementById("the-look-parts").textContent.includes("wash 3: 70 %")`)
	b.click(`#the-look-groups button`)
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: front truss (4 heads)" && document.querySelector("#the-look-level output").textContent === "60 to 70 %"`)
	b.click(`#the-look-level [aria-label="Level up 10 %"]`)
	b.until(`!document.getElementById("the-look-parts").textContent.includes("wash 3") && document.getElementById("the-look-parts").textContent.includes("front truss: main, 80 %")`)

	// Its colour: a role, a place on the field, a text.
	b.click(`#the-look-roles [data-role="accent"]`)
	b.until(`document.querySelector("#the-look-parts button").textContent === "front truss: accent, 80 %"`)
	b.click(`#the-look-roles [data-role="own"]`)
	b.until(`document.querySelectorAll("#the-look-colour .makes li").length === 1 && document.querySelector("#the-look-colour .makes li").textContent.startsWith("dimmer-rgbw: as asked")`)
	b.drag("#the-look-colour .plane", 60, -30, 8)
	b.until(`/^front truss: #[0-9a-f]{6}, 80 %$/.test(document.querySelector("#the-look-parts button").textContent)`)
	b.until(`document.querySelector("#the-look-colour input[type=text]").value === document.querySelector("#the-look-parts button").textContent.slice(13, 20)`)
	b.typesInto("#the-look-colour input[type=text]", "mud\r")
	b.until(`document.querySelector("#the-look-colour .fault").textContent.includes("is no colour")`)
	b.typesInto("#the-look-colour input[type=text]", "gold\r")
	b.until(`document.querySelector("#the-look-parts button").textContent === "front truss: gold, 80 %"`)
	b.js(`(() => { const s = document.getElementById("the-look-fade"); s.value = "2 beats"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.click(`#the-look-effects button:nth-child(2)`)
	b.until(`document.querySelector("#the-look-effects button:nth-child(2)").getAttribute("aria-pressed") === "true"`)
	b.saves()
	tide := "  tide:\n    fade: 1 bar\n    set:\n      front truss: {colour: main, intensity: 60 %}\n"
	want := strings.Replace(before, tide, "  tide:\n    fade: 2 beats\n    set:\n      front truss: {colour: \"gold\", intensity: 80 %}\n", 1)
	want = strings.Replace(want, "warmers: {colour: warm, intensity: 30 %}\n    effects: colour swing\n", "warmers: {colour: warm, intensity: 30 %}\n    effects: [colour swing, sway]\n", 1)
	require.NotEqual(t, before, want)
	assert.Equal(t, want, readFile(t, dir, "looks.yaml"))

	// What is used is not removed; a copy for one song changes that song.
	b.click("#the-look-remove")
	assert.Equal(t, "Remove: tap again", b.says("the-look-remove"))
	b.click("#the-look-remove")
	b.until(`/the look "tide" is used: looks\.yaml:/.test(document.getElementById("compose-refused").textContent)`)
	song := readFile(t, dir, "songs/lanterns.yaml")
	b.js(`(() => { const s = document.getElementById("the-look-song"); s.value = "songs/lanterns.yaml"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.click("#the-look-own")
	b.until(`document.getElementById("the-look-title").textContent === "The look “tide of Lanterns on the Pier”"`)
	assert.Equal(t, "Lanterns on the Pier: pre-chorus, bridge", b.says("the-look-used"))
	b.typesInto("#the-look-name", "low tide\r")
	b.until(`document.getElementById("the-look-title").textContent === "The look “low tide”"`)
	b.saves()
	assert.Equal(t, strings.ReplaceAll(song, "look: tide", "look: low tide"), readFile(t, dir, "songs/lanterns.yaml"))

	// A new look, and away with it.
	b.typesInto("#looks-new", "dawn\r")
	b.until(`document.getElementById("the-look-title").textContent === "The look “dawn”" && document.getElementById("the-look-used-says").textContent === "Nothing uses this look yet."`)
	assert.Equal(t, "front truss: main, 50 %", b.says("the-look-parts"), "the heads that are chosen")
	b.click("#the-look-remove")
	b.click("#the-look-remove")
	b.until(`document.querySelectorAll("#looks-list .choice").length === 12 && !document.querySelector('#looks-list [data-name="dawn"]')`)

	// Elsewhere the stage is what plays again, and heads explain themselves.
	b.click("#looks-preview")
	b.until(`document.getElementById("compose-preview").hidden`)
	b.click("#looks-preview")
	b.until(`!document.getElementById("compose-preview").hidden`)
	b.js(`location.hash = "#play"`, nil)
	b.until(`!document.getElementById("lights").classList.contains("choosing")`)
	b.mouseFrom(b.spots(2, 2)[0], b.spots(2, 2)[0])
	b.until(`document.getElementById("why-title").textContent === "wash 3"`)
}

// typesInto puts a text into a field by the keyboard, in place of what is there.
func (b *tab) typesInto(selector, text string) {
	b.t.Helper()
	b.js(fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"}); e.focus(); e.select(); })()`, selector), nil)
	b.do(chromedp.KeyEvent(text))
}

// tabTo presses Tab until an element has the focus.
func (b *tab) tabTo(selector string) {
	b.t.Helper()
	has := false
	for i := 0; i < 150 && !has; i++ {
		b.do(chromedp.KeyEvent("\t"))
		b.js(fmt.Sprintf(`document.activeElement.matches(%q)`, selector), &has)
	}
	require.True(b.t, has, "Tab does not lead to %s", selector)
	covered := ""
	b.js(`(() => {
		const r = document.activeElement.getBoundingClientRect(), at = document.elementFromPoint(r.x + Math.min(r.width / 2, 30), r.y + Math.min(r.height / 2, 12));
		return at && (document.activeElement.contains(at) || at.contains(document.activeElement) || at.closest("label")?.contains(document.activeElement)) ? "" : String(at?.outerHTML.slice(0, 90));
	})()`, &covered)
	assert.Empty(b.t, covered, "%s has the focus under something else", selector) // WCAG 2.2, 2.4.11
}

// The same by keys alone: Tab, space and arrows.
func TestPageShapesALookByKeys(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readFile(t, dir, "looks.yaml")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 900)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.enters("looks", `document.querySelectorAll("#looks-list .choice").length === 11`)
	b.until(`[...document.querySelectorAll("#looks-list small")].every((e) => e.textContent.includes("Light"))`)
	b.tabTo(`#looks-list [data-name="embers"]`)
	b.do(chromedp.KeyEvent(" "))
	b.until(`document.getElementById("the-look-title").textContent === "The look “embers”"`)
	b.tabTo(`#the-look-groups button:nth-child(5)`)
	b.do(chromedp.KeyEvent(" "))
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: washes (8 heads)"`)
	b.tabTo(`#the-look-level input`)
	for range 5 {
		b.do(chromedp.KeyEvent(kb.ArrowRight))
	}
	b.until(`document.getElementById("the-look-parts").textContent.includes("washes: main, 25 %")`)
	b.tabTo(`#the-look-roles [data-role="own"]`)
	b.do(chromedp.KeyEvent("\r"))
	b.tabTo(`#the-look-colour input[type=range]`)
	for range 4 {
		b.do(chromedp.KeyEvent(kb.ArrowRight))
	}
	b.until(`/washes: #[0-9a-f]{6}, 25 %/.test(document.getElementById("the-look-parts").textContent)`)
	b.tabTo(`#the-look-name`)
	b.do(chromedp.KeyEvent("cinders\r"))
	b.until(`document.getElementById("the-look-title").textContent === "The look “cinders”"`)
	b.js(`document.getElementById("compose-save").scrollIntoView()`, nil)
	b.tabTo(`#compose-save`)
	b.do(chromedp.KeyEvent("\r"))
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	after := readFile(t, dir, "looks.yaml")
	assert.Regexp(t, `(?m)^  cinders:\n    fade: 2 bars\n    set:\n      washes: \{colour: "#[0-9a-f]{6}", intensity: 25 %\}$`, after)
	after = regexp.MustCompile(`colour: "#[0-9a-f]{6}", intensity: 25 %`).ReplaceAllString(after, "colour: main, intensity: 20 %")
	assert.Equal(t, before, strings.ReplaceAll(after, "cinders", "embers"))
}

// A finger on a phone: a box on the picture, a step of the level, a role; undone and done.
func TestPageShapesALookOnAPhone(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readFile(t, dir, "looks.yaml")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateScale(2), chromedp.EmulateTouch))
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.enters("looks", `document.querySelectorAll("#looks-list .choice").length === 11`)
	b.until(`[...document.querySelectorAll("#looks-list small")].every((e) => e.textContent.includes("Light"))`)
	b.touch(`#looks-list [data-name="hearth"]`, 1)
	b.until(`document.getElementById("compose-preview").textContent.startsWith("Preview of “hearth”")`)
	b.js(`scrollTo(0, 0)`, nil)
	b.pictures()
	b.fingerFrom(around(b.spots(4, 7)))
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: back truss (4 heads)"`)
	b.pictures()
	b.touch(`#the-look-level [aria-label="Level up 10 %"]`, 1)
	b.until(`document.getElementById("the-look-parts").textContent.includes("back truss: 10 %")`)
	b.touch(`#the-look-level [aria-label="Level up 10 %"]`, 3) // a nervous hand
	b.until(`document.getElementById("the-look-parts").textContent.includes("back truss: 40 %")`)
	b.touch(`#the-look-roles [data-role="second"]`, 1)
	b.until(`document.getElementById("the-look-parts").textContent.includes("back truss: second, 40 %")`)
	var top, foot float64
	b.js(`document.getElementById("lights").getBoundingClientRect().top`, &top)
	b.js(`document.getElementById("lights").getBoundingClientRect().bottom`, &foot)
	assert.True(t, top >= 0 && foot < 844-90, "the picture is in sight beside what is set: %v to %v", top, foot)
	b.touch("#compose-undo", 1)
	b.until(`document.getElementById("the-look-parts").textContent.includes("back truss: 40 %")`)
	b.touch("#compose-redo", 1)
	b.until(`document.getElementById("the-look-parts").textContent.includes("back truss: second, 40 %")`)
	b.touch("#compose-save", 1)
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	hearth := "      warmers: {colour: warm, intensity: 22 %}\n"
	assert.Equal(t, strings.Replace(before, hearth, hearth+"      back truss: {intensity: 40 %, colour: second}\n", 1), readFile(t, dir, "looks.yaml"))
	small := []string{}
	b.js(`[...document.querySelectorAll("#room-looks :is(button, select, summary, input:not([type=range]))")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML.slice(0, 90))`, &small)
	assert.Empty(t, small, "too small for a finger")
}

// Colours of the house and of songs: chosen as swatches, changed on the field and by text;
// what uses them is said before.
func TestPageChangesColours(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	looks, song := readFile(t, dir, "looks.yaml"), readFile(t, dir, "songs/lanterns.yaml")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.enters("colours", `document.querySelectorAll("#palettes button").length === 16`)
	assert.Equal(t, "The colour main of the house", b.says("colour-title"))
	b.until(`document.querySelectorAll("#colour-field .makes li").length === 4`)
	assert.Contains(t, b.says("colour-used"), "Between songs: “walk-in”")
	assert.Equal(t, "Without colours of their own: dimmer. They keep the white of their lamps.", b.says("colour-white"))
	b.drag("#colour-field .plane", -80, 20, 8)
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved: looks.yaml")`)
	b.click("#compose-undo")
	b.until(`document.getElementById("compose-undo").disabled && document.querySelector('#palettes [data-file=""][data-role="main"] small').textContent === "#2f6fd0"`)
	b.typesInto("#colour-field input[type=text]", "mud\r")
	b.until(`document.querySelector("#colour-field .fault").textContent.includes("is no colour: want such as #ff8040")`)
	assert.Contains(t, b.says("compose-state"), "Everything is saved")
	b.typesInto("#colour-field input[type=text]", "3200 K\r")
	b.until(`document.querySelector('#palettes [data-file=""][data-role="main"] small').textContent === "3200 K"`)
	shown := ""
	b.js(`getComputedStyle(document.querySelector('#palettes [data-file=""][data-role="main"] .swatch')).backgroundColor`, &shown)
	assert.Regexp(t, `^rgb\(255, \d+, \d+\)$`, shown, "as a screen shows it")
	b.click(`#palettes [data-file="songs/lanterns.yaml"][data-role="accent"]`)
	b.until(`document.getElementById("colour-title").textContent === "The colour accent of Lanterns on the Pier"`)
	assert.Contains(t, b.says("colour-used"), "Looks: “singalong”")
	b.typesInto("#colour-field input[type=text]", "tomato\r")
	b.until(`document.querySelector('#palettes [data-file="songs/lanterns.yaml"][data-role="accent"] small').textContent === "tomato"`)
	b.saves()
	assert.Equal(t, strings.Replace(looks, `main: "#2f6fd0"`, `main: "3200 K"`, 1), readFile(t, dir, "looks.yaml"))
	assert.Equal(t, strings.Replace(song, `"#ff9a3c"`, `"tomato"`, 1), readFile(t, dir, "songs/lanterns.yaml"))
	b.click("#colour-back")
	b.until(`document.querySelector('#palettes [data-file="songs/lanterns.yaml"][data-role="accent"] small').textContent === "the house's" && document.getElementById("colour-back").hidden`)
}

// What a type of fixture cannot show is hatched on the field and said in words. In a run the
// preview is the page's alone.
func TestPageSaysWhatHeadsCannotShow(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	rig := readFile(t, dir, "rig.yaml")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rig.yaml"), []byte(strings.Replace(rig, "warmer 1-2: {profile: rgba,", "warmer 1-2: {profile: warm-cool,", 1)), 0o644))
	b := openTab(t, servePage(t, "run", dir, "--compose", "--to", "127.0.0.1"), 1024, 900)
	b.enters("colours", `document.querySelectorAll("#colour-field .makes li").length === 4`)
	b.until(`document.querySelector("#colour-field .hint").textContent === "Hatched: colours that warm-cool cannot reach."`)
	b.until(`document.querySelectorAll("#colour-field .makes li.off").length === 1 && /^warm-cool: .*cannot reach/.test(document.querySelector("#colour-field .makes li.off").textContent)`)
	dark := 0.0
	b.js(`(() => {
		const c = document.querySelector("#colour-field canvas"), d = c.getContext("2d").getImageData(0, 2, c.width, 1).data;
		let n = 0;
		for (let i = 0; i < d.length; i += 4) n += Math.max(d[i], d[i + 1], d[i + 2]) < 80;
		return n / c.width;
	})()`, &dark)
	assert.InDelta(t, 0.5, dark, 0.1, "the pure colours are hatched")
	b.enters("looks", `document.querySelectorAll("#looks-list .choice").length === 11`)
	b.click(`#looks-list [data-name="rising"]`)
	b.until(`document.getElementById("compose-preview").textContent.startsWith("Preview of “rising”") && document.getElementById("compose-preview").textContent.includes("The lamps still show")`)
	b.click(`#the-look-groups button:nth-child(3)`)
	b.until(`document.getElementById("the-look-chosen").textContent === "Chosen: left truss (2 heads)"`)
	b.click(`#the-look-roles [data-role="own"]`)
	b.until(`document.querySelectorAll("#the-look-colour .makes li").length === 1 && document.querySelector("#the-look-colour .hint").textContent === "Hatched: colours that warm-cool cannot reach."`)
	var light string
	b.js(`new Promise((done) => { const s = new EventSource("/api/v1/events?rate=30"); s.addEventListener("moment", (e) => { s.close(); done(JSON.parse(e.data).look); }); })`, &light)
	assert.NotEqual(t, "rising", light)
}

// The rooms fit every screen, and an independent checker finds nothing.
func TestPageLooksFit(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.enters("looks", `document.querySelectorAll("#looks-list .choice").length === 11`)
	b.click(`#looks-list [data-name="tide"]`)
	b.js(`(document.getElementById("the-look-each").open = true, document.getElementById("worry").style.display = "none")`, nil) // how busy this computer is is no part of the screen
	b.click(`#the-look-groups button:first-child`)
	b.click(`#the-look-roles [data-role="own"]`)
	b.until(`document.querySelectorAll("#the-look-colour .makes li").length === 1`)
	for i, s := range append(screens(), screen{name: "tablet 820", width: 820, height: 1180, scale: 1}) {
		b.setScreen(s)
		for _, room := range []string{"looks", "colours"} {
			b.enters(room, "true")
			if room == "colours" {
				b.click(`#palettes button`)
				b.until(`document.querySelectorAll("#colour-field .makes li").length === 4`)
			}
			b.pictures()
			faults := []string{}
			b.js(clipped, &faults)
			assert.Empty(t, faults, "%s %s", s.name, room)
			if i%4 == 0 {
				b.uncover()
				for _, fault := range b.axe() {
					assert.Fail(t, fault, "%s %s", s.name, room)
				}
			}
			for _, id := range []string{"", "looks-list", "the-look-parts", "the-look-set", "the-look-effects", "colour-box"} {
				shown := false
				b.js(fmt.Sprintf(`%q === "" ? (scrollTo(0, 0), true) : (document.getElementById(%q).scrollIntoView({block: "start"}), document.getElementById(%q).checkVisibility())`, id, id, id), &shown)
				if shown {
					b.savePicture(room+"-"+id, s)
				}
			}
		}
	}
}
