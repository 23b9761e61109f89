package written

import (
	"reflect"
	"slices"
)

// Changes are the parts of a model that are not as they were. Parts without a change are
// left out, and null in JSON.
type Changes struct {
	Songs      []Song            `json:"songs,omitzero"` // those that changed or are new
	Files      []string          `json:"files,omitzero"` // of all songs, if songs came, went or have other names of files
	Looks      []Look            `json:"looks,omitzero"` // all of them, as the other lists
	Effects    []Effect          `json:"effects,omitzero"`
	Ladder     []Rung            `json:"ladder,omitzero"`
	Breath     *string           `json:"breath,omitzero"`
	Moments    []Moment          `json:"moments,omitzero"`
	Characters []Character       `json:"characters,omitzero"`
	Limits     []Limit           `json:"limits,omitzero"`
	Palette    map[string]Colour `json:"palette,omitzero"`
	Sets       []Set             `json:"sets,omitzero"`
	Rig        *Rig              `json:"rig,omitzero"`
}

// Since returns what has changed since an earlier model. Lists that became empty are
// there, and empty.
func (m *Model) Since(before *Model) Changes {
	var c Changes
	for i := range m.Songs {
		s := &m.Songs[i]
		k := slices.IndexFunc(before.Songs, func(o Song) bool { return o.File == s.File })
		if k < 0 || !reflect.DeepEqual(*s, before.Songs[k]) {
			c.Songs = append(c.Songs, *s)
		}
	}
	if files := m.files(); !slices.Equal(files, before.files()) {
		c.Files = files
	}
	if !reflect.DeepEqual(m.Looks, before.Looks) {
		c.Looks = m.Looks
	}
	if !reflect.DeepEqual(m.Effects, before.Effects) {
		c.Effects = m.Effects
	}
	if !reflect.DeepEqual(m.Ladder, before.Ladder) {
		c.Ladder = m.Ladder
	}
	if m.Breath != before.Breath {
		c.Breath = &m.Breath
	}
	if !reflect.DeepEqual(m.Moments, before.Moments) {
		c.Moments = m.Moments
	}
	if !reflect.DeepEqual(m.Characters, before.Characters) {
		c.Characters = m.Characters
	}
	if !slices.Equal(m.Limits, before.Limits) {
		c.Limits = m.Limits
	}
	if !reflect.DeepEqual(m.Palette, before.Palette) {
		c.Palette = m.Palette
	}
	if !reflect.DeepEqual(m.Sets, before.Sets) {
		c.Sets = m.Sets
	}
	if !reflect.DeepEqual(m.Rig, before.Rig) {
		c.Rig = &m.Rig
	}
	return c
}

func (m *Model) files() []string {
	list := []string{}
	for i := range m.Songs {
		list = append(list, m.Songs[i].File)
	}
	return list
}
