package language

func looksShape() *shape {
	s := recordOf([]field{
		required("palette", paletteShape(true), "The show's own colours: used outside songs, and for roles that a song's palette does not set."),
		optional("deep colours", deepColoursShape(), "How bright deep colours are, such as pure blue. "+deepColoursAbout+" A role by itself counts for that role; one word counts for all roles and for colours that looks and effects give themselves. Default: matched."),
		required("looks", tableOf(name("a look's name", "embers"), recordOf([]field{
			optional("fade", span(), "How long the change to this look takes, if the cue does not set a fade. Default: snap."),
			optional("set", levelsShape(), "The levels of the look. Fixtures that are not named here are dark."),
			optional("effects", effectList(), "The effects that run over the look, in order."),
			optional("send", sendShape(), "What is sent when the look begins, if the cue does not send anything."),
		}, rule{any: []string{"set", "effects"}}), 1, 0), "States of light by name."),
		optional("effects", tableOf(name("an effect's name", "slow breathe"), effectShape(), 1, 0), "Waves by name."),
		optional("characters", tableOf(name("a character", "calm", "late night"), characterShape(), 1, 0), "Tendencies of songs' characters: of the built-in ones, as far as they are to differ, or of your own."),
		optional("ladder", ladderShape(), "Which looks and effects belong to which energy. Drafts of songs are made from it."),
	})
	s.about = "Looks and effects for all songs. Colours are named by their role, so that one look works in every song."
	return s
}

func paletteShape(all bool) *shape {
	about := []string{
		"The main colour of the song.", "A second colour that goes with the main one.",
		"A colour for highlights.", "A white that suits faces.",
	}
	var fields []field
	for i, role := range RoleNames() {
		fields = append(fields, field{key: role, required: all, description: about[i], shape: hexColour()})
	}
	return recordOf(fields)
}

// deepColoursShape is one word for all colours, or a word by role.
func deepColoursShape() *shape {
	var fields []field
	for _, role := range RoleNames() {
		fields = append(fields, optional(role, option("bright", "matched"), "Deep colours of this role."))
	}
	return oneOf(option("bright", "matched"), recordOf(fields, rule{any: RoleNames()}))
}

const deepColoursAbout = "matched: as bright beside white as on all other fixture types; bright: as bright as each type can make them."

// levelsShape has levels by target: "washes: {colour: main, intensity: 40 %}".
func levelsShape() *shape {
	all := []string{"colour", "intensity", "uv", "strobe", "pan", "tilt", "haze", "fan"}
	return tableOf(target(), recordOf([]field{
		optional("colour", colour(), "A role of the palette, or a fixed colour."),
		optional("intensity", percent(), "Brightness."),
		optional("uv", percent(), "Amount of ultraviolet, dimmed by the intensity. Keep it out of eyes, as the fixture's manual says."),
		optional("strobe", strobe(), "Flashes per second, none to 4 Hz, or a share of 4 Hz. It can harm people with photosensitive epilepsy: warn the audience, and keep to local rules."),
		optional("pan", percent(), "Pan: the direction from side to side, as a share of the range that the rig file allows. Default: 50 %, the middle."),
		optional("tilt", percent(), "Tilt: the direction up and down, as a share of the range that the rig file allows. Default: 50 %, the middle."),
		optional("haze", percent(), "Amount of haze. Mind the ventilation and the smoke detectors of the hall."),
		optional("fan", percent(), "Speed of a hazer's fan."),
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
		required("on", oneOrMore(target()), "The heads that the effect moves. The path as-listed visits them in this order."),
		required("wave", waves(), "The shape of one cycle."),
		required("moves", movableParameters(), "The parameter that the wave changes."),
		required("period", length(), "Length of a cycle."),
		optional("pulses", whole(1, 64, "a count", 2), "How many times the wave repeats in a period. Default: 1."),
		optional("path", paths(), "The order in which the wave reaches the heads. Default: as-listed if a spread is given, else all heads together."),
		optional("spread", spread(), "How much of a cycle the last head is behind the first. Default: even, which spreads all heads evenly over one cycle, if a path is given; else all heads together."),
		optional("depth", percent(), "How strongly the wave changes the parameter. Default: 100 %."),
		optional("blend", blends(), "How the wave combines with the look's value. Default: scale for levels, replace for colours, swing (to both sides of the look's value) for pan and tilt."),
		optional("from", colour(), "Colour at the bottom of the wave."),
		optional("to", colour(), "Colour at the top of the wave."),
		optional("low", percent(), "The value at the bottom of the wave. Default: 0 %."),
		optional("high", percent(), "The value at the top of the wave. Default: 100 %."),
		optional("duty", percent(), "square: the part of a cycle that is high. noise: the share of cells that light up. Default: 50 %."),
		optional("skew", measured(inside, "a share such as 30 %, 1 % to 99.999 %", "30 %"), "The place in the cycle where the middle of the wave is. Default: 50 %."),
		optional("seed", whole(0, 4294967295, "a number", 7), "Start of the random numbers: another number gives another noise or scatter. Default: 1."),
		optional("cells", whole(1, 1024, "a count", 16), "noise: cells in a cycle. Default: 16."),
		optional("levels", levels, "steps: the levels, all of the same length."),
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

// characterShape has the tendencies of a song's character.
func characterShape() *shape {
	keys := []string{"pace", "paths", "trusses", "fades", "end", "white", "breath", "builds", "effects at once", "effects"}
	return recordOf([]field{
		optional("pace", option("slow", "steady", "fast"), "Cycles of effects: long, about two bars, or short ones."),
		optional("paths", option("symmetric", "wandering"), "Whether effects are the same on the left and the right, or go through the rig."),
		optional("trusses", option("alike", "apart"), "apart: the front of the stage is darker than the back."),
		optional("fades", option("long", "short"), "Fades between sections: longer or shorter than the energies ask for."),
		optional("end", option("held", "faded", "snapped"), "How the song ends: the light stands still on the last chord, fades out with it, or goes out at the end."),
		optional("white", hexColour(), "The role warm in songs whose palette has none, if the song names the character."),
		optional("breath", yesNo(), "Whether there is a dark breath before the peak."),
		optional("builds", yesNo(), "Whether sections grow into stronger ones."),
		optional("effects at once", whole(1, 8, "a number of effects", 2), "Most effects at once."),
		optional("effects", effectList(), "The effects that it likes most, in order."),
	}, rule{any: keys})
}

// Moments lists the keys of the ladder that have a light of their own for a moment of a song,
// with a look.
func Moments() []string { return []string{"breath", "breakdown", "spoken", "end"} }

func ladderShape() *shape {
	light := []field{
		required("look", name("a look", "embers"), "The look."),
		optional("effects", effectList(), "The effects that run over the look. Default: the look's own effects."),
	}
	moment := oneOf(name("a look", "dark"),
		recordOf(append(light[:2:2], optional("set", levelsShape(), "Levels over the look."))))
	return recordOf([]field{
		required("rungs", listOf(recordOf(append([]field{
			required("energy", whole(0, 10, "an energy", 4), "The lowest energy of a section that uses this rung; the next rung's energy ends it."),
		}, light...)), 1, 64), "The looks of sections, from the calmest to the strongest. Rungs of the same energy are used in turn."),
		optional("begin", levelsShape(), "Levels that a song's first cue sets, such as front light and house lights, and that are restored after a section that sets others."),
		optional("instrumental", levelsShape(), "Levels where nobody sings or speaks, such as the front light; those of begin come back where someone does. Default: those of begin."),
		renamed("pickup", optional("breath", moment, "The light for one beat before a large rise in energy, usually dark. Default: none.")),
		optional("breakdown", moment, "The light of a breakdown. Default: the rung of its energy."),
		optional("spoken", moment, "The light while someone speaks. Default: the rung of its energy, without effects."),
		optional("end", moment, "The light that the last bars of a song fade to. Default: none."),
	})
}
