package language

// inputShape is a universe that comes in.
func inputShape() *shape {
	slot := whole(1, 512, "a slot", 1)
	return recordOf([]field{
		required("sacn", whole(1, 63999, "an sACN universe", 11), "The sACN universe (E1.31) that comes in. Of several sources the one with the highest priority counts; of equal ones the highest level of each slot."),
		optional("faders", tableOf(target(), slot, 1, 512), "Slots that set the intensity of a group or of fixtures, each with the slot's number."),
		optional("patched as", universeName(), "The desk has the same patch as this universe: the slot of each fixture's intensity sets it."),
		optional("groups", oneOrMore(target()), "The fixtures that follow the slots. Default: all of the universe that have a channel for intensity."),
		optional("takes", option("highest", "last", "scale"),
			"How a slot and the show's intensity are combined. highest: the higher one counts; last: the slot's from when it moves, the show's from its next cue; scale: the slot is a master of the show's. Default: highest."),
		optional("when lost", option("release", "hold"),
			"What happens when no source sends the universe any more, after 2.5 s without packets. release: the show's levels come back, over the time that house lights take; hold: the last levels stay. Default: release."),
	},
		rule{one: []string{"faders", "patched as"}},
		rule{when: when{key: "faders"}, ban: []string{"groups"}},
	)
}
