package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readRig returns the text of a show's rig file.
func readRig(t testing.TB, dir string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(dir, "rig.yaml"))
	require.NoError(t, err)
	return string(src)
}

// opensRig opens the room of the rig.
func (b *tab) opensRig() {
	b.t.Helper()
	b.js(`location.hash = "#compose/rig"`, nil)
	b.until(`document.querySelectorAll("#rig-plan .fixture").length > 0 && document.querySelectorAll("#add-profile option").length > 10`)
}

// sets gives a field a value, as somebody does who types and leaves it.
func (b *tab) sets(id, value string) {
	b.t.Helper()
	b.js(fmt.Sprintf(`(() => { const e = document.getElementById(%q); e.value = %q; e.dispatchEvent(new Event("input", {bubbles: true})); e.dispatchEvent(new Event("change", {bubbles: true})); })()`, id, value), nil)
}

// undone waits until everything is as the files have it.
func (b *tab) isSaved() {
	b.t.Helper()
	b.until(`document.getElementById("compose-state").textContent.includes("Everything is saved")`)
}

// saves saves, and returns the lines of the rig file that are other than before.
func (b *tab) savesRig(dir, before string) (lines []string) {
	b.t.Helper()
	b.click("#compose-save")
	b.isSaved()
	was := map[string]int{}
	for _, l := range strings.Split(before, "\n") {
		was[l]++
	}
	for _, l := range strings.Split(readRig(b.t, dir), "\n") {
		if was[l]--; was[l] < 0 {
			lines = append(lines, strings.TrimSpace(l))
		}
	}
	return lines
}

// A rig is changed by hand with a mouse: dragged, addressed, grouped, added to and taken
// from; the saved file has just that changed.
func TestPageRigByMouse(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readRig(t, dir)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.opensRig()
	var scale float64
	b.js(`(() => { const g = document.querySelectorAll('#rig-plan .fixture[data-name="wash 5-8"] [data-i]'), x = (e) => e.getBoundingClientRect().x; return (x(g[3]) - x(g[0])) / 6; })()`, &scale)

	b.drag(`#rig-plan .fixture[data-name="wash 5-8"] [data-i="1"] .dot`, 0, 0, 1) // a press alone chooses
	b.until(`document.getElementById("rig-choose").value === "wash 5-8" && document.getElementById("rig-name").value === "wash 5-8"`)
	b.isSaved()
	b.drag(`#rig-plan .fixture[data-name="wash 5-8"] [data-i="1"] .dot`, scale, scale/2, 10)
	b.until(`document.getElementById("rig-from-0").value === "-2" && document.getElementById("rig-from-1").value === "4.5"`)
	var head []float64
	b.until(`document.getElementById("compose-last").textContent.includes("wash 5-8")`)
	b.js(`(async () => (await (await fetch("/api/v1/show")).json()).heads.find((h) => h.name === "wash 5").at)()`, &head)
	assert.InDeltaSlice(t, []float64{-2, 4.5, 4.2}, head, 1e-6, "the stage follows at once")
	b.click("#compose-undo") // the whole drag
	b.until(`document.getElementById("rig-from-0").value === "-3" && document.getElementById("rig-from-1").value === "5"`)
	b.isSaved()
	b.drag(`#rig-plan .end[data-end="to"] .grip`, -scale, 0, 8) // one end only
	b.until(`document.getElementById("rig-from-0").value === "-3" && document.getElementById("rig-to-0").value === "2"`)

	b.sets("rig-address", "19")
	b.until(`!document.getElementById("compose-refused").hidden`)
	assert.Contains(t, b.says("compose-refused"), "wash 4", "whose slots they are")
	b.until(`document.getElementById("rig-address").value === "21"`)
	b.click("#rig-free")
	b.until(`document.getElementById("rig-address").value === "59"`)
	b.click(`#rig-in [data-group="warmers"]`)
	b.until(`document.querySelector('#rig-in [data-group="warmers"]').getAttribute("aria-pressed") === "true"`)
	b.sets("rig-name", "rear 1-4")
	b.until(`document.getElementById("rig-choose").value === "rear 1-4"`)

	b.js(`document.getElementById("rig-add").open = true`, nil)
	b.sets("add-count", "3")
	b.sets("add-profile", "rgb")
	b.sets("add-place", "place middle truss")
	b.sets("add-name", "wash")
	b.sets("add-group", "\n")
	b.sets("add-new", "middle truss")
	b.click("#add-do")
	b.until(`document.getElementById("rig-choose").value === "wash 5-7"`)
	b.until(`document.getElementById("who").textContent.includes("wash 7") && document.getElementById("who").textContent.includes("rear 4")`)
	assert.Contains(t, b.says("compose-lamps"), "at once", "the stage has the new fixtures")
	lines := b.savesRig(dir, before)
	assert.Equal(t, []string{
		"rear 1-4:", "address: 59", "to: [2 m, 5 m, 4.2 m]",
		"wash 5-7: {profile: rgb, universe: stage, address: 21, from: [-3 m, 2.5 m, 4.2 m], to: [3 m, 2.5 m, 4.2 m]}",
		"back truss: rear 1-4", "warmers: [left truss, right truss, rear 1-4]", "middle truss: wash 5-7",
	}, lines)

	b.click("#rig-remove")
	assert.Equal(t, "Remove: tap again", b.says("rig-remove"))
	b.click("#rig-remove")
	b.until(`document.querySelectorAll("#rig-plan .fixture").length === 7`)
	b.click("#compose-undo")
	b.until(`document.querySelectorAll("#rig-plan .fixture").length === 8`)
	b.isSaved()
}

// On a phone with a finger: a light is dragged, and a group is picked on the plan.
func TestPageRigByTouch(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readRig(t, dir)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.opensRig()
	var at []float64
	b.js(`(() => { document.getElementById("rig-plan").scrollIntoView({block: "center"}); const r = document.querySelector('#rig-plan .fixture[data-name="hazer"] .dot').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, &at)
	for i, kind := range []input.DispatchTouchEventType{input.DispatchTouchEventTypeTouchStart, input.DispatchTouchEventTypeTouchMove, input.DispatchTouchEventTypeTouchMove, input.DispatchTouchEventTypeTouchMove, input.DispatchTouchEventTypeTouchEnd} {
		p := input.DispatchTouchEventParams{Type: kind, TouchPoints: []*input.TouchPoint{}}
		if kind != input.DispatchTouchEventTypeTouchEnd {
			p.TouchPoints = append(p.TouchPoints, &input.TouchPoint{X: at[0] + float64(12*i), Y: at[1] + float64(8*i)})
		}
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, p)
		require.NoError(t, err)
	}
	b.until(`document.getElementById("rig-choose").value === "hazer" && Number(document.getElementById("rig-at-0").value) > -4 && Number(document.getElementById("rig-at-1").value) < 6`)

	b.js(`document.getElementById("rig-groups").open = true`, nil)
	b.sets("group-choose", "left truss")
	b.touch("#group-pick", 1)
	b.until(`document.getElementById("rig-plan").classList.contains("picking")`)
	b.touch(`#rig-plan .fixture[data-name="front 1-2"] [data-i="0"] .dot`, 1)
	b.until(`document.getElementById("group-members").textContent.includes("front 1")`)
	b.touch("#rig-pick", 1)
	b.until(`document.getElementById("rig-pick").hidden`)
	lines := b.savesRig(dir, before)
	require.Len(t, lines, 2, "%v", lines)
	assert.Contains(t, lines[0], "hazer: {profile: hazer, universe: house, address: 11, watts: 600 W, circuit: stage right, at: [-")
	assert.Equal(t, "left truss: [warmer 1-2, front 1]", lines[1])
}

// With the keyboard alone: there by Tab, moved by arrow keys, undone.
func TestPageRigByKeys(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.opensRig()
	b.js(`document.querySelector('#rooms [href="#compose/rig"]').focus()`, nil)
	reached := false
	for range 30 {
		b.do(chromedp.KeyEvent(kb.Tab))
		b.js(`document.activeElement.dataset?.name === "front 1-2"`, &reached)
		if reached {
			break
		}
	}
	require.True(t, reached, "Tab leads to each fixture of the plan")
	b.do(chromedp.KeyEvent(kb.ArrowRight))
	b.do(chromedp.KeyEvent(kb.ArrowUp))
	b.until(`document.getElementById("rig-from-0").value === "-1.9" && document.getElementById("rig-from-1").value === "-3.9"`)
	b.until(`document.activeElement.dataset.name === "front 1-2"`)
	b.do(chromedp.KeyEvent("z"))
	b.do(chromedp.KeyEvent("z"))
	b.isSaved()
	b.until(`document.getElementById("rig-from-0").value === "-2" && document.getElementById("rig-from-1").value === "-4"`)
}

// The first evening: a folder about which nobody has answered becomes a show on the page,
// with lists and rows; what is saved passes the check.
func TestPageFirstEvening(t *testing.T) {
	needBrowser(t)
	dir := filepath.Join(t.TempDir(), "pier-hall")
	command(t, "tactus", "new", dir, "--empty")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.js(`location.hash = "#compose"`, nil) // what hangs there is asked first
	b.until(`!document.getElementById("rig-begin").hidden && document.querySelectorAll("#begin-rows li").length === 1 && document.querySelectorAll("#begin-profile-1 option").length > 10`)
	b.js(`document.getElementById("rig-begin").scrollIntoView()`, nil)
	b.savePicture("rig-begin", screen{name: "390x844", width: 390, height: 844, scale: 1})
	for _, fault := range b.axe() {
		assert.Fail(t, fault)
	}
	assert.Equal(t, "Pier Hall", func() (v string) { b.js(`document.getElementById("begin-venue").value`, &v); return v }())
	b.sets("begin-count-1", "6")
	b.touch("#begin-more", 1)
	b.sets("begin-profile-2", "dimmer")
	b.sets("begin-place-2", "hall")
	b.sets("begin-count-2", "2")
	b.touch("#begin-make", 1)
	b.until(`document.getElementById("rig-begin").hidden && document.querySelectorAll("#rig-plan .fixture").length === 2`)
	b.until(`document.getElementById("who").length === 9`) // the stage has eight heads
	b.click("#compose-undo")
	b.until(`!document.getElementById("rig-begin").hidden`)
	b.isSaved()
	b.click("#compose-redo")
	b.until(`document.querySelectorAll("#rig-plan .fixture").length === 2`)

	b.js(`document.getElementById("rig-list").open = true`, nil)
	b.sets("list-text", "name;profile;universe;address;place\nspot 1-2;dimmer;;;front truss\nbad;rgbv;;;front truss\n")
	b.touch("#list-read", 1)
	b.until(`document.getElementById("list-says").textContent.startsWith("1 row understood, 1 line not.")`)
	assert.Contains(t, b.says("list-found"), "Line 3: rgbv")
	b.js(`document.getElementById("list-skip").click()`, nil)
	b.touch("#list-take", 1)
	b.until(`document.querySelectorAll("#rig-plan .fixture").length === 3`)
	b.click("#compose-save")
	b.isSaved()
	assert.Contains(t, readRig(t, dir), "spot 1-2: {profile: dimmer, universe: universe 1, address: ")
	code, out, errs := tactus("check", dir)
	assert.Equal(t, exitOK, code, errs)
	assert.Contains(t, out, "Pier Hall: 10 fixtures")
	assert.Contains(t, out, "0 errors, 0 warnings")
}

// A fixture file that is chosen becomes a profile of the show, of the mode that is chosen;
// one that is broken is told in words.
func TestPageTakesFixtureFiles(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.opensRig()
	broken := filepath.Join(t.TempDir(), "broken.gdtf")
	require.NoError(t, os.WriteFile(broken, []byte("PK\x03\x04 nothing"), 0o600))
	b.js(`document.getElementById("rig-gdtf").open = true`, nil)
	b.do(chromedp.SetUploadFiles("#gdtf-file", []string{broken}))
	b.until(`document.getElementById("gdtf-says").textContent.includes("broken.gdtf: GDTF archive")`)
	b.do(chromedp.SetUploadFiles("#gdtf-file", []string{packed(t, "generic-4-head-bar")}))
	b.until(`!document.getElementById("gdtf-take").hidden && document.getElementById("gdtf-mode").length > 0`)
	b.sets("gdtf-mode", "One break 14ch")
	b.click("#gdtf-take")
	b.until(`document.getElementById("gdtf-says").textContent.includes("is now the profile")`)
	b.until(`document.getElementById("add-profile").options[0].textContent.includes("14 slots")`)
	b.click("#compose-save")
	b.isSaved()
	files, err := filepath.Glob(filepath.Join(dir, "profiles", "*.yaml"))
	require.NoError(t, err)
	assert.Len(t, files, 1)
}

// The room fits every screen, and an independent checker finds nothing.
func TestPageRigFits(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.opensRig()
	b.js(`document.querySelectorAll("#room-rig details").forEach((d) => { d.open = true; })`, nil)
	for i, s := range append(screens(), screen{"820x1180", 820, 1180, 1}) {
		b.fits(s, i == 0 || i == 3)
		for _, id := range []string{"rig-plan", "rig-one", "rig-add", "rig-list"} {
			b.js(fmt.Sprintf(`document.getElementById(%q).scrollIntoView({block: "start"})`, id), nil)
			b.savePicture(id, s)
		}
	}
}
