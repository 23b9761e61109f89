package language

import (
	"slices"

	"tactus/engine"
)

func songShape() *shape {
	cue := []field{
		optional("look", name("a look", "embers"), "The look to change to. Default: the present look stays."),
		optional("fade", span(), "Length of the change. Default: the look's fade, or snap."),
		optional("colour fade", span(), "Length of the change of colours, if it differs from the fade."),
		optional("effects", effectList(), "The effects from here on. Default: those of the look, if the cue names one; else as before."),
		optional("set", levelsShape(), "Levels that replace those of the look. Groups listed under keep hold them until a cue names them again, in later songs too; others until the next look."),
		optional("build", buildShape(), "How the light grows or ebbs from here to the end of the section; later cues in the section go on with it. Default: as before in the section, else it stays level."),
		optional("send", sendShape(), "The messages that are sent when it begins. Default: those of the look."),
	}
	some := []string{"look", "effects", "set", "build"}
	all := append(slices.Clone(some), "send")
	section := recordOf(append([]field{
		required("bars", whole(1, 999, "a number of bars", 8), "Length in bars."),
		required("energy", whole(0, 10, "an energy", 5), "How strong the music is, 0 to 10."),
		optional("climb", whole(-10, 10, "an amount", 1), "How much each repeat of the section adds to the energy. Default: 0."),
		optional("loop", yesNo(), "Whether the section repeats until another one is entered. Default: no."),
		optional("spoken", yesNo(), "Whether someone speaks in it, so that the rig's floors apply. Default: no."),
		optional("sung", yesNo(), "Whether someone sings in it, for the front light of drafts. Default: no in sections called intro, outro, ending, instrumental, interlude, solo, guitar solo, break, breakdown, turnaround, vamp, build or drop; else yes."),
		optional("note", whole(0, 127, "a MIDI note", 40), "The MIDI note that enters it. Default: the next free note."),
		optional("tempo", tempo(), "Beats per minute from here on. Default: as before."),
		optional("meter", signature(), "The time signature from here on. Quarter notes keep their length unless a tempo is given. Default: as before."),
	}, cue...), rule{when: when{key: "fade"}, any: some}, rule{when: when{key: "colour fade"}, any: some})
	at := matching(position, "a place such as chorus 2, bar 3 beat 1 or bridge - 1 beat",
		"chorus 2", "chorus 2, bar 3", "chorus 2, bar 3 beat 1", "bridge - 1 beat", "outro end - 1 bar").upTo(128).withUnits(CanonicalPlace)
	s := recordOf([]field{
		required("song", text("the song's name", "Lanterns on the Pier"), "The song's name."),
		optional("program", whole(1, 128, "a MIDI program", 1), "The MIDI program that selects the song, in every set; export midi writes it. Default: its place in the set list."),
		required("tempo", tempo(), "Beats per minute. In 6/8, 9/8 and 12/8 the beat is a dotted quarter."),
		required("meter", signature(), "The time signature."),
		optional("character", oneOrMore(name("a character", "calm", "driving")), "How its light moves, in a word or two: calm, driving, spare, triumphant, playful, stormy, plain, or one of the looks file. Drafts follow it; the first word counts where two differ. Default: draft infers one and says so."),
		optional("palette", paletteShape(false), "The song's colours by role. Default: the show's own colours, and for warm the white of the character that is named here."),
		optional("deep colours", deepColoursShape(), "How bright deep colours are in this song, for all colours or by role. "+deepColoursAbout+" Default: as in the looks file."),
		required("sections", listOf(tableOf(matching(sectionName, "a section's name such as chorus or pre-chorus", "intro", "chorus").upTo(64), section, 1, 1), 1, 128),
			"The sections in their order. A name that is used more than once is numbered: verse 1, verse 2. A look given here is a cue at the section's first bar."),
		optional("cues", listOf(recordOf(append([]field{
			required("at", at, "The place in the song."),
			optional("in", matching(`first|again|last|pass [1-9][0-9]?`, "first, again, last, or a pass such as pass 3", "again", "pass 3"),
				"The passes of its section in which the cue acts: first; again, all after the first; last, once another section is armed for the section's end; or a number. Default: all."),
			optional("lands", yesNo(), "Whether the fade ends at this place instead of beginning there. Default: no."),
		}, cue...), rule{any: all}, rule{when: when{key: "fade"}, any: some}, rule{when: when{key: "colour fade"}, any: some}, rule{when: when{key: "lands", is: []string{"yes"}}, need: []string{"fade"}}), 1, 2000), "Changes inside sections."),
		optional("changes", listOf(recordOf([]field{
			required("at", matching(changePlace, "a place such as bridge, bar 5 or verse 2, bar 3 beat 2",
				"bridge", "bridge, bar 5", "verse 2, bar 3 beat 2").upTo(128).withUnits(CanonicalPlace), "The section, and the bar in it. A tempo may change on any beat, a meter only at a bar."),
			optional("tempo", tempo(), "Beats per minute from there on."),
			optional("meter", signature(), "The time signature from there on. Quarter notes keep their length unless a tempo is given."),
		}, rule{any: []string{"tempo", "meter"}}), 1, 2000), "Changes of tempo and meter inside sections. Each holds until the next. A MIDI clock that leads sets its own tempo."),
		optional("after the end", name("a look", "dark"), "The look after the last section. Default: the light stays."),
		optional("accepted", acceptedShape(), `Findings of "check" that are right as they are, with the reason.`),
		optional("flashing", recordOf([]field{
			required("up to", whole(engine.MinFlashes, engine.MaxFlashes, "flashes a second", 5), "Highest number of flashes per second."),
			required("because", text("the reason", "strobe in the last chorus, announced at the door"), "Why it is all right: who is warned, and how."),
		}), "Allows more than three flashes per second, with the reason. They can harm people with photosensitive epilepsy: warn the audience at the door, and keep to local rules. Default: three at most."),
	})
	s.about = "One song: its sections, its colours, and its light."
	return s
}

// buildShape has how a section's light grows or ebbs.
func buildShape() *shape {
	return oneOf(option("rise", "ebb", "none"), recordOf([]field{
		required("goes", option("rise", "ebb"), "rise: the light grows to its full; ebb: it goes down from it."),
		optional("from", percent(), "The weak end: the share of its level that each head has there. Default: 35 %."),
		optional("path", paths(), "The order in which heads grow; an ebb takes them back the other way round. Default: back-front."),
		optional("depth", percent(), "The share of their depth that effects have at the weak end. Default: 50 %."),
		optional("double time", yesNo(), "Whether effects run twice as fast in the stronger half of the section. Default: no."),
	}))
}

func setShape() *shape {
	s := recordOf([]field{
		required("set", text("the name of the night", "November"), "The name of the set list."),
		required("songs", listOf(text("a song by its name or file", "lanterns"), 1, 128), "The songs in their order, by name or by file name without .yaml."),
		optional("walk-in", name("a look", "walk-in"), "The look before the first song."),
		optional("walk-out", name("a look", "walk-out"), "The look after the last song."),
		optional("talk", name("a look", "talk"), "The look for speech between songs. The rig's floors apply in it."),
		optional("pad", name("a look", "pad"), "The look for a pad between songs."),
	})
	s.about = "The songs of one night, in order."
	return s
}

// Findings lists the findings of "check" that a song may accept. Package plan makes
// them.
func Findings() []string {
	return []string{
		"does-not-follow", "inversion", "flat", "dim-peak", "alike", "too-busy", "dark-gap", "off-palette", "never-fires", "long-fade", "faces-dark", "front-light-out", "house-lit",
		"crowded", "against-beat", "eyes-lit", "faces-flicker", "faces-coloured", "uneven-set", "same-songs", "flashing",
	}
}

func acceptedShape() *shape {
	return listOf(recordOf([]field{
		required("finding", option(Findings()...), `The name that "check" prints for it.`),
		optional("in", name("a section", "bridge"), "The section in which it is accepted; for an inversion, any section that it names. Default: the whole song."),
		required("because", text("a reason", "the band stops here"), "Why it is right as it is."),
	}), 1, 100)
}
