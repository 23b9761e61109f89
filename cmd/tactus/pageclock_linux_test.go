package main

import (
	"context"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/panel"
	"tactus/shows/showtest"
)

// The page says in plain words how the clock comes in, and when the DAW's bars lie
// elsewhere it says so beside the button that follows them.
func TestPageTellsOfTheClock(t *testing.T) {
	needBrowser(t)
	show := showtest.Demo(t)
	base, e := clock.NewBase(), engine.New(show.Program)
	var mu sync.Mutex
	snap := engine.Snapshot{Program: show.Program, Pos: clock.Position{
		Tempo: clock.BPM(120), Playing: true, Source: clock.MIDI, Sync: clock.Locked, Err: 3 * clock.Millisecond,
	}}
	snap.Universes, snap.Status, snap.Heads = e.Frame(snap.Pos), e.Status(snap.Pos), e.SentLight()
	snap.Health.Arrivals = clock.Arrivals{Feed: clock.InSteps, Every: 21333 * clock.Microsecond, Late: 10 * clock.Millisecond, Spread: 20 * clock.Millisecond}
	asked := make(chan engine.Input, 4)
	p := panel.New(panel.Config{
		Show: show, Base: base,
		Snapshot: func(dst *engine.Snapshot) {
			mu.Lock()
			defer mu.Unlock()
			*dst = snap
			dst.Pos.At = base.Now()
		},
		View: func(context.Context) (*engine.View, error) { return e.View(snap.Pos), nil },
		Ask:  func(in engine.Input) bool { asked <- in; return true },
	})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); p.Run(ctx) }()
	server := httptest.NewServer(p)
	t.Cleanup(func() { server.CloseClientConnections(); server.Close(); cancel(); <-done })

	b := openTab(t, server.URL+"/", 1280, 900)
	hidden := false
	b.js(`document.getElementById("bars").hidden`, &hidden)
	assert.True(t, hidden, "nothing is said of bars that agree")
	mu.Lock()
	snap.Health.BarOffset = engine.BarOffset{Ticks: 2, Notes: 3, By: 41_666 * clock.Microsecond}
	mu.Unlock()
	b.until(`!document.getElementById("bars").hidden`)
	words := ""
	b.js(`document.getElementById("bars-say").textContent`, &words)
	assert.Equal(t, "The DAW's bars are 42 ms later than counted (3 notes agree): press Align bars to follow them.", words)
	b.picture("bars-desktop", 1280, 900)
	b.picture("bars-phone", 390, 844)
	b.js(`document.querySelector("#bars button").click()`, nil)
	assert.Equal(t, engine.AlignBars, (<-asked).Command.Kind)

	b.js(`location.hash = "#health"`, nil)
	b.until(`/every 21 ms.*later than counted/s.test(document.getElementById("notes").innerText)`) // a report comes once a second
	for _, want := range []string{
		"Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 3 ms of the DAW's, which nobody sees.",
		"Smaller audio buffers in the DAW would be steadier.", "The DAW's bars are 42 ms later than counted",
	} {
		b.js(`document.getElementById("notes").innerText`, &words)
		assert.Contains(t, words, want)
	}
	b.js(`document.querySelector("#notes li.bad").innerText`, &words)
	assert.NotContains(t, words, "audio", "a clock that costs nothing alarms nobody")
	b.js(`document.getElementById("clock-numbers").checkVisibility()`, &hidden)
	assert.False(t, hidden, "numbers are behind a press")
	b.picture("health-phone", 390, 844)
	b.js(`document.querySelector("#health summary").click()`, nil)
	b.js(`document.getElementById("clock-numbers").innerText`, &words)
	assert.Contains(t, words, "steps, every 21.3 ms")
	b.picture("health-desktop", 1280, 900)
	for _, fault := range b.axe() {
		assert.Fail(t, fault)
	}

	b.js(`location.hash = "#play"`, nil)
	for _, fault := range b.axe() {
		assert.Fail(t, fault)
	}
	mu.Lock()
	snap.Health.BarOffset = engine.BarOffset{}
	mu.Unlock()
	b.until(`document.getElementById("bars").hidden`)
}

// picture keeps the screen in the folder PAGE_PICTURES, if that is set, to look at.
func (b *tab) picture(name string, width, height int64) {
	b.t.Helper()
	dir := os.Getenv("PAGE_PICTURES")
	if dir == "" {
		return
	}
	b.do(chromedp.EmulateViewport(width, height))
	b.js(`new Promise((done) => setTimeout(done, 300))`, nil)
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, name+".png"), shot, 0o644))
}
