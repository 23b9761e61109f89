package main

import (
	"net"
	"net/url"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wire is a network between a page and the program, on this computer's loopback,
// that can be cut.
type wire struct {
	to       string
	mu       sync.Mutex
	listener net.Listener
	open     map[net.Conn]bool
	silent   bool // it stays up and lets nothing through
}

// newWire listens for those who want to reach an address.
func newWire(t *testing.T, to string) *wire {
	t.Helper()
	w := &wire{to: to, open: map[net.Conn]bool{}}
	w.listen(t, "127.0.0.1:0")
	t.Cleanup(w.cut)
	return w
}

func (w *wire) listen(t *testing.T, at string) {
	t.Helper()
	l, err := net.Listen("tcp", at)
	require.NoError(t, err)
	w.mu.Lock()
	w.listener = l
	w.mu.Unlock()
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", w.to)
			if err != nil {
				near.Close()
				continue
			}
			w.mu.Lock()
			w.open[near], w.open[far] = true, true
			w.mu.Unlock()
			go w.pass(near, far)
			go w.pass(far, near)
		}
	}()
}

// pass hands on what comes, unless the wire is silent.
func (w *wire) pass(to, from net.Conn) {
	defer to.Close()
	b := make([]byte, 1<<14)
	for {
		n, err := from.Read(b)
		if err != nil {
			return
		}
		w.mu.Lock()
		silent := w.silent
		w.mu.Unlock()
		if silent {
			continue
		}
		if _, err := to.Write(b[:n]); err != nil {
			return
		}
	}
}

// mute lets nothing through, or all again.
func (w *wire) mute(on bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.silent = on
}

// cut ends all connections and takes no new ones.
func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.listener.Close()
	for c := range w.open {
		c.Close()
	}
	w.open = map[net.Conn]bool{}
}

// A lost connection is loud: the stage is dimmed, buttons are off, the page says
// since when and that it tries again, and what was last known can be read.
func TestPageLosesTheConnection(t *testing.T) {
	needBrowser(t)
	u, err := url.Parse(servePage(t, "rehearse", "demo", "--plain"))
	require.NoError(t, err)
	w := newWire(t, u.Host)
	at := w.listener.Addr().String()
	b := openTab(t, "http://"+at+"/", 1024, 768)
	b.atPlace("2, 96", "chorus 1, bar 1", false)
	const enabled = `[...document.querySelectorAll("#controls-set button, #light-bar button, #masters input")].filter((e) => !e.matches(":disabled")).length`
	for _, how := range []string{"cut", "silent"} {
		b.until(`document.getElementById("section").textContent === "chorus 1" && ` + enabled + ` > 10 && !document.body.classList.contains("lost")`)
		if how == "cut" {
			w.cut()
		} else {
			w.mute(true)
		}
		b.until(`document.body.classList.contains("lost") && document.getElementById("lost").checkVisibility()`)
		n := -1
		b.js(enabled, &n)
		assert.Zero(t, n, "%s: buttons that do nothing", how)
		assert.Regexp(t, `^\s*Connection lost at \d\d?:\d\d:\d\d \(\d+ s\)\. Trying again\.`, b.textOf("#lost"))
		b.until(`parseInt(document.getElementById("lost-for").textContent) >= 2`)
		opacity := ""
		b.js(`getComputedStyle(document.getElementById("lights")).opacity`, &opacity)
		assert.Equal(t, "0.3", opacity, "the stage is dimmed")
		assert.Equal(t, "chorus 1", b.says("section"), "what was last known")
		assert.Equal(t, "bar 1 of 16", b.says("bar-of"))
		for _, s := range screens() {
			b.setScreen(s)
			b.js("scrollTo(0, 0)", nil)
			b.savePicture("lost-"+how, s)
		}
		for _, fault := range b.axe() {
			assert.Fail(t, fault)
		}
		if how == "cut" {
			w.listen(t, at)
		} else {
			w.mute(false)
		}
		b.until(`!document.body.classList.contains("lost") && !document.getElementById("lost").checkVisibility() && ` + enabled + ` > 10`)
	}
	b.click("#hold")
	b.until(`document.getElementById("state").textContent === "The light is held"`)
}
