package night_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
)

// A place is shown by the frame on its beat, else by the last before it; its section has
// been played as often as the pass says.
func TestViewIsOfItsPlace(t *testing.T) {
	m := engine.Meter{Upper: 4, Lower: 4}
	song := func(name string) engine.Song {
		return engine.Song{Name: name, Meter: m, Tempo: clock.BPM(120), Program: -1, Sections: []engine.Section{
			{Name: "first", Length: m.Bar()}, {Name: "second", Start: m.Bar(), Length: 2 * m.Bar(), Loop: true},
		}}
	}
	p := dark(song("One"), song("Two"))
	p.Looks, p.WalkIn = []engine.Cue{{Name: "embers"}}, 0
	start := func(pass int) clock.Beat { return m.Bar() + clock.Beat(pass-1)*2*m.Bar() }
	for _, c := range []struct {
		section int32
		at      clock.Beat
		pass    int
		want    clock.Beat // on the transport
	}{
		{0, 0, 0, 0},
		{0, clock.Quarter, 1, clock.Quarter},
		{1, m.Bar(), 1, start(1)},
		{1, m.Bar() + clock.Quarter, 1, start(1) + clock.Quarter},
		{1, m.Bar(), 2, start(2)},
		{1, m.Bar() + 3*clock.Quarter, 3, start(3) + 3*clock.Quarter},
	} {
		for index := range int32(2) {
			v := night.View(p, night.Place{Song: index, Look: engine.None, Section: c.section, At: c.at, Pass: c.pass})
			assert.Equal(t, c.want, v.Position().Beat, "%+v", c)
			assert.True(t, v.Position().Playing)
		}
	}
	at := m.Bar() + clock.Quarter + clock.Quarter/7 // between frames
	v := night.View(p, night.Place{Song: 0, Look: engine.None, Section: 1, At: at, Pass: 1})
	assert.LessOrEqual(t, v.Position().Beat, at)
	assert.Less(t, clock.BPM(120).Span(at-v.Position().Beat), clock.Second/43)
	v = night.View(p, night.Place{Song: engine.None, Look: 0})
	assert.False(t, v.Position().Playing)
	assert.InDelta(t, int64(night.WalkIn+60*clock.Second), int64(v.Position().At), float64(clock.Second/22), "a look has been up for a minute")
}
