package draw

import (
	"regexp"
	"strconv"
	"strings"

	"tactus/engine"
	"tactus/fixtures"
)

// headGroup is the heads that share a name without numbers: "wash" is wash 1, wash 2
// and so on.
type headGroup struct {
	name       string
	heads      []int32
	notInSongs bool // songs do not change it: front light, house light, haze
	haze       bool
	output     output
}

// headGroups groups the heads by name, in the order of the rig.
func headGroups(p *engine.Program) []headGroup {
	var all []headGroup
	for h := range p.Heads {
		head := &p.Heads[h]
		name := baseName(head.Name)
		i := 0
		for i < len(all) && (all[i].name != name || all[i].notInSongs != notInSongs(head)) {
			i++
		}
		if i == len(all) {
			all = append(all, headGroup{name: name, notInSongs: notInSongs(head), haze: kindOf(p, int32(h)).Has(fixtures.Haze), output: outputOf(p, int32(h))})
		}
		all[i].heads = append(all[i].heads, int32(h))
	}
	return all
}

func notInSongs(h *engine.Head) bool { return h.Keep || h.Spared }

// headSuffix matches the end of the name of a further head of a numbered fixture: "1
// head 2" in "bar 1 head 2".
var headSuffix = regexp.MustCompile(`([0-9]) head ([0-9]+)$`)

// baseName is a head's name without its numbers: "bar" of "bar 1 head 2".
func baseName(name string) string {
	short := strings.TrimRight(headSuffix.ReplaceAllString(name, ""), "0123456789. -#")
	if short == "" {
		return name
	}
	return short
}

// headNumber is the rest of the name after baseName, shortened: "1.2" of "bar 1 head
// 2".
func headNumber(name string) string {
	return headSuffix.ReplaceAllString(strings.Trim(name[len(baseName(name)):], " -#"), "$1.$2")
}

// kindOf returns the profile of a head's fixture.
func kindOf(p *engine.Program, head int32) *fixtures.Profile {
	return p.Patch.Placements()[p.Heads[head].Fixture].Profile
}

// output is the range of colours of a head.
type output struct {
	dims  bool            // a lamp behind a dimmer, with no colour of its own
	mixer *fixtures.Mixer // mixes the nearest colour; nil when the head can show every hue
}

func outputOf(p *engine.Program, head int32) output {
	profile := kindOf(p, head)
	switch {
	case !profile.Has(fixtures.Haze) && !profile.GivesLight():
		return output{dims: true}
	case profile.Has(fixtures.Red) && profile.Has(fixtures.Green) && profile.Has(fixtures.Blue):
		return output{}
	}
	return output{mixer: p.Patch.Mixer(int(head))}
}

// tungsten is the colour of a lamp behind a dimmer, about 3000 K, chosen by eye.
var tungsten = [3]float64{1, 0.68, 0.38}

// colour returns the colour that a head shows when s asks for one. A head with white
// emitters only shows the nearest white.
func (g *output) colour(s *fixtures.State) fixtures.RGB {
	if g.mixer == nil {
		return s.Colour()
	}
	var levels fixtures.Levels
	g.mixer.Mix(s.Colour(), &levels)
	c := g.mixer.Light(&levels)
	for i := range c {
		c[i] = max(0, min(1, c[i]))
	}
	return c
}

// light returns the light of a head: its colour times its intensity.
func (g *output) light(s *fixtures.State) light {
	if g.dims {
		return scaled(tungsten, s[fixtures.Intensity])
	}
	return scaled(g.colour(s), s[fixtures.Intensity])
}

// appendTo describes the light of the group: "wash 80 % blue", "haze 35 % fan 50 %".
func (v *headGroup) appendTo(b []byte, heads []fixtures.State) []byte {
	b = appendAll(b, v.name, " ")
	if v.haze {
		return v.appendHaze(b, heads)
	}
	low, high := int64(100), int64(0)
	first, second, more := "", "", false
	for _, h := range v.heads {
		s := &heads[h]
		n := percent(s[fixtures.Intensity])
		low, high = min(low, n), max(high, n)
		if n == 0 || v.output.dims {
			continue
		}
		switch word := colourWord(v.output.colour(s)); {
		case word == "" || word == first || word == second:
		case first == "":
			first = word
		case second == "":
			second = word
		default:
			more = true
		}
	}
	if high == 0 {
		return append(b, "dark"...)
	}
	if high-low > 10 {
		b = strconv.AppendInt(b, low, 10)
		b = append(b, '-')
	}
	b = appendPercent(b, high)
	switch {
	case more:
		b = append(b, " many colours"...)
	case second != "":
		b = appendAll(b, " ", first, "+", second)
	case first != "":
		b = appendAll(b, " ", first)
	}
	return b
}

func (v *headGroup) appendHaze(b []byte, heads []fixtures.State) []byte {
	haze, fan := 0.0, 0.0
	for _, h := range v.heads {
		haze, fan = max(haze, heads[h][fixtures.Haze]), max(fan, heads[h][fixtures.Fan])
	}
	b = appendPercent(b, percent(haze))
	if fan > 0 {
		b = appendPercent(append(b, " fan "...), percent(fan))
	}
	return b
}

func appendPercent(b []byte, n int64) []byte {
	b = strconv.AppendInt(b, n, 10)
	return append(b, " %"...)
}

// percent rounds to whole percent. Only darkness is 0 and only full is 100.
func percent(x float64) int64 {
	switch {
	case !(x > 0):
		return 0
	case x >= 1:
		return 100
	}
	return max(1, min(99, int64(float64(x*100)+0.5)))
}

// colourWord names a colour of linear light by its sRGB hue and saturation. The
// limits are chosen by eye.
func colourWord(c fixtures.RGB) string {
	high := max(c[0], c[1], c[2])
	if !(high > 0) {
		return ""
	}
	r, g, b := float64(encode(c[0]/high)), float64(encode(c[1]/high)), float64(encode(c[2]/high))
	low := min(r, g, b)
	span := 255 - low
	if span < 30 {
		return "white"
	}
	var hue float64
	switch {
	case r == 255:
		hue = (g - b) / span * 60
	case g == 255:
		hue = 120 + float64((b-r)/span*60)
	default:
		hue = 240 + float64((r-g)/span*60)
	}
	if hue < 0 {
		hue += 360
	}
	if span < 130 {
		switch {
		case hue >= 15 && hue < 65:
			return "warm white"
		case hue >= 170 && hue < 270:
			return "cool white"
		case hue >= 300 || hue < 15:
			return "pink"
		}
	}
	for _, w := range hues {
		if hue < w.below {
			return w.name
		}
	}
	return "red"
}

var hues = [...]struct {
	below float64
	name  string
}{
	{14, "red"},
	{32, "orange"},
	{50, "amber"},
	{70, "yellow"},
	{160, "green"},
	{200, "cyan"},
	{250, "blue"},
	{290, "violet"},
	{325, "magenta"},
	{347, "pink"},
}
