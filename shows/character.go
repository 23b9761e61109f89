package shows

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// Character is a word for how a song's light moves: a set of tendencies that drafts
// follow. An empty tendency leaves the ladder as it is.
type Character struct {
	Name    string
	Pace    string        // slow, steady or fast: cycles of effects against the bar
	Paths   string        // symmetric or wandering: how effects go through the rig
	Trusses string        // alike or apart: brightness of the front against the back
	Fades   string        // long or short: fades between sections
	End     string        // held, faded or snapped: how the song ends
	White   *fixtures.RGB // of the role warm, unless the song's palette has one; or nil
	Breath  *bool         // whether there is a dark breath before the peak
	Builds  *bool         // whether sections grow into stronger ones
	AtMost  int           // effects at once; 0: as many as the energy bears
	Effects []string      // those that it likes most, in order
}

// builtInCharacters returns the built-in characters. Tendencies: common practice, no
// source.
func builtInCharacters(rigWhite fixtures.XY) []Character {
	yes, no := true, false
	white := func(kelvin int) *fixtures.RGB {
		c, _ := fixtures.ParseColour(fmt.Sprintf("%d K", kelvin), rigWhite) // never fails for these
		return &c
	}
	return []Character{
		{Name: "plain"},
		{Name: "calm", Pace: "slow", Paths: "symmetric", Trusses: "alike", Fades: "long", End: "faded", White: white(2900), Breath: &no, Builds: &yes, AtMost: 1},
		{Name: "driving", Pace: "fast", Paths: "symmetric", Trusses: "apart", Fades: "short", End: "snapped", White: white(5600), Breath: &no, Builds: &yes},
		{Name: "spare", Pace: "slow", Paths: "wandering", Trusses: "apart", Fades: "long", End: "held", White: white(4300), Breath: &no, Builds: &no, AtMost: 1},
		{Name: "triumphant", Pace: "steady", Paths: "symmetric", Trusses: "alike", Fades: "short", End: "held", White: white(3600), Breath: &yes, Builds: &yes},
		{Name: "playful", Pace: "fast", Paths: "wandering", Trusses: "alike", Fades: "short", End: "snapped", White: white(3200), Breath: &no, Builds: &no, AtMost: 3},
		{Name: "stormy", Pace: "steady", Paths: "wandering", Trusses: "apart", Fades: "short", End: "faded", White: white(6500), Breath: &yes, Builds: &yes},
	}
}

// compileCharacters puts the characters of the looks file over the built-in ones.
func (c *compiler) compileCharacters(v *language.Value) {
	c.characters = builtInCharacters(c.rigWhite())
	for _, e := range v.All() {
		name := e.Key.Text
		i := slices.IndexFunc(c.characters, func(k Character) bool { return k.Name == name })
		if i < 0 {
			i = len(c.characters)
			c.characters = append(c.characters, Character{Name: name})
		}
		c.characters[i] = c.tendencies(c.characters[i], e.Value)
	}
}

// tendencies puts those of a mapping over a character's.
func (c *compiler) tendencies(k Character, v *language.Value) Character {
	for key, to := range map[string]*string{"pace": &k.Pace, "paths": &k.Paths, "trusses": &k.Trusses, "fades": &k.Fades, "end": &k.End} {
		if w := v.Get(key); w != nil {
			*to = w.Word()
		}
	}
	for key, to := range map[string]**bool{"breath": &k.Breath, "builds": &k.Builds} {
		if w := v.Get(key); w != nil {
			yes := w.IsYes(false)
			*to = &yes
		}
	}
	if w := v.Get("white"); w != nil {
		rgb := c.ownColour(w)
		k.White = &rgb
	}
	k.AtMost = int(v.Get("effects at once").Num(int64(k.AtMost)))
	if w := v.Get("effects"); w != nil {
		k.Effects = nil
		for _, e := range c.effectsOf(w) {
			k.Effects = append(k.Effects, c.program.Effects[e.index].Name)
		}
	}
	return k
}

// charactersOf returns the characters that a song's file names.
func (c *compiler) charactersOf(v *language.Value) (list []Character) {
	for _, item := range v.Items() {
		i := slices.IndexFunc(c.characters, func(k Character) bool { return k.Name == item.Text })
		if i < 0 {
			var names []string
			for _, k := range c.characters {
				names = append(names, k.Name)
			}
			c.At(item, fmt.Sprintf("no character is called %q", item.Text), "one of "+strings.Join(names, ", ")+", or one of your own under characters in looks.yaml", language.Nearest(item.Text, names))
			continue
		}
		list = append(list, c.characters[i])
	}
	return list
}

// Joined is the character of a song with several words: each tendency is that of the
// first word that has it.
func Joined(list []Character) (k Character) {
	var names []string
	for _, o := range list {
		names = append(names, o.Name)
		k.Pace, k.Paths, k.Trusses = cmp.Or(k.Pace, o.Pace), cmp.Or(k.Paths, o.Paths), cmp.Or(k.Trusses, o.Trusses)
		k.Fades, k.End, k.AtMost = cmp.Or(k.Fades, o.Fades), cmp.Or(k.End, o.End), cmp.Or(k.AtMost, o.AtMost)
		k.White, k.Breath, k.Builds = cmp.Or(k.White, o.White), cmp.Or(k.Breath, o.Breath), cmp.Or(k.Builds, o.Builds)
		if len(k.Effects) == 0 {
			k.Effects = o.Effects
		}
	}
	k.Name = strings.Join(names, ", ")
	return k
}

// songPalette returns the colours of a song. The role warm is the white of its
// character where its own palette has none.
func (c *compiler) songPalette(v *language.Value, list []Character) engine.Palette {
	under := c.program.HousePalette
	if k := Joined(list); k.White != nil {
		under[engine.Warm] = *k.White
	}
	return c.paletteOf(v.Get("palette"), under)
}
