package language

import (
	"strings"

	"tactus/fixtures"
)

func rigShape() *shape {
	names := oneOrMore(target())
	s := recordOf([]field{
		required("venue", text("the name of the hall", "Harbour Hall"), "The hall in which the rig hangs."),
		optional("sacn", recordOf([]field{
			optional("source name", matching(freeText, "a name of at most 63 bytes", "Harbour Hall").upTo(63),
				"The name of this source, as receivers show it. Default: the show's name."),
			optional("interface", text("a network interface by name or address", "en0"), "The network interface that sends the packets."),
			optional("sync universe", whole(1, 63999, "a universe", 7962), "The universe for synchronization packets. Default: none are sent."),
		}), "Settings of sACN (E1.31)."),
		optional("artnet", recordOf([]field{
			optional("interface", text("a network interface by name or address", "en0"), "The network interface that sends the packets."),
			optional("sync", yesNo(), "Whether ArtSync packets are sent. Default: no."),
			optional("poll", yesNo(), "Whether ArtPoll packets are sent to find nodes. Default: yes."),
		}), "Settings of Art-Net."),
		optional("frame grid", option("beat", "free"), "beat: a frame falls on every beat; free: frames come at a fixed rate, whatever the beat. Default: beat."),
		optional("white", whitePoint(), "The colour of white on all fixture types. Default: 5600 K."),
		optional("whites", option("match", "bright"), "match: white has the same brightness relative to other colours on all fixture types; bright: white is as bright as each type can make it. Default: match."),
		required("universes", tableOf(name("a universe's name", "stage"), universeShape(), 1, 0), "The DMX universes, each under a name of your choice."),
		optional("profiles", tableOf(ProfileName(), profileShape(), 1, 0), "Fixture types that are not built in. A file profiles/NAME.yaml defines one too."),
		required("fixtures", tableOf(name("a fixture's name, or a range of them such as wash 1-8", "wash 1-8"), fixtureShape(), 1, 0), "All fixtures. A name such as wash 1-8 stands for eight fixtures."),
		optional("groups", tableOf(name("a group's name", "washes"), names, 1, 0), "Several fixtures under one name. A group may contain groups."),
		optional("mains", recordOf([]field{
			required("voltage", volts(), "The mains voltage."),
		}), "The mains of the hall, for calculating the current that the rig draws."),
		optional("circuits", tableOf(name("a circuit's name", "left wall"), recordOf([]field{
			required("breaker", amps(), "The rated current of its breaker."),
		}), 1, 0), "The mains circuits that fixtures are plugged into."),
		optional("keep", names, "Fixtures that keep their light in songs until a cue names them, such as front light."),
		optional("blackout spares", names, "Fixtures that blackout and grand master do not dim, such as house lights."),
		optional("house lights", names, "The fixtures that house up, house half and house out control. Work light turns them on too."),
		optional("work light", names, "Other fixtures that work light turns on, such as front light."),
		optional("faces audience", names, "Fixtures that face the audience. check warns where they are bright for long, because glare hurts eyes."),
		optional("floors", tableOf(target(), percent(), 1, 16), "The lowest levels of lights while someone speaks: in sections marked spoken, and in the talk look."),
		optional("inputs", tableOf(name("an input's name", "house desk"), inputShape(), 1, 8), "sACN universes that a run takes in, such as the faders of a house desk, each under a name of your choice. They set intensity only. Masters, blackout and the flash limiter act on them."),
		optional("haze cycle", recordOf([]field{
			required("on", seconds(), "How long hazers run in each cycle."),
			required("every", seconds(), "Length of a cycle."),
		}), "When hazers may run, in seconds, independent of the music. Default: always."),
	})
	s.about = "The fixtures of a venue and how they are patched."
	return s
}

// RigLists lists the keys of the rig file that have groups and fixtures by name.
func RigLists() []string {
	return []string{"keep", "blackout spares", "house lights", "work light", "faces audience"}
}

func universeShape() *shape {
	return recordOf([]field{
		optional("sacn", whole(1, 63999, "an sACN universe", 1), "sACN universe (E1.31)."),
		optional("art-net", whole(0, 32767, "an Art-Net port address", 0), "Art-Net port address: net, sub-net and universe in one number."),
		optional("virtual", option("yes"), "A universe that is not sent, for rehearsals without a network."),
		optional("to", oneOrMore(address()), "Receivers to send to directly."),
		optional("multicast", yesNo(), "Whether packets go to all receivers that listen to this universe. Default: yes, or no if to is given."),
		optional("broadcast", yesNo(), "Whether packets go to all Art-Net nodes. Default: no."),
		optional("priority", whole(0, 200, "a priority", 100), "If a receiver gets several sources, it uses the one of highest priority. Default: 100."),
		optional("rate", hertz(), "Highest number of frames per second. Default: 44 Hz. Use 40 Hz if a gateway is too slow for that."),
		optional("lead", leadTime(), "How early frames are sent, to make up for the delay of network and fixtures, 0 ms to 200 ms. Default: 0 ms."),
		optional("send", option("constantly", "on change"), "constantly: all frames are sent; on change: only changed frames and a keep-alive are sent. Default: constantly."),
	},
		rule{one: []string{"sacn", "art-net", "virtual"}},
		rule{when: when{key: "sacn"}, ban: []string{"broadcast"}},
		rule{when: when{key: "art-net"}, ban: []string{"priority", "multicast"}},
		rule{when: when{key: "virtual"}, ban: []string{"to", "multicast", "broadcast", "priority", "rate", "send", "lead"}},
		rule{when: when{key: "multicast", is: []string{"no"}}, need: []string{"to"}},
		rule{when: when{key: "broadcast", is: []string{"yes"}}, ban: []string{"to"}},
	)
}

// ProfileName returns the shape of a profile's name.
func ProfileName() *shape { return name("a profile's name", "my wash") }

func profileShape() *shape {
	params := `(` + strings.Join(fixtures.ChannelNames(), "|") + `)`
	head := `(head ([1-9]|[1-9][0-9]|1[0-9][0-9]|2[0-4][0-9]|25[0-5]) )?`
	rate := `[0-9]{1,2}(\.[0-9]{1,2})? ?` + anyCase("Hz")
	emitters := recordOf(nil)
	for _, n := range fixtures.EmitterNames() {
		emitters.fields = append(emitters.fields, optional(n, recordOf([]field{
			optional("colour", whitePoint(), "Its colour (chromaticity). Default: that of most fixtures."),
			optional("flux", whole(1, 100000, "a flux", 100), "Its light output at full, relative to the other emitters. Default: a typical value."),
		}, rule{any: []string{"colour", "flux"}}), "Measured values of this emitter."))
	}
	s := recordOf([]field{
		optional("about", text("one line about it"), "What kind of fixture it is."),
		optional("watts", watts(), "Power at full, as its rating plate says."),
		required("channels", listOf(matching(`unused|fixed `+octet+`|`+head+params+`( fine)?|`+head+`shutter open `+octet+`( strobe `+octet+` to `+octet+` at `+rate+` to `+rate+`)?`,
			"a channel: "+strings.Join(fixtures.ChannelNames(), ", ")+", with head 2 before or fine after it; shutter open 255; unused; or fixed 255",
			"intensity", "red fine", "head 2 red", "shutter open 255 strobe 16 to 250 at 1 Hz to 20 Hz", "unused", "fixed 255").withUnits(canonicalUnits), 1, 512), "What each channel does, in the order of the channels."),
		optional("emitters", emitters, "The emitters behind the colour channels, so that colours match across fixture types."),
		optional("curve", option(fixtures.CurveNames()...), "How the light output follows the intensity. Default: linear."),
	})
	s.about = "What the channels of a fixture type do."
	return s
}

func fixtureShape() *shape {
	return recordOf([]field{
		required("profile", name("a profile", "dimmer-rgb"), "The fixture type: a built-in one, or one from profiles."),
		required("universe", universeName(), "The universe that it is patched to."),
		required("address", whole(1, 512, "a start address", 1), "Its first slot (start address). The fixtures of a range follow one another."),
		optional("every", whole(1, 512, "a number of slots", 8), "Number of slots from one start address of a range to the next. Default: the number of channels."),
		optional("at", place(), "Where it hangs."),
		optional("watts", watts(), "Power of each at full, as its rating plate says. Default: the profile's value."),
		optional("circuit", name("a circuit", "left wall"), "The mains circuit that it is plugged into."),
		optional("pan", travelShape(), "The part of its pan range that it may use at its place. Default: the whole range."),
		optional("tilt", travelShape(), "The part of its tilt range that it may use at its place. Default: the whole range."),
		optional("from", place(), "Where the first head of the row hangs."),
		optional("to", place(), "Where the last head of the row hangs; those between are spaced evenly."),
	},
		rule{when: when{key: "from"}, need: []string{"to"}, ban: []string{"at"}},
		rule{when: when{key: "to"}, need: []string{"from"}},
	)
}

// universeName is the name of a universe of the rig file.
func universeName() *shape {
	s := name("a universe", "stage")
	s.universe = true
	return s
}

func travelShape() *shape {
	return recordOf([]field{
		optional("from", percent(), "The channel's value for 0 % in a look. Default: 0 %."),
		optional("to", percent(), "The channel's value for 100 % in a look. Default: 100 %."),
		optional("invert", yesNo(), "Whether the direction is reversed, for a fixture that hangs the other way round: then 0 % in a look is at to. Default: no."),
	}, rule{any: []string{"from", "to", "invert"}})
}

func leadTime() *shape {
	return measured(`(200|1[0-9][0-9]|[1-9]?[0-9]) ?`+anyCase("ms"), "a time such as 30 ms, 0 ms to 200 ms", "30 ms")
}
