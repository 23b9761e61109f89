package shows

import (
	"cmp"
	"slices"

	"tactus/fixtures"
	"tactus/shows/language"
)

// Profile is a fixture type that a rig can name, as its file describes it.
type Profile struct {
	*fixtures.Profile
	Source  string           // "built in", "rig.yaml" or a file such as "profiles/my-wash.yaml"
	Written []string         // the channels as the file has them, in slot order
	Watts   float64          // at full, as the file says; 0 if it does not
	Lights  []ProfileEmitter // of all heads, each once, in the order of the channels
}

// ProfileEmitter is an emitter that a profile drives.
type ProfileEmitter struct {
	fixtures.Emitter
	Typical bool // the file gives no values of its own
}

// BuiltIn is the source of the profiles that come with the program.
const BuiltIn = "built in"

// BuiltInProfiles returns the profiles that come with the program, by name.
func BuiltInProfiles() []Profile {
	c := &compiler{loader: new(Loader)}
	c.compileProfiles(nil)
	return c.listedProfiles()
}

// listedProfiles returns the profiles of the show and those built in, each sorted by name.
func (c *compiler) listedProfiles() []Profile {
	list := slices.Clone(c.listed)
	slices.SortFunc(list, func(a, b Profile) int {
		if a.Source == BuiltIn != (b.Source == BuiltIn) {
			if b.Source == BuiltIn {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.Name, b.Name)
	})
	return list
}

// listProfile adds a profile, compiled from v, to the list.
func (c *compiler) listProfile(p *fixtures.Profile, source string, v *language.Value) {
	if p == nil {
		return
	}
	listed := Profile{Profile: p, Source: source, Watts: amount(v.Get("watts"))}
	for _, item := range v.Get("channels").Items() {
		listed.Written = append(listed.Written, item.Text)
	}
	for _, ch := range p.Channels {
		known := slices.ContainsFunc(listed.Lights, func(e ProfileEmitter) bool { return e.Param == ch.Param })
		if ch.Use != fixtures.Level || !ch.Param.Emits() || known {
			continue
		}
		own := v.Get("emitters").Get(ch.Param.String())
		listed.Lights = append(listed.Lights, ProfileEmitter{p.Emitter(ch.Param), own == nil})
	}
	c.listed = append(c.listed, listed)
}

// wattsOf returns the power of a profile at full, or 0 if its file does not say it.
func (c *compiler) wattsOf(profile string) float64 {
	for i := range c.listed {
		if c.listed[i].Name == profile {
			return c.listed[i].Watts
		}
	}
	return 0
}
