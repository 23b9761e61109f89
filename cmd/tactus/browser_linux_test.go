package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// browserWait is how long a browser may take for anything.
const browserWait = 60 * time.Second

var pageAt = regexp.MustCompile(`page[:=] ?(http://127\.0\.0\.1:\d+/)`)

// needBrowser skips a test of the page in a browser where it cannot run.
func needBrowser(t testing.TB) {
	t.Helper()
	if raceEnabled {
		t.Skip("a browser and the race detector are too much at once for a small computer: make quiet runs this")
	}
	needTools(t, false, "chromium")
	if test, ok := t.(*testing.T); ok {
		test.Parallel() // a page mostly waits
	}
}

// servePage starts the real binary and returns where its page is.
func servePage(t testing.TB, args ...string) string {
	t.Helper()
	c := exec.Command("tactus", append(args, "--panel-at", "127.0.0.1:0", "--state", t.TempDir())...)
	stderr, err := c.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	found := make(chan string, 1)
	read := make(chan struct{})
	go func() {
		defer close(read)
		for lines := bufio.NewScanner(stderr); lines.Scan(); {
			if m := pageAt.FindStringSubmatch(lines.Text()); m != nil {
				found <- m[1]
			}
		}
	}()
	t.Cleanup(func() {
		_ = c.Process.Kill()
		<-read
		_ = c.Wait()
	})
	select {
	case url := <-found:
		return url
	case <-read:
		require.Fail(t, "it ended before it had a page")
	case <-time.After(browserWait):
		require.Fail(t, "no page")
	}
	return ""
}

// tab is a browser's tab with the page.
type tab struct {
	t   testing.TB
	ctx context.Context

	mu     sync.Mutex
	asked  []string // for addresses
	faults []string // of scripts
}

// openTab opens the page in a headless browser, by default one with WebGL2.
func openTab(t testing.TB, url string, width, height int, more ...chromedp.ExecAllocatorOption) *tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.WindowSize(width, height))
	options = append(options, more...)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	b := &tab{t: t, ctx: ctx}
	err := chromedp.Listen(ctx, func(e any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch e := e.(type) {
		case *network.EventRequestWillBeSent:
			b.asked = append(b.asked, e.Request.URL)
		case *runtime.EventExceptionThrown:
			words := e.ExceptionDetails.Text
			if x := e.ExceptionDetails.Exception; x != nil {
				words += ": " + x.Description
			}
			b.faults = append(b.faults, words)
		}
	})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	b.do(chromedp.EmulateViewport(int64(width), int64(height)), chromedp.Navigate(url))
	b.until(`document.getElementById("song").textContent !== "tactus"`)
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, a := range b.asked {
			root, _, _ := strings.Cut(url, "#")
			assert.True(t, strings.HasPrefix(a, root), "the page asked for %s", a)
		}
		for _, f := range b.faults {
			assert.Fail(t, fmt.Sprintf("script: %s", f))
		}
	})
	return b
}

func (b *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, browserWait)
	defer cancel()
	require.NoError(b.t, chromedp.Do(ctx, actions...))
}

// js returns what an expression, or the promise of one, comes to.
func (b *tab) js(expression string, to any) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, browserWait)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string]("(async () => JSON.stringify(await ("+expression+")) ?? \"null\")()", chromedp.EvalAwaitPromise))
	require.NoError(b.t, err)
	if to != nil {
		require.NoError(b.t, json.Unmarshal([]byte(text), to), text)
	}
}

// until waits until an expression holds.
func (b *tab) until(expression string) {
	b.t.Helper()
	ok := false
	b.js(`(async () => {
		const end = performance.now() + 30000;
		while (performance.now() < end) {
			if (`+expression+`) return true;
			await new Promise(requestAnimationFrame);
		}
		return false;
	})()`, &ok)
	if !ok {
		state := ""
		b.js(`document.body.innerText.slice(0, 900)`, &state)
		require.Fail(b.t, "it did not come true within 30 s", "%s; the page says:\n%s", expression, state)
	}
}

// player asks the rehearsal's player, as the page's own buttons do.
func (b *tab) player(request, with string) {
	b.t.Helper()
	status := 0
	b.js(fmt.Sprintf(`fetch("/api/v1/player/%s", {method: "POST", body: '{"with": [%s]}'}).then((r) => r.status)`, request, with), &status)
	require.Equal(b.t, 204, status, "player/%s", request)
}

// sample is the page at a picture: where it says the music is, and how bright
// the stage is drawn.
type sample struct {
	At    float64 `json:"at"` // ms
	Place string  `json:"place"`
	Light float64 `json:"light"` // mean of all octets of red, green and blue
}

// watch samples the page for so long.
func (b *tab) watch(ms int) []sample {
	b.t.Helper()
	return b.watchFrom("", fmt.Sprintf("performance.now() >= start + %d", ms))
}

// watchFrom does something and samples the page from then until a condition holds, or
// for 40 s.
func (b *tab) watchFrom(act, until string) (list []sample) {
	b.t.Helper()
	b.js(fmt.Sprintf(`(async () => {
		const list = [], canvas = document.getElementById("lights"), g = canvas.getContext("2d"), start = performance.now();
		%s;
		while (performance.now() < start + 40000 && !(%s)) {
			await new Promise(requestAnimationFrame);
			const d = g.getImageData(0, 0, canvas.width, canvas.height).data;
			let sum = 0;
			for (let i = 0; i < d.length; i += 4) sum += d[i] + d[i + 1] + d[i + 2];
			list.push({at: performance.now(), place: document.getElementById("place").textContent, light: sum / d.length * 4 / 3});
		}
		return list;
	})()`, act, until), &list)
	return list
}

// The page of a rehearsal, used as a newcomer would.
func TestPageInBrowser(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1280, 900)

	t.Run("the stage goes dark on the beat", func(t *testing.T) {
		b.t = t
		// Chorus 1 of the waltz ends with a beat of dark: "breakdown - 1 beat".
		b.player("stop", "")
		b.player("jump", "2, 138") // its bar 15
		b.until(`document.getElementById("place").textContent.startsWith("chorus 1, bar 15") && document.getElementById("go").textContent === "Play"`)
		list := b.watchFrom(`fetch("/api/v1/player/play", {method: "POST"})`, `document.getElementById("place").textContent.startsWith("breakdown")`)
		const dark = "chorus 1, bar 16 beat 3"
		before, after := 0.0, 1e9
		for i, s := range list {
			if s.Place < dark && strings.HasPrefix(s.Place, "chorus 1, bar 16") {
				before = max(before, s.Light)
			}
			if s.Place == dark && (i+1 == len(list) || list[i+1].Place != dark) {
				after = s.Light
			}
		}
		assert.NotZero(t, before, "which is dark")
		assert.LessOrEqual(t, after, before*0.6, "which is dark")
	})

	t.Run("an armed section comes on the bar", func(t *testing.T) {
		b.t = t
		b.player("stop", "")
		b.player("jump", "2, 26")
		b.until(`document.getElementById("place").textContent.startsWith("verse") && document.getElementById("go").textContent === "Play"`)
		b.player("play", "")
		b.until(`document.getElementById("go").textContent === "Stop" && !/stopped/.test(document.getElementById("tempo").textContent)`)
		b.js(`(() => { // every place from here on, so that none passes while the test is at something else
			const place = document.getElementById("place");
			window.places = [place.textContent];
			new MutationObserver(() => {
				if (places.at(-1) !== place.textContent) places.push(place.textContent);
			}).observe(place, {childList: true, characterData: true, subtree: true});
		})()`, nil)
		b.js(`document.querySelector('#parts button[data-section="6"]').click()`, nil)
		b.until(`document.getElementById("next").textContent.startsWith("Armed: chorus 2") || places.at(-1).startsWith("chorus 2")`)
		b.until(`places.some((p) => p.startsWith("chorus 2"))`)
		before := ""
		b.js(`(() => { const n = places.findIndex((p) => p.startsWith("chorus 2")); return places[n - 1] + " | " + places[n]; })()`, &before)
		assert.True(t, regexp.MustCompile(`^verse, bar \d+ beat 3 \| chorus 2, bar 1 beat 1$`).MatchString(before), "around the entry: %q", before)
	})

	t.Run("hold holds", func(t *testing.T) {
		b.t = t
		b.js(`document.getElementById("hold").click()`, nil)
		b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "true"`)
		list := b.watch(2500)
		list = list[len(list)/5:] // a frame or two may be on their way
		assert.NotEqual(t, list[len(list)-1].Place, list[0].Place, "the music stands")
		for _, s := range list {
			require.Equal(t, list[0].Light, s.Light, "light moves under a hold: %v, %v", list[0], s)
		}
		b.js(`document.getElementById("hold").click()`, nil)
		b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "false"`)
	})

	t.Run("blackout takes a second tap, and restore one", func(t *testing.T) {
		b.t = t
		bright := b.watch(200)
		b.js(`document.getElementById("blackout").click()`, nil)
		b.watch(400)
		pressed := ""
		b.js(`document.getElementById("blackout").getAttribute("aria-pressed")`, &pressed)
		require.Equal(t, "false", pressed, "one tap blacks out")
		b.js(`document.getElementById("blackout").click()`, nil)
		b.until(`document.getElementById("blackout").getAttribute("aria-pressed") === "true"`)
		dark := b.watch(600)
		a, z := bright[0].Light, dark[len(dark)-1].Light
		assert.LessOrEqual(t, z, a/2, "light %.1f before and %.1f in blackout", a, z)
		b.js(`document.getElementById("blackout").click()`, nil)
		b.until(`document.getElementById("blackout").getAttribute("aria-pressed") === "false"`)
	})

	t.Run("a head says why", func(t *testing.T) {
		b.t = t
		b.js(`(() => { const s = document.getElementById("who"); s.value = "2"; s.dispatchEvent(new Event("change")); })()`, nil)
		b.until(`document.querySelector("#why tr.decides") !== null`)
		title := ""
		b.js(`document.getElementById("why-title").textContent`, &title)
		assert.Equal(t, "wash 3", title, "it explains")
		b.js(`document.getElementById("why-close").click()`, nil)
	})

	for _, size := range []struct {
		name          string
		width, height int
	}{{"desktop", 1280, 900}, {"phone", 390, 844}, {"narrow", 320, 640}} {
		for _, view := range []string{"play", "slots", "plan", "health"} {
			t.Run("accessible: "+size.name+" "+view, func(t *testing.T) {
				b.t = t
				b.do(chromedp.EmulateViewport(int64(size.width), int64(size.height)))
				b.js(fmt.Sprintf(`(location.hash = "#%s", document.querySelectorAll("details").forEach((d) => { d.open = true; }))`, view), nil)
				b.until(fmt.Sprintf(`!document.getElementById(%q).hidden`, view))
				b.js(`new Promise((done) => setTimeout(done, 300))`, nil)
				var over int // WCAG 2.2, 1.4.10: 320 pixels are enough
				b.js(`document.documentElement.scrollWidth - innerWidth`, &over)
				assert.Zero(t, over, "pixels by which the page is too wide")
				if size.name == "narrow" {
					return // as on a phone
				}
				for _, fault := range b.axe() {
					assert.Fail(t, fault)
				}
			})
		}
	}

	t.Run("screens are as they were looked at", func(t *testing.T) {
		b.t = t
		b.js(`(location.hash = "#play", document.querySelectorAll("details").forEach((d) => { d.open = false; }))`, nil)
		b.player("stop", "")
		b.player("jump", "2, 96")
		b.until(`document.getElementById("place").textContent === "chorus 1, bar 1 beat 1" && document.getElementById("go").textContent === "Play"`)
		b.watch(2500) // fades end
		// How busy this computer is is no part of the screen.
		b.js(`(document.getElementById("worry").style.display = "none", document.getElementById("music").style.visibility = "hidden")`, nil)
		for _, size := range []struct {
			name          string
			width, height int
		}{{"desktop", 1280, 900}, {"phone", 390, 844}} {
			b.do(chromedp.EmulateViewport(int64(size.width), int64(size.height)))
			b.js(`scrollTo(0, 0)`, nil)
			b.watch(500)
			shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			sameScreen(t, filepath.Join("..", "..", "testdata", "page", size.name+".png"), shot)
		}
	})
}

// axe returns what axe-core, an independent checker, finds against WCAG 2.2 at
// level AA.
func (b *tab) axe() []string {
	b.t.Helper()
	needPeers(b.t)
	src, err := os.ReadFile("../../testdata/wire/node_modules/axe-core/axe.min.js")
	require.NoError(b.t, err)
	var found []struct {
		ID    string `json:"id"`
		Help  string `json:"help"`
		Nodes []struct {
			HTML string `json:"html"`
			Why  string `json:"failureSummary"`
		} `json:"nodes"`
	}
	b.do(chromedp.Evaluate[chromedp.Void](string(src)))
	b.js(`axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) => r.violations)`, &found)
	var list []string
	for _, f := range found {
		for _, n := range f.Nodes {
			list = append(list, fmt.Sprintf("%s: %s: %.200s (%s)", f.ID, f.Help, n.HTML, n.Why))
		}
	}
	return list
}

// sameScreen compares coarsely, since letters are drawn differently from one
// computer to the next: in cells of 26 x 26 pixels.
func sameScreen(t *testing.T, path string, shot []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, shot, 0o644))
	}
	src, err := os.ReadFile(path)
	require.NoError(t, err, "-update makes it, then look at it")
	want, got := cells(t, src), cells(t, shot)
	require.Len(t, got, len(want), "%s has %d cells, the screen", path, len(want))
	sum, worst := 0.0, 0.0
	for i := range want {
		d := max(want[i]-got[i], got[i]-want[i])
		sum += d
		worst = max(worst, d)
	}
	if mean := sum / float64(len(want)); mean > 3 || worst > 70 {
		out := filepath.Join(os.TempDir(), "screen-"+filepath.Base(path))
		_ = os.WriteFile(out, shot, 0o644)
		assert.Fail(t, "the screen is not as it was", "%s: cells differ by %.1f on average, want at most 3; by %.1f at most, want 70; the screen is in %s", path, mean, worst, out)
	}
}

func cells(t *testing.T, src []byte) (list []float64) {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(src))
	require.NoError(t, err)
	const side = 26
	box := img.Bounds()
	for y := box.Min.Y; y+side <= box.Max.Y; y += side {
		for x := box.Min.X; x+side <= box.Max.X; x += side {
			list = append(list, mean(img, image.Rect(x, y, x+side, y+side)))
		}
	}
	return list
}

func mean(img image.Image, box image.Rectangle) float64 {
	sum := 0.0
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			r, g, b, _ := img.At(x, y).RGBA()
			sum += float64(r+g+b) / 3 / 257
		}
	}
	return sum / float64(box.Dx()*box.Dy())
}

// A file with a fault is told on the page, with its line, and mends.
func TestPageTellsOfFaults(t *testing.T) {
	needBrowser(t)
	dir := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", dir)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain")+"#health", 1280, 900)
	path := filepath.Join(dir, "songs", "lanterns.yaml")
	src, err := os.ReadFile(path)
	require.NoError(t, err)
	write := func(text []byte) {
		t.Helper()
		require.NoError(t, os.WriteFile(path, text, 0o644))
	}
	write(bytes.Replace(src, []byte("look: embers"), []byte("look: embrs"), 1))
	b.until(`/songs\/lanterns\.yaml:\d+:\d+/.test(document.getElementById("notes").innerText)`)
	text := ""
	b.js(`document.querySelector("#notes li.bad").innerText`, &text)
	assert.Contains(t, text, "embrs", "the fault is told")
	assert.Contains(t, text, "embers", "the fault is told")
	write(src)
	b.until(`!/lanterns\.yaml/.test(document.getElementById("notes").innerText)`)
}

// A run that a DAW plays has the same page, without a player.
func TestPageOfARun(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "run", "demo", "--midi", "demo", "--protocol", "virtual"), 390, 844)
	b.until(`/^(intro|verse|pre-chorus|chorus 1|bridge|chorus 2|outro), bar /.test(document.getElementById("place").textContent)`)
	hidden := false
	b.js(`document.getElementById("rehearsal").hidden`, &hidden)
	assert.True(t, hidden, "the page offers to play where a DAW does")
}

// A rig is walked from the page as from the keyboard.
func TestPageWalksTheRig(t *testing.T) {
	needBrowser(t)
	marks := filepath.Join(t.TempDir(), "marks.txt")
	b := openTab(t, servePage(t, "walk", "demo", "--protocol", "virtual", "--marks", marks), 390, 844)
	b.until(`!document.getElementById("walk").hidden && document.body.classList.contains("walks")`)
	b.js(`document.querySelector("[data-walk=next]").click()`, nil)
	b.until(`document.getElementById("walk-says").textContent === "1 of 16: wash 1 (stage 1-5, sACN 1, dimmer-rgbw): white"`)
	b.js(`(document.getElementById("walk-why").value = "address", document.querySelector("#walk-wrong button").click())`, nil)
	b.until(`document.getElementById("walk-says").textContent.startsWith("noted in ")`)
	src, err := os.ReadFile(marks)
	assert.NoError(t, err)
	assert.Contains(t, string(src), "wash 1 (stage 1-5, sACN 1, dimmer-rgbw): address\n")
	for _, fault := range b.axe() {
		assert.Fail(t, fault)
	}
}
