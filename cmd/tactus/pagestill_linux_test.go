package main

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a finger aims at does not move away when the music goes on, a section is armed,
// a look plays or the light is held: the stage and what is below it stand still.
func TestPageStandsStill(t *testing.T) {
	needBrowser(t)
	show := stageShow(t, "", "  a look with a long name: {set: {fronts: {intensity: 50 %}}}\n")
	b := openTab(t, servePage(t, "rehearse", show, "--plain"), 1024, 768)
	for _, s := range []screen{screens()[1], screens()[3], screens()[4]} {
		b.setScreen(s)
		first := 0.0
		place := func(state string) {
			top := 0.0
			b.pictures()
			b.js(`document.getElementById("lights").getBoundingClientRect().top + scrollY`, &top)
			if first == 0 {
				first = top
			}
			assert.InDelta(t, first, top, 0.5, "top of the stage, %s, %s: %s / %s / %s / %s", s.name, state, b.says("song"), b.says("look"), b.says("next"), b.says("next-song"))
		}
		for song := range 3 {
			for beat := 0; beat <= 96; beat += 32 {
				b.atPlace(fmt.Sprintf("%d, %d", song+1, beat), "", beat%64 == 0)
				place(fmt.Sprint("beat ", beat))
			}
		}
		b.atPlace("2, 0", "", true)
		b.click(`#parts button[data-section="6"]`)
		b.until(`/^Armed:/.test(document.getElementById("next").textContent)`)
		place("armed")
		b.click("#section-disarm")
		b.until(`document.getElementById("armed").textContent === ""`)
		b.click("#hold")
		b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "true"`)
		place("held")
		b.click("#hold")
		b.until(`document.getElementById("hold").getAttribute("aria-pressed") === "false"`)
		for _, look := range []string{"talk", "a look with a long name"} {
			b.showLook(look)
			place("look " + look)
		}
		// The number of things to check, shown and gone.
		var tops [2]float64
		b.js(`["", "12"].map((n) => {
			const worry = document.getElementById("worry"), had = [worry.hidden, worry.innerHTML];
			worry.hidden = n === "";
			worry.innerHTML = n + '<span class="more"> to check</span>';
			const top = document.getElementById("lights").getBoundingClientRect().top + scrollY;
			[worry.hidden, worry.innerHTML] = had;
			return top;
		})`, &tops)
		assert.InDelta(t, tops[0], tops[1], 0.5, "top of the stage, %s, without and with things to check", s.name)
	}
}

// On a wide screen the stage stays in sight while a hand is at the last of the masters.
func TestPageKeepsTheStageInSight(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	for _, s := range screens()[:2] {
		b.setScreen(s)
		b.js(`(document.querySelectorAll("#controls details").forEach((d) => { d.open = true; }), scrollTo(0, document.documentElement.scrollHeight))`, nil)
		b.pictures()
		var at struct{ Scrolled, Top, Bottom, Head, Bar float64 }
		b.js(`(() => {
			const stage = document.getElementById("lights").getBoundingClientRect();
			return { Scrolled: scrollY, Top: stage.top, Bottom: stage.bottom, Head: document.getElementById("head").getBoundingClientRect().bottom, Bar: document.getElementById("light-bar").getBoundingClientRect().top };
		})()`, &at)
		assert.Greater(t, at.Scrolled, 500.0, "%s: the controls are longer than the screen", s.name)
		assert.GreaterOrEqual(t, at.Top, at.Head, "%s: top of the stage", s.name)
		assert.LessOrEqual(t, at.Bottom, at.Bar, "%s: bottom of the stage", s.name)
	}
}
