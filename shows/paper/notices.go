package paper

import (
	"slices"

	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/plan"
)

const adapt = "Printed from the light as planned; nobody measured it in the hall. Adapt this text to local rules. The hall's rules come first."

// notices returns the notices for the entrance, a page each: one if the light flashes,
// one if a hazer is patched.
func notices(s *shows.Show, songs []int32, night *plan.Night) (list []Leaf) {
	if flashes(s, songs, night) {
		list = append(list, Leaf{
			Title: "Flashing lights", Notice: true,
			Words: []string{"This event uses flashing lights.", "They may affect people with photosensitive epilepsy and others who are sensitive to light.", "If that is you, or you feel unwell, speak to the people at the door."},
			After: []string{adapt},
		})
	}
	if hasHaze(s) {
		list = append(list, Leaf{
			Title: "Haze", Notice: true,
			Words: []string{"This event uses haze.", "It may affect people with asthma and others who are sensitive to it.", "If that is you, or you feel unwell, speak to the people at the door."},
			After: []string{adapt, "Haze may set off smoke detectors: agree with the hall before it is switched on, and air the room."},
		})
	}
	return list
}

func hasHaze(s *shows.Show) bool {
	return slices.ContainsFunc(s.Program.Patch.Placements(), func(p fixtures.Placement) bool { return p.Profile.Has(fixtures.Haze) })
}

// flashes reports whether a song file announces flashing, or the measured night has
// more than flash.PerSecond flashes in one second anywhere.
func flashes(s *shows.Show, songs []int32, night *plan.Night) bool {
	for _, i := range songs {
		if s.Program.Songs[i].Flashes > 0 {
			return true
		}
	}
	if night == nil {
		return false
	}
	for i := range night.Songs {
		song := &night.Songs[i]
		if song.Strobe.Hertz > flash.PerSecond {
			return true
		}
		for _, a := range song.Flashes {
			if max(a.General.Flashes, a.Red.Flashes) > flash.PerSecond {
				return true
			}
		}
	}
	return false
}
