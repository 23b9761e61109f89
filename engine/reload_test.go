package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// shuffled is the same show as it might come from other files: heads, songs,
// looks, groups and effects in reverse order.
func shuffled(t rapid.TB, p *Program) *Program {
	t.Helper()
	q := *p
	n := int32(len(p.Heads))
	head := func(h int32) int32 { return n - 1 - h }
	heads := func(list []int32) []int32 {
		out := make([]int32, len(list))
		for i, h := range list {
			out[i] = head(h)
		}
		return out
	}
	flip := func(i int32, list int) int32 {
		if i == None {
			return None
		}
		return int32(list) - 1 - i
	}
	q.Heads = slices.Clone(p.Heads)
	slices.Reverse(q.Heads)
	var at []fixtures.Placement
	for _, f := range p.Patch.Placements() {
		f.Head = int(head(int32(f.Head)))
		at = append(at, f)
	}
	var err error
	q.Patch, err = fixtures.NewPatch(p.Patch.Universes(), at)
	require.NoError(t, err)
	q.Effects = slices.Clone(p.Effects)
	for i := range q.Effects {
		q.Effects[i].Heads = heads(q.Effects[i].Heads)
	}
	slices.Reverse(q.Effects)
	cues := func(list []Cue) []Cue {
		list = slices.Clone(list)
		for i := range list {
			c := &list[i]
			c.Parts, c.Effects = slices.Clone(c.Parts), slices.Clone(c.Effects)
			if c.Build != nil {
				b := *c.Build
				b.Joins = slices.Clone(b.Joins)
				slices.Reverse(b.Joins)
				c.Build = &b
			}
			for j := range c.Parts {
				c.Parts[j].Heads = heads(c.Parts[j].Heads)
			}
			for j := range c.Effects {
				c.Effects[j] = flip(c.Effects[j], len(p.Effects))
			}
		}
		return list
	}
	q.Looks = cues(p.Looks)
	slices.Reverse(q.Looks)
	for _, l := range []*int32{&q.WalkIn, &q.WalkOut, &q.Talk, &q.Pad} {
		*l = flip(*l, len(p.Looks))
	}
	q.Songs = slices.Clone(p.Songs)
	for i := range q.Songs {
		s := &q.Songs[i]
		s.Cues, s.Variants = cues(s.Cues), slices.Clone(s.Variants)
		for j := range s.Variants {
			s.Variants[j].Cues = cues(s.Variants[j].Cues)
		}
	}
	slices.Reverse(q.Songs)
	q.SetList = slices.Clone(p.SetList)
	for i := range q.SetList {
		q.SetList[i] = flip(q.SetList[i], len(p.Songs))
	}
	q.Groups = slices.Clone(p.Groups)
	for i := range q.Groups {
		q.Groups[i].Heads = heads(q.Groups[i].Heads)
	}
	slices.Reverse(q.Groups)
	q.Floors = slices.Clone(p.Floors)
	for i := range q.Floors {
		q.Floors[i].Heads = heads(q.Floors[i].Heads)
	}
	q.Faders = slices.Clone(p.Faders)
	for i := range q.Faders {
		q.Faders[i].Heads = heads(q.Faders[i].Heads)
	}
	return &q
}

// translated is a command as the shuffled show's indexes have it.
func translated(c Command, p *Program) Command {
	flip := func(list int) {
		if c.Index >= 0 && int(c.Index) < list {
			c.Index = int32(list) - 1 - c.Index
		}
	}
	switch c.Kind {
	case SelectSong, SelectByProgram:
		flip(len(p.Songs))
	case ShowLook:
		flip(len(p.Looks))
	case GroupMaster, Override, ReleaseOverride:
		flip(len(p.Groups))
	}
	return c
}

func prepareReload(t rapid.TB, old, to *Program) *Reload {
	t.Helper()
	r, err := NewReload(old, to)
	require.NoError(t, err)
	return r
}

// A reload that changes nothing that can be seen changes no byte, from the
// first frame on and for the rest of the night, wherever names have moved to.
func TestReloadWithoutChangesChangesNoByte(t *testing.T) {
	base := *asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		p := anyHall(t, base)
		a, b := newRider(p), newRider(p)
		var want []dmx.Universe
		other := rapid.Bool().Draw(t, "shuffled")
		before, after := night(t, allKinds()...), night(t, allKinds()...)
		for _, s := range slices.Concat(before, []step{{}}, after) {
			a.do(s, func(u []dmx.Universe, _ clock.Position) { want = append(want, u[0]) })
		}
		n := 0
		check := func(u []dmx.Universe, pos clock.Position) {
			require.Equal(t, want[n], u[0], "frame %d at %v: % x, without the reload % x", n, pos.At.Sub(0), u[0].Slots[:14], want[n].Slots[:14])
			n++
		}
		for _, s := range before {
			b.do(s, check)
		}
		b.do(step{}, check)
		to := p
		if other {
			to = shuffled(t, p)
		}
		require.True(t, b.engine.Reload(prepareReload(t, p, to), b.clock.At(b.now)), "not taken")
		require.Zero(t, b.engine.lost, "things lost")
		for _, s := range after {
			if other {
				s.command = translated(s.command, p)
			}
			b.do(s, check)
		}
	})
}
