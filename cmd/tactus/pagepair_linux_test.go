package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/pairing"
)

// pairPage starts one of two computers with the key that both share, and opens its page.
func pairPage(t *testing.T, key pairing.Key, args ...string) *tab {
	t.Helper()
	state := t.TempDir()
	_, err := pairing.Save(state, key, false)
	require.NoError(t, err)
	args = append([]string{"tactus", "run", "--protocol", "virtual", "--panel-at", "127.0.0.1:0", "--state", state}, args...)
	found := pageAt.FindStringSubmatch(start(t, "page=http", args...).out.String())
	require.NotNil(t, found)
	return openTab(t, found[1], 390, 844)
}

// The words of both pages, by which computer is on the lamps.
const (
	pairSays   = `document.getElementById("pair").checkVisibility() && document.querySelector("#pair p").textContent === `
	onLamps    = pairSays + `"● This computer is on the lamps. The other follows, and would take over."`
	notOnLamps = pairSays + `"○ The other computer is on the lamps. This one only follows: use the other’s page, or change over."`
)

// Both pages say which computer is on the lamps and whether the other follows; one press
// of Change over is enough, and further nervous taps do not change back.
func TestPageOfTwoComputers(t *testing.T) {
	needBrowser(t)
	key, at := pairing.NewKey(), freePort(t)
	leader := pairPage(t, key, "demo", "--midi", "plan", "--lead-standby", at)
	standby := pairPage(t, key, "--standby", at)
	leader.until(onLamps)
	standby.until(notOnLamps)

	// A page that only follows refuses, and says why.
	standby.click("#hold")
	standby.until(`document.getElementById("fault").checkVisibility()`)
	assert.Equal(t, "the other computer is on the lamps, and this one only follows: use the page there, or change over first", standby.says("fault"))
	assert.NotEqual(t, "The light is held", standby.says("state"))
	standby.savePicture("pair-refused", screen{"390x844", 390, 844, 1})

	// Words and the press are in sight in every view, and nothing is cut off.
	for name, b := range map[string]*tab{"leader": leader, "standby": standby} {
		for _, s := range []screen{{"1200x800", 1200, 800, 1}, {"320x640", 320, 640, 1}, {"390x844", 390, 844, 1}} {
			b.setScreen(s)
			b.js("scrollTo(0, 600)", nil)
			b.pictures()
			faults := []string{}
			b.js(clipped, &faults)
			assert.Empty(t, faults, "%s, %s", name, s.name)
			seen := []string{}
			b.js(`["pair-place", "pair-say", "change-over", "hold", "blackout"].filter((id) => {
				const e = document.getElementById(id), r = e.getBoundingClientRect();
				return e.contains(document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2));
			})`, &seen)
			assert.Equal(t, []string{"pair-place", "pair-say", "change-over", "hold", "blackout"}, seen, "in sight: %s, %s", name, s.name)
			b.js("scrollTo(0, 0)", nil)
			b.savePicture("pair-"+name, s)
		}
		b.uncover()
		for _, fault := range b.axe() {
			assert.Fail(t, fault, name)
		}
		b.js("scrollTo(0, 0)", nil)
	}

	// The first tap asks for a second, and moves nothing; more than two do no more.
	const box = `(({x, y, width, height}) => [x, y, width, height])(document.getElementById("change-over").getBoundingClientRect())`
	var before, after []float64
	leader.listens()
	leader.js(box, &before)
	leader.click("#change-over")
	assert.Equal(t, "Change over: tap again", leader.says("change-over"))
	leader.js(box, &after)
	assert.Equal(t, before, after, "the button stays under the finger")
	leader.savePicture("pair-sure", screen{"390x844", 390, 844, 1})
	leader.js(`(async () => {
		for (let i = 0; i < 12; i++) {
			document.getElementById("change-over").click();
			await new Promise((done) => setTimeout(done, 170));
		}
	})()`, nil)
	standby.until(onLamps)
	leader.until(notOnLamps)
	assert.Len(t, leader.posts(), 1, "%v", leader.posts())
	standby.savePicture("pair-standby-on", screen{"390x844", 390, 844, 1})

	// The page that counts now is obeyed, and the other is not.
	standby.click("#hold")
	standby.until(`document.getElementById("state").textContent === "The light is held"`)
	leader.until(`document.getElementById("state").textContent === "The light is held"`)
	leader.click("#hold")
	leader.until(`document.getElementById("fault").checkVisibility()`)
	assert.Regexp(t, "this one only follows", leader.says("fault"))

	// Press and hold is enough, too; the lamps come back to the page that it was done on.
	// Presses begin to count again 1.5 s after the last nervous tap.
	leader.until(`(document.getElementById("change-over").dispatchEvent(new PointerEvent("pointerdown")), document.querySelector("#change-over.filling"))`)
	leader.until(onLamps)
	standby.until(notOnLamps)
}
