package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readLooks returns the text of the looks' file.
func readLooks(t *testing.T, dir string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(dir, "looks.yaml"))
	require.NoError(t, err)
	return string(src)
}

// effects opens the room for effects, in a song, and chooses one.
func (b *tab) effects(song, name string) {
	b.t.Helper()
	b.composes(song)
	b.js(`location.hash = "#compose/effects"`, nil)
	b.until(`!document.getElementById("room-effects").hidden && document.querySelectorAll("#effect-list button").length > 5`)
	b.effect(name)
}

// effect chooses an effect, and waits until it is drawn.
func (b *tab) effect(name string) {
	b.t.Helper()
	b.click(fmt.Sprintf(`#effect-list [data-name=%q]`, name))
	b.until(fmt.Sprintf(`document.getElementById("effect-title").textContent === %q && document.querySelector("#effect-wave .curve").getAttribute("d")?.length > 50`, name))
	b.until(fmt.Sprintf(`document.querySelector('#effect-list [data-name=%q]').getAttribute("aria-pressed") === "true"`, name))
}

// edgeSays waits until an edge of the wave says a value.
func (b *tab) edgeSays(edge, words string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector("#effect-wave .%s").getAttribute("aria-valuetext") === %q`, edge, words))
}

// saved waits until everything is saved, after a press on Save.
func (b *tab) saved() {
	b.t.Helper()
	b.click("#compose-save")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
}

// A mouse on a desk: the wave is drawn as the program makes it, its edges are dragged, and
// each drag is one undo. The file has just the lines that were meant.
func TestPageEffectsByMouse(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readLooks(t, dir)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.effects("songs/saturday.yaml", "sway")
	b.edgeSays("period", "2 bars")
	b.edgeSays("depth", "45 %")
	assert.Contains(t, b.says("effect-used"), "a change shows in all of them")
	assert.Contains(t, b.says("effect-named"), "the look singalong")
	assert.Contains(t, b.says("effect-named"), "the ladder at energy 7 (singalong)")

	// The path: eight heads in four steps, from left to right over the picture of the stage.
	b.until(`document.querySelectorAll("#effect-path .dot").length === 8`)
	assert.Contains(t, b.says("effect-path-says"), "In 4 steps. 1: wash 1")
	var xs []float64
	b.js(`[...document.querySelectorAll("#effect-path text")].sort((a, b) => a.textContent - b.textContent).map((e) => Number(e.getAttribute("x")))`, &xs)
	require.Len(t, xs, 8)
	for i := 2; i < len(xs); i += 2 {
		assert.Greater(t, min(xs[i], xs[i+1]), max(xs[i-2], xs[i-1]), "step %d is right of the one before it", i/2+1)
	}

	// Dragged to half its length, and its depth to the whole height.
	width, height := 0.0, 0.0
	b.js(`(() => { const e = document.querySelector("#effect-wave .depth .grip"); return e.width.baseVal.value; })()`, &width)
	b.js(`document.querySelector("#effect-wave .period .grip").height.baseVal.value`, &height)
	b.drag("#effect-wave .period .grip", 0, 0, 1) // a press alone changes nothing
	b.drag("#effect-wave .period .grip", -width/2, 0, 14)
	b.edgeSays("period", "1 bar")
	b.drag("#effect-wave .depth .grip", 0, height*0.35, 9)
	b.edgeSays("depth", "80 %")
	assert.Contains(t, b.says("compose-state"), "Not saved: looks.yaml")
	b.click("#compose-undo")
	b.edgeSays("depth", "45 %")
	b.edgeSays("period", "1 bar")
	b.click("#compose-undo")
	b.edgeSays("period", "2 bars")
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
	b.click("#compose-redo")
	b.click("#compose-redo")
	b.edgeSays("depth", "80 %")
	b.drag("#effect-wave .middle .grip", 12, 0, 5)
	b.until(`document.querySelector("#effect-wave .middle").getAttribute("aria-valuenow") > 50`)
	b.click("#compose-undo")

	b.js(`(() => { const s = document.getElementById("effect-key-path"); s.value = "centre-out"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.until(`document.getElementById("effect-path-says").textContent.startsWith("In 2 steps")`)
	b.click("#effect-double")
	b.edgeSays("period", "2 bars")
	assert.Equal(t, before, readLooks(t, dir), "nothing is written before it is saved")
	b.saved()
	assert.Equal(t, strings.Replace(before, "sway: {on: washes, wave: triangle, moves: intensity, period: 2 bars, path: left-right, spread: 1/2 cycle, depth: 45 %}",
		"sway: {on: washes, wave: triangle, moves: intensity, period: 2 bars, path: centre-out, spread: 1/2 cycle, depth: 80 %}", 1), readLooks(t, dir))
}

// The line and the dots go along with the music, at its tempo; the drawing is what the
// program answers.
func TestPageEffectsMove(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1440, 900)
	b.effects("songs/saturday.yaml", "sway")
	b.atPlace("2, 16", "", true)
	var moves struct {
		At, Beats, Line, Radius []float64
		Values                  []float64
		Curve                   string
		Height                  float64
	}
	b.js(`(async () => {
		const out = {At: [], Line: [], Radius: []}, line = document.querySelector("#effect-wave .present"), dot = document.querySelector("#effect-path .dot");
		const grip = document.querySelector("#effect-wave .depth .grip");
		for (let i = 0; i < 90; i++) {
			await new Promise(requestAnimationFrame);
			out.At.push(performance.now());
			out.Line.push((Number(/\(([\d.]+)/.exec(line.getAttribute("transform"))[1]) - 40) / grip.width.baseVal.value);
			out.Radius.push(Number(dot.getAttribute("r")));
		}
		out.Values = (await (await fetch("/api/v1/compose/effect?effect=sway")).json()).light;
		out.Curve = document.querySelector("#effect-wave .curve").getAttribute("d");
		out.Height = document.querySelector("#effect-wave .period .grip").height.baseVal.value;
		return out;
	})()`, &moves)
	speed := 0.0 // periods a second, from the tempo that the page says
	b.js(`parseFloat(document.getElementById("tempo").textContent) / 60 / document.querySelectorAll("#beats span").length / 2`, &speed)
	n := len(moves.Line) - 1
	gone := 0.0
	for i := 1; i <= n; i++ {
		step := moves.Line[i] - moves.Line[i-1]
		if step < -0.5 {
			step++
		}
		assert.Greater(t, step, -0.01, "it goes forwards")
		gone += step
	}
	assert.InEpsilon(t, speed, gone/(moves.At[n]-moves.At[0])*1000, 0.1, "periods a second")
	least, most := moves.Radius[0], moves.Radius[0]
	for _, r := range moves.Radius {
		least, most = min(least, r), max(most, r)
	}
	assert.Greater(t, most-least, 0.2, "the dot on a head moves")

	points := strings.FieldsFunc(moves.Curve, func(r rune) bool { return r == 'M' || r == 'L' })
	require.Len(t, points, len(moves.Values))
	top := 0.0
	_, err := fmt.Sscanf(points[len(points)/2], "%f %f", new(float64), &top)
	require.NoError(t, err)
	for i, p := range points {
		var x, y float64
		_, err := fmt.Sscanf(p, "%f %f", &x, &y)
		require.NoError(t, err)
		require.InDelta(t, (1-moves.Values[i])*moves.Height, y-26, 0.11, "value %d", i)
	}
}

// A song gets its own copy in one undo; the lines of other songs and of the looks stay.
func TestPageEffectsCopyForASong(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	song, looks := readSong(t, dir, "saturday"), readLooks(t, dir)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 820, 1180)
	b.effects("songs/saturday.yaml", "sway")
	name := ""
	b.js(`document.getElementById("song").textContent && [...document.getElementById("effect-song").options].find((o) => o.selected).textContent`, &name)
	copied := "sway for " + name
	b.click("#effect-copy-song")
	b.until(fmt.Sprintf(`document.getElementById("effect-title").textContent === %q`, copied))
	assert.NotContains(t, b.says("effect-playing"), ";")
	assert.Contains(t, b.says("effect-used"), "plays in 1 song")
	b.drag("#effect-wave .depth .grip", 0, 20, 4)
	b.until(`document.querySelector("#effect-wave .depth").getAttribute("aria-valuetext") !== "45 %"`)
	b.click("#compose-undo")
	b.edgeSays("depth", "45 %")
	b.saved()
	now := readSong(t, dir, "saturday")
	assert.NotEqual(t, song, now)
	changed := 0
	was, is := strings.Split(song, "\n"), strings.Split(now, "\n")
	require.Len(t, is, len(was), "no line comes or goes")
	for i := range was {
		if was[i] != is[i] {
			changed++
			assert.Contains(t, is[i], copied, "line %d", i+1)
		}
	}
	assert.Positive(t, changed)
	assert.Contains(t, readLooks(t, dir), "  sway: {on: washes, wave: triangle")
	assert.Equal(t, strings.Count(looks, "\n")+strings.Count(readLooks(t, dir), copied), strings.Count(readLooks(t, dir), "\n"), "one entry more, and perhaps its comment")
	b.effect("sway")
	assert.NotContains(t, b.says("effect-playing"), name)
	b.click("#compose-undo")
	b.until(`!document.querySelector('#effect-list').textContent.includes(" for ")`)
	b.saved()
	assert.Equal(t, song, readSong(t, dir, "saturday"))
	assert.Equal(t, looks, readLooks(t, dir))
}

// touchDrag drags an element with a finger.
func touchDrag(b *tab, selector string, dx, dy float64, steps int) {
	b.t.Helper()
	var at []float64
	b.js(fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		e.scrollIntoView({block: "center"});
		const r = e.getBoundingClientRect();
		return [r.x + r.width / 2, r.y + r.height / 2];
	})()`, selector), &at)
	send := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		if points == nil {
			points = []*input.TouchPoint{}
		}
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
		require.NoError(b.t, err)
	}
	send(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: at[0], Y: at[1]})
	for i := 1; i <= steps; i++ {
		send(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: at[0] + dx*float64(i)/float64(steps), Y: at[1] + dy*float64(i)/float64(steps)})
	}
	send(input.DispatchTouchEventTypeTouchEnd)
}

// A finger on a phone: effects are added, changed, renamed and removed; one that is used
// stays, and the page says where.
func TestPageEffectsByTouch(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readLooks(t, dir)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.effects("songs/lanterns.yaml", "sway")
	b.touch("#effect-remove", 3) // a nervous hand
	b.until(`document.getElementById("effect-says").textContent.includes("because it is used: ") && document.getElementById("effect-says").textContent.includes("the look singalong")`)
	assert.Contains(t, b.says("effect-list"), "sway")

	b.js(`document.getElementById("effect-new-name").value = "<b>dawn</b>"`, nil)
	b.touch("#effect-new button", 1)
	b.until(`!document.getElementById("compose-refused").hidden && document.getElementById("compose-refused").textContent.includes("cannot be a name")`)
	b.js(`document.getElementById("effect-new-name").value = "dawn"`, nil)
	b.touch("#effect-new button", 1)
	b.until(`document.getElementById("effect-title").textContent === "dawn" && document.getElementById("effect-used").textContent.startsWith("Nothing uses it yet")`)
	b.edgeSays("depth", "40 %")
	height := 0.0
	b.js(`document.querySelector("#effect-wave .period .grip").height.baseVal.value`, &height)
	touchDrag(b, "#effect-wave .depth .grip", 0, height*0.2, 6)
	depth := 0.0
	b.until(`document.querySelector("#effect-wave .depth").getAttribute("aria-valuenow") > 55`)
	b.pictures()
	b.js(`Number(document.querySelector("#effect-wave .depth").getAttribute("aria-valuenow"))`, &depth)
	assert.InDelta(t, 60, depth, 2)
	b.touch("#compose-undo", 1)
	b.edgeSays("depth", "40 %")
	b.touch("#compose-redo", 1)
	b.edgeSays("depth", fmt.Sprintf("%v %%", depth))
	b.touch(`.effect-key[data-key="on"] button:nth-child(1)`, 1)
	b.until(`document.querySelector('.effect-key[data-key="on"] button').getAttribute("aria-pressed") === "true"`)
	b.js(`(() => { const s = document.getElementById("effect-key-moves"); s.value = "colour"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.until(`!document.querySelector('.effect-key[data-key="from"]').hidden && document.querySelector("#effect-wave .area.coloured")`)
	b.js(`(() => { const s = document.getElementById("effect-key-wave"); s.value = "steps"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.until(`document.querySelectorAll(".effect-levels input").length === 4 && document.querySelector('.effect-key[data-key="skew"]').hidden`)
	b.saved()
	assert.Contains(t, readLooks(t, dir), "levels: [100 %, 60 %, 80 %, 30 %]")

	b.js(`document.getElementById("effect-name").value = "sun rise"`, nil)
	b.touch("#effect-rename button[type=submit]", 1)
	b.until(`document.getElementById("effect-title").textContent === "sun rise"`)
	b.touch("#effect-remove", 1)
	assert.Equal(t, "Remove: tap again", b.says("effect-remove"))
	b.touch("#effect-remove", 1)
	b.until(`!document.getElementById("effect-list").textContent.includes("sun rise")`)
	b.saved()
	assert.Equal(t, before, readLooks(t, dir))
}

// tabTo presses Tab until an element has the focus.
func tabTo(b *tab, selector string) {
	b.t.Helper()
	for range 400 {
		b.do(chromedp.KeyEvent("\t"))
		there := false
		b.js(fmt.Sprintf(`document.activeElement === document.querySelector(%q)`, selector), &there)
		if there {
			return
		}
	}
	require.Fail(b.t, "no way there by Tab", selector)
}

// keys presses keys as a keyboard does.
func keys(b *tab, list ...string) {
	b.t.Helper()
	for _, k := range list {
		b.do(chromedp.KeyEvent(k))
	}
}

const (
	keyUp, keyDown, keyLeft, keyRight = "\u0304", "\u0301", "\u0302", "\u0303"
)

// Keys only: an effect is chosen, its edges go by arrow keys, and quick presses are one
// undo.
func TestPageEffectsByKeys(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", hallCopy(t), "--plain"), 1024, 768)
	b.js(`location.hash = "#compose/effects"`, nil)
	b.until(`document.querySelectorAll("#effect-list button").length > 5`)
	tabTo(b, `#effect-list [data-name="heave"]`)
	keys(b, "\r")
	b.until(`document.getElementById("effect-title").textContent === "heave"`)
	b.edgeSays("depth", "50 %")
	tabTo(b, "#effect-wave .depth")
	keys(b, keyUp, keyUp, keyUp)
	b.edgeSays("depth", "53 %")
	tabTo(b, "#effect-wave .period")
	keys(b, keyLeft)
	b.edgeSays("period", "3 bars")
	b.js(`document.body.focus()`, nil)
	keys(b, "z")
	b.edgeSays("period", "4 bars")
	keys(b, "z")
	b.edgeSays("depth", "50 %")
	tabTo(b, "#effect-key-low")
	keys(b, keyRight, keyRight)
	b.until(`document.querySelector("#effect-key-low").getAttribute("aria-valuetext") === "2 %"`)
}

// What flashes too fast is said in words, and the page does not flash with it; nor does it
// for those who want little motion.
func TestPageEffectsDoNotFlash(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	src := readLooks(t, dir)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "looks.yaml"), []byte(strings.Replace(src, "see-saw: {on: washes, wave: square, moves: intensity, period: 4 bars, duty: 50 %, low: 35 %, path: alternate}", "see-saw: {on: washes, wave: square, moves: intensity, period: 1/4 beat, duty: 50 %}", 1)), 0o644))
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.effects("songs/saturday.yaml", "see-saw")
	b.until(`!document.getElementById("effect-caution").hidden`)
	assert.Contains(t, b.says("effect-caution"), "the flash limiter will hold it back")
	assert.Contains(t, b.says("effect-caution"), "photosensitive epilepsy")
	b.atPlace("2, 16", "", true)
	turns := `(async () => {
		const dot = document.querySelector("#effect-path .dot"), seen = [];
		await new Promise((r) => setTimeout(r, 600));
		for (const end = performance.now() + 1500; performance.now() < end; await new Promise(requestAnimationFrame)) seen.push(Number(dot.getAttribute("r")));
		let turns = 0, way = 0;
		for (let i = 1; i < seen.length; i++) {
			const now = Math.sign(seen[i] - seen[i - 1]);
			if (now && now !== way) { way = now; turns++; }
		}
		return turns;
	})()`
	n := -1
	b.js(turns, &n)
	assert.Zero(t, n, "the dots stand still")

	// Three flashes a second are let through; the dots go up and down less often still.
	b.js(`(() => { const s = document.getElementById("effect-key-period"); s.value = "1 beat"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.edgeSays("period", "1 beat")
	b.until(`document.getElementById("effect-caution").hidden`)
	b.js(turns, &n)
	assert.Positive(t, n)
	assert.LessOrEqual(t, n, 9, "changes in 1.5 s: three flashes a second")

	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
	require.NoError(t, err)
	b.until(`matchMedia("(prefers-reduced-motion: reduce)").matches`)
	pictures := 0
	b.js(`(async () => {
		const seen = new Set(), at = () => [...document.querySelectorAll("#effect-path .dot, #effect-wave .present, #effect-wave .riders circle")].map((e) => e.getAttribute("r") + e.getAttribute("transform")).join();
		for (const end = performance.now() + 3000; performance.now() < end; await new Promise(requestAnimationFrame)) seen.add(at());
		return seen.size;
	})()`, &pictures)
	assert.LessOrEqual(t, pictures, 3, "pictures in 3 s")
}

// The room fits every screen, and an independent checker finds nothing.
func TestPageEffectsFit(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.effects("songs/lanterns.yaml", "colour swing")
	all := append(screens(), screen{"820x1180", 820, 1180, 1})
	for i, s := range all {
		b.setScreen(s)
		b.pictures()
		faults := []string{}
		b.js(clipped, &faults)
		assert.Empty(t, faults, s.name)
		small := []string{}
		b.js(`[...document.querySelectorAll("#room-effects :is(button, select, input, summary)")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 43.5).map((e) => e.id + e.textContent.slice(0, 20))`, &small)
		assert.Empty(t, small, "%s: too small for a finger", s.name)
		if i%3 == 0 || s.width == 390 {
			b.uncover()
			for _, fault := range b.axe() {
				assert.Fail(t, fault, s.name)
			}
		}
		b.js("scrollTo(0, 0)", nil)
		b.savePicture("effects", s)
		b.js(`document.getElementById("effect-box").scrollIntoView({block: "start"})`, nil)
		b.savePicture("effects-box", s)
		b.js(`document.getElementById("effect-keys").scrollIntoView({block: "start"})`, nil)
		b.savePicture("effects-keys", s)
	}
}
