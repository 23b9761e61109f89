package merge

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
)

// songOf makes a song of sections, "verse 8, chorus 8", with numbers as the loader gives
// them.
func songOf(sections string) *engine.Song {
	s := &engine.Song{Meter: engine.Meter{Upper: 4, Lower: 4}}
	count, nth := map[string]int{}, map[string]int{}
	list := strings.Split(sections, ", ")
	for _, x := range list {
		count[strings.Fields(x)[0]]++
	}
	for _, x := range list {
		var name string
		var bars int
		fmt.Sscan(x, &name, &bars)
		if nth[name]++; count[name] > 1 {
			name = fmt.Sprintf("%s %d", name, nth[name])
		}
		s.Sections = append(s.Sections, engine.Section{Name: name, Start: s.Length(), Length: clock.Beat(bars) * s.Meter.Bar()})
	}
	return s
}

func TestAlign(t *testing.T) {
	for _, c := range []struct {
		why, old, now string
		before        []int
	}{
		{"the same", "a 4, b 8, a 4", "a 4, b 8, a 4", []int{0, 1, 2}},
		{"longer", "a 4, b 8", "a 4, b 12", []int{0, 1}},
		{"of equal names the equally long is the one that was there", "verse 8, chorus 8", "verse 16, verse 8, chorus 8", []int{-1, 0, 1}},
		{"a new one between", "verse 8, chorus 8, verse 8, chorus 8", "verse 8, chorus 8, bridge 4, verse 8, chorus 8", []int{0, 1, -1, 2, 3}},
		{"gone", "verse 8, bridge 4, chorus 8", "verse 8, chorus 8", []int{0, 2}},
		{"moved", "intro 4, solo 8, verse 8, chorus 8", "intro 4, verse 8, chorus 8, solo 8", []int{0, 2, 3, 1}},
		{"renamed", "intro 4, a 8, outro 4", "intro 4, verse 8, outro 4", []int{0, 1, 2}},
		{"renamed by kind, not by order", "verse 8, outro 4", "verse 8, bridge 4, coda 4", []int{0, -1, 1}},
		{"another language", "strophe 8, refrain 8, strophe 8, refrain 8", "verse 8, chorus 8, verse 8, chorus 8", []int{0, 1, 2, 3}},
		{"a bridge is no second verse", "verse 8, bridge 4, verse 8", "verse 8, verse 9, verse 8", []int{0, -1, 2}},
		{"nothing in common", "a 4", "verse 8, chorus 16", []int{0, -1}},
	} {
		p := align(songOf(c.old), songOf(c.now))
		assert.Equal(t, c.before, p.before, c.why)
		for j, i := range p.before {
			if i >= 0 {
				assert.Equal(t, j, p.after[i], c.why)
			}
		}
	}
}

// No section is two others, and a song is itself.
func TestAlignProperties(t *testing.T) {
	sections := rapid.Custom(func(t *rapid.T) *engine.Song {
		var list []string
		for range rapid.IntRange(1, 12).Draw(t, "sections") {
			list = append(list, fmt.Sprintf("%s %d", rapid.SampledFrom([]string{"verse", "chorus", "refrain", "x", "y"}).Draw(t, "name"), rapid.IntRange(1, 4).Draw(t, "bars")))
		}
		return songOf(strings.Join(list, ", "))
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := sections.Draw(t, "old"), sections.Draw(t, "now")
		p := align(a, b)
		seen := map[int]bool{}
		for j, i := range p.before {
			if i >= 0 {
				assert.False(t, seen[i])
				assert.Equal(t, j, p.after[i])
				seen[i] = true
			}
		}
		assert.Equal(t, identity(len(a.Sections)), align(a, a))
	})
}
