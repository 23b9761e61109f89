package shows

import (
	"fmt"
	"maps"
	"slices"

	"tactus/engine"
	"tactus/shows/language"
)

// compileSets checks every set list, compiles the one that was asked for, and returns
// the names of all.
func (c *compiler) compileSets(opts Options) []string {
	var names []string
	byName := map[string]*language.File{}
	chosen := -1
	for i, f := range c.sets {
		v := f.Root.Get("set")
		if v == nil {
			continue
		}
		if other := byName[v.Text]; other != nil {
			c.At(v, fmt.Sprintf("%s has a set %q already", other.Name, v.Text), "", "")
		}
		byName[v.Text] = f
		names = append(names, v.Text)
		if chosen < 0 && (opts.Set == "" || opts.Set == v.Text || opts.Set == StemOf(f.Name)) {
			chosen = i
		}
	}
	for i, f := range c.sets {
		c.set(f.Root, i == chosen)
	}
	if len(c.sets) == 0 {
		for i := range c.program.Songs {
			c.program.SetList = append(c.program.SetList, int32(i))
		}
		c.programs("", c.program.SetList, true)
	}
	if chosen < 0 && opts.Set != "" {
		c.Add(language.Problem{
			File: "sets", What: fmt.Sprintf("no set list %q", language.Shorten(opts.Set)),
			Allowed: language.Listed("set lists are", names), Nearest: language.Nearest(opts.Set, names), Asked: true,
		})
	}
	return names
}

func (c *compiler) set(v *language.Value, chosen bool) {
	var order []int32
	seen := map[int32]bool{}
	for _, item := range v.Get("songs").Items() {
		i, ok := c.songOf[item.Text]
		switch {
		case !ok && slices.Contains(c.songAt, nil):
			// A song whose name could not be read may be the one.
		case !ok:
			c.Unknown(item, "song", "songs", slices.Sorted(maps.Keys(c.songOf)))
		case seen[i]:
			c.At(item, fmt.Sprintf("%q is in the set twice", item.Text), "", "")
		default:
			order = append(order, i)
			seen[i] = true
		}
	}
	walkIn, walkOut := c.lookIndex(v.Get("walk-in")), c.lookIndex(v.Get("walk-out"))
	talk, pad := c.lookIndex(v.Get("talk")), c.lookIndex(v.Get("pad"))
	c.programs(v.Get("set").Word(), order, chosen)
	if chosen {
		c.program.Talk, c.program.Pad = talk, pad
		c.program.SetName = v.Get("set").Word()
		c.program.SetList, c.program.WalkIn, c.program.WalkOut = order, walkIn, walkOut
	}
}

func (c *compiler) lookIndex(v *language.Value) int32 {
	if v == nil {
		return engine.None
	}
	i := slices.Index(c.lookNames, v.Text)
	if i < 0 && c.looks.Get("looks") != nil {
		c.Unknown(v, "look", "looks", c.lookNames)
	}
	return int32(i)
}

// programs assigns the program changes that select songs: a song's own, or its place
// in the set list.
func (c *compiler) programs(set string, order []int32, chosen bool) {
	taken := map[int16]int32{}
	for i := range c.program.Songs {
		p := c.program.Songs[i].Program
		if p < 0 || c.songs[i].Root.Get("program") == nil {
			continue
		}
		if other, ok := taken[p]; ok {
			c.At(c.songs[i].Root.Get("program"), fmt.Sprintf("program %d selects %q already", p+1, c.program.Songs[other].Name), "give each song its own", "")
		}
		taken[p] = int32(i)
	}
	for place, i := range order {
		v := c.songs[i].Root
		if v.Get("program") != nil || place > 127 {
			continue
		}
		p := int16(place)
		if other, ok := taken[p]; ok {
			c.At(v.Get("song"), fmt.Sprintf("it is song %d of the set, but program %d selects %q", place+1, place+1, c.program.Songs[other].Name),
				"give it a program of its own", "")
			continue
		}
		if taken[p] = i; chosen {
			c.program.Songs[i].Program = p
		}
	}
	c.numberings = append(c.numberings, c.numbering(set, order, taken))
	if chosen {
		for p, i := range taken {
			c.program.Notes.ByProgram[p] = i
		}
	}
}

// checkNotes reports section notes that are control notes too on their channel.
func (c *compiler) checkNotes() {
	n := &c.program.Notes
	shared := n.Control == 0 || n.Control == n.Fire || slices.Contains(n.Arm[:], n.Control)
	if !shared {
		return
	}
	for i := range c.program.Songs {
		for _, s := range c.program.Songs[i].Sections {
			_, told := n.Clock(n.Control, s.Note)
			if s.Note > 127 || n.Controls[s.Note] == 0 && !told {
				continue
			}
			at := c.songs[i].Root.Get("sections")
			c.At(at, fmt.Sprintf("note %d enters section %q, but is a control note on the same channel", s.Note, s.Name),
				"give the section another note, or control another channel", "")
		}
	}
}
