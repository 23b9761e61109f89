package main

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// scoreApart makes a score that no moments reach but those of a test: window.apart.
const scoreApart = `(async () => {
	const { Score } = await import("/score.js"), parts = { "score": "canvas", "cue-says": "p", "cue-list": "ol" };
	for (const [id, kind] of Object.entries(parts)) document.body.append(parts[id] = document.createElement(kind));
	parts.score.style.cssText = "width: 600px; height: 200px; position: fixed; top: 0; left: 0";
	window.songs = (await (await fetch("/api/v1/show")).json()).songs;
	window.cueSays = () => parts["cue-says"].textContent;
	window.apart = new Score((id) => parts[id], () => {});
})()`

// A score that opens another song shows nothing of the moment before it, although a
// section was armed that the new song does not have.
func TestPageScoreOpensAnotherSong(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.js(scoreApart, nil)
	b.js(`(() => {
		const long = songs.find((s) => s.sections.length === 9);
		apart.open(long);
		apart.show({song: songs.indexOf(long), section: 7, armed: 8, armedIn: 4, beat: 150, place: "tag"}, 150);
	})()`, nil)
	fault, says := "", ""
	b.js(`(() => {
		const short = songs.find((s) => s.sections.length === 7);
		try { apart.open(short); apart.tellCue(); apart.fit(); } catch (e) { return String(e.stack); }
		return "";
	})()`, &fault)
	assert.Empty(t, fault)
	b.js(`cueSays()`, &says)
	assert.Contains(t, says, "Next cue in 4 bars, at verse, bar 1 beat 1", "from the start of the song")
	b.js(`(() => {
		try { apart.show({armed: 8, armedIn: 4, section: 0, beat: 0, place: "intro"}, 0); } catch (e) { return String(e.stack); }
		return "";
	})()`, &fault)
	assert.Empty(t, fault, "a section that the song does not have")
}

// The next cue of a section that is armed is counted along what is played: up to the
// entry, and on from the start of that section, even beyond the end of the song.
func TestPageScoreCountsThroughAnEntry(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	b.js(scoreApart, nil)
	// Two sections of four bars of 4/4; the second has one cue, at its last bar.
	b.js(`(() => {
		const cue = (at, place) => ({at, place, look: "tide", fade: "", effects: []});
		apart.open({
			meter: "4/4", length: 32, bars: [0, 4, 8, 12, 16, 20, 24, 28], palette: ["#aa0000", "#00aa00", "#0000aa"],
			sections: [{name: "verse", start: 0, length: 16, energy: 3}, {name: "chorus", start: 16, length: 16, energy: 6}],
			cues: [cue(0, "verse, bar 1 beat 1"), cue(28, "chorus, bar 4 beat 1")],
		});
	})()`, nil)
	for _, c := range []struct {
		what          string
		beat, armedIn float64
		armed         int
		want          string
	}{
		{"the chorus again, at its end", 29, 3, 1, "Next cue in 4 bars, at chorus, bar 4 beat 1"},
		{"the chorus again, on the next beat", 29, 1, 1, "Next cue in 4 bars, at chorus, bar 4 beat 1"},
		{"the verse, at the chorus's end", 29, 3, 0, "Next cue in 3 beats, at verse, bar 1 beat 1"},
		{"the chorus, early", 4, 4, 1, "Next cue in 4 bars, at chorus, bar 4 beat 1"},
		{"the chorus again, after its own cue", 21, 11, 1, "Next cue in 2 bars, at chorus, bar 4 beat 1"},
		{"nothing", 4, 0, -1, "Next cue in 6 bars, at chorus, bar 4 beat 1"},
		{"nothing, in the bar before", 25, 0, -1, "Next cue in 3 beats, at chorus, bar 4 beat 1"},
	} {
		says := ""
		b.js(fmt.Sprintf(`(apart.show({section: 0, armed: %d, armedIn: %v, beat: %v, place: ""}, %v), cueSays())`, c.armed, c.armedIn, c.beat, c.beat), &says)
		assert.Contains(t, says, c.want+":", "armed: %s", c.what)
	}
}

// accentDrawn counts pixels of the score in the accent that the page has now.
const accentDrawn = `(() => {
	const probe = document.createElement("canvas").getContext("2d"), score = document.getElementById("score");
	probe.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--accent").trim();
	probe.fillRect(0, 0, 1, 1);
	const [r, g, b] = probe.getImageData(0, 0, 1, 1).data, d = score.getContext("2d").getImageData(0, 0, score.width, score.height).data;
	let n = 0;
	for (let i = 0; i < d.length; i += 4) if (d[i] === r && d[i + 1] === g && d[i + 2] === b && d[i + 3] === 255) n++;
	return n;
})()`

// The score of each song is drawn in that song's accent.
func TestPageScoreHasTheSongsAccent(t *testing.T) {
	needBrowser(t)
	b := openTab(t, servePage(t, "rehearse", "demo", "--plain"), 1024, 768)
	for _, song := range []string{"2", "3", "1"} {
		b.atPlace(song+", 0", "intro, bar 1", false)
		b.until(fmt.Sprintf(`document.getElementById("song-of").textContent === "song %s of 3"`, song))
		b.pictures()
		n := 0
		b.js(accentDrawn, &n)
		assert.Greater(t, n, 20, "pixels in the accent of song %s", song)
	}
}
