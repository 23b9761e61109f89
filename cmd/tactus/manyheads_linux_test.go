package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

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
		const canvas = document.getElementById("lights"), g = canvas.getContext("2d"), clear = g.fillRect.bind(g);
		let moments = 0, first = true;
		g.fillRect = (x, y, w, h) => { if (x === 0 && y === 0 && w > 500) moments++; clear(x, y, w, h); };
		const began = performance.now();
		let pictures = 0, last = began, busy = 0;
		while (performance.now() - began < 5000) {
			await new Promise(requestAnimationFrame);
			pictures++;
			busy = Math.max(busy, performance.now() - last);
			last = performance.now();
		}
		const seconds = (performance.now() - began) / 1000;
		delete g.fillRect;
		return {Heads: document.getElementById("who").options.length - 1, Moments: moments / seconds, Pictures: pictures / seconds, Busy: busy};
	})()`, &out)
	b.ReportMetric(out.Heads, "heads")
	b.ReportMetric(out.Moments, "stages/s")
	b.ReportMetric(out.Pictures, "pictures/s")
	b.ReportMetric(out.Busy, "worst-gap-ms")
	b.ReportMetric(0, "ns/op")
}
