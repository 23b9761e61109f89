package main

import (
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const allSaved = `document.getElementById("compose-state").textContent.includes("Everything is saved")`

// opensSet opens the room Set, and waits until the light of the night is measured.
func (b *tab) opensSet() {
	b.t.Helper()
	b.js(`location.hash = "#compose/set"`, nil)
	b.until(`!document.getElementById("room-set").hidden && document.querySelectorAll("#set-songs li").length > 0`)
	b.nightMeasured()
}

// nightMeasured waits until the line of the night is that of the show as it is.
func (b *tab) nightMeasured() {
	b.t.Helper()
	b.until(`document.getElementById("set-night-state").textContent.includes("of this state") && document.querySelectorAll("#set-night .measured").length === document.querySelectorAll("#set-songs li").length`)
}

// order returns the songs of the set as the room lists them.
func (b *tab) order() (text string) {
	b.t.Helper()
	b.js(`[...document.querySelectorAll("#set-songs .name > span")].map((e) => e.textContent).join(", ")`, &text)
	return text
}

// ordered waits until the room lists these songs.
func (b *tab) ordered(names ...string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`[...document.querySelectorAll("#set-songs .name > span")].map((e) => e.textContent).join(", ") === %q`, strings.Join(names, ", ")))
}

// grip is the grip of a song by its file's name.
func grip(song string) string {
	return fmt.Sprintf(`#set-songs li[data-file="songs/%s.yaml"] .grip`, song)
}

// key presses a key where the focus is, as a keyboard does.
func (b *tab) key(key string) {
	b.t.Helper()
	codes := map[string]int64{"Tab": 9, "Enter": 13, " ": 32, "End": 35, "Home": 36, "ArrowUp": 38, "ArrowDown": 40, "Escape": 27}
	text := map[string]string{"Enter": "\r", " ": " "}[key]
	for _, kind := range []input.DispatchKeyEventType{input.DispatchKeyEventTypeKeyDown, input.DispatchKeyEventTypeKeyUp} {
		p := input.DispatchKeyEventParams{Type: kind, Key: key, Code: key, WindowsVirtualKeyCode: codes[key]}
		if kind == input.DispatchKeyEventTypeKeyDown {
			p.Text = text
		}
		_, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, p)
		require.NoError(b.t, err)
	}
}

// types types words where the focus is, in place of those that stand there.
func (b *tab) types(words string) {
	b.t.Helper()
	b.js(`document.activeElement.select?.()`, nil)
	_, err := chromedp.Call(b.ctx, input.InsertText, input.InsertTextParams{Text: words})
	require.NoError(b.t, err)
}

// tabsTo presses Tab until something has the focus.
func (b *tab) tabsTo(selector string) {
	b.t.Helper()
	for range 150 {
		there := false
		b.js(fmt.Sprintf(`document.activeElement?.matches(%q) ?? false`, selector), &there)
		if there {
			return
		}
		b.key("Tab")
	}
	require.Fail(b.t, "Tab does not lead there", selector)
}

// fingerDrag drags an element with a finger by some pixels, in steps.
func (b *tab) fingerDrag(selector string, dy float64, steps int) {
	b.t.Helper()
	var at []float64
	b.js(fmt.Sprintf(touchable, selector), &at)
	require.Len(b.t, at, 2)
	send := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		if points == nil {
			points = []*input.TouchPoint{}
		}
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
		require.NoError(b.t, err)
	}
	send(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: at[0], Y: at[1]})
	for i := 1; i <= steps; i++ {
		wobble := float64(i%3) * 2 // a hand is not a ruler
		send(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: at[0] + wobble, Y: at[1] + dy*float64(i)/float64(steps)})
	}
	send(input.DispatchTouchEventTypeTouchEnd)
}

// readSet returns the text of a set's file.
func readSet(t *testing.T, dir, name string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(dir, "sets", name+".yaml"))
	require.NoError(t, err)
	return string(src)
}

const (
	theLanterns = "Lanterns on the Pier"
	theSaturday = "Saturday on the Slipway"
	theHome     = "Home by the Breakwater"
)

// A week's set by mouse: songs dragged, a new one, another taken out, looks chosen from
// pictures; the night's line follows; and the files have just that.
func TestPageSetByMouse(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before, lanterns := readSet(t, dir, "november"), readSong(t, dir, "lanterns")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1440, 900)
	b.opensSet()
	b.ordered(theLanterns, theSaturday, theHome)
	assert.Contains(t, b.says("set-plays"), "This is the set that plays.")
	assert.Contains(t, b.says("set-night-says"), "3 songs, 6:10 of music", "as check says")

	height := 0.0
	b.js(`document.querySelector("#set-songs li").getBoundingClientRect().height + 6`, &height)
	b.drag(grip("lanterns"), 0, 0, 1) // a press alone changes nothing
	b.drag(grip("lanterns"), 0, height*2.2, 14)
	b.ordered(theSaturday, theHome, theLanterns)
	assert.Equal(t, theLanterns+" is now song 3 of 3", b.says("said"))
	b.until(`document.getElementById("compose-state").textContent.includes("Not saved: sets/november.yaml")`)
	b.nightMeasured()
	b.until(`document.querySelector("#set-night svg").getAttribute("aria-label").startsWith("Energy through the night. 1 ` + theSaturday + `")`)
	b.click("#compose-undo") // the whole drag
	b.ordered(theLanterns, theSaturday, theHome)
	b.until(allSaved)
	b.click("#compose-redo")
	b.ordered(theSaturday, theHome, theLanterns)

	b.click("#song-new-open")
	b.until(`document.activeElement.id === "song-new-name"`)
	b.types("Low Water")
	b.click("#song-new [type=submit]")
	b.ordered(theSaturday, theHome, theLanterns, "Low Water")
	b.until(`document.getElementById("song-new").hidden && document.getElementById("set-song-title").textContent === "The song Low Water"`)
	b.nightMeasured()
	b.click("#compose-undo") // the song and its place in the set
	b.ordered(theSaturday, theHome, theLanterns)
	b.until(`document.getElementById("set-others-box").hidden`)
	b.click("#compose-redo")
	b.ordered(theSaturday, theHome, theLanterns, "Low Water")
	b.click(`#set-songs li[data-file="songs/saturday.yaml"] .put`)
	b.ordered(theHome, theLanterns, "Low Water")

	b.click(`#set-moments [data-moment="talk"]`)
	b.until(`document.querySelectorAll("#set-looks .choice").length > 5`)
	b.until(`document.querySelector('#set-looks [data-name="talk"]').getAttribute("aria-pressed") === "true"`)
	b.click(`#set-looks [data-name="tide"]`)
	b.until(`document.querySelector('#set-moments [data-moment="talk"] small').textContent.includes("tide")`)
	b.click(`#set-moments [data-moment="walk-out"]`)
	b.click(`#set-looks [data-name=""]`)
	b.until(`document.querySelector('#set-moments [data-moment="walk-out"] small').textContent.includes("no look of its own")`)
	assert.Equal(t, before, readSet(t, dir, "november"), "nothing is written before it is saved")
	b.until(`document.getElementById("set-paper-says").textContent.includes("Not saved yet: sets/november.yaml, songs/low-water.yaml; the paper says so.")`)

	b.click("#compose-save")
	b.until(allSaved)
	want := strings.NewReplacer("[lanterns, saturday, breakwater]", "[breakwater, lanterns, low-water]", "talk: talk", "talk: tide", "walk-out: walk-out\n", "").Replace(before)
	assert.Equal(t, want, readSet(t, dir, "november"))
	assert.Equal(t, lanterns, readSong(t, dir, "lanterns"))
	assert.Equal(t, "# yaml-language-server: $schema=../schema/song.schema.json\n\nsong: Low Water\ntempo: 96 bpm\nmeter: 4/4\n\nsections:\n"+
		"  - intro: {bars: 4, energy: 3}\n  - verse: {bars: 8, energy: 4}\n  - chorus: {bars: 8, energy: 7}\n  - verse: {bars: 8, energy: 5}\n  - chorus: {bars: 8, energy: 9}\n  - outro: {bars: 4, energy: 3}\n", readSong(t, dir, "low-water"))
}

// The same by a finger on a phone.
func TestPageSetByTouch(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before := readSet(t, dir, "november")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 390, 844)
	b.opensSet()
	height := 0.0
	b.js(`document.querySelector("#set-songs li").getBoundingClientRect().height + 6`, &height)
	b.fingerDrag(grip("breakwater"), -height*1.2, 9)
	b.ordered(theLanterns, theHome, theSaturday)
	b.touch(grip("saturday"), 3) // nervous taps move nothing
	b.fingerDrag(grip("lanterns"), height*0.2, 4)
	assert.Equal(t, strings.Join([]string{theLanterns, theHome, theSaturday}, ", "), b.order())

	b.touch(`#set-songs li[data-file="songs/lanterns.yaml"] .name`, 1)
	b.until(`document.getElementById("set-song-title").textContent === "The song ` + theLanterns + `"`)
	b.touch("#song-later", 1)
	b.ordered(theHome, theLanterns, theSaturday)
	b.touch(`#set-songs li[data-file="songs/breakwater.yaml"] .put`, 1)
	b.ordered(theLanterns, theSaturday)
	b.touch("#set-others-box summary", 1)
	b.touch(`#set-others li[data-file="songs/breakwater.yaml"] .put`, 1)
	b.ordered(theLanterns, theSaturday, theHome)

	b.touch("#song-remove", 1)
	b.until(`document.getElementById("song-remove").textContent.endsWith("tap again") && document.getElementById("said").textContent.includes("It is in the set November.")`)
	b.touch("#song-remove", 1)
	b.ordered(theSaturday, theHome)
	b.touch("#compose-save", 1)
	b.until(allSaved)
	assert.Equal(t, strings.Replace(before, "[lanterns, saturday, breakwater]", "[saturday, breakwater]", 1), readSet(t, dir, "november"))
	assert.NoFileExists(t, filepath.Join(dir, "songs", "lanterns.yaml"))
	var small []string
	b.js(`[...document.querySelectorAll("#room-set button, #room-set input, #room-set select, #room-set a, #room-set summary")].filter((e) => e.checkVisibility() && (e.getBoundingClientRect().height < 43.5 || e.getBoundingClientRect().width < 43.5)).map((e) => e.outerHTML.slice(0, 90))`, &small)
	assert.Empty(t, small, "too small for a finger")
}

// The same by keys alone: songs moved by their grips, a set added and renamed, a song's
// name, tempo and meter changed, copied and removed.
func TestPageSetByKeys(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	before, lanterns, saturday := readSet(t, dir, "november"), readSong(t, dir, "lanterns"), readSong(t, dir, "saturday")
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 820, 1180)
	b.opensSet()
	b.tabsTo(grip("lanterns"))
	b.key("ArrowDown")
	b.ordered(theSaturday, theLanterns, theHome)
	b.until(`document.getElementById("said").textContent === "` + theLanterns + ` is now song 2 of 3"`)
	b.key("End")
	b.ordered(theSaturday, theHome, theLanterns)
	b.key("ArrowDown") // there is no further
	focused := false
	b.js(fmt.Sprintf(`document.activeElement.matches(%q) && document.activeElement.getAttribute("aria-label") === "Move Lanterns on the Pier, song 3 of 3"`, grip("lanterns")), &focused)
	assert.True(t, focused, "the focus stays on the grip")

	b.key("Tab")
	b.key("Enter") // its name
	b.until(`document.getElementById("set-song-title").textContent === "The song ` + theLanterns + `"`)
	b.tabsTo("#song-name")
	b.types("Lanterns & \"Stars\"")
	b.key("Tab")
	b.ordered(theSaturday, theHome, "Lanterns & \"Stars\"")
	b.types("80.5")
	b.key("Tab")
	b.until(`document.querySelectorAll("#set-songs small")[2].textContent.startsWith("80.5 BPM")`)
	b.tabsTo("#song-program")
	b.types("12")
	b.tabsTo("#song-copy")
	b.key("Enter")
	b.until(`document.activeElement.id === "song-name" && document.getElementById("song-name").value === 'Lanterns & "Stars", copy'`)
	b.types("Pier at Noon")
	b.tabsTo("#song-meter")
	b.until(`document.getElementById("set-song-title").textContent === "The song Pier at Noon"`)
	b.tabsTo("#song-in")
	b.key("Enter")
	b.ordered(theSaturday, theHome, "Lanterns & \"Stars\"", "Pier at Noon")

	b.js(`document.getElementById("set-choose").focus()`, nil)
	b.tabsTo("#set-new-open")
	b.key("Enter")
	b.types("Zeal & Dance")
	b.key("Enter")
	b.until(`document.getElementById("set-name").value === "Zeal & Dance" && document.activeElement.id === "set-choose"`)
	assert.Contains(t, b.says("set-plays"), "Not the set that plays: that is November")
	b.tabsTo(grip("saturday"))
	b.key("ArrowDown")
	b.ordered(theHome, theSaturday, "Lanterns & \"Stars\"", "Pier at Noon")
	b.nightMeasured()

	b.js(`document.getElementById("compose-state").scrollIntoView()`, nil)
	b.js(`document.getElementById("compose-save").focus()`, nil)
	b.key("Enter")
	b.until(allSaved)
	assert.Equal(t, strings.Replace(before, "[lanterns, saturday, breakwater]", "[saturday, breakwater, lanterns, lanterns-copy]", 1), readSet(t, dir, "november"), "which the new set did not touch")
	assert.Equal(t, "set: \"Zeal & Dance\"\nsongs: [breakwater, saturday, lanterns, lanterns-copy]\nwalk-in: walk-in\ntalk: talk\nwalk-out: walk-out\n", readSet(t, dir, "zeal-dance"))
	named := strings.NewReplacer("song: Lanterns on the Pier", `song: "Lanterns & \"Stars\""`, "tempo: 72 bpm", "tempo: 80.5 bpm").Replace(lanterns)
	assert.Equal(t, strings.Replace(named, "\ntempo:", "\nprogram: 12\ntempo:", 1), readSong(t, dir, "lanterns"), "where hand-written songs have it")
	assert.Equal(t, strings.Replace(named, `song: "Lanterns & \"Stars\""`, `song: "Pier at Noon"`, 1), readSong(t, dir, "lanterns-copy"), "without the program")
	assert.Equal(t, saturday, readSong(t, dir, "saturday"))

	b.js(`document.getElementById("set-choose").focus()`, nil)
	b.tabsTo("#set-remove")
	b.key("Enter")
	b.until(`document.getElementById("set-remove").textContent === "Remove this set: tap again"`)
	b.key("Enter")
	b.until(`document.getElementById("set-choose").length === 1 && document.getElementById("set-name").value === "November"`)
}

// A MIDI file that is dropped or chosen becomes a song of the set, and one that is none
// says so; what cannot be made says why, and nothing is lost.
func TestPageSetReadsMIDI(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	file := filepath.Join(t.TempDir(), "harbour night.mid")
	command(t, "tactus", "export", "midi", dir, "--song", "saturday", "--out", file) // gives songs their programs
	want := command(t, "tactus", "import", "midi", file)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.opensSet()
	b.click("#song-new-open")
	b.chooses("#song-midi", file)
	b.until(`document.getElementById("compose-refused").textContent.includes("Saturday on the Slipway")`) // there is one of that name
	assert.Contains(t, b.says("song-midi-says"), "Read Saturday on the Slipway from harbour night.mid")
	b.ordered(theLanterns, theSaturday, theHome)

	src, err := os.ReadFile(file)
	require.NoError(t, err)
	renamed := strings.Replace(string(src), "Saturday on the Slipway", "Saturday on the Seawall", 1)
	require.NotEqual(t, string(src), renamed)
	require.NoError(t, os.WriteFile(file, []byte(renamed), 0o600))
	b.js(fmt.Sprintf(`(() => { // as a hand drops it on the room
		const t = new DataTransfer(), bytes = Uint8Array.from(atob(%q), (c) => c.charCodeAt(0));
		t.items.add(new File([bytes], "harbour night.mid"));
		const room = document.getElementById("room-set");
		room.dispatchEvent(new DragEvent("dragover", {dataTransfer: t, bubbles: true, cancelable: true}));
		window.marked = room.classList.contains("drop");
		room.dispatchEvent(new DragEvent("drop", {dataTransfer: t, bubbles: true, cancelable: true}));
	})()`, base64.StdEncoding.EncodeToString([]byte(renamed))), nil)
	b.ordered(theLanterns, theSaturday, theHome, "Saturday on the Seawall")
	b.until(`window.marked && !document.getElementById("room-set").classList.contains("drop")`)
	b.nightMeasured()
	b.click("#compose-save")
	b.until(allSaved)
	assert.Equal(t, strings.Replace(want, "Saturday on the Slipway", "Saturday on the Seawall", 1), readSong(t, dir, "saturday-on-the-seawall"), "as tactus import midi makes it")

	for name, c := range map[string]struct{ body, words string }{
		"page.mid":  {"<html>", "page.mid: no song could be read from the file"},
		"large.mid": {strings.Repeat("x", 1<<20+1), "large.mid: The file has 1025 kB, at most 1024 kB are read here"},
	} {
		file := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(file, []byte(c.body), 0o600))
		b.chooses("#song-midi", file)
		b.until(fmt.Sprintf(`document.getElementById("song-midi-says").textContent.includes(%q)`, c.words))
	}

	// Sections that say nothing, a name with HTML in it, a set's last song.
	b.click("#song-new-open")
	b.js(`document.getElementById("song-new-open").getAttribute("aria-expanded") === "true" || document.getElementById("song-new-open").click()`, nil)
	b.js(`document.getElementById("song-new-name").focus()`, nil)
	b.types("<img src=x onerror=alert(1)>")
	b.js(`document.getElementById("song-new-sections").focus()`, nil)
	b.types("verse, chorus 8")
	b.click("#song-new [type=submit]")
	b.until(`document.getElementById("compose-refused").textContent.includes("of the section \"verse\" the name or the number of bars is missing")`)
	assert.Contains(t, b.says("compose-refused"), "intro 4, verse 8, chorus 8")
	b.js(`document.getElementById("song-new-sections").focus()`, nil)
	b.types("verse 8, chorus 8")
	b.click("#song-new [type=submit]")
	b.ordered(theLanterns, theSaturday, theHome, "Saturday on the Seawall", "<img src=x onerror=alert(1)>")
	images := 0
	b.js(`document.querySelectorAll("#room-set img[src=x]").length`, &images)
	assert.Zero(t, images)
}

// chooses chooses a file for a field, as the browser's own dialogue does.
func (b *tab) chooses(selector, file string) {
	b.t.Helper()
	doc, err := chromedp.Call(b.ctx, dom.GetDocument, dom.GetDocumentParams{})
	require.NoError(b.t, err)
	node, err := chromedp.Call(b.ctx, dom.QuerySelector, dom.QuerySelectorParams{NodeID: doc.Root.NodeID, Selector: selector})
	require.NoError(b.t, err)
	_, err = chromedp.Call(b.ctx, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{file}, NodeID: node.NodeID})
	require.NoError(b.t, err)
}

// The links of the room lead to paper and pictures of the show as it is edited.
func TestPageSetPrints(t *testing.T) {
	needBrowser(t)
	dir := hallCopy(t)
	b := openTab(t, servePage(t, "rehearse", dir, "--plain"), 1024, 768)
	b.opensSet()
	b.tabsTo(grip("lanterns"))
	b.key("End")
	b.until(`document.querySelector("#set-papers li:last-child").textContent === "Score of ` + theLanterns + `"`)
	var got []struct {
		Words, Kind, Start string
		Status             int
	}
	b.js(`Promise.all([...document.querySelectorAll("#set-papers a")].map(async (a) => {
		const r = await fetch(a.href), bytes = new Uint8Array(await r.arrayBuffer());
		return {words: a.textContent, status: r.status, kind: r.headers.get("Content-Type"), start: new TextDecoder().decode(bytes).slice(0, 4000)};
	}))`, &got)
	require.Len(t, got, 7)
	for _, p := range got {
		assert.Equal(t, 200, p.Status, p.Words)
	}
	assert.True(t, strings.HasPrefix(got[0].Start, "%PDF-"))
	assert.Contains(t, got[1].Start, "This paper has changes that were not saved when it was made: sets/november.yaml.")
	assert.Equal(t, []string{"Score of " + theSaturday, "Score of " + theHome, "Score of " + theLanterns}, []string{got[4].Words, got[5].Words, got[6].Words})
	for i, title := range []string{"November", "Harbour Hall, stage plan", theSaturday, theHome, theLanterns} {
		assert.Equal(t, "image/svg+xml", got[i+2].Kind)
		assert.Contains(t, got[i+2].Start, "<title>"+title+"</title>")
	}
	b.js(`(() => { const s = document.getElementById("set-paper-size"); s.value = "letter"; s.dispatchEvent(new Event("change")); })()`, nil)
	b.until(`[...document.querySelectorAll("#set-papers a")].every((a) => a.href.includes("paper=letter") && a.target === "_blank")`)

	// The page to print has its styles: no policy forbids them.
	href := ""
	b.js(`document.querySelectorAll("#set-papers a")[1].href`, &href)
	b.do(chromedp.Navigate(href))
	b.until(`document.querySelectorAll("section").length > 4 && getComputedStyle(document.body).backgroundColor === "rgb(255, 255, 255)" && document.querySelector("th").getBoundingClientRect().width > 10`)
	b.savePicture("paper", screen{"1024x768", 1024, 768, 1})
}

// The room fits every screen, and an independent checker finds nothing.
func TestPageSetFits(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	b.opensSet()
	b.click(`#set-songs li:nth-child(2) .name`)
	b.click("#song-new-open")
	b.click("#set-new-open")
	b.click(`#set-songs li:nth-child(3) .put`)
	b.until(`!document.getElementById("set-others-box").hidden`)
	b.click(`#set-moments [data-moment="talk"]`)
	b.js(`document.getElementById("set-others-box").open = true`, nil)
	b.nightMeasured()
	b.js(`document.getElementById("worry").style.display = "none"`, nil) // how busy this computer is
	list := append(screens(), screen{"820x1180", 820, 1180, 1})
	for i, s := range list {
		b.fits(s, i%3 == 0)
		for _, part := range []string{"room-set", "set-song", "set-night", "set-moments"} {
			b.js(fmt.Sprintf(`document.getElementById(%q).closest(".panel, .room").scrollIntoView({block: "start"})`, part), nil)
			b.savePicture(part, s)
		}
	}
}
