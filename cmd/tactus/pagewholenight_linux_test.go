package main

import (
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// touchable waits until an element has stood still for two pictures with nothing lying over
// it, and returns where a finger would press it: what has just come above it moves it still.
const touchable = `(async () => {
	const place = () => {
		const e = document.querySelector(%q);
		if (!e?.checkVisibility() || e.matches(":disabled")) return null;
		let r = e.getBoundingClientRect();
		if (r.top < 60 || r.bottom > innerHeight - 110) { e.scrollIntoView({block: "center"}); r = e.getBoundingClientRect(); }
		const x = r.x + r.width / 2, y = r.y + r.height / 2, at = document.elementFromPoint(x, y);
		return at && (e.contains(at) || at.contains(e)) ? [x, y] : null;
	};
	let was = null, still = 0;
	for (const end = performance.now() + 30000; performance.now() < end;) {
		const now = place();
		still = now && was && now[0] === was[0] && now[1] === was[1] ? still + 1 : 0;
		if (still === 2) return now;
		was = now;
		await new Promise(requestAnimationFrame);
	}
	return null;
})()`

// touch presses an element with a finger, so many times in a row.
func (b *tab) touch(selector string, times int) {
	b.t.Helper()
	var at []float64
	b.js(fmt.Sprintf(touchable, selector), &at)
	require.Len(b.t, at, 2, "%s cannot be touched", selector)
	for range times {
		for _, kind := range []input.DispatchTouchEventType{input.DispatchTouchEventTypeTouchStart, input.DispatchTouchEventTypeTouchEnd} {
			p := input.DispatchTouchEventParams{Type: kind, TouchPoints: []*input.TouchPoint{}}
			if kind == input.DispatchTouchEventTypeTouchStart {
				p.TouchPoints = append(p.TouchPoints, &input.TouchPoint{X: at[0], Y: at[1]})
			}
			_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, p)
			require.NoError(b.t, err)
		}
	}
}

// night waits, as long as a song may take, until the page says a place.
func (b *tab) night(song, section, bar string) {
	b.t.Helper()
	here := fmt.Sprintf(`document.getElementById("song").textContent === %q && document.getElementById("section").textContent === %q && document.getElementById("bar-of").textContent.startsWith(%q)`, song, section, bar)
	for range 10 {
		there := false
		b.js(`(async () => {
			const end = performance.now() + 25000;
			while (performance.now() < end) {
				if (`+here+`) return true;
				await new Promise(requestAnimationFrame);
			}
			return false;
		})()`, &there)
		if there {
			return
		}
	}
	require.Fail(b.t, "the night did not come to it", "%s, %s, %s; the page is at %s, %s", song, section, bar, b.says("song"), b.says("section"))
}

// section touches the button of a section.
func (b *tab) section(name string) {
	b.t.Helper()
	n := -1
	b.js(fmt.Sprintf(`[...document.querySelectorAll("#parts button")].findIndex((e) => e.innerText.startsWith(%q))`, name), &n)
	require.GreaterOrEqual(b.t, n, 0, "a button for %s", name)
	b.touch(fmt.Sprintf("#parts button:nth-of-type(%d)", n+1), 1)
}

// A whole night of the demo, steered by touch alone on a tablet and on a phone: a
// second tap too many, a wrong tap, an unplanned repeat, a talk, a lost connection, a
// hold and work light. It takes the seven minutes of the night and runs with
// PAGE_NIGHT=1; PAGE_PICTURES keeps what is on the screen.
func TestPageWholeNightByTouch(t *testing.T) {
	if os.Getenv("PAGE_NIGHT") == "" {
		t.Skip("PAGE_NIGHT is not set: it takes as long as the demo's night")
	}
	needBrowser(t)
	for _, s := range []screen{screens()[1], screens()[3]} {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			playNight(t, s)
		})
	}
}

func playNight(t *testing.T, s screen) {
	u, err := url.Parse(servePage(t, "rehearse", "demo", "--plain"))
	require.NoError(t, err)
	w := newWire(t, u.Host)
	at := w.listener.Addr().String()
	b := openTab(t, "http://"+at+"/", int(s.width), int(s.height))
	_, err = chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
	require.NoError(t, err)
	seen := func(name string) {
		b.savePicture("night-"+name, s)
		t.Logf("%s: %s; %s, %s, %s; next %s %s; %q", name, b.says("song"), b.says("section"), b.says("bar-of"), b.says("look"), b.says("next-name"), b.says("next-in"), strings.Join(strings.Fields(b.textOf("#state")), " "))
	}
	const first, second, third = "Lanterns on the Pier", "Saturday on the Slipway", "Home by the Breakwater"
	dark := func() (on bool) { b.js(inBlackout, &on); return }

	// A blackout, and a nervous finger on its return.
	b.night(first, "verse", "bar 2")
	b.touch("#blackout", 1)
	b.until(`/tap again/i.test(document.getElementById("blackout").textContent)`)
	seen("first tap")
	b.touch("#blackout", 1)
	b.until(inBlackout)
	seen("blackout")
	b.touch("#blackout", 4)
	b.until("!(" + inBlackout + ")")
	b.night(first, "verse", "bar 4")
	assert.False(t, dark(), "dark after a nervous finger")
	seen("restored")

	// A wrong tap: the outro, armed, and released again.
	b.night(first, "chorus 1", "bar 2")
	b.section("outro")
	b.until(`/Armed: outro/.test(document.getElementById("next").textContent)`)
	seen("wrong tap")
	b.touch("#section-disarm", 1)
	b.until(`document.getElementById("armed").textContent === ""`)

	// The band repeats chorus 2: armed in its last bar, its first bar comes again.
	b.night(first, "chorus 2", "bar 8")
	b.section("chorus 2")
	b.until(`/Armed: chorus 2/.test(document.getElementById("next").textContent)`)
	seen("repeat armed")
	b.night(first, "chorus 2, pass 2", "bar 2")
	seen("repeat")
	b.night(first, "outro", "bar 1")

	// Someone speaks over the start of the second song; then the song again.
	b.night(second, "intro", "bar 2")
	b.touch("#more > summary", 1)
	b.touch("#talk", 1)
	b.until(`document.getElementById("section").textContent === "Look: talk"`)
	seen("talk")
	b.touch("#songs li:nth-child(2) button", 1)
	b.until(fmt.Sprintf(`document.getElementById("song").textContent === %q`, second))
	seen("song again")

	// The network goes, and comes back.
	b.until(`document.getElementById("section").textContent !== ""`)
	w.cut()
	b.until(`document.body.classList.contains("lost") && parseInt(document.getElementById("lost-for").textContent) >= 5`)
	seen("lost")
	w.listen(t, at)
	b.until(`!document.body.classList.contains("lost")`)
	seen("back")

	// Hold, and on; work light, and off; to the end of the set.
	b.touch("#hold", 1)
	b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "true"`)
	seen("held")
	b.touch("#hold", 1)
	b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "false"`)
	b.night(second, "The song has ended", "")
	seen("ended")
	b.touch("#songs li:nth-child(3) button", 1) // a hand has taken the rehearsal over: it does not go on by itself
	b.until(fmt.Sprintf(`document.getElementById("song").textContent === %q`, third))
	b.touch("#go", 1)
	b.night(third, "chorus 1", "bar 2")
	b.touch("#work-light-on", 1)
	b.until(`document.getElementById("work-light-on").getAttribute("aria-pressed") === "true"`)
	seen("work light")
	b.touch("#work-light-on", 1)
	b.until(`document.getElementById("work-light-on").getAttribute("aria-pressed") === "false"`)
	b.night(third, "outro", "bar 2")
	seen("outro")
}
