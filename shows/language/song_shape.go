package language

import (
	"slices"

	"tactus/engine"
)

func songShape() *shape {
	cue := []field{
		may("look", name("a look", "embers"), "The look to change to; the one before stays unless said."),
		may("fade", span(), "How long the change takes; as the look says, or snap, unless said."),
		may("colour fade", span(), "How long the colours take, if not as long as the rest."),
		may("effects", effectList(), "The effects from here on; those of the look unless said."),
		may("set", levelsShape(), "Levels over the look. Kept groups stay at them for the rest of the song, others until the next look."),
		may("send", sendShape(), "What is sent besides light when it begins; what the look says unless said."),
	}
	some := []string{"look", "effects", "set"}
	all := append(slices.Clone(some), "send")
	section := recordOf(append([]field{
		need("bars", whole(1, 999, "a number of bars", 8), "How long it is."),
		need("energy", whole(0, 10, "an energy", 5), "How strong it feels, 0 to 10."),
		may("climb", whole(-10, 10, "an amount", 1), "What each further pass adds to the energy; 0 unless said."),
		may("loop", yesNo(), "Whether it goes round until something else is entered; no unless said."),
		may("spoken", yesNo(), "Whether someone speaks in it, so that floors hold; no unless said."),
		may("note", whole(0, 127, "a MIDI note", 40), "The note that enters it; the next free one unless said."),
		may("tempo", tempo(), "Beats a minute from here on; as before unless said."),
		may("meter", signature(), "The time signature from here on; as before unless said. Quarter notes keep their length unless a tempo is said."),
	}, cue...), rule{when: when{key: "fade"}, any: some}, rule{when: when{key: "colour fade"}, any: some})
	at := matching(position, "a place such as chorus 2, bar 3 beat 1 or bridge - 1 beat",
		"chorus 2", "chorus 2, bar 3", "chorus 2, bar 3 beat 1", "bridge - 1 beat", "outro end - 1 bar").upTo(128)
	s := recordOf([]field{
		need("song", text("the song's name", "Lanterns on the Pier"), "What the song is called."),
		may("program", whole(1, 128, "a MIDI program", 1), "The program change that selects it; its place in the set list unless said."),
		need("tempo", tempo(), "Beats a minute. In 6/8, 9/8 and 12/8 the beat is a dotted quarter."),
		need("meter", signature(), "The time signature."),
		may("palette", paletteShape(false), "The song's colours by role; those of the house unless said."),
		need("sections", listOf(tableOf(matching(sectionName, "a section's name such as chorus or pre-chorus", "intro", "chorus").upTo(64), section, 1, 1), 1, 128),
			"The parts in their order. A name that comes more than once is numbered: verse 1, verse 2. A look here is a cue at the first bar."),
		may("cues", listOf(recordOf(append([]field{
			need("at", at, "Where in the song."),
			may("in", matching(`first|again|last|pass [1-9][0-9]?`, "first, again, last, or a pass such as pass 3", "again", "pass 3"),
				"In which passes of its section: the first, all after it, the last (from when another section is armed for its end), or that one; all unless said."),
			may("lands", yesNo(), "Whether the fade ends at the place, instead of beginning there; no unless said."),
		}, cue...), rule{any: all}, rule{when: when{key: "fade"}, any: some}, rule{when: when{key: "colour fade"}, any: some}, rule{when: when{key: "lands", is: []string{"yes"}}, need: []string{"fade"}}), 1, 2000), "Changes inside sections."),
		may("changes", listOf(recordOf([]field{
			need("at", matching(changePlace, "a place such as bridge, bar 5 or verse 2, bar 3 beat 2",
				"bridge", "bridge, bar 5", "verse 2, bar 3 beat 2").upTo(128), "The section, and the bar in it; a tempo may change on a beat too."),
			may("tempo", tempo(), "Beats a minute from there on."),
			may("meter", signature(), "The time signature from there on. Quarter notes keep their length unless a tempo is said."),
		}, rule{any: []string{"tempo", "meter"}}), 1, 2000), "Tempos and meters that change inside sections. Each holds until the next; a MIDI clock that leads has its own tempo."),
		may("after the end", name("a look", "dark"), "The look after the last section; the light stays unless said."),
		may("accepted", acceptedShape(), `Findings of "check" that are right as they are, with the reason.`),
		may("flashing", recordOf([]field{
			need("up to", whole(engine.MinFlashes, engine.MaxFlashes, "flashes a second", 5), "How many flashes a second there may be."),
			need("because", text("the reason", "strobe in the last chorus, announced at the door"), "Why it is all right: who is warned, and how."),
		}), "More than three flashes a second, and the reason. They can harm people with photosensitive epilepsy: warn the audience at the door, and keep to local rules. Three are the most unless said."),
	})
	s.about = "One song: how it runs, its colours, and its light."
	return s
}

func setShape() *shape {
	s := recordOf([]field{
		need("set", text("the name of the night", "November"), "What the set list is called."),
		need("songs", listOf(text("a song by its name or file", "lanterns"), 1, 128), "The songs in their order, by name or by file name without .yaml."),
		may("walk-in", name("a look", "walk-in"), "The look before the first song."),
		may("walk-out", name("a look", "walk-out"), "The look after the last song."),
		may("talk", name("a look", "talk"), "The look for speech between songs; floors hold in it."),
		may("pad", name("a look", "pad"), "The look for a pad between songs."),
	})
	s.about = "The songs of one night, in order."
	return s
}

// Findings lists the findings of "check" that a song may accept. Package plan makes
// them.
func Findings() []string {
	return []string{
		"does-not-follow", "inversion", "flat", "too-busy", "dark-gap", "off-palette", "never-fires", "long-fade", "faces-dark", "flashing",
	}
}

func acceptedShape() *shape {
	return listOf(recordOf([]field{
		need("finding", option(Findings()...), `What "check" calls it.`),
		may("in", name("a section", "bridge"), "The section it is in; the whole song unless said."),
		need("because", text("a reason", "the band stops here"), "Why it is right as it is."),
	}), 1, 100)
}
