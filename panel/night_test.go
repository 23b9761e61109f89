package panel_test

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine/night"
	"tactus/panel"
	"tactus/shows"
	"tactus/shows/paper"
	"tactus/shows/plan"
	"tactus/shows/plot"
	"tactus/shows/sheet"
)

// editSet is the body of edits.
func editsOf(edits ...string) string { return `{"edits": [` + strings.Join(edits, ", ") + `]}` }

const (
	backwards = `{"do": "set order", "set": "sets/november.yaml", "songs": ["breakwater", "saturday", "lanterns"]}`
	december  = `{"do": "add set", "set": "sets/z december.yaml", "name": "December", "songs": ["saturday", "lanterns"]}`
)

// The night of a set is the one that is played, in its order as edited, at once.
func TestComposeNight(t *testing.T) {
	d := newDesk(t)
	names := func(n panel.NightPlanned) (list []string) {
		for _, s := range n.Songs {
			list = append(list, s.File)
		}
		return list
	}
	n := read[panel.NightPlanned](t, d.compose(t, "GET", "/night", "", ""), 200)
	assert.Equal(t, "sets/november.yaml", n.Set)
	assert.Equal(t, []string{"songs/lanterns.yaml", "songs/saturday.yaml", "songs/breakwater.yaml"}, names(n))
	isPlayed(t, n, d.session.Show())

	c := read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), editsOf(backwards, december)), 200)
	n = read[panel.NightPlanned](t, d.compose(t, "GET", "/night?set=sets/november.yaml", "", ""), 200)
	assert.Equal(t, c.State.Tag, n.Tag)
	assert.Equal(t, []string{"songs/breakwater.yaml", "songs/saturday.yaml", "songs/lanterns.yaml"}, names(n))
	isPlayed(t, n, d.session.Show())

	n = read[panel.NightPlanned](t, d.compose(t, "GET", "/night?set=sets/z+december.yaml", "", ""), 200)
	assert.Equal(t, "December", n.Name)
	assert.Equal(t, []string{"songs/saturday.yaml", "songs/lanterns.yaml"}, names(n))
	other, problems := shows.Load(os.DirFS(d.saved(t)), shows.Options{Set: "December"})
	require.Empty(t, problems)
	isPlayed(t, n, other)
	assert.Equal(t, 422, d.compose(t, "GET", "/night?set=sets/april.yaml", "", "").status)
}

// saved saves the session and returns its folder.
func (d *desk) saved(t *testing.T) string {
	t.Helper()
	_, err := d.session.Save(d.session.State().Revision)
	require.NoError(t, err)
	return d.dir
}

// isPlayed checks that songs and sections begin in the frame in which they do when the set
// is played.
func isPlayed(t *testing.T, n panel.NightPlanned, show *shows.Show) {
	t.Helper()
	const frame = 1.0 / 40 // seconds: frames come no slower
	type at struct{ song, section int }
	begins := map[at]clock.Time{}
	run := night.Play(show.Program, night.PlannedSongs(show.Program))
	for run.Frame() {
		if s := run.Song(); s != nil {
			key := at{s.Place, int(run.Section().Index)}
			if _, have := begins[key]; !have {
				begins[key] = run.Position().At
			}
		}
	}
	sections := 0
	for i, s := range n.Songs {
		require.Equal(t, i, s.Place)
		sum := 0.0
		for k, x := range s.Sections {
			sections++
			assert.InDelta(t, begins[at{i, k}].Sub(0).Seconds(), x.Start, frame, "%s, %s", s.Name, x.Name)
			sum += x.Length
		}
		assert.InDelta(t, s.Length, sum, 0.01)
		assert.InDelta(t, s.Start, s.Sections[0].Start, 0.001)
		if i+1 < len(n.Songs) {
			assert.InDelta(t, n.Songs[i+1].Start, s.Start+s.Length+s.Rest, 0.01)
		}
	}
	assert.Len(t, begins, sections)
}

// The measured night is what "check" measures of the show as edited.
func TestComposeNightMeasured(t *testing.T) {
	d := newDesk(t)
	c := read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), editsOf(backwards, december)), 200)
	isMeasured := func(query string, show *shows.Show) {
		t.Helper()
		want, err := plan.Measure(context.Background(), show, plan.Options{})
		require.NoError(t, err)
		report := plan.Report(want)
		have := read[panel.NightMeasured](t, d.compose(t, "GET", "/night/measured"+query, "", ""), 200)
		assert.Equal(t, c.State.Tag, have.Tag)
		require.Len(t, have.Songs, len(report.Songs))
		for i, s := range have.Songs {
			assert.Equal(t, report.Songs[i].Name, s.Name)
			assert.Equal(t, i, s.Place)
			for k, x := range s.Sections {
				assert.InDelta(t, report.Songs[i].Sections[k].Strength, x.Strength, 0, "%s, %s", s.Name, x.Name)
			}
			assert.Len(t, s.Found, len(report.Songs[i].Findings))
		}
	}
	isMeasured("", d.session.Show())
	isMeasured("?set=sets/november.yaml", d.session.Show())
	other, problems := d.session.View().WithSet(new(shows.Loader), "December")
	require.Empty(t, problems)
	isMeasured("?set=sets/z+december.yaml", other)
}

// Measuring a night is given up when a newer edit comes.
func TestMeasuringANightIsGivenUp(t *testing.T) {
	d := newDesk(t)
	done := make(chan reply)
	statuses := map[int]bool{}
	for i := range 20 { // until an edit comes while one is measured
		tag := d.tag(t)
		go func() { done <- d.compose(t, "GET", "/night/measured", "", "") }()
		_ = read[changed](t, d.compose(t, "POST", "/edit", tag, energy(3, 7+i%2)), 200)
		d.ComposeChanged()
		a := <-done
		if statuses[a.status] = true; a.status == 409 {
			assert.Contains(t, string(a.body), "a newer edit has come")
			return
		}
	}
	require.Fail(t, "no measuring was given up", "%v", statuses)
}

// The paper is that of "tactus sheet" for the show as it is edited, and says what of it is
// not saved.
func TestComposePaper(t *testing.T) {
	d := newDesk(t, func(c *panel.Config) { c.Usual = "127.0.0.1:4480" })
	html := func(unsaved ...string) string {
		measured, err := plan.Measure(context.Background(), d.session.Show(), plan.Options{})
		require.NoError(t, err)
		var out bytes.Buffer
		require.NoError(t, paper.HTML(&out, paper.NewBook(d.session.Show(), paper.Options{Night: measured, Usual: "127.0.0.1:4480", Unsaved: unsaved})))
		return out.String()
	}
	got := d.compose(t, "GET", "/paper?format=html", "", "")
	require.Equal(t, 200, got.status)
	assert.Equal(t, html(), string(got.body))
	assert.NotContains(t, string(got.body), "not saved")
	assert.Contains(t, got.header.Get("Content-Security-Policy"), "default-src 'none'; style-src 'unsafe-inline'")
	assert.Equal(t, `inline; filename=november-sheets.html`, got.header.Get("Content-Disposition"))

	rename := `{"do": "rename song", "song": "songs/lanterns.yaml", "to": "<script>alert(1)</script>"}`
	_ = read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), editsOf(backwards, rename)), 200)
	got = d.compose(t, "GET", "/paper?format=html", "", "")
	assert.Equal(t, html("sets/november.yaml", "songs/lanterns.yaml"), string(got.body))
	assert.Contains(t, string(got.body), "This paper has changes that were not saved when it was made: sets/november.yaml, songs/lanterns.yaml.")
	assert.NotContains(t, string(got.body), "<script")

	for _, size := range []string{"a4", "letter"} {
		got = d.compose(t, "GET", "/paper?paper="+size, "", "")
		assert.Equal(t, "application/pdf", got.header.Get("Content-Type"))
		assert.True(t, bytes.HasPrefix(got.body, []byte("%PDF-")), size)
		assert.Contains(t, got.header.Get("Content-Disposition"), "november-sheets.pdf")
	}
	for query, words := range map[string]string{"format=doc": "want pdf or html", "paper=a3": "want a4 or letter", "set=fog": "the file of a set"} {
		got = d.compose(t, "GET", "/paper?"+query, "", "")
		assert.Equal(t, 422, got.status)
		assert.Contains(t, string(got.body), words)
	}
}

// Pictures are those of "tactus plot" for the show as it is edited.
func TestComposePlot(t *testing.T) {
	d := newDesk(t)
	_ = read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), editsOf(backwards)), 200)
	measured, err := plan.Measure(context.Background(), d.session.Show(), plan.Options{})
	require.NoError(t, err)
	a4, letter := sheet.Papers()[0], sheet.Papers()[1]
	for query, want := range map[string]*sheet.Sheet{
		"":                                   plot.Overview(measured, a4),
		"what=night&paper=letter":            plot.Overview(measured, letter),
		"what=stage":                         plot.Stage(d.session.Show(), a4),
		"what=song&song=songs/lanterns.yaml": plot.Score(measured, 2, a4),
	} {
		got := d.compose(t, "GET", "/plot?"+query, "", "")
		assert.Equal(t, 200, got.status, "%s: %s", query, got.body)
		assert.Equal(t, "image/svg+xml", got.header.Get("Content-Type"), query)
		assert.Equal(t, string(want.SVG()), string(got.body), query)
		assert.NotContains(t, string(got.body), "style=", "which the policy would forbid")
	}
	got := d.compose(t, "GET", "/plot?what=stage&format=png", "", "")
	assert.Equal(t, "image/png", got.header.Get("Content-Type"))
	assert.True(t, bytes.HasPrefix(got.body, []byte("\x89PNG\r\n")))
	for query, words := range map[string]string{"what=moon": "want night or song or stage", "what=song": "the file of a song of the set", "format=gif": "want svg or png"} {
		got := d.compose(t, "GET", "/plot?"+query, "", "")
		assert.Equal(t, 422, got.status, query)
		assert.Contains(t, string(got.body), words, query)
	}
}

// tune is a MIDI file of format 0, written by hand after Standard MIDI Files 1.0: a name,
// 120 quarter notes a minute, 3/4, a verse and a chorus of eight bars each.
func tune(t *testing.T) []byte {
	t.Helper()
	track := []byte{
		0, 0xff, 0x03, 8, 'E', 'b', 'b', ' ', 'T', 'i', 'd', 'e',
		0, 0xff, 0x51, 3, 0x07, 0xa1, 0x20, // 500,000 microseconds
		0, 0xff, 0x58, 4, 3, 2, 24, 8,
		0, 0xff, 0x06, 5, 'V', 'e', 'r', 's', 'e',
		0x92, 0x00, 0xff, 0x06, 6, 'C', 'h', 'o', 'r', 'u', 's', // after 8 bars of 3 quarters of 96 ticks
		0x92, 0x00, 0xff, 0x06, 3, 'E', 'n', 'd',
		0, 0xff, 0x2f, 0,
	}
	return append([]byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 0, 96, 'M', 'T', 'r', 'k', 0, 0, 0, byte(len(track))}, track...)
}

// A MIDI file becomes a song that can be added and put into the set as one change.
func TestComposeMIDIFile(t *testing.T) {
	d := newDesk(t)
	tag := d.tag(t)
	song := read[panel.SongRead](t, d.compose(t, "POST", "/midi?name=other", "", string(tune(t))), 200)
	assert.Equal(t, "Ebb Tide", song.Name)
	assert.Equal(t, 2, song.Sections)
	assert.Equal(t, "0:24", song.Time)
	assert.False(t, song.Proposed)
	assert.Equal(t, tag, d.tag(t), "nothing is changed")
	order := `{"do": "set order", "set": "sets/november.yaml", "songs": ["ebb", "lanterns", "saturday", "breakwater"]}`
	c := read[changed](t, d.compose(t, "POST", "/edit", tag, editsOf(fmt.Sprintf(`{"do": "import song", "song": "songs/ebb.yaml", "text": %q}`, song.Text), order)), 200)
	assert.Equal(t, []string{"sets/november.yaml", "songs/ebb.yaml"}, c.State.Unsaved)
	src, err := os.ReadFile(filepath.Join(d.saved(t), "songs", "ebb.yaml"))
	require.NoError(t, err)
	assert.Contains(t, string(src), "song: Ebb Tide\ntempo: 120 bpm\nmeter: 3/4\nsections:\n  - verse: {bars: 8, energy: 4}")

	unnamed := read[panel.SongRead](t, d.compose(t, "POST", "/midi?name="+url.QueryEscape("<b>\x00 tide"), "", strings.Replace(string(tune(t)), "\xff\x03", "\xff\x01", 1)), 200)
	assert.NotContains(t, unnamed.Name, "\x00")
	for name, c := range map[string]struct {
		body, words string
		status      int
	}{
		"nothing":  {"", "no song could be read", 422},
		"a page":   {"<html>", "no song could be read", 422},
		"cut off":  {string(tune(t)[:40]), "no song could be read", 422},
		"too long": {string(tune(t)) + strings.Repeat("\x00", 1<<20), "more than 1048576 bytes", 413},
	} {
		got := d.compose(t, "POST", "/midi", "", c.body)
		assert.Equal(t, c.status, got.status, name)
		assert.Contains(t, string(got.body), c.words, name)
	}
}
