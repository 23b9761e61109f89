package main

import (
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
)

func TestStagePictures(t *testing.T) {
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1440, 900, chromedp.Flag("disable-3d-apis", os.Getenv("FLAT") != ""))
	b.js(`fetch("/api/v1/ask/walk-in", {method: "POST"}).then((r) => r.status)`, nil)
	b.watchPlain(6000)
	b.picture("walkin-1440", 1440, 900)
	for _, at := range []struct{ name, beat string }{{"verse", "60"}, {"chorus", "104"}, {"blackout", "104"}} {
		b.player("jump", "2, "+at.beat)
		b.watchPlain(2500)
		if at.name == "blackout" {
			b.js(`fetch("/api/v1/ask/blackout", {method: "POST"}).then((r) => r.status)`, nil)
			b.watchPlain(1000)
		}
		for _, size := range [][2]int{{1440, 900}, {1024, 768}, {390, 844}} {
			b.picture(fmt.Sprintf("%s-%d", at.name, size[0]), int64(size[0]), int64(size[1]))
			if at.name == "chorus" {
				b.js(`document.getElementById("names").click()`, nil)
				b.picture(fmt.Sprintf("names-%d", size[0]), int64(size[0]), int64(size[1]))
				b.js(`document.getElementById("names").click()`, nil)
			}
		}
		b.do(chromedp.EmulateViewport(1440, 900))
	}
	w := ""
	b.js(`document.getElementById("lights").dataset.painter`, &w)
	fmt.Println(w)
}

func (b *tab) watchPlain(ms int) {
	b.js(fmt.Sprintf(`new Promise((done) => setTimeout(done, %d))`, ms), nil)
}
