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

// screen is a size of a browser's window in CSS pixels, and how many pixels of the
// screen each has: 2 is a page at 200 %, in half the room.
type screen struct {
	name          string
	width, height int64
	scale         float64
}

func screens() []screen {
	return []screen{
		{"1440x900", 1440, 900, 1},
		{"1024x768", 1024, 768, 1},
		{"800x600", 800, 600, 1},
		{"390x844", 390, 844, 1},
		{"375x667", 375, 667, 1},
		{"360x640", 360, 640, 1},
		{"844x390", 844, 390, 1},
		{"1440x900 at 200 %", 720, 450, 2},
		{"1024x768 at 200 %", 512, 384, 2},
	}
}

// fit gives the page a screen.
func (b *tab) fit(s screen) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateScale(s.scale)))
	b.until(fmt.Sprintf("innerWidth === %d && innerHeight === %d", s.width, s.height))
	b.pictures() // what follows a new size has followed
}

// pictures waits until the browser has drawn a few.
func (b *tab) pictures() {
	b.t.Helper()
	b.js(`(async () => { for (let i = 0; i < 6; i++) await new Promise(requestAnimationFrame); })()`, nil)
}

// look keeps the screen in the folder PAGE_PICTURES, if that is set, to look at.
func (b *tab) look(name string, s screen) {
	b.t.Helper()
	dir := os.Getenv("PAGE_PICTURES")
	if dir == "" {
		return
	}
	b.pictures()
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, strings.NewReplacer(" ", "", "%", "").Replace(name+"-"+s.name)+".png"), shot, 0o644))
}

// says returns the text of an element.
func (b *tab) says(id string) (text string) {
	b.t.Helper()
	b.js(fmt.Sprintf("document.getElementById(%q).textContent", id), &text)
	return text
}

// click presses an element as a finger, a mouse or a screen reader does.
func (b *tab) click(selector string) {
	b.t.Helper()
	b.js(fmt.Sprintf("document.querySelector(%q).click()", selector), nil)
}

// listens keeps what the page asks for, in its order.
func (b *tab) listens() {
	b.t.Helper()
	b.js(`(() => {
		window.posts = [];
		const old = window.fetch;
		window.fetch = (url, o) => { if (o?.method === "POST") window.posts.push(url.replace("/api/v1/", "") + (o.body ?? "")); return old(url, o); };
	})()`, nil)
}

// posts returns what the page asked for since listens, or the posts before.
func (b *tab) posts() (list []string) {
	b.t.Helper()
	b.js(`window.posts.splice(0)`, &list)
	return list
}

// atPlace stands at a place of the set, or plays from there.
func (b *tab) atPlace(jump, place string, plays bool) {
	b.t.Helper()
	b.player("stop", "")
	b.player("jump", jump)
	b.until(fmt.Sprintf("document.getElementById('place').textContent.startsWith(%q)", place))
	if plays {
		b.player("play", "")
		b.until(`document.getElementById("go").textContent === "Stop"`)
	} else {
		b.until(`document.getElementById("go").textContent === "Play"`)
	}
}

const inBlackout = `document.getElementById("blackout").getAttribute("aria-pressed") === "true"`

// A tap that restores the light is mostly followed by another: the stage stays lit.
func TestPageRestoreStays(t *testing.T) {
	needTools(t, false, "chromium")
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	for _, again := range []string{
		`document.getElementById("blackout").click()`,
		`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "b", bubbles: true}))`,
	} {
		b.click("#blackout")
		b.click("#blackout")
		b.until(inBlackout)
		b.until(`(document.getElementById("blackout").click(), !(` + inBlackout + `))`)
		b.listens()
		b.js(fmt.Sprintf("(%s, %s, %s)", again, again, again), nil)
		assert.Empty(t, b.posts(), "nervous taps after the one that restores")
		b.until(`document.getElementById("state").textContent.indexOf("Blackout") < 0 && !(` + inBlackout + `)`)
	}
}

// What may be needed at once stands at the same place, in every view and at every
// size, wherever the page is scrolled to.
func TestPageLightBarStandsFixed(t *testing.T) {
	needTools(t, false, "chromium")
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	for _, s := range screens() {
		b.fit(s)
		var first []float64
		for _, view := range []string{"play", "slots", "plan", "health"} {
			b.js(fmt.Sprintf(`location.hash = "#%s"`, view), nil)
			b.until(fmt.Sprintf(`!document.getElementById(%q).hidden`, view))
			for _, scroll := range []string{"0", "document.documentElement.scrollHeight"} {
				b.js("scrollTo(0, "+scroll+")", nil)
				b.pictures()
				var at []float64
				faults := []string{}
				b.js(`["hold", "blackout", "work-light-on"].flatMap((id) => {
					const r = document.getElementById(id).getBoundingClientRect();
					return [r.left, r.top, r.width, r.height];
				})`, &at)
				b.js(`["hold", "blackout", "work-light-on"].flatMap((id) => {
					const e = document.getElementById(id), r = e.getBoundingClientRect(), list = [];
					if (r.left < 0 || r.top < 0 || r.right > innerWidth || r.bottom > innerHeight) list.push(id + " is off the screen");
					if (r.width < 44 || r.height < 44) list.push(id + " is too small for a finger");
					if (!e.contains(document.elementFromPoint((r.left + r.right) / 2, (r.top + r.bottom) / 2))) list.push(id + " is covered");
					if (e.scrollWidth > e.clientWidth + 1) list.push(id + " is clipped");
					return list;
				})`, &faults)
				assert.Empty(t, faults, "%s, %s, scrolled to %s", s.name, view, scroll)
				if first == nil {
					first = at
				}
				assert.Equal(t, first, at, "%s, %s, scrolled to %s: they moved", s.name, view, scroll)
			}
		}
	}
	b.fit(screens()[4])
	b.js(`location.hash = "#health"`, nil)
	b.click("#hold")
	b.until(`document.getElementById("state").textContent === "The light is held" && document.getElementById("state").checkVisibility()`)
	b.click("#hold")
	b.click("#work-light-on")
	b.until(`document.getElementById("state").textContent.startsWith("Work light is on")`)
	b.look("worklight", screens()[4])
}

// What a hand armed is shown as armed, by whom and for when, by shape and in words.
func TestPageShowsWhatAHandArmed(t *testing.T) {
	needTools(t, false, "chromium")
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.js(`fetch("/api/v1/player/speed", {method: "POST", body: '{"with": [0.25]}'})`, nil)
	b.atPlace("2, 0", "", true)
	b.js(`(() => { const w = document.getElementById("when"); w.value = "section end"; w.dispatchEvent(new Event("change")); })()`, nil)
	b.click(`#parts button[data-section="6"]`)
	b.until(`/^Armed: chorus 2, at .*by hand/.test(document.getElementById("next").textContent)`)
	b.until(`/^◆ Armed: chorus 2 in \d+ (bars|beats)/.test(document.getElementById("armed").textContent)`)
	visible := false
	b.js(`document.getElementById("next-mark").checkVisibility()`, &visible)
	assert.True(t, visible, "a shape beside the colour")
	assert.Contains(t, b.textOf(`#parts button[data-section="6"]`), "◆ armed")
	assert.Equal(t, "chorus 2", b.says("next-name"))
	for _, s := range screens() {
		b.fit(s)
		b.js("scrollTo(0, 0)", nil)
		b.look("armed", s)
	}
	b.click("#section-disarm")
	b.until(`document.getElementById("armed").textContent === ""`)
}

func (b *tab) textOf(selector string) (text string) {
	b.t.Helper()
	b.js(fmt.Sprintf("document.querySelector(%q).innerText", selector), &text)
	return text
}

// What one client sets all clients show, at once and when they come later.
func TestPageShowsWhatOthersSet(t *testing.T) {
	needTools(t, false, "chromium")
	url := servePage(t, "rehearse", "demo", "--plain")
	a, z := openTab(t, url, 1024, 768), openTab(t, url, 390, 844)
	const level = `[...document.querySelectorAll("#masters output")].map((o) => o.textContent).join()`
	a.js(`document.querySelectorAll("details").forEach((d) => { d.open = true; })`, nil)
	before := ""
	a.js(level, &before)
	require.True(t, strings.HasPrefix(before, "100 %,100 %,"), before)
	a.js(`(() => { const down = document.querySelectorAll("#masters .step")[2]; for (let i = 0; i < 8; i++) down.click(); })()`, nil)
	a.js(`document.querySelectorAll("#masters .step")[0].click()`, nil)
	want := strings.Replace(before, "100 %,100 %,", "90 %,20 %,", 1)
	check := func(b *tab) {
		t.Helper()
		b.until(fmt.Sprintf("%s === %q", level, want))
		b.until(`/Grand master at 90 % · [^·]* at 20 %/.test(document.getElementById("state").textContent)`)
	}
	check(a)
	check(z)
	a.do(chromedp.Reload())
	a.until(`document.getElementById("song").textContent !== "tactus"`)
	check(a)

	a.click("#house-half")
	z.until(`document.getElementById("house-half").getAttribute("aria-pressed") === "true"`)
	z.until(`/House lights held by hand at 50 %/.test(document.getElementById("state").textContent)`)
	a.click("#time-half")
	z.until(`/Effects in half time/.test(document.getElementById("state").textContent)`)
	a.js(`(() => { const s = document.getElementById("speed"); s.value = "0.5"; s.dispatchEvent(new Event("change")); })()`, nil)
	z.until(`document.getElementById("speed").value === "0.5"`)
	a.click("#house-cued")
	z.until(`!/House/.test(document.getElementById("state").textContent)`)
}

// A touch at the end of a level does nothing; it moves by dragging and by steps.
func TestPageFadersMoveByDragging(t *testing.T) {
	needTools(t, false, "chromium")
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 390, 844)
	b.js(`(document.querySelectorAll("details").forEach((d) => { d.open = true; }), document.querySelector(".track").scrollIntoView({block: "center"}))`, nil)
	b.pictures()
	b.listens()
	var box struct{ X, Y, Width, Height float64 }
	b.js(`document.querySelector(".track").getBoundingClientRect().toJSON()`, &box)
	y := box.Y + box.Height/2
	for _, x := range []float64{box.X + 2, box.X + box.Width/2, box.X + 9} {
		b.do(chromedp.MouseClickXY(x, y))
	}
	b.do(chromedp.KeyEvent("\ue011")) // Home, where the level has the keys
	b.js(`document.querySelector(".track input").dispatchEvent(new KeyboardEvent("keydown", {key: "Home", bubbles: true, cancelable: true}))`, nil)
	assert.Empty(t, b.posts(), "a touch moved the grand master")
	assert.Equal(t, "100 %", b.textOf("#masters output"))

	from, to := box.X+box.Width-10, box.X+box.Width/2
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, from, y, chromedp.ButtonLeft))
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, (from+to)/2, y, chromedp.ButtonLeft))
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, to, y, chromedp.ButtonLeft))
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, to, y, chromedp.ButtonLeft))
	b.until(`/Grand master at (4\d|5\d|6\d) %/.test(document.getElementById("state").textContent)`)
	b.look("masters", screens()[3])
	at := b.textOf("#masters output")
	b.click("#masters .step")
	b.until(fmt.Sprintf(`parseInt(document.querySelector("#masters output").textContent) === parseInt(%q) - 10`, at))
}

// The first tap of two says so on the button itself.
func TestPageFirstTapIsSeen(t *testing.T) {
	needTools(t, false, "chromium")
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 375, 667)
	b.js(`document.querySelectorAll("details").forEach((d) => { d.open = true; })`, nil)
	for id, words := range map[string]string{"blackout": "Blackout", "house-out": "Out", "walk-in": "Walk-in", "walk-out": "Walk-out", "look-show": "Show it"} {
		b.listens()
		b.click("#" + id)
		assert.Equal(t, words+": tap again", b.says(id))
		assert.Empty(t, b.posts(), id)
		if id == "blackout" {
			b.look("first-tap", screens()[4])
		}
		b.until(fmt.Sprintf("document.getElementById(%q).textContent === %q", id, words)) // it is forgotten
	}
}
