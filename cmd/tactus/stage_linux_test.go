package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/fixtures"
	"tactus/shows/swatches"
)

// painters are the two ways in which the page paints the stage's light. A headless
// browser has no graphics card, so that the page takes the second, unless it is made
// to believe in the first.
var painters = []string{"webgl2", "2d"}

const believe = `
	const get = HTMLCanvasElement.prototype.getContext;
	HTMLCanvasElement.prototype.getContext = function (kind, options) {
		const g = get.call(this, kind, options);
		if (kind === "webgl2" && g) {
			const extension = g.getExtension.bind(g);
			g.getExtension = (name) => (name === "WEBGL_debug_renderer_info" ? null : extension(name));
			window.gone ??= extension("WEBGL_lose_context");
		}
		return g;
	};`

// stageShow is the demo with looks of a test's own, and fixtures beside its own.
func stageShow(t testing.TB, fixtures, looks string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", dir)
	for file, add := range map[string][2]string{"rig.yaml": {"\nfixtures:\n", fixtures}, "looks.yaml": {"\nlooks:\n", looks}} {
		path := filepath.Join(dir, file)
		src, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Contains(t, string(src), add[0], path)
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(src), add[0], add[0]+add[1], 1)), 0o644))
	}
	return dir
}

// stagePage opens the page of a show in a browser that paints by one of painters.
func stagePage(t testing.TB, dir, painter string, width, height int) *tab {
	t.Helper()
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), width, height, chromedp.Flag("force-color-profile", "srgb"))
	if painter == "webgl2" {
		_, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: believe})
		require.NoError(t, err)
		b.do(chromedp.Reload())
	}
	b.until(`document.getElementById("song").textContent !== "tactus"`)
	name := ""
	b.js(`document.getElementById("lights").dataset.painter`, &name)
	require.Equal(t, painter, name)
	return b
}

// showLook asks for a look and waits until the page has been told of it and has drawn.
func (b *tab) showLook(name string) {
	b.t.Helper()
	status := 0
	b.js(fmt.Sprintf(`fetch("/api/v1/ask/look", {method: "POST", body: JSON.stringify({with: [%q]})}).then((r) => r.status)`, name), &status)
	require.Equal(b.t, 204, status, "look %s", name)
	b.until(fmt.Sprintf(`document.getElementById("section").textContent === "Look: " + %q`, name))
	b.js(`new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))`, nil)
}

// lamp is a head on the page, in CSS pixels of the window: its lens, the end of its
// beam's axis, and the middle between the two.
type lamp struct {
	Name                   string
	X, Y, Radius           float64
	EndX, EndY, MidX, MidY float64
	Lowest                 float64 // row that the edge of its light reaches on floor or wall
}

// lamps asks the page's own modules where heads are.
func (b *tab) lamps() map[string]lamp {
	b.t.Helper()
	var list []lamp
	b.js(`(async () => {
		const { Space } = await import("/stage-space.js"), show = await (await fetch("/api/v1/show")).json();
		const canvas = document.getElementById("lights"), box = canvas.getBoundingClientRect(), space = new Space(show.heads);
		space.fit(canvas.clientWidth, canvas.clientHeight);
		return space.lamps.map((l) => {
			const end = space.project(l.end), mid = space.project([0, 1, 2].map((k) => (l.at[k] + l.end[k]) / 2));
			const side = [l.aim[1], -l.aim[0], 0], n = Math.hypot(...side) || 1, up = [0, 1, 2].map((k) => [-l.aim[2] * side[1], l.aim[2] * side[0], l.aim[0] * side[1] - l.aim[1] * side[0]][k] / n);
			let near = 0;
			for (let i = 0; i < 24; i++) {
				const c = Math.cos(i * Math.PI / 12) * l.tan, s = Math.sin(i * Math.PI / 12) * l.tan, d = [0, 1, 2].map((k) => l.aim[k] + c * side[k] / n + s * up[k]), m = Math.hypot(...d);
				near = Math.max(near, space.project(space.hit(l.at, d.map((v) => v / m)))[1]);
			}
			return { Name: l.head.name, X: box.x + l.spot[0], Y: box.y + l.spot[1], Radius: l.radius, EndX: box.x + end[0], EndY: box.y + end[1], MidX: box.x + mid[0], MidY: box.y + mid[1], Lowest: box.y + near };
		});
	})()`, &list)
	byName := map[string]lamp{}
	for _, l := range list {
		byName[l.Name] = l
	}
	return byName
}

func (b *tab) screen() image.Image {
	b.t.Helper()
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	img, err := png.Decode(bytes.NewReader(shot))
	require.NoError(b.t, err)
	return img
}

// colourAt is linear light of a place on a screen.
func colourAt(img image.Image, x, y float64) fixtures.RGB {
	r, g, bl, _ := img.At(int(x), int(y)).RGBA()
	return fixtures.RGB8(uint8(r>>8), uint8(g>>8), uint8(bl>>8))
}

func luminance(c fixtures.RGB) float64 { return c.XYZ()[1] }

// apart is how far two colours are from each other, in ΔE00.
func apart(c, d fixtures.RGB) float64 {
	return c.XYZ().Lab(fixtures.D65()).DeltaE(d.XYZ().Lab(fixtures.D65()))
}

// Lenses on the screen have the colours that 'tactus colours' calculates for the
// same heads and states, at full and dimmed, those of types that cannot give all
// hues too.
func TestStageColours(t *testing.T) {
	needBrowser(t)
	looks := ""
	show, err := loadShow("demo", "", io.Discard)
	require.NoError(t, err)
	asked := swatches.New(show).Colours
	for i := range asked {
		looks += fmt.Sprintf("  test %d: {set: {stage colour: {colour: %q, intensity: 100 %%}, tunable: {colour: %q, intensity: 40 %%}}}\n", i, asked[i].RGB.Hex(), asked[i].RGB.Hex())
	}
	dir := stageShow(t, "  tunable: {profile: warm-cool, universe: house, address: 20, at: [0 m, 3 m, 3 m]}\n", looks)
	show, err = loadShow(dir, "", io.Discard)
	require.NoError(t, err)
	s := swatches.New(show)
	kinds := map[string]*swatches.Kind{}
	for i := range s.Kinds {
		kinds[s.Kinds[i].Name] = &s.Kinds[i]
	}
	for _, painter := range painters {
		t.Run(painter, func(t *testing.T) {
			b := stagePage(t, dir, painter, 1280, 900)
			for i := 0; i < len(asked); i += 3 {
				b.showLook(fmt.Sprintf("test %d", i))
				lamps := b.lamps()
				rgb := fixtures.RGB{}
				if c, err := fixtures.ParseColour(asked[i].RGB.Hex(), fixtures.D65()); assert.NoError(t, err) {
					rgb = c
				}
				worst := func(img image.Image) (far float64, who string) {
					for _, h := range show.Program.Heads {
						k, level := kinds[show.Program.Patch.Placements()[h.Fixture].Profile.Name], 1.0
						if k == nil {
							continue
						}
						if h.Name == "tunable" {
							level = 0.4
						}
						want, _, _ := k.Match(swatches.Colour{RGB: rgb})
						for c := range want {
							want[c] = min(max(want[c], 0), 1) * level
						}
						l := lamps[h.Name]
						got := colourAt(img, l.X, l.Y)
						if d := apart(want, got); d > far {
							far, who = d, fmt.Sprintf("%s: want %s, on the screen %s", h.Name, want.Hex(), got.Hex())
						}
					}
					return far, who
				}
				far, who := worst(b.screen())
				for end := time.Now().Add(browserWait / 2); far > 5 && time.Now().Before(end); { // the flash limiter may slow a change
					far, who = worst(b.screen())
				}
				assert.LessOrEqual(t, far, 5.0, "%s: %s", asked[i].Name, who)
			}
		})
	}
}

// hueOf is the hue of linear light in degrees, and its saturation, 0..1.
func hueOf(c fixtures.RGB) (hue, saturation float64) {
	high, low := max(c[0], c[1], c[2]), min(c[0], c[1], c[2])
	if high <= 0 || high == low {
		return 0, 0
	}
	switch d := high - low; high {
	case c[0]:
		hue = math.Mod((c[1]-c[2])/d+6, 6)
	case c[1]:
		hue = 2 + (c[2]-c[0])/d
	default:
		hue = 4 + (c[0]-c[1])/d
	}
	return hue * 60, (high - low) / high
}

// hues returns the least and the greatest hue among the pixels in a box that are
// bright and saturated enough to have one, and how many these are.
func hues(img image.Image, box image.Rectangle) (least, greatest float64, n int) {
	least, greatest = 360, 0
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			c := colourAt(img, float64(x), float64(y))
			if h, s := hueOf(c); s > 0.5 && max(c[0], c[1], c[2]) > 0.04 {
				least, greatest, n = min(least, h), max(greatest, h), n+1
			}
		}
	}
	return least, greatest, n
}

// Two heads at different depths that lie on each other on the screen show their own
// hues and those in between, and the nearer one covers the other.
func TestStageOverlap(t *testing.T) {
	needBrowser(t)
	const green, amber = "#00c040", "#ff9000"
	add := "  near one: {profile: dimmer-rgb, universe: house, address: 20, at: [0 m, 0.5 m, 3.4 m]}\n" +
		"  far one: {profile: dimmer-rgb, universe: house, address: 24, at: [0.1 m, 5 m, 3.9 m]}\n"
	looks := fmt.Sprintf("  test both: {set: {fronts: {intensity: 0 %%}, near one: {colour: %q, intensity: 100 %%}, far one: {colour: %q, intensity: 100 %%}, hazer: {haze: 40 %%}}}\n", green, amber)
	dir := stageShow(t, add, looks)
	for _, painter := range painters {
		t.Run(painter, func(t *testing.T) {
			b := stagePage(t, dir, painter, 1280, 900)
			b.showLook("test both")
			lamps := b.lamps()
			near, far := lamps["near one"], lamps["far one"]
			gap := math.Hypot(near.X-far.X, near.Y-far.Y)
			require.Less(t, gap, near.Radius+far.Radius+6, "they do not overlap")
			img := b.screen()
			want, err := fixtures.ParseColour(green, fixtures.D65())
			require.NoError(t, err)
			assert.LessOrEqual(t, apart(want, colourAt(img, near.X, near.Y)), 5.0, "the near lens")
			r := int(2.5 * near.Radius)
			least, greatest, n := hues(img, image.Rect(int(near.X)-r, int(near.Y)-r, int(near.X)+r, int(near.Y)+r))
			require.Greater(t, n, 200)
			low, _ := hueOf(fixtures.RGB8(0xff, 0x90, 0))
			high, _ := hueOf(want)
			assert.GreaterOrEqual(t, least, low-6, "redder than either lamp")
			assert.LessOrEqual(t, greatest, high+6, "bluer than either lamp")
		})
	}
}

// However much light of one hue adds up, it keeps that hue.
func TestStageKeepsHue(t *testing.T) {
	needBrowser(t)
	dir := manyHeads(t)
	path := filepath.Join(dir, "looks.yaml")
	src, err := os.ReadFile(path)
	require.NoError(t, err)
	src = bytes.Replace(src, []byte("\nlooks:\n"), []byte("\nlooks:\n  test amber: {set: {fronts: {intensity: 0 %}, house lights: {intensity: 0 %}, washes: {colour: \"#ff9000\", intensity: 100 %}, warmers: {colour: \"#ff9000\", intensity: 100 %}, hazer: {haze: 100 %}}}\n"), 1)
	require.NoError(t, os.WriteFile(path, src, 0o644))
	want, _ := hueOf(fixtures.RGB8(0xff, 0x90, 0))
	for _, painter := range painters {
		t.Run(painter, func(t *testing.T) {
			b := stagePage(t, dir, painter, 1280, 900)
			b.showLook("test amber")
			img, box, seen, off := b.screen(), b.stageBox(), 0, 0
			for y := box.Min.Y; y < box.Max.Y; y++ {
				for x := box.Min.X; x < box.Max.X; x++ {
					c := colourAt(img, float64(x), float64(y))
					if h, s := hueOf(c); s > 0.5 && max(c[0], c[1], c[2]) > 0.04 {
						seen++
						if math.Abs(h-want) > 5 {
							off++
						}
					}
				}
			}
			require.Greater(t, seen, 50000)
			assert.LessOrEqual(t, off, seen/50, "these of %d pixels have another hue, more than the edges of trusses do", seen)
		})
	}
}

// The stage shows the light that leaves the fixtures: in bright blue the same washes light
// it more than in matched blue, and in the same hue.
func TestStageShowsBrightBlue(t *testing.T) {
	needBrowser(t)
	looks := ""
	for name, role := range map[string]string{"matched": "second", "bright": "main"} {
		looks += fmt.Sprintf("  test %s: {set: {fronts: {intensity: 0 %%}, house lights: {intensity: 0 %%}, washes: {colour: %s, intensity: 30 %%}, hazer: {haze: 20 %%}}}\n", name, role)
	}
	dir := stageShow(t, "", looks)
	path := filepath.Join(dir, "looks.yaml")
	src, err := os.ReadFile(path)
	require.NoError(t, err)
	palette := "\npalette: {main: \"#0000ff\", second: \"#0000ff\", accent: \"#ffb040\", warm: \"#ffd9a8\"}\ndeep colours: {main: bright}\n"
	out := regexp.MustCompile(`\npalette: .*\n`).ReplaceAllLiteralString(string(src), palette)
	require.Contains(t, out, palette)
	require.NoError(t, os.WriteFile(path, []byte(out), 0o644))
	for _, painter := range painters {
		t.Run(painter, func(t *testing.T) {
			b := stagePage(t, dir, painter, 1280, 900)
			sum := map[string]float64{}
			for _, look := range []string{"matched", "bright"} {
				b.showLook("test " + look)
				img, box := b.screen(), b.stageBox()
				for y := box.Min.Y; y < box.Max.Y; y += 2 {
					for x := box.Min.X; x < box.Max.X; x += 2 {
						sum[look] += colourAt(img, float64(x), float64(y))[2]
					}
				}
				_, greatest, n := hues(img, box)
				assert.Greater(t, n, 1000, look)
				assert.LessOrEqual(t, greatest, 250.0, look)
			}
			t.Logf("%.2f times the blue light on the screen", sum["bright"]/sum["matched"])
			assert.Greater(t, sum["bright"], 1.7*sum["matched"]) // 3.3 to 3.4 less what the picture clips
		})
	}
}

// stageBox is where the stage is on the screen.
func (b *tab) stageBox() image.Rectangle {
	b.t.Helper()
	var at struct{ X, Y, Width, Height float64 }
	b.js(`document.getElementById("lights").getBoundingClientRect()`, &at)
	return image.Rect(int(at.X), int(at.Y), int(at.X+at.Width), int(at.Y+at.Height))
}

// Beams hang in the haze that the hazer makes and in none without; they begin at
// the head and end on the floor or the back wall.
func TestStageBeams(t *testing.T) {
	needBrowser(t)
	looks := ""
	for _, head := range []string{"wash 6", "warmer 1"} {
		for _, haze := range []int{0, 10, 30, 100} {
			looks += fmt.Sprintf("  test %s %d: {set: {fronts: {intensity: 0 %%}, %s: {colour: \"#ffffff\", intensity: 100 %%}, hazer: {haze: %d %%}}}\n", strings.ReplaceAll(head, " ", ""), haze, head, haze)
		}
	}
	looks += "  test dark: {set: {fronts: {intensity: 0 %}, hazer: {haze: 0 %}}}\n"
	dir := stageShow(t, "", looks)
	for _, painter := range painters {
		t.Run(painter, func(t *testing.T) {
			b := stagePage(t, dir, painter, 1280, 900)
			b.showLook("test dark")
			lamps, dark := b.lamps(), b.screen()
			for _, head := range []string{"wash 6", "warmer 1"} {
				l, shots := lamps[head], map[int]image.Image{}
				for _, haze := range []int{0, 10, 30, 100} {
					b.showLook(fmt.Sprintf("test %s %d", strings.ReplaceAll(head, " ", ""), haze))
					shots[haze] = b.screen()
				}
				at := func(haze int) float64 { return luminance(colourAt(shots[haze], l.MidX, l.MidY)) }
				if head == "wash 6" { // nothing of its light falls on what is behind its beam
					assert.InDelta(t, luminance(colourAt(dark, l.MidX, l.MidY)), at(0), 0.004, "a beam without haze")
				}
				assert.Greater(t, at(10), at(0)+0.005, "haze 10 %%")
				assert.Greater(t, at(30), at(10)*1.2, "haze 30 %%")
				assert.Greater(t, at(100), at(30)*1.05, "haze 100 %%")

				// What haze adds is the beam: it begins at the head and ends where its light falls.
				box := b.stageBox()
				top, bottom, left, right := box.Max.Y, 0, box.Max.X, 0
				for y := box.Min.Y; y < box.Max.Y; y++ {
					for x := box.Min.X; x < box.Max.X; x++ {
						if luminance(colourAt(shots[100], float64(x), float64(y)))-luminance(colourAt(shots[0], float64(x), float64(y))) > 0.01 && math.Hypot(float64(x)-lamps["hazer"].X, float64(y)-lamps["hazer"].Y) > 2*lamps["hazer"].Radius {
							top, bottom, left, right = min(top, y), max(bottom, y), min(left, x), max(right, x)
						}
					}
				}
				if head == "wash 6" {
					assert.InDelta(t, l.Y, float64(top), 3*l.Radius, "where the beam begins")
					assert.GreaterOrEqual(t, float64(bottom), l.EndY-4, "the beam ends in the air")
					assert.LessOrEqual(t, float64(bottom), l.Lowest+8, "the beam goes on below the floor")
				} else {
					assert.InDelta(t, l.X, float64(left), 3*l.Radius, "where the beam begins")
					assert.GreaterOrEqual(t, float64(right), l.EndX-4, "the beam ends in the air")
					assert.LessOrEqual(t, float64(bottom), l.Lowest+8, "the beam goes on below the floor")
				}
				assert.Greater(t, luminance(colourAt(shots[0], l.EndX, l.EndY)), luminance(colourAt(dark, l.EndX, l.EndY))+0.02, "there is no pool where %s points", head)
			}
		})
	}
}

// Both painters paint the same picture; when WebGL goes in the middle of a show the
// other takes over, and hands back.
func TestStagePaintersAgree(t *testing.T) {
	needBrowser(t)
	dir := stageShow(t, "", "  test all: {set: {front truss: {colour: \"#00c040\", intensity: 100 %}, back truss: {colour: \"#ff9000\", intensity: 60 %}, warmers: {colour: \"#3060ff\", intensity: 80 %}, fronts: {intensity: 30 %}, hazer: {haze: 30 %}}}\n")
	shots := map[string][]float64{}
	for _, painter := range painters {
		b := stagePage(t, dir, painter, 1280, 900)
		b.showLook("test all")
		shots[painter] = b.stageCells()
	}
	same := func(t *testing.T, a, z []float64) {
		t.Helper()
		require.Equal(t, len(a), len(z))
		sum, worst := 0.0, 0.0
		for i := range a {
			d := math.Abs(a[i] - z[i])
			sum, worst = sum+d, max(worst, d)
		}
		assert.LessOrEqual(t, sum/float64(len(a)), 1.5, "cells differ on average")
		assert.LessOrEqual(t, worst, 12.0, "cells differ at most")
	}
	same(t, shots["webgl2"], shots["2d"])

	b := stagePage(t, dir, "webgl2", 1280, 900)
	b.showLook("test all")
	b.js(`window.gone.loseContext()`, nil)
	b.until(`document.getElementById("lights").dataset.painter === "2d"`)
	same(t, shots["2d"], b.stageCells())
	b.js(`window.gone.restoreContext()`, nil)
	b.until(`document.getElementById("lights").dataset.painter === "webgl2"`)
	same(t, shots["webgl2"], b.stageCells())
}

// stageCells is the picture of the stage in squares of 26 pixels.
func (b *tab) stageCells() []float64 {
	b.t.Helper()
	b.js(`new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))`, nil)
	img, box, list := b.screen(), b.stageBox(), []float64(nil)
	for y := box.Min.Y; y+26 <= box.Max.Y; y += 26 {
		for x := box.Min.X; x+26 <= box.Max.X; x += 26 {
			list = append(list, mean(img, image.Rect(x, y, x+26, y+26)))
		}
	}
	return list
}

// moments waits until the program has sent so many, 30 a second.
func (b *tab) moments(n int) {
	b.t.Helper()
	b.js(fmt.Sprintf(`new Promise((done) => {
		const s = new EventSource("/api/v1/events?rate=30");
		let n = 0;
		s.addEventListener("moment", () => { if (++n === %d) { s.close(); done(); } });
	})`, n), nil)
}

// Nothing is drawn while nothing changes or the stage is not shown, and the stage
// is told in words to those who do not see it.
func TestStageDrawsWhatChanges(t *testing.T) {
	needBrowser(t)
	dir := stageShow(t, "", "  test still: {set: {fronts: {intensity: 0 %}, house lights: {intensity: 0 %}, hazer: {haze: 0 %}, front truss: {colour: \"#ffa800\", intensity: 60 %}, right truss: {colour: \"#0000ff\", intensity: 100 %}}}\n  test other: {set: {back truss: {colour: \"#00ff00\", intensity: 50 %}}}\n")
	b := stagePage(t, dir, "webgl2", 1280, 900)
	b.js(`(() => {
		const draw = CanvasRenderingContext2D.prototype.drawImage;
		window.drawn = 0;
		CanvasRenderingContext2D.prototype.drawImage = function (...rest) { if (this.canvas.id === "lights") window.drawn++; draw.apply(this, rest); };
	})()`, nil)
	b.showLook("test still")
	drawn := func() (n int) { b.js(`window.drawn`, &n); return n }
	b.moments(10) // what is on its way
	before := drawn()
	require.Positive(t, before)
	b.moments(20)
	assert.Equal(t, before, drawn(), "it is drawn again though nothing changed")
	b.until(`document.getElementById("lights").getAttribute("aria-label") === "The stage: front truss amber 60 %; right truss blue 100 %. Dark: house lights, fronts, left truss, back truss, hazer."`)

	b.js(`location.hash = "#health"`, nil)
	b.until(`document.getElementById("play").hidden`)
	b.moments(5)
	before = drawn()
	b.showLook("test other")
	b.moments(5)
	assert.Equal(t, before, drawn(), "it is drawn where nobody sees it")
	b.js(`location.hash = "#play"`, nil)
	b.until(fmt.Sprintf(`window.drawn > %d`, before))
}

// Names on the picture are readable and clear of each other and of the edges at
// every width, and each row of heads that fits has one.
func TestStageNames(t *testing.T) {
	needBrowser(t)
	b := stagePage(t, manyHeads(t), "webgl2", 1440, 900)
	var out []json.RawMessage
	b.js(`(async () => {
		const { Space } = await import("/stage-space.js"), { Names } = await import("/stage-names.js"), show = await (await fetch("/api/v1/show")).json();
		const g = document.createElement("canvas").getContext("2d"), faults = [];
		for (const heads of [show.heads, show.heads.filter((h) => !h.name.startsWith("more"))]) {
			for (let w = 328; w <= 1440; w += 37) {
				const h = Math.max(144, Math.min(480, w / 2)), space = new Space(heads);
				space.fit(w, h);
				const list = new Names(g, space).place(heads);
				if (list.length < 6) faults.push([heads.length, w, list.length]);
				if (parseInt(g.font) < 12) faults.push(g.font);
				list.forEach((a, i) => {
					if (a.x < 0 || a.y < 0 || a.x + a.w > w || a.y + a.h > h) faults.push([w, "over the edge", a]);
					for (const z of list.slice(i + 1)) if (a.x < z.x + z.w && z.x < a.x + a.w && a.y < z.y + z.h && z.y < a.y + a.h) faults.push([w, a.text, z.text]);
				});
			}
		}
		return faults;
	})()`, &out)
	assert.Empty(t, out)

	b.js(`document.getElementById("hold").click()`, nil) // so that nothing but names changes
	b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "true"`)
	b.moments(10)
	before := b.stageCells()
	b.js(`document.getElementById("names").click()`, nil)
	assert.False(t, slices.Equal(before, b.stageCells()), "a press shows no names")
	b.js(`document.getElementById("names").click()`, nil)
	assert.True(t, slices.Equal(before, b.stageCells()), "another press leaves something")
}

// The pictures to look at: PAGE_PICTURES=DIR keeps them.
func TestStagePictures(t *testing.T) {
	needBrowser(t)
	if os.Getenv("PAGE_PICTURES") == "" {
		t.Skip("PAGE_PICTURES is not set")
	}
	for _, painter := range painters {
		b := stagePage(t, "demo", painter, 1440, 900)
		wait := func(ms int) { b.js(fmt.Sprintf(`new Promise((done) => setTimeout(done, %d))`, ms), nil) }
		press := func(id string) { b.js(fmt.Sprintf(`document.getElementById(%q).click()`, id), nil) }
		b.js(`fetch("/api/v1/ask/walk-in", {method: "POST"}).then((r) => r.status)`, nil)
		wait(6000) // fades end
		b.picture(painter+"-walk-in-1440", 1440, 900)
		for _, at := range []struct{ name, beat string }{{"verse", "60"}, {"chorus", "104"}, {"blackout", "104"}} {
			b.player("jump", "2, "+at.beat)
			wait(2500)
			if at.name == "blackout" {
				b.js(`fetch("/api/v1/ask/blackout", {method: "POST"}).then((r) => r.status)`, nil)
				wait(1500)
			}
			for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}} {
				b.picture(fmt.Sprintf("%s-%s-%d", painter, at.name, size[0]), size[0], size[1])
				press("names")
				b.picture(fmt.Sprintf("%s-%s-names-%d", painter, at.name, size[0]), size[0], size[1])
				press("names")
			}
		}
	}
}
