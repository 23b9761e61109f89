package plan

import "math"

// Traits describe the character of a song's light in numbers. They are measured from
// the song's columns and sections; kept groups, house lights and haze are left out.
// All are rounded, so that they are the same on every processor. A song that was not
// measured has the zero Traits.
type Traits struct {
	// Motion is the change of light a beat in Oklab, 0..1, seldom over 0.2: the mean of
	// the sections' PerBeat by length.
	Motion float64 `json:"motion"`
	// ColourMotion is the share, 0..1, of motion that changes colour rather than level,
	// in the second half of each section. It is 0 where hardly anything moves.
	ColourMotion float64 `json:"colourMotion"`
	// Symmetry is 1 if heads that mirror each other left and right are lit alike at all
	// times, 0 if one is dark whenever the other is lit, and 1 where no heads mirror
	// each other.
	Symmetry float64 `json:"symmetry"`
	// FrontBack is the mean difference in L*, 0..100, between the heads of the front
	// half of the stage and of its back half.
	FrontBack float64 `json:"frontBack"`
	// Warmth is the mean Oklab b divided by L, -0.16..0.16, of nearly white light:
	// above 0 is warm, below is cold, 0 is neutral or no such light.
	Warmth float64 `json:"warmth"`
	// Hue is the hue with the most colour (light times chroma), 0..359 degrees in Oklab
	// (red is about 30, green 140, blue 265); 0 where light is white.
	Hue float64 `json:"hue"`
	// Chroma is the mean Oklab chroma divided by L, 0..0.7, of the light of that hue:
	// dimming does not change it. A pastel has about 0.1, pure blue 0.7.
	Chroma float64 `json:"chroma"`
	// Brightness is the mean of the sections' L* by length, 0..100.
	Brightness float64 `json:"brightness"`
	// Range is the difference in L*, 0..100, of the brightest and the darkest section.
	Range float64 `json:"range"`
	// Abruptness is the share, 0..1, of the change from section to section that happens
	// within a beat: 1 for snaps, small for slow fades. It is 0 where nothing changes.
	Abruptness float64 `json:"abruptness"`
	// Breaths is how often the stage goes dark inside the song, and comes back.
	Breaths float64 `json:"breaths"`
	// LastBar and LastBeat are the share of light (L*) left over the last bar and the
	// last beat, 0..1, of that in the bars before: 1 is held to the end.
	LastBar  float64 `json:"lastBar"`
	LastBeat float64 `json:"lastBeat"`
	// After is 1 if light stays after the end, and 0 if the last cue is dark. A song
	// that snaps to dark has LastBeat 1 and After 0.
	After float64 `json:"after"`
	// Effects is the mean number of effects at once.
	Effects float64 `json:"effects"`
	// Lit is the mean share of heads that are lit, 0..1.
	Lit float64 `json:"lit"`
}

// Trait is one of the numbers in [Traits].
type Trait struct {
	Name  string  // in plain words
	Scale float64 // the difference that counts as wholly different, in the trait's unit
	// Reason says where the scale is from.
	Reason string
	colour bool // it is about colour, which a rig of dimmers has none of
	value  func(*Traits) float64
	differ func(a, b *Traits) float64 // in the trait's unit; nil: the difference of values
}

// Value returns the trait in its unit.
func (t *Trait) Value(of *Traits) float64 { return t.value(of) }

// Difference returns by how much two songs differ in a trait: 0 is not at all, 1 is by
// its scale or more.
func (t *Trait) Difference(a, b *Traits) float64 {
	d := 0.0
	if t.differ != nil {
		d = t.differ(a, b)
	} else {
		d = math.Abs(t.value(a) - t.value(b))
	}
	return min(1, d/t.Scale)
}

// AllTraits lists the traits in order.
func AllTraits() []Trait {
	return []Trait{
		{Name: "motion", Scale: 0.08, Reason: "about the difference between a still ballad and a fast dance song", value: func(t *Traits) float64 { return t.Motion }},
		{Name: "share of motion that is colour", colour: true, Scale: 0.5, Reason: "half of all there is", value: func(t *Traits) float64 { return t.ColourMotion }},
		{Name: "symmetry", Scale: 0.3, Reason: "heads in turn, two of three alike, against all alike", value: func(t *Traits) float64 { return t.Symmetry }},
		{Name: "front and back apart", Scale: 30, Reason: "one truss at full and the other at two fifths of its light", value: func(t *Traits) float64 { return t.FrontBack }},
		{Name: "warmth of whites", colour: true, Scale: 0.06, Reason: "about that between white of 5600 K and of 4000 K", value: func(t *Traits) float64 { return t.Warmth }},
		{Name: "hue", colour: true, Scale: 60, Reason: "a sixth of the circle: from red to yellow", value: func(t *Traits) float64 { return t.Hue }, differ: hueApart},
		{Name: "chroma", colour: true, Scale: 0.2, Reason: "a pastel against a deep colour", value: func(t *Traits) float64 { return t.Chroma }},
		{Name: "brightness", Scale: 30, Reason: "about four times the light", value: func(t *Traits) float64 { return t.Brightness }},
		{Name: "range of brightness", Scale: 40, Reason: "verses and choruses alike against verses in a fifth of the light", value: func(t *Traits) float64 { return t.Range }},
		{Name: "abruptness of changes", Scale: 0.6, Reason: "snaps against fades over two beats and more", value: func(t *Traits) float64 { return t.Abruptness }},
		{Name: "dark breaths", Scale: 3, Reason: "one before each chorus of a usual song, against none", value: func(t *Traits) float64 { return t.Breaths }},
		{Name: "light over the last bar", Scale: 0.6, Reason: "held against faded", value: func(t *Traits) float64 { return t.LastBar }},
		{Name: "light over the last beat", Scale: 0.6, Reason: "held against faded", value: func(t *Traits) float64 { return t.LastBeat }},
		{Name: "light after the end", Scale: 1, Reason: "it stays or it does not", value: func(t *Traits) float64 { return t.After }},
		{Name: "effects at once", Scale: 2, Reason: "still against two effects over each other", value: func(t *Traits) float64 { return t.Effects }},
		{Name: "heads lit", Scale: 0.4, Reason: "all heads against every second or so", value: func(t *Traits) float64 { return t.Lit }},
	}
}

// hueApart returns how far apart two hues are, 0..180 degrees; 0 if one of them is
// white: then only the chroma differs.
func hueApart(a, b *Traits) float64 {
	if a.Chroma < leastChroma || b.Chroma < leastChroma {
		return 0
	}
	return circle(a.Hue, b.Hue)
}

// Distance returns how far apart the characters of two songs are, 0..1: the mean of
// the differences of all traits, each divided by its scale and at most 1. All traits
// count alike (common practice, no source).
func Distance(a, b Traits) float64 {
	sum, n := 0.0, 0.0
	for _, t := range AllTraits() {
		if t.colour && a.Chroma == 0 && b.Chroma == 0 {
			continue
		}
		sum, n = sum+t.Difference(&a, &b), n+1
	}
	return round(sum/n, 1000)
}

// Differing lists the traits in which two songs differ by more than an amount, 0..1 of
// each trait's scale.
func Differing(a, b Traits, amount float64) (list []Trait) {
	for _, t := range AllTraits() {
		if t.Difference(&a, &b) > amount {
			list = append(list, t)
		}
	}
	return list
}
