package main

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

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

// setScreen gives the page a screen.
func (b *tab) setScreen(s screen) {
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

// savePicture keeps the screen in the folder PAGE_PICTURES, if that is set, to look at.
func (b *tab) savePicture(name string, s screen) {
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

// click presses an element as a finger, a mouse or a screen reader does, once it can be
// pressed: buttons are shut for a moment when the page has not heard from the program.
func (b *tab) click(selector string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		if (!e || e.matches(":disabled")) return false;
		e.click();
		return true;
	})()`, selector))
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
		b.until(`document.getElementById("go").textContent === "Stop" && !/stopped/.test(document.getElementById("tempo").textContent)`)
	} else {
		b.until(`document.getElementById("go").textContent === "Play"`)
	}
}

const inBlackout = `document.getElementById("blackout").getAttribute("aria-pressed") === "true"`

// A tap that restores the light is mostly followed by another: the stage stays lit.
func TestPageRestoreStays(t *testing.T) {
	needBrowser(t)
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
		b.do(chromedp.Reload()) // the second round begins without what the first taps left
		b.until(`document.getElementById("song").textContent !== "tactus"`)
	}
}

// What may be needed at once stands at the same place, in every view and at every
// size, wherever the page is scrolled to.
func TestPageLightBarStandsFixed(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	for _, s := range screens() {
		b.setScreen(s)
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
	b.setScreen(screens()[4])
	b.js(`location.hash = "#health"`, nil)
	b.click("#hold")
	b.until(`document.getElementById("state").textContent === "The light is held" && document.getElementById("state").checkVisibility()`)
	b.click("#hold")
	b.click("#work-light-on")
	b.until(`document.getElementById("state").textContent.startsWith("Work light is on")`)
	b.savePicture("worklight", screens()[4])
}

// What a hand armed is shown as armed, by whom and for when, by shape and in words.
func TestPageShowsWhatAHandArmed(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.js(`fetch("/api/v1/player/speed", {method: "POST", body: '{"with": [0.25]}'})`, nil)
	b.atPlace("2, 0", "", true)
	b.js(`(() => { const w = document.getElementById("when"); w.value = "section end"; w.dispatchEvent(new Event("change")); })()`, nil)
	b.click(`#parts button[data-section="6"]`)
	b.until(`/^Armed: chorus 2, by hand, at .*before the plan/.test(document.getElementById("next").textContent)`)
	b.until(`/^◆ Armed: chorus 2 in \d+ (bars|beats)/.test(document.getElementById("armed").textContent)`)
	visible := false
	b.js(`document.getElementById("next-mark").checkVisibility()`, &visible)
	assert.True(t, visible, "a shape beside the colour")
	assert.Contains(t, b.textOf(`#parts button[data-section="6"]`), "◆ armed")
	b.until(`/^Next cue (in \d+ (bars|beats)|on the next beat), at chorus 2, bar 1 beat 1: /.test(document.getElementById("cue-says").textContent)`)
	assert.Equal(t, "chorus 2", b.says("next-name"))
	for _, s := range screens() {
		b.setScreen(s)
		b.js("scrollTo(0, 0)", nil)
		b.savePicture("armed", s)
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
	needBrowser(t)
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
	z.until(`/House lights set to 50 %/.test(document.getElementById("state").textContent)`)
	a.click("#time-half")
	z.until(`/Effects in half time/.test(document.getElementById("state").textContent)`)
	a.js(`(() => { const s = document.getElementById("speed"); s.value = "0.5"; s.dispatchEvent(new Event("change")); })()`, nil)
	z.until(`document.getElementById("speed").value === "0.5"`)
	a.click("#house-cued")
	z.until(`!/House/.test(document.getElementById("state").textContent)`)
}

// A touch at the end of a level does nothing; it moves by dragging and by steps.
func TestPageFadersMoveByDragging(t *testing.T) {
	needBrowser(t)
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
	b.savePicture("masters", screens()[3])
	at := b.textOf("#masters output")
	b.click("#masters .step")
	b.until(fmt.Sprintf(`parseInt(document.querySelector("#masters output").textContent) === parseInt(%q) - 10`, at))
}

// The first tap of two says so on the button itself.
func TestPageFirstTapIsSeen(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 375, 667)
	b.js(`document.querySelectorAll("details").forEach((d) => { d.open = true; })`, nil)
	for id, words := range map[string]string{"blackout": "Blackout", "house-out": "Out", "walk-in": "Walk-in", "walk-out": "Walk-out", "look-show": "Show it"} {
		b.listens()
		b.click("#" + id)
		assert.Equal(t, words+": tap again", b.says(id))
		assert.Empty(t, b.posts(), id)
		if id == "blackout" {
			b.savePicture("first-tap", screens()[4])
		}
		b.until(fmt.Sprintf("document.getElementById(%q).textContent === %q", id, words)) // it is forgotten
	}
}

// What is written is what happens.
func TestPageSaysWhatHappens(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 390, 844)
	b.js(`document.querySelectorAll("details").forEach((d) => { d.open = true; })`, nil)

	b.atPlace("2, 0", "intro, bar 1", false)
	b.until(`document.getElementById("parts-hint").textContent === "The music is stopped: a tap enters the section at once."`)
	b.listens()
	b.click(`#parts button[data-section="4"]`)
	b.until(`document.getElementById("parts").children[4].getAttribute("aria-current") === "true"`)
	assert.NotContains(t, b.textOf(`#parts button[data-section="4"]`), "tap again")
	b.click(`#parts button[data-section="0"]`)
	b.click(`#parts button[data-section="0"]`)
	for _, p := range b.posts() {
		assert.True(t, strings.HasPrefix(p, "ask/section/arm"), "a tap while the music stands: %s", p)
	}

	assert.Equal(t, "Tap to go to its start.", b.says("songs-hint"))
	b.click("#songs li:nth-child(3) button")
	b.until(`document.getElementById("song-of").textContent === "song 3 of 3"`)

	b.js(`fetch("/api/v1/player/speed", {method: "POST", body: '{"with": [2]}'})`, nil)
	b.js(`(async () => {
		const show = await (await fetch("/api/v1/show")).json(), song = show.songs[show.setList[1]];
		await fetch("/api/v1/player/jump", {method: "POST", body: JSON.stringify({with: [2, song.bars.at(-1)]})});
		await fetch("/api/v1/player/play", {method: "POST"});
	})()`, nil)
	b.until(`document.getElementById("section").textContent === "The song has ended"`)
	assert.Equal(t, "Home by the Breakwater", b.says("next-name"))
	b.until(`document.getElementById("next").textContent === "When it is chosen; until then the light stays."`)
	text := ""
	b.js(`document.body.innerText + document.documentElement.innerHTML`, &text)
	for _, no := range []string{"by the console", "Waits for the song", "Waiting for the song", "Forget", "et go of"} {
		assert.NotContains(t, text, no)
	}
	b.savePicture("ended", screens()[3])
}

// The end of the set ends a rehearsal that nobody has looked at, and no other: a
// tablet that has gone to sleep finds the page again.
func TestRehearsalStaysUnderAPage(t *testing.T) {
	needBrowser(t)
	dir := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", dir)
	write := func(name, text string) {
		t.Helper()
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	song := func(bars int) string {
		return fmt.Sprintf("song: Ferry Bell\nmeter: 4/4\ntempo: 240 bpm\nsections:\n  - verse: {bars: %d, energy: 3, look: embers}\n", bars)
	}
	write("songs/lanterns.yaml", song(400)) // longer than any browser takes to open
	write("sets/november.yaml", "set: November\nsongs: [lanterns]\nwalk-in: walk-in\nwalk-out: walk-out\ntalk: talk\n")
	url := servePage(t, "rehearse", dir, "--plain")
	b := openTab(t, url, 800, 600)
	b.until(`document.getElementById("section").textContent === "verse"`)
	b.do(chromedp.Navigate("about:blank"))
	// The page is gone; then the song is over, by an edit.
	number := func(name string) float64 {
		answer, err := http.Get(url + "metrics")
		require.NoError(t, err, "the rehearsal has ended")
		defer answer.Body.Close()
		src, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		m := regexp.MustCompile(`(?m)^tactus_` + name + ` (\S+)$`).FindSubmatch(src)
		require.NotNil(t, m, "%s", src)
		v, err := strconv.ParseFloat(string(m[1]), 64)
		require.NoError(t, err)
		return v
	}
	await := func(name string, want float64) {
		t.Helper()
		for end := time.Now().Add(browserWait); number(name) != want; {
			require.True(t, time.Now().Before(end), "%s is not %v", name, want)
			b.pictures()
		}
	}
	await("viewers", 0)
	write("songs/lanterns.yaml", song(1))
	await("playing", 0)
	for frames := number("frames_total"); number("frames_total") < frames+50; { // longer than it takes to end
		b.pictures()
	}
	b.do(chromedp.Navigate(url))
	b.until(`document.getElementById("section").textContent === "The song has ended"`)
}

// Single keys work in every view and in either case, and the question mark shows
// them.
func TestPageKeysInEveryView(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	key := func(k string) {
		t.Helper()
		b.js(fmt.Sprintf(`(document.activeElement ?? document.body).dispatchEvent(new KeyboardEvent("keydown", {key: %q, bubbles: true, cancelable: true}))`, k), nil)
	}
	for i, view := range []string{"play", "slots", "plan", "health"} {
		b.js(fmt.Sprintf(`location.hash = "#%s"`, view), nil)
		b.until(fmt.Sprintf(`!document.getElementById(%q).hidden`, view))
		b.until(`document.getElementById("state").textContent !== ""`)
		for n, k := range []string{"h", "H"} {
			key(k)
			b.until(fmt.Sprintf(`document.getElementById("hold").getAttribute("aria-pressed") === "%v"`, n == 0))
		}
		key("?")
		b.until(`document.getElementById("keys-box").open`)
		text := b.textOf("#key-list")
		for _, want := range []string{"hold, or release", "blackout; once: restore", "work light", "disarm the section", "play or stop"} {
			assert.Contains(t, text, want, view)
		}
		if i == 0 {
			b.savePicture("keys", screens()[1])
			for _, fault := range b.axe() {
				assert.Fail(t, fault)
			}
		}
		key("?")
		b.until(`!document.getElementById("keys-box").open`)
	}
	b.js(`document.getElementById("keys").checked = false`, nil)
	b.listens()
	key("h")
	assert.Empty(t, b.posts(), "keys are turned off")
}

// Any look of the show can be chosen by name; a rig walk shows only what belongs to
// it.
func TestPageChoosesAnyLook(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 390, 844)
	b.js(`document.getElementById("more").open = true`, nil)
	equal := false
	b.js(`(async () => {
		const show = await (await fetch("/api/v1/show")).json();
		return [...document.getElementById("look-name").options].map((o) => o.value).join() === show.looks.join() && show.looks.length > 5;
	})()`, &equal)
	assert.True(t, equal, "every look has its name in the list")
	b.js(`document.getElementById("look-name").value = "embers"`, nil)
	b.click("#look-show")
	b.click("#look-show")
	b.until(`document.getElementById("section").textContent === "Look: embers"`)

	w := openTab(t, servePage(t, "walk", "demo", "--protocol", "virtual", "--marks", filepath.Join(t.TempDir(), "marks.txt")), 390, 844)
	w.until(`!document.getElementById("walk").hidden`)
	for _, s := range screens() {
		w.setScreen(s)
		w.js("scrollTo(0, 0)", nil)
		w.savePicture("walk", s)
		shown := ""
		w.js(`["play", "plan", "light-bar", "next-box", "section"].filter((id) => document.getElementById(id).checkVisibility()).join() + [...document.querySelectorAll("#views a")].filter((a) => a.checkVisibility()).map((a) => a.hash).join("")`, &shown)
		assert.Equal(t, "#walk#slots#health", shown, s.name)
	}
	w.js(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "N", bubbles: true}))`, nil)
	w.until(`document.getElementById("walk-says").textContent.startsWith("1 of 16")`)
}
