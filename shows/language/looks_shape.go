package language

func looksShape() *shape {
	s := recordOf([]field{
		need("palette", paletteShape(true), "The colours of the house: for looks outside songs, and for what a song's own palette leaves out."),
		need("looks", tableOf(name("a look's name", "embers"), recordOf([]field{
			may("fade", span(), "How long it takes to come up unless the cue says; snap unless said."),
			may("set", levelsShape(), "What is lit. What is not named is dark."),
			may("effects", effectList(), "The effects over it, in order."),
			may("send", sendShape(), "What is sent when it comes up, unless the cue says."),
		}, rule{any: []string{"set", "effects"}}), 1, 0), "States of light by name."),
		may("effects", tableOf(name("an effect's name", "slow breathe"), effectShape(), 1, 0), "Waves by name."),
		may("ladder", ladderShape(), "The looks and effects by energy, from which songs are drafted."),
	})
	s.about = "Looks and effects, for every song. Colours are named by their role, so that one look serves all."
	return s
}

func paletteShape(all bool) *shape {
	about := []string{
		"What the song mostly looks like.", "What goes with it.",
		"For highlights.", "A white that is kind to faces.",
	}
	var fields []field
	for i, role := range RoleNames() {
		fields = append(fields, field{key: role, need: all, about: about[i], shape: hexColour()})
	}
	return recordOf(fields)
}

// levelsShape has levels by target: "washes: {colour: main, intensity: 40 %}".
func levelsShape() *shape {
	all := []string{"colour", "intensity", "uv", "strobe", "pan", "tilt", "haze", "fan"}
	return tableOf(target(), recordOf([]field{
		may("colour", colour(), "A role of the palette, or a fixed colour."),
		may("intensity", percent(), "How bright."),
		may("uv", percent(), "How much ultraviolet, under the intensity. Keep it out of eyes, as the fixture's manual says."),
		may("strobe", strobe(), "Flashes a second, none to 4 Hz, or a share of 4 Hz. It can harm people with photosensitive epilepsy: warn the audience, and keep to local rules."),
		may("pan", percent(), "Where it points across, as a share of the travel that the rig allows; 50 %, the middle, unless said."),
		may("tilt", percent(), "Where it points up and down, as a share of the travel that the rig allows; 50 %, the middle, unless said."),
		may("haze", percent(), "How much haze. Mind the ventilation and the smoke detectors of the hall."),
		may("fan", percent(), "How fast the fan of a hazer."),
	}, rule{any: all}), 1, 0)
}

func effectList() *shape {
	s := listOf(name("an effect's name", "slow breathe"), 1, 32)
	s.unique = true
	return oneOf(name("an effect's name, or none", "none", "slow breathe"), s)
}

func effectShape() *shape {
	levels := listOf(percent(), 1, 64)
	return recordOf([]field{
		need("on", oneOrMore(target()), "Which heads, in the order of the path as-listed."),
		need("wave", waves(), "The shape over one cycle."),
		need("moves", moved(), "What the wave moves."),
		need("period", length(), "How long a cycle takes."),
		may("pulses", whole(1, 64, "a count", 2), "How often the wave repeats in a period; once unless said."),
		may("path", paths(), "The order in which it visits the heads; all together unless said."),
		may("spread", spread(), "How much of a cycle lies between the first and the last head; even unless said."),
		may("depth", percent(), "How far the wave moves it; 100 % unless said."),
		may("blend", blends(), "How it meets the look; scale for levels, replace for colours and swing, to and fro about the look, for pan and tilt unless said."),
		may("from", colour(), "Colour at the bottom of the wave."),
		may("to", colour(), "Colour at the top of the wave."),
		may("low", percent(), "What the bottom of the wave becomes; 0 % unless said."),
		may("high", percent(), "What the top of the wave becomes; 100 % unless said."),
		may("duty", percent(), "square: the part of a cycle that is high. noise: the share of cells that light up. 50 % unless said."),
		may("skew", measured(inside, "a share such as 30 %, 1 % to 99.999 %", "30 %"), "Where in the cycle the middle of the wave falls; 50 % unless said."),
		may("seed", whole(0, 4294967295, "a number", 7), "Another number gives another noise or scatter; 1 unless said."),
		may("cells", whole(1, 1024, "a count", 16), "noise: cells in a cycle; 16 unless said."),
		may("levels", levels, "steps: the levels, each as long as the next."),
	},
		rule{when: when{key: "moves", is: []string{"colour"}}, need: []string{"from", "to"}},
		rule{when: when{key: "moves", not: []string{"colour"}}, ban: []string{"from", "to"}},
		rule{when: when{key: "wave", is: []string{"steps"}}, need: []string{"levels"}, ban: []string{"skew"}},
		rule{when: when{key: "wave", not: []string{"steps"}}, ban: []string{"levels"}},
		rule{when: when{key: "wave", not: []string{"square", "noise"}}, ban: []string{"duty"}},
		rule{when: when{key: "wave", is: []string{"noise"}}, ban: []string{"skew"}},
		rule{when: when{key: "wave", not: []string{"noise"}}, ban: []string{"cells"}},
	)
}

func ladderShape() *shape {
	light := []field{
		need("look", name("a look", "embers"), "Which look."),
		may("effects", effectList(), "The effects over it; those of the look unless said."),
	}
	moment := oneOf(name("a look", "dark"),
		recordOf(append(light[:2:2], may("set", levelsShape(), "Levels over the look."))))
	return recordOf([]field{
		need("rungs", listOf(recordOf(append([]field{
			need("energy", whole(0, 10, "an energy", 4), "From which energy of a section on, up to that of the next rung."),
		}, light...)), 1, 64), "What sections look like, from the calmest to the strongest. Several of one energy take turns."),
		may("begin", levelsShape(), "What a song sets with its first light, such as fronts and house lights."),
		renamed("pickup", may("breath", moment, "What a song goes to for a beat before a large lift, mostly dark; nothing unless said.")),
		may("breakdown", moment, "What a breakdown drops to; the rung of its energy unless said."),
		may("spoken", moment, "The light while someone speaks; the rung of its energy, without effects, unless said."),
		may("end", moment, "What the last bars of a song fade to; nothing unless said."),
	})
}
