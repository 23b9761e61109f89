package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/sacn"
)

// still is how many frames in a row are equal once the light stands still.
const still = 12

// frame returns the next frame of universe 1, and when it came.
func (e *editor) frame() (slots []byte, at time.Time) {
	e.t.Helper()
	require.NoError(e.t, e.conn.SetReadDeadline(time.Now().Add(composeWait)))
	buf := make([]byte, 1500)
	for {
		n, err := e.conn.Read(buf)
		require.NoError(e.t, err)
		var p sacn.DataPacket
		if p.Parse(buf[:n]) == nil && p.Universe == 1 {
			return slices.Clone(p.Slots), time.Now()
		}
	}
}

// settled reads frames until the light stands still, and returns the last.
func (e *editor) settled() (slots []byte) {
	e.t.Helper()
	end := time.Now().Add(composeWait)
	for n := 0; n < still; {
		require.True(e.t, time.Now().Before(end), "the light does not stand still")
		next, _ := e.frame()
		if n++; !bytes.Equal(next, slots) {
			n = 0
		}
		slots = next
	}
	return slots
}

// metrics returns what the browser has counted, such as ScriptDuration in seconds.
func (b *tab) metrics() map[string]float64 {
	b.t.Helper()
	got, err := chromedp.Call(b.ctx, performance.GetMetrics, cdp.Empty{})
	require.NoError(b.t, err)
	all := map[string]float64{}
	for _, m := range got.Metrics {
		all[m.Name] = m.Value
	}
	return all
}

// enter presses the Enter key, as the keyboard does.
func (b *tab) enter() {
	for _, kind := range []input.DispatchKeyEventType{input.DispatchKeyEventTypeKeyDown, input.DispatchKeyEventTypeKeyUp} {
		_, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: kind, Key: "Enter", Code: "Enter", Text: "\r", WindowsVirtualKeyCode: 13})
		if err != nil {
			assert.NoError(b.t, err)
		}
	}
}

// code returns the size of all that the page has loaded of itself, in bytes: as it is, and
// as gzip makes it.
func (b *tab) code() (plain, compressed int) {
	b.t.Helper()
	var names []string
	b.js(`[location.href.split("#")[0], ...performance.getEntriesByType("resource").map((r) => r.name).filter((n) => !n.includes("/api/"))]`, &names)
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		answer, err := http.Get(name)
		require.NoError(b.t, err)
		src, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		require.NoError(b.t, err)
		require.Equal(b.t, http.StatusOK, answer.StatusCode, name)
		var out bytes.Buffer
		z := gzip.NewWriter(&out)
		_, err = z.Write(src)
		require.NoError(b.t, err)
		require.NoError(b.t, z.Close())
		plain, compressed = plain+len(src), compressed+out.Len()
	}
	return plain, compressed
}

// The page's own code is small enough for a slow network in a hall: less than 250 kB
// compressed, which is the aim.
func TestPageCodeIsSmall(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1440, 900)
	b.js(`location.hash = "#compose"`, nil)
	b.until(`document.querySelectorAll("#compose-score .body").length > 0`)
	plain, compressed := b.code()
	t.Logf("%d bytes of page code, %d compressed", plain, compressed)
	assert.Greater(t, plain, 100_000, "the page's scripts, styles and texts")
	assert.Less(t, compressed, 250_000)
}

// editTimes are what edits by the page took.
type editTimes struct {
	light, line, next []time.Duration // from the key to the changed light, to the measured line, and to the next frame at all
}

// press presses the look of a section that is shown, by key, and takes the times.
func (times *editTimes) press(b *tab, e *editor, look string) {
	b.js(fmt.Sprintf(`(() => {
		const line = () => document.querySelector("#compose-score .measured")?.getAttribute("d"), was = line(), pressed = [];
		document.querySelector('#part-looks [data-name="%s"]').focus();
		addEventListener("keydown", (e) => pressed.push(e.timeStamp), { capture: true, once: true });
		window.lined = new Promise((done) => {
			const o = new MutationObserver(() => {
				if (pressed.length && line() && line() !== was) { o.disconnect(); done(performance.now() - pressed[0]); }
			});
			o.observe(document.getElementById("compose-score"), { subtree: true, childList: true, attributes: true });
		});
	})()`, look), nil)
	was := e.settled()
	e.readFor(time.Duration(len(times.light)*9%23) * time.Millisecond) // edits come at all times between two frames
	began, entered := time.Now(), make(chan struct{})
	go func() { defer close(entered); b.enter() }()
	slots, at := e.frame()
	times.next = append(times.next, at.Sub(began))
	for ; bytes.Equal(slots, was); slots, at = e.frame() {
		require.Less(b.t, time.Since(began), composeWait, "the light does not change")
	}
	times.light = append(times.light, at.Sub(began))
	<-entered
	line := 0.0
	b.js(`window.lined`, &line)
	times.line = append(times.line, time.Duration(line*float64(time.Millisecond)))
}

// BenchmarkPageEdits edits a song in a headless browser, by the key Enter on the picture of
// a look, while the light of that section stands on the stage: from the key to the changed
// frame on the wire (light), and to the dashed line of the light as measured (measured); the
// time to the next frame of any kind is the least that is possible. Script and layout are
// what an edit costs the page beyond what it does in the same time without one, mostly drawing
// the stage; where the computer is busy it draws less often, and the figure may be below 0.
// The last figures are the page's code.
func BenchmarkPageEdits(b *testing.B) {
	needTools(b, false, "chromium")
	for _, c := range []struct {
		name string
		hall func(testing.TB) string
	}{
		{"demo", func(testing.TB) string { return "demo" }},
		{"40-songs-216-heads", manySongs},
	} {
		b.Run(c.name, func(b *testing.B) {
			e := openEditor(b, "rehearse", c.hall(b), "--plain")
			page := openTab(b, e.url, 1440, 900)
			page.atPlace("1, 64", "chorus 1, bar 1", false)
			page.composes("songs/lanterns.yaml")
			page.js(`(() => { const s = document.getElementById("part-choose"); s.selectedIndex = 3; s.dispatchEvent(new Event("change")); })()`, nil)
			page.until(`document.querySelector("#compose-score .measured").getAttribute("d") !== "" && document.querySelector('#part-looks [aria-pressed="true"]').dataset.name === "singalong"`)
			_, err := chromedp.Call(page.ctx, performance.Enable, performance.EnableParams{})
			require.NoError(b, err)
			var times editTimes
			looks := []string{"hearth", "dark"} // without effects: nothing else moves
			times.press(page, e, looks[0])      // pictures of the first time are made
			times.press(page, e, looks[1])
			times = editTimes{}
			idle := page.metrics()
			e.readFor(2 * time.Second)
			before := page.metrics()
			const edits = 30
			for i := range edits {
				times.press(page, e, looks[i%2])
			}
			after := page.metrics()
			for name, list := range map[string][]time.Duration{"light": times.light, "measured": times.line, "next-frame": times.next} {
				slices.Sort(list)
				for _, share := range []int{50, 95} {
					b.ReportMetric(float64(list[len(list)*share/100])/float64(time.Millisecond), fmt.Sprintf("p%d-%s-ms", share, name))
				}
			}
			for unit, counts := range map[string][]string{"script-over-idle-ms/edit": {"ScriptDuration"}, "layout-over-idle-ms/edit": {"LayoutDuration", "RecalcStyleDuration"}} {
				cost := 0.0
				for _, count := range counts {
					perSecond := (before[count] - idle[count]) / (before["Timestamp"] - idle["Timestamp"])
					cost += after[count] - before[count] - perSecond*(after["Timestamp"]-before["Timestamp"])
				}
				b.ReportMetric(1000*cost/edits, unit)
			}
			plain, compressed := page.code()
			b.ReportMetric(float64(plain)/1000, "code-kB")
			b.ReportMetric(float64(compressed)/1000, "compressed-kB")
			b.ReportMetric(0, "ns/op")
		})
	}
}
