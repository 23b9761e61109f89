package main

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// clipped are the texts that do not fit their boxes, and what is wider than the
// screen.
const clipped = `(() => {
	const list = [];
	if (document.documentElement.scrollWidth > innerWidth) list.push("the page is wider than the screen");
	for (const e of document.querySelectorAll("button, h1, h2, h3, p, label, summary, li, dt, dd, #views a")) {
		if (!e.checkVisibility() || e.closest(".unseen, .skip, .walks #top, .scroll")) continue;
		const r = e.getBoundingClientRect();
		if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline") list.push("clipped: " + e.textContent.slice(0, 40));
		if (r.right > innerWidth + 1 || r.left < -1) list.push("off the screen: " + e.textContent.slice(0, 40));
	}
	return list;
})()`

// crossing are names on the score that cross another or leave the canvas. A name is
// a strip along its slope, as high as its letters.
const crossing = `(() => {
	const c = document.getElementById("score"), list = [], labels = c.labels;
	const corners = (l) => [[0, 3], [l.width, 3], [l.width, -10], [0, -10]].map(([x, y]) =>
		[l.x + x * Math.cos(l.angle) - y * Math.sin(l.angle), l.y + x * Math.sin(l.angle) + y * Math.cos(l.angle)]);
	const apart = (a, b) => [a, b].some((p) => p.some((_, i) => {
		const [x1, y1] = p[i], [x2, y2] = p[(i + 1) % 4], along = ([x, y]) => (x - x1) * (y2 - y1) - (y - y1) * (x2 - x1);
		const of = (q) => q.map(along);
		return Math.max(...of(a)) <= Math.min(...of(b)) + 1e-6 || Math.max(...of(b)) <= Math.min(...of(a)) + 1e-6;
	}));
	labels.forEach((a, i) => {
		if (corners(a).some(([x, y]) => x < -1 || y < -1 || x > c.clientWidth + 1 || y > c.clientHeight)) list.push(a.name + " leaves the score");
		for (const b of labels.slice(i + 1)) if (!apart(corners(a), corners(b))) list.push(a.name + " crosses " + b.name);
	});
	if (!labels.length) list.push("no names");
	return list;
})()`

// Nothing is clipped, off the screen or in the way of another at any size, and an
// independent checker finds nothing.
func TestPageFitsEveryScreen(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.js(`document.querySelectorAll("details").forEach((d) => { d.open = true; })`, nil)
	for i, s := range screens() {
		b.setScreen(s)
		for _, view := range []string{"play", "slots", "plan", "health"} {
			b.js(fmt.Sprintf(`location.hash = "#%s"`, view), nil)
			b.until(fmt.Sprintf(`!document.getElementById(%q).hidden`, view))
			if view == "plan" {
				b.until(`document.querySelectorAll("#findings img").length === 3`)
			}
			b.pictures()
			faults := []string{}
			b.js(clipped, &faults)
			assert.Empty(t, faults, "%s, %s", s.name, view)
			if view == "play" {
				b.js(crossing, &faults)
				assert.Empty(t, faults, "%s", s.name)
			}
			if view == "play" || i%4 == 0 {
				b.uncover()
				for _, fault := range b.axe() {
					assert.Fail(t, fault, "%s, %s", s.name, view)
				}
			}
			b.js("scrollTo(0, 0)", nil)
			b.savePicture(view, s)
		}
		b.js(`location.hash = "#play"`, nil)
		b.js(`document.getElementById("score").scrollIntoView({block: "start"})`, nil)
		b.savePicture("score", s)
		b.js(`document.getElementById("parts-box").scrollIntoView({block: "start"})`, nil)
		b.savePicture("parts", s)
	}
}

// uncover scrolls to where nothing that can be pressed is half under what stands
// fixed: the checker takes what it sees for all of it.
func (b *tab) uncover() {
	b.t.Helper()
	found := false
	b.js(`(() => {
		const fixed = [document.getElementById("head").getBoundingClientRect().bottom, document.getElementById("light-bar").getBoundingClientRect().top];
		for (let y = 0; y < 900; y += 3) {
			scrollTo(0, y);
			const half = [...document.querySelectorAll("button, a, summary, select, input")].some((e) => {
				const r = e.getBoundingClientRect();
				return e.checkVisibility() && !e.closest("#head, #light-bar") && fixed.some((edge) => r.top < edge && r.bottom > edge);
			});
			if (!half) return true;
		}
		return false;
	})()`, &found)
	require.True(b.t, found, "something is half covered wherever the page is scrolled to")
}

// Nothing on the page is as bright as paper, and much less in the dim mode, which
// outlasts the page. What the stage shows is light, and not counted.
func TestPageDoesNotGlare(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.js(`document.getElementById("lights").style.visibility = "hidden"`, nil)
	for _, mode := range []struct {
		name string
		most float64 // mean of a cell of 26 x 26 pixels, 0..255
	}{{"as it opens", 140}, {"dim", 90}} {
		if mode.name == "dim" {
			b.click("#dim")
			b.until(`document.documentElement.classList.contains("dim")`)
		}
		for _, view := range []string{"play", "slots", "plan", "health"} {
			b.js(fmt.Sprintf(`location.hash = "#%s"`, view), nil)
			b.until(fmt.Sprintf(`!document.getElementById(%q).hidden`, view))
			if view == "plan" {
				b.until(`[...document.querySelectorAll("#findings img")].filter((i) => i.complete && i.naturalWidth).length === 3`)
				b.js(`document.querySelector("#findings img").scrollIntoView({block: "center"})`, nil)
			} else if view == "play" {
				b.js(`document.getElementById("parts-box").scrollIntoView({block: "start"})`, nil)
			}
			b.pictures()
			shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			img, err := png.Decode(bytes.NewReader(shot))
			require.NoError(t, err)
			brightest := 0.0
			const side = 26
			for y := 0; y+side <= img.Bounds().Dy(); y += side {
				for x := 0; x+side <= img.Bounds().Dx(); x += side {
					brightest = max(brightest, mean(img, image.Rect(x, y, x+side, y+side)))
				}
			}
			assert.Less(t, brightest, mode.most, "%s, %s", mode.name, view)
			assert.Greater(t, brightest, 10.0, "%s, %s: nothing is drawn", mode.name, view)
			b.savePicture("glare-"+mode.name+"-"+view, screens()[1])
		}
		for _, fault := range b.axe() {
			assert.Fail(t, fault, mode.name)
		}
	}
	b.do(chromedp.Reload())
	b.until(`document.documentElement.classList.contains("dim") && document.getElementById("dim").getAttribute("aria-pressed") === "true"`)
}

// What is and what comes are as large as each other, and count down; plain words
// stand first, the technical ones behind a press.
func TestPageShowsWhatComes(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 390, 844)
	b.js(`fetch("/api/v1/player/speed", {method: "POST", body: '{"with": [0.25]}'})`, nil)
	b.atPlace("2, 96", "chorus 1, bar 1", true)
	b.until(`/^bar \d+ of 16$/.test(document.getElementById("bar-of").textContent)`)
	b.until(`/^in 1\d bars$/.test(document.getElementById("next-in").textContent)`)
	assert.Equal(t, "breakdown", b.says("next-name"))
	assert.Equal(t, "song 2 of 3", b.says("song-of"))
	assert.Equal(t, "Then song 3 of 3: Home by the Breakwater", b.says("next-song"))
	assert.Regexp(t, `^Look: full sail, with `, b.says("look"))
	var sizes []string
	b.js(`["section", "next-name", "next-in"].map((id) => getComputedStyle(document.getElementById(id)).fontSize)`, &sizes)
	assert.Equal(t, sizes[0], sizes[1])
	assert.Equal(t, sizes[0], sizes[2])
	b.until(`document.querySelectorAll("#beats span").length === 3 && document.querySelectorAll("#beats .on").length === 1`)
	shape := ""
	b.js(`getComputedStyle(document.querySelector("#beats span")).borderRadius + getComputedStyle(document.querySelector("#beats span + span")).borderRadius`, &shape)
	assert.Equal(t, "0px50%", shape, "the downbeat is marked by its shape")
	b.until(`/^Next cue in \d+ bars, at chorus 1, bar 9 beat 1: the look “full sail”, .* with four corners\.$/.test(document.getElementById("cue-says").textContent)`)

	// A press on a cue says what it will do, and goes nowhere.
	b.listens()
	b.js(`(() => {
		const c = document.getElementById("score"), r = c.getBoundingClientRect(), y = r.top + c.clientHeight - 37;
		for (let x = r.left; x < r.right; x += 4) {
			c.dispatchEvent(new MouseEvent("click", {clientX: x, clientY: y, bubbles: true}));
			if (document.getElementById("cue-says").textContent.startsWith("Cue at")) break;
		}
	})()`, nil)
	b.until(`/^Cue at intro, bar 1 beat 1: the look “tide”/.test(document.getElementById("cue-says").textContent)`)
	assert.Empty(t, b.posts())

	text := b.textOf("body")
	for _, no := range []string{"locked", "midi", "MIDI note", "note 3", "free"} {
		assert.NotContains(t, text, no, "before anything is pressed")
	}
	b.js(`document.getElementById("music").open = true`, nil)
	b.until(`/midi, locked/.test(document.getElementById("clock-words").innerText)`)

	accents := map[string]bool{}
	for _, song := range []string{"1", "2", "3"} {
		b.atPlace(song+", 0", "intro, bar 1", false)
		b.until(fmt.Sprintf(`document.getElementById("song-of").textContent === "song %s of 3"`, song))
		accent := ""
		b.js(`document.documentElement.style.getPropertyValue("--accent")`, &accent)
		accents[accent] = true
	}
	assert.Len(t, accents, 3, "accents of three songs: %v", accents)
}
