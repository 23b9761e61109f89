package main

import (
	"tactus/clock"
	"tactus/shows"
)

// leadsOf returns how far ahead each universe is sent, and the most of it. What
// goes nowhere goes with the most, so that it makes no frames of its own.
func leadsOf(o *shows.Outputs) (leads []clock.Time, most clock.Time) {
	for i := range o.Universes {
		most = max(most, o.Universes[i].Lead)
	}
	for i := range o.Universes {
		lead := o.Universes[i].Lead
		if o.Universes[i].Protocol == shows.Virtual {
			lead = most
		}
		leads = append(leads, lead)
	}
	return leads, most
}

// freeGrid returns how frames are laid: what --grid says, else the show.
func freeGrid(name string, show bool) (bool, error) {
	switch name {
	case "":
		return show, nil
	case "beat":
		return false, nil
	case "free":
		return true, nil
	}
	return false, usagef("--grid %q: want beat or free", name)
}
