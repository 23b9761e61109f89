package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// manyHeads is the demo with 200 washes more, on two universes of their own, all
// under the effects of the others. It returns its folder.
func manyHeads(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", dir)
	path := filepath.Join(dir, "rig.yaml")
	src, err := os.ReadFile(path)
	require.NoError(t, err)
	replaced := func(old, to string) {
		t.Helper()
		require.Contains(t, string(src), old, path)
		src = []byte(strings.Replace(string(src), old, to, 1))
	}
	universes, fixtures := "", ""
	for u := range 2 {
		universes += fmt.Sprintf("  more%d: {sacn: %d, to: [127.0.0.1]}\n", u, 3+u)
		fixtures += fmt.Sprintf("  more%d 1-100: {profile: dimmer-rgb, universe: more%d, address: 1, from: [-6 m, %d m, 5 m], to: [6 m, %d m, 5 m]}\n", u, u, 2+u, 2+u)
	}
	replaced("universes:\n", "universes:\n"+universes)
	replaced("\nfixtures:\n", "\nfixtures:\n"+fixtures)
	replaced("  washes: [front truss, back truss]", "  washes: [front truss, back truss, more0 1-100, more1 1-100]")
	require.NoError(t, os.WriteFile(path, src, 0o644))
	return dir
}

// BenchmarkPageDraw says how often a headless browser, which draws without a
// graphics card, shows a new stage of 216 heads; 30 moments a second are sent.
func BenchmarkPageDraw(b *testing.B) {
	needTools(b, false, "chromium")
	page := openTab(b, servePage(b, "rehearse", manyHeads(b), "--plain"), 1280, 900)
	page.player("jump", "2, 96")
	page.player("play", "")
	page.until(`document.getElementById("place").textContent.startsWith("chorus 1, bar 2")`)
	var out struct{ Heads, Moments, Pictures, Busy float64 }
	page.js(`(async () => {
		const g = document.getElementById("lights").getContext("2d"), draw = g.drawImage.bind(g);
		let drawn = 0;
		g.drawImage = (...rest) => { drawn++; draw(...rest); };
		const began = performance.now();
		let pictures = 0, last = began, busy = 0;
		while (performance.now() - began < 5000) {
			await new Promise(requestAnimationFrame);
			pictures++;
			busy = Math.max(busy, performance.now() - last);
			last = performance.now();
		}
		const seconds = (performance.now() - began) / 1000;
		delete g.drawImage;
		const moments = drawn / 2; // light, then what stands before it
		return {Heads: document.getElementById("who").options.length - 1, Moments: moments / seconds, Pictures: pictures / seconds, Busy: busy};
	})()`, &out)
	b.ReportMetric(out.Heads, "heads")
	b.ReportMetric(out.Moments, "stages/s")
	b.ReportMetric(out.Pictures, "pictures/s")
	b.ReportMetric(out.Busy, "worst-gap-ms")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkStageFrame is what it costs the page to draw the stage of 216 heads that
// all shine and change, by each painter, on a canvas of a phone: 390 x 200 at two
// pixels a point; on this processor, and on one that the browser makes four times as
// slow, about a phone of 2020 (from memory: a fifth to a third of a desktop's speed). A
// frame may take 33 ms. Of it script-ms is the page's own work, which holds up touches;
// the rest is the drawing. A headless browser has no graphics card: of WebGL only the
// page's own work is measured, on a context that does nothing.
func BenchmarkStageFrame(b *testing.B) {
	needTools(b, false, "chromium")
	page := stagePage(b, manyHeads(b), "webgl2", 390, 844)
	page.player("stop", "") // the page's own stage stands still
	for _, slower := range []float64{1, 4} {
		for _, painter := range []struct{ name, make string }{
			{"webgl2", `new GLPainter(document.createElement("canvas"), nothing)`}, {"2d", "new CellPainter()"},
		} {
			b.Run(fmt.Sprintf("%s/slower=%v", painter.name, slower), func(b *testing.B) {
				page.t = b
				_, err := chromedp.Call(page.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: slower})
				require.NoError(b, err)
				var out struct{ Frame, Script float64 }
				page.js(fmt.Sprintf(`(async () => {
					const { Stage } = await import("/stage.js"), { GLPainter } = await import("/stage-gl.js"), { CellPainter } = await import("/stage-cells.js");
					const show = await (await fetch("/api/v1/show")).json(), canvas = document.createElement("canvas");
					canvas.style.cssText = "width:390px;height:200px;position:fixed;top:0;left:0";
					document.body.append(canvas);
					const nothing = new Proxy({}, { get: () => () => ({}) });
					const stage = new Stage(canvas, () => {}), light = new Uint8Array(show.heads.length * 7);
					stage.painter = %s;
					stage.open(show);
					const frame = (n) => {
						for (let i = 0; i < light.length; i++) light[i] = i %% 7 < 3 ? (i * 37 + n * 5) & 255 : i %% 7 === 3 ? 155 + (i + n) %% 100 : 128;
						stage.light = light;
						const began = performance.now();
						stage.paint();
						const painted = performance.now();
						canvas.getContext("2d").getImageData(0, 0, 1, 1); // until it is there
						return [performance.now() - began, painted - began];
					};
					const all = Array.from({ length: 70 }, (_, n) => frame(n)).slice(10);
					const median = (k) => all.map((each) => each[k]).sort((a, b) => a - b)[all.length / 2];
					canvas.remove();
					return { Frame: median(0), Script: median(1) };
				})()`, painter.make), &out)
				if painter.name == "2d" { // the other one's context draws nothing
					b.ReportMetric(out.Frame, "ms/frame")
				}
				b.ReportMetric(out.Script, "script-ms/frame")
				b.ReportMetric(0, "ns/op")
			})
		}
	}
}
